"""Say what the first view of a question must show, and what of it lies out of sight."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from layoutdrill.face import Light
from layoutdrill.face.materials import Material
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.objectives import beyond_light
from layoutdrill.picture.overlay import Overlay
from layoutdrill.question.kind import Group
from layoutdrill.question.model import Question, Specimen
from layoutdrill.question.registry import kinds
from layoutdrill.screens.sighting import Focus, out_of_view
from layoutdrill.screens.subject import photographic
from layoutdrill.screens.viewport import Viewport

if TYPE_CHECKING:
    from layoutdrill.face.section import SectionFace

ROUND = 4
"""λ round a lettered place that belong to it: its ring, and what is to be seen there."""

RING = 3
"""λ round a place that a page points out: its ring."""

BESIDE = 34
"""Columns of the words beside the picture in a narrow window."""


def words_beside(columns: int, rows: int) -> bool:
    """
    Tell whether in a narrow window the words stand beside the picture: always, unless the window stands upright. In one
    place from question to question, and a verdict, however long, takes nothing of the picture.
    """
    return columns >= rows * 2


def focus_of(question: Question) -> Focus:
    """
    Return what must be in sight: every lettered place with what its kind adds, where that cannot be one of them; for a
    pointing question without letters one of the things it asks for, where none would be in sight by itself; else the
    parts that its kind names; else the cell. Without letters or parts one key goes over all of it, pane by pane.
    """
    specimen = question.specimen
    least = max(1, question.scale)
    per = specimen.process.grid_per_lambda
    if question.marks:
        at = lettered_at(question).values()
        lettered, close = (_round([Rect(x, y, x + 1, y + 1).grown(reach * per) for x, y in at]) for reach in (ROUND, 1))
        wanted = [lettered, close]
        more = kinds()[question.kind].in_sight(question)
        if more:
            wanted.insert(0, _round([lettered, *more]))
        letters = [Rect(x, y, x + 1, y + 1).grown(per) for x, y in at]
        places = tuple(letters)
        return Focus(tuple(wanted), any_of=tuple(letters), least=least, places=places)
    whole = (specimen.face.box if specimen.frame is None else specimen.frame,)
    if question.pointed:
        return Focus(any_of=kinds()[question.kind].any_in_sight(question), least=least, places=whole)
    pictures = kinds()[question.kind].pictures(question)
    if pictures:
        rects, names = tuple(pictures.values()), tuple(pictures)
        needed = (_round([*rects]), rects[0])
        return Focus(needed, least=least, places=rects, pictures=rects, names=names, whole=specimen.face.box)
    parts = kinds()[question.kind].in_sight(question)
    if parts:
        return Focus((_round([*parts]), parts[0]), least=least, places=parts)
    return Focus(() if specimen.frame is None else (specimen.frame,), least=least, places=whole)


UNAIDED = 2
"""Half-pixels per λ from which a photograph is seen without the tracing aid."""


def focus_in(question: Question, look: str) -> Focus:
    """
    Return what must be in sight in a look: a photograph is seen so near that it needs no tracing aid wherever all that
    is asked about has room then, as an answer given with the aid tells little of what one can read on a die; else one
    key goes over it so near.
    """
    focus = focus_of(question)
    face = question.specimen.face
    if not photographic(look) or not face.follows_light or focus.pictures or beyond_light(face.process):
        return focus
    return replace(focus, near=UNAIDED if question.marks else focus.near, gone_over_at=UNAIDED)


def lettered_at(question: Question) -> dict[str, tuple[int, int]]:
    """Return where the lettered places stand on the picture, which may have been stitched with a jump."""
    face = question.specimen.face
    return {mark.letter: face.stitched_at(mark.x, mark.y) for mark in question.marks}


def focus_of_verdict(overlay: Overlay, question: Question) -> Focus:
    """
    Return what a verdict speaks of, and so must be seen: rings and letters whole, outlined gates, the place pointed at;
    where that cannot be, the rings; where even they cannot, the first. A key leads to the supplies in its table.
    """
    face, per = question.specimen.face, question.specimen.process.grid_per_lambda
    rings = [_about(*face.stitched_at(x, y), ROUND * per) for x, y in overlay.spots]
    if overlay.yours is not None:
        rings.append(_about(*face.stitched_at(*overlay.yours), 2 * per))
    marks = [_about(*at, ROUND * per) for at in lettered_at(question).values()]
    gates = [rect for name, _ in overlay.transistors for rect in question.specimen.extraction.channel(name)]
    fields = [_round([*cells]) for cells in kinds()[question.kind].fields(question).values()]
    first = (rings or marks or gates)[:1]
    narrower = [rings + marks + gates, rings + marks, rings or marks, first]
    kept = [part for part in (rings + marks + gates + fields, fields, *narrower) if part]
    box = face.box
    wanted = tuple(r for r in (_round(part).common(box) for part in kept) if r is not None)
    told = kinds()[question.kind].group is not Group.SEE and question.specimen.netlist.count() <= MOST_TOLD
    lines = _longest_lines(question.specimen) if told else []
    places = tuple(dict.fromkeys((*rings, *marks, *gates, *lines)))
    pictures = kinds()[question.kind].pictures(question).items()
    order = sorted(pictures, key=lambda pair: not any(pair[1].contains(*ring.centre) for ring in rings))
    return Focus(
        wanted,
        least=max(1, question.scale),
        places=places,
        pictures=tuple(rect for _, rect in order),
        names=tuple(name for name, _ in order),
        whole=box if order else None,
    )


MOST_TOLD = 60
"""Transistors up to which their table, which names the supplies, stands below a verdict unasked."""


def shows_fields(view: Viewport, question: Question) -> bool:
    """Tell whether the fields that a verdict speaks of are in sight, whole."""
    return all(view.shows(_round([*cells])) for cells in kinds()[question.kind].fields(question).values())


def _about(x: int, y: int, reach: int) -> Rect:
    return Rect(x, y, x + 1, y + 1).grown(reach)


_SPOKEN = ((re.compile(r"\btaps?\b", re.IGNORECASE), "tap"), (re.compile(r"\brails?\b", re.IGNORECASE), "rail"))


def spoken_of(said: str, specimen: Specimen) -> dict[str, list[Rect]]:
    """Return the places of what a page speaks of and a view could cut off: taps, and the lines of both rails."""
    spoken: dict[str, list[Rect]] = {}
    scene = specimen.face.scene
    for word, name in _SPOKEN:
        if word.search(said):
            taps = [r for piece in scene.pieces if piece.material is Material.TAP for r in piece.rects]
            places = taps if name == "tap" else _rail_lines(specimen)
            if places:
                spoken[name] = places
    return spoken


def focus_of_page(said: str, specimen: Specimen, closer: int = 0, pointed: Sequence[Rect] = ()) -> Focus:
    """
    Return what a page's picture must show: all of the drawing; where that cannot be, what the page speaks of, whole;
    where even that cannot, a place of each thing, one line of each rail, near one another. Where the page tells what
    contacts or vias look like (a rim, an edge) one of them comes first, as close as that can be seen. Of a picture that
    is to open `closer` (1: far off) what is pointed out, or as much of it as there is room for; else a contact.
    """
    per = specimen.process.grid_per_lambda
    from layoutdrill.face.section import SectionFace  # noqa: PLC0415 - few pictures are sections, and no question

    if isinstance(specimen.face, SectionFace):
        return _focus_of_section(specimen.face, per)
    marked = [rect.grown(RING * per) for rect in pointed]
    if closer > 1:
        marked = marked or _middle_contact(specimen, per)
        return Focus(_fewer(marked) or (specimen.face.box,), least=closer, places=tuple(marked), close=True)
    if marked:
        return Focus(_fewer(marked), places=tuple(marked))
    spoken = spoken_of(said, specimen)
    details = _details(said, specimen, spoken) if closer == 0 else []
    if details:
        first = details[0].grown(ROUND * per)
        beside = [part for places in spoken.values() if (part := _nearest_part(places, details[0], per)) is not None]
        wanted = [_round([first, *beside]), first]
        return Focus(tuple(wanted), least=DETAIL, places=tuple(rect.grown(per) for rect in details))
    wanted = [specimen.face.box]  # of which a part is better seen close than all of it from afar, but of large arrays
    if spoken:
        wanted.append(_round([rect for places in spoken.values() for rect in places]))
        first = next(iter(spoken.values()))[0]
        near = [min(places, key=lambda r: (_apart(r, first), r)) for places in spoken.values()]
        wanted.append(_round(near))
    places = tuple(rect for places in spoken.values() for rect in places) or (specimen.face.box,)
    return Focus(tuple(wanted), places=places, little=LITTLE)


def _focus_of_section(face: "SectionFace", per: int) -> Focus:
    """
    Return what a cut must show: a gate that it goes through with the contact next to it, from the diffusion up, as
    close as there is room for; without a gate a contact. One key leads to the others.
    """
    channels = [rect for t in face.extraction.netlist.transistors for rect in face.extraction.channel(t.name)]
    gates, contacts = (
        sorted((rect.x0, rect.x1) for rect in rects if rect.y0 <= face.y <= rect.y1)
        for rects in (channels, [joint.rect for joint in face.scene.joints])
    )
    low, high = max(face.box.y0, -_DEEP * per), face.box.y1
    if not gates + contacts:
        return Focus((face.box,), places=(face.box,))
    first = (gates or contacts)[0]
    beside = sorted(contacts, key=lambda stretch: (max(first[0] - stretch[1], stretch[0] - first[1]), stretch))
    x0, x1 = (pick(*first, *beside[0]) if beside else pick(first) for pick in (min, max))
    wanted = Rect(x0 - per, low, x1 + per, high)
    places = tuple(Rect(left, low, right, high) for left, right in sorted({*gates, *contacts}))
    return Focus((wanted,), places=places, near=CUT)


LITTLE = 0.1
"""The share of a page's drawing in sight below which its overview comes first."""
_DEEP = 2
"""λ below the surface that a cut must show: diffusion lies no deeper."""
CUT = 6
"""Half-pixels per λ beyond which a cut shows no more."""
DETAIL = 4
"""Half-pixels per λ from which rims of contacts and edges of vias can be seen in every look."""
_MOST_DETAILS = 4
_TELLS_DETAIL = re.compile(r"\b(rims?|dimples?|floors?|edged)\b", re.IGNORECASE)
_VIAS = re.compile(r"\bvias?\b", re.IGNORECASE)


def _details(said: str, specimen: Specimen, spoken: Mapping[str, list[Rect]]) -> list[Rect]:
    """Return the vias, else the contacts, whose look a page tells, those near what is spoken of first."""
    if not _TELLS_DETAIL.search(said):
        return []
    roles = {"via"} if _VIAS.search(said) else {"contact"}
    layers = specimen.process.layers
    joints = [joint.rect for joint in specimen.face.scene.joints if layers[joint.layer].role in roles]
    others = [place for places in spoken.values() for place in places] or [specimen.face.box]

    def apart(rect: Rect) -> int:
        return min(_gap(rect, other) if spoken else _apart(rect, other) for other in others)

    return sorted(joints, key=lambda rect: (apart(rect), rect))[:_MOST_DETAILS]


def _gap(one: Rect, other: Rect) -> int:
    """Return how far two rectangles lie apart, 0 where they meet."""
    across = max(one.x0 - other.x1, other.x0 - one.x1, 0)
    return across + max(one.y0 - other.y1, other.y0 - one.y1, 0)


def _nearest_part(places: Sequence[Rect], to: Rect, per: int) -> Rect | None:
    """Return what lies within ROUND λ of a place of the one of several that is nearest to it; None where none does."""
    return min(places, key=lambda rect: (_gap(rect, to), rect)).common(to.grown(2 * ROUND * per))


def _fewer(rects: Sequence[Rect]) -> tuple[Rect, ...]:
    """Return what holds all of some places, and then ever fewer of them, the first one last."""
    return tuple(_round([*rects[:count]]) for count in range(len(rects), 0, -1))


def _middle_contact(specimen: Specimen, per: int) -> list[Rect]:
    x, y = specimen.face.box.centre
    joints = [joint.rect for joint in specimen.face.scene.joints]
    nearest = sorted(joints, key=lambda r: (abs(r.centre[0] - x) + abs(r.centre[1] - y), r))
    return [rect.grown(RING * per) for rect in nearest[:1]]


def _apart(one: Rect, other: Rect) -> int:
    return abs(one.centre[0] - other.centre[0]) + abs(one.centre[1] - other.centre[1])


def _rail_lines(specimen: Specimen) -> list[Rect]:
    """Return the metal of both supplies."""
    metal = specimen.face.metal
    rails = [net for net in specimen.process.supplies if net in specimen.netlist.nets]
    shapes = [item for net in rails for item in specimen.extraction.net_shapes(net).items()]
    return [rect for name, rects in shapes if name in metal for rect in rects]


def _longest_lines(specimen: Specimen) -> list[Rect]:
    """Return the longest line of each supply."""
    metal, known = specimen.face.metal, specimen.netlist.nets
    longest = []
    for net in specimen.process.supplies:
        shapes = specimen.extraction.net_shapes(net).items() if net in known else ()
        lines = [rect for name, rects in shapes if name in metal for rect in rects]
        longest += [max(lines, key=lambda r: (max(r.width, r.height), r))] if lines else []
    return longest


def focus_of_rails(question: Question) -> Focus:
    """Return what must be seen where the supplies are outlined as help: their lines, and what is asked."""
    lines, asked = _rail_lines(question.specimen), focus_of(question)
    wanted = (*((_round([*lines, *asked.wanted[:1]]),) if lines else ()), *asked.wanted)
    return Focus(wanted, places=tuple(dict.fromkeys((*asked.places, *_longest_lines(question.specimen)))))


def _round(rects: list[Rect]) -> Rect:
    return Rect(min(r.x0 for r in rects), min(r.y0 for r in rects), max(r.x1 for r in rects), max(r.y1 for r in rects))


def out_of_sight(view: Viewport, question: Question) -> str:
    """Say in a line to which sides more lies, which keys move, and which letters are not in sight; "" where all is."""
    sides = view.beyond()
    pictures = kinds()[question.kind].pictures(question)
    if pictures:
        return _pictures_told(view, pictures)
    close = f"Too far off to tell: F4 goes close{' to each in turn' if len(question.marks) > 1 else ''}."
    if view.scale < question.scale and focus_of(question).places:
        return close
    if not sides:
        return ""
    beyond = f"More lies {', '.join(sides)}: arrows move, Ctrl+arrows while typing."
    away = [f"{letter} {side}" for letter, at in lettered_at(question).items() if (side := view.side_of(*at))]
    if away:
        return f"{beyond} Out of sight: {', '.join(away)}; F4 jumps there."
    apart = not question.marks and out_of_view(view, focus_of(question))
    return f"{beyond} F4 jumps to what is out of sight." if apart else beyond


def _pictures_told(view: Viewport, pictures: Mapping[str, Rect]) -> str:
    """Say which of several pictures is in sight, and the keys that bring the next one up, and all of them."""
    if view.alone is None:
        away = [name for name, rect in pictures.items() if out_of_view(view, Focus(places=(rect,)))]
        return f"Not whole in sight: {', '.join(away)}. F4 shows one at a time, each in the same place." if away else ""
    names = list(pictures)
    at = next((at for at, rect in enumerate(pictures.values()) if rect == view.alone), 0)
    cut = "" if view.whole else f", cut {', '.join(view.beyond())}: arrows move"
    after = names[(at + 1) % len(names)]
    return f"This is {_called(names[at])}, {at + 1} of {len(names)}{cut}. F4: {after} in its place. F8: all of it."


def _called(name: str) -> str:
    return f"the {name} picture" if len(name) > 1 else f"picture {name}"


def shows_as_much(question: Question, now: str, look: str) -> bool:
    """Tell whether a look shows all that the present one shows of what the question rests on."""
    face, seed = question.specimen.face, question.specimen.seed or 0
    seen = face.shows(Light(load_look(now), seed), kinds()[question.kind].needs(question))
    return seen <= face.shows(Light(load_look(look), seed), seen)
