"""What a step of help outlines on a drawing; numbers agree with the table of transistors."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from layoutdrill.cells import cell_names, load_cell
from layoutdrill.deck.model import Picture
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.overlay import Overlay, Part, Tag, devices_overlay, net_rects
from layoutdrill.question.choices import LETTERS
from layoutdrill.question.model import HintStep, Question, Specimen, Verdict
from layoutdrill.question.registry import kinds


def numbers_of(specimen: Specimen) -> dict[str, str]:
    """Return the number that stands on the picture for each transistor."""
    return dict(devices_overlay(specimen.extraction, specimen.netlist).transistors)


def marks_overlay(question: Question) -> Overlay:
    """
    Return the question's lettered places, ringed where what lies right there is asked; the cell's frame where
    neighbours begin beyond it; the letters of pictures that are choices, at their left.
    """
    frame, aside = question.specimen.frame, _BESIDE_PICTURES * question.specimen.process.grid_per_lambda
    marks = tuple(Tag(mark.letter, mark.x, mark.y, mark.ring) for mark in question.marks)
    parts = () if frame is None else (Part("cell", (frame,)),)
    pictures = kinds()[question.kind].pictures(question).items()
    letters = tuple(
        Tag(name, rect.x0 - aside, y)
        for name, rect in pictures if name in LETTERS
        for y in (rect.y1 - aside, rect.y0 + aside)
    )  # fmt: skip
    ringed = any(mark.ring for mark in question.marks)
    shunned = _contacts_and_gates(question.specimen) if ringed else ()
    return Overlay(marks=marks, ports=letters, parts=parts, shunned=shunned)


_BESIDE_PICTURES = 3
"""λ between a picture that is a choice and its letter, which stands at both ends of its left side."""


def _contacts_and_gates(specimen: Specimen) -> tuple[Rect, ...]:
    """Return what a letter standing on it would be taken to name."""
    rects = [joint.rect for joint in specimen.face.scene.joints]
    rects += [rect for t in specimen.extraction.netlist.transistors for rect in specimen.extraction.channel(t.name)]
    return tuple(sorted(rects))


MOST_NUMBERS = 40
"""Transistors up to which each has its number on the picture beside a verdict, as in the table."""


def verdict_overlay(question: Question, verdict: Verdict, pointed: tuple[int, int] | None = None) -> Overlay:
    """
    Return the question's marks with what decides: transistors, nets and places; all transistors where none does. The
    numbers of the table stand on the picture, and the place `pointed` at, where that was not right, is crossed.
    """
    numbers = tuple(numbers_of(question.specimen).items())
    chosen = tuple((name, number) for name, number in numbers if name in verdict.transistors)
    if not (chosen or verdict.nets or verdict.places):
        chosen = numbers
    marked = marks_overlay(question)
    nets = tuple((name, name) for name in verdict.nets)
    others = tuple(pair for pair in numbers if pair not in chosen) if len(numbers) <= MOST_NUMBERS else ()
    missed = pointed if not verdict.correct else None
    fields = kinds()[question.kind].fields(question).items()
    shunned = _contacts_and_gates(question.specimen)
    supplies = [rail for rail in question.specimen.process.rails if rail in question.specimen.netlist.nets]
    named = bool(chosen) and len(numbers) <= MOST_NUMBERS  # the table tells which ends lie on which
    return replace(
        marked,
        rails=_names_of([rail for rail in supplies if rail not in verdict.nets], question.specimen, shunned)
        if named
        else (),
        parts=marked.parts + tuple(Part(name, cells) for name, cells in fields),
        transistors=chosen,
        numbered=others,
        nets=nets,
        spots=marked.spots + verdict.places,
        yours=missed,
        shunned=shunned,
    )


def joined_overlay(shown: Overlay, added: Overlay) -> Overlay:
    """Return what is outlined already with the nets and transistors of another step."""
    return replace(
        shown,
        nets=added.nets or shown.nets,
        transistors=added.transistors or shown.transistors,
        shunned=shown.shunned or added.shunned,
    )


def step_overlay(step: HintStep, specimen: Specimen) -> Overlay:
    """Return what the step outlines; nothing for steps that only say something."""
    if step is HintStep.RAILS:
        known = specimen.netlist.nets
        rails = tuple((net, net) for net in specimen.process.supplies if net in known)
        return Overlay(nets=rails, shunned=_contacts_and_gates(specimen))
    if step is HintStep.DEVICES:
        return Overlay(transistors=devices_overlay(specimen.extraction, specimen.netlist).transistors)
    if step is HintStep.NETS:
        nets = tuple((net, f"n{at}") for at, net in enumerate(specimen.netlist.nets, 1))
        return Overlay(nets=nets, shunned=_contacts_and_gates(specimen))
    return Overlay()


def page_overlay(picture: Picture, specimen: Specimen) -> Overlay:
    """Return what a page's picture outlines and points out."""
    shown = step_overlay(picture.outline, specimen) if picture.outline else Overlay()
    if not (picture.pointed or picture.nets):
        return shown
    from layoutdrill.deck.pointing import named_devices  # noqa: PLC0415 - few pictures point at anything

    letters = tuple(Tag(mark.letter, mark.x, mark.y, mark.ring) for mark in specimen.marks if mark.ring)
    return replace(
        shown,
        marks=letters,
        transistors=named_devices(specimen) or shown.transistors,
        nets=tuple((net, net) for net in picture.nets) or shown.nets,
        shunned=_contacts_and_gates(specimen),
    )


def reading_overlay(shown: Overlay, specimen: Specimen) -> Overlay:
    """
    Return what a page shows with all that can be read of it: supplies outlined, transistors numbered as in their table,
    every other net with its name on its widest wire. Of what has more than MOST_NUMBERS transistors the supplies alone.
    What the page outlines and names itself stays: its text speaks of it.
    """
    rails = step_overlay(HintStep.RAILS, specimen)
    nets = {**dict(rails.nets), **dict(shown.nets)}
    read = replace(joined_overlay(shown, rails), nets=tuple(nets.items()))
    if specimen.netlist.count() > MOST_NUMBERS:
        return read
    named = {name: text for name, text in shown.transistors if not text.isdecimal()}
    numbers = step_overlay(HintStep.DEVICES, specimen).transistors
    others = [net for net in specimen.netlist.nets if net not in specimen.process.rails and net not in nets]
    return replace(
        read,
        transistors=tuple((name, f"{number} {named.get(name, '')}".rstrip()) for name, number in numbers),
        ports=_names_of(others, specimen, read.shunned),
    )


def _names_of(nets: Iterable[str], specimen: Specimen, shunned: Sequence[Rect]) -> tuple[Tag, ...]:
    """Return the names of nets, each on its widest wire, as near to its middle as it stands on nothing shunned."""
    per = specimen.process.grid_per_lambda
    tags: list[Tag] = []
    for net in nets:
        wires = net_rects(specimen.extraction, specimen.process, net)
        widest = sorted(wires, key=lambda r: (min(r.width, r.height), r.area), reverse=True)
        if widest:
            taken = [rect.grown(2 * per) for rect in shunned]
            free = (at for wire in widest for at in _along(wire, per) if not any(r.contains(*at) for r in taken))
            tags.append(Tag(net, *next(free, widest[0].centre)))
    return tuple(tags)


def _along(wire: Rect, per: int) -> Iterator[tuple[int, int]]:
    """Yield points of a wire a λ apart, from its middle to both ends."""
    x, y = wire.centre
    for step in range(max(wire.width, wire.height) // 2 // per):
        for aside in (step * per, -step * per):
            yield (x + aside, y) if wire.width >= wire.height else (x, y + aside)


def pointed_at(picture: Picture, specimen: Specimen) -> list[Rect]:
    """Return the places and channels that a page's picture points out, in the page's order."""
    order = [letter for letter, _ in picture.pointed]
    marks = sorted(specimen.marks, key=lambda mark: order.index(mark.letter))
    return [Rect(mark.x, mark.y, mark.x + 1, mark.y + 1) for mark in marks]


def can_stand_beside(structure: str) -> bool:
    """Tell whether the library has a drawing of this to set beside another: of a gate it has, of a contact not."""
    return any(load_cell(name).structure == structure for name in cell_names())
