"""The netlist that marks spell, and what is odd about the marks: unjoined pieces, nets that meet, nets that hang."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where, plural
from layoutdrill.extract.model import Finding, FindingKind
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.sweep import meeting, touching
from layoutdrill.netlist.model import Netlist, Transistor
from layoutdrill.photo.model import Layer, Marks, Region
from layoutdrill.photo.repeats import Placed, middle
from layoutdrill.photo.shapes import Shape, Shapes
from layoutdrill.process import Process
from layoutdrill.unions import Unions

DIFFUSION_APART = 3
"""λ that two pieces of diffusion lie apart at least (Mead & Conway 1980)."""
_MOST_TRIED = 200
"""Shapes of a piece that are tried for where it lies nearest to another."""


def within(marks: Marks, region: Region | None) -> Marks:
    """Return the marks of a region: the devices inside, and of their nets what reaches into its box."""
    if region is None:
        return marks
    transistors = tuple(t for t in marks.transistors if region.holds(t.at[0]))
    left, top, right, bottom = region.box
    reach = 3 * marks.per_lambda

    def near(at: tuple[float, float]) -> bool:
        return left - reach <= at[0] <= right + reach and top - reach <= at[1] <= bottom + reach

    wires = tuple(w for w in marks.wires if _touches_box(w.at, region.box))
    return replace(
        marks,
        transistors=transistors,
        wires=wires,
        points=tuple(p for p in marks.points if near(p.at)),
        contacts=tuple(c for c in marks.contacts if near(c.at)),
        ports=tuple(p for p in marks.ports if region.holds(p.at)),
        regions=(region,),
        repeats=(),
    )


def _touches_box(line: tuple[tuple[float, float], ...], box: tuple[float, float, float, float]) -> bool:
    left, top, right, bottom = box
    return any(
        min(xa, xb) <= right and max(xa, xb) >= left and min(ya, yb) <= bottom and max(ya, yb) >= top
        for (xa, ya), (xb, yb) in pairwise(line)
    )


def netlist_of(marks: Marks, process: Process, name: str = "") -> Netlist:
    """Return the netlist of the marked transistors; ports are those marked, and the supplies that are used."""
    transistors = tuple(
        Transistor(
            name=t.name,
            kind=t.kind,
            gate=t.gate,
            source=t.ends[0],
            drain=t.ends[1],
            length=round(t.channel[0] * marks.nm),
            width=round(t.channel[1] * marks.nm),
            mode=t.mode,
        )
        for t in marks.transistors
    )
    used = {net for t in transistors for net in t.terminals}
    ports = dict.fromkeys(port.net for port in marks.ports if port.net in used)
    ports.update(dict.fromkeys(net for net in process.supplies if net in used))
    return Netlist(name or marks.name, tuple(ports), transistors)


def oddities(marks: Marks, shapes: Shapes, process: Process) -> Iterator[Finding]:
    """
    Yield what is odd about marks: two nets marked on one spot of a layer, a net in pieces that nothing marked joins, a
    net that no transistor uses, one that leads from a single transistor to nothing.
    """
    yield from _netted_twice(shapes, marks.per_lambda)
    yield from _in_pieces(shapes)
    uses = Counter(net for t in marks.transistors for net in {t.gate, *t.ends})
    kept = {*process.supplies, *(port.net for port in marks.ports)}
    places = _places(shapes)
    for net in marks.nets:
        if not uses[net]:
            yield Finding(FindingKind.STRAY_LABEL, f"{net} is marked, and no transistor is on it", places[net])
        elif uses[net] == 1 and net not in kept:
            what = f"{net} leads from one transistor to nothing, and is no port"
            yield Finding(FindingKind.FLOATING_GATE, what, places[net])


def _places(shapes: Shapes) -> dict[str, Rect]:
    places: dict[str, Rect] = {}
    for shape in shapes.wires:
        places.setdefault(shape.net, shape.rect)
    for port in shapes.marks.ports:
        x, y = shapes.frame.point(port.at)
        places.setdefault(port.net, Rect(x, y, x + 1, y + 1))
    return places


def _netted_twice(shapes: Shapes, side: int) -> Iterator[Finding]:
    """Yield where shapes of two nets lie over each other on one layer by more than half a λ."""
    inset = max(1, side // 4)
    by: dict[object, list[int]] = {}
    for i, shape in enumerate(shapes.wires):
        by.setdefault(shape.layer, []).append(i)
    already: set[tuple[str, str]] = set()
    boxes = [_shrunk(shape.rect, inset) for shape in shapes.wires]
    for members in by.values():
        for i, j in touching(boxes, members):
            a, b = shapes.wires[i], shapes.wires[j]
            pair = (min(a.net, b.net), max(a.net, b.net))
            common = boxes[i].common(boxes[j])
            if a.net == b.net or common is None or pair in already:
                continue
            already.add(pair)
            what = f"{pair[0]} and {pair[1]} are marked on one spot of {a.layer}"
            yield Finding(FindingKind.SHORT, what, common)


def _shrunk(rect: Rect, by: int) -> Rect:
    x, y = rect.centre
    return Rect(min(rect.x0 + by, x), min(rect.y0 + by, y), max(rect.x1 - by, x + 1), max(rect.y1 - by, y + 1))


def _in_pieces(shapes: Shapes) -> Iterator[Finding]:
    """
    Yield nets whose shapes hang together in several pieces: wires that touch, and contacts between layers. Diffusion of
    one net that lies nearer than two pieces of it may lie is one, for a transistor's end and a contact beside it are
    often put down a little apart.
    """
    sets = Unions()
    boxes = [shape.rect for shape in shapes.wires]
    by: dict[tuple[object, str], list[int]] = {}
    for i, shape in enumerate(shapes.wires):
        by.setdefault((shape.layer, shape.net), []).append(i)
    half = round(DIFFUSION_APART * shapes.side) // 2
    wide = [box.grown(half) if s.layer is Layer.DIFFUSION else box for box, s in zip(boxes, shapes.wires, strict=True)]
    for members in by.values():
        for i, j in touching(wide, members):
            sets.join(i, j)
    count = len(boxes)
    cuts = [cut.rect for cut in shapes.cuts]
    for i, j in meeting([*boxes, *cuts], range(count), range(count, count + len(cuts))):
        wire, cut = (i, j) if i < count else (j, i)
        shape, hole = shapes.wires[wire], shapes.cuts[cut - count]
        if shape.net == hole.net and shape.layer in (hole.upper, hole.lower):
            sets.join(wire, cut)
    nets: dict[str, dict[int, list[Shape]]] = {}
    for i, shape in enumerate(shapes.wires):
        nets.setdefault(shape.net, {}).setdefault(sets.find(i), []).append(shape)
    for net, pieces in nets.items():
        if len(pieces) > 1:
            *others, last = pieces.values()
            near, far = _nearest([shape for piece in others for shape in piece], last)
            way = f"from {_place(near, shapes)} to {_place(far, shapes)}"
            what = f"{net} is marked in {plural(len(pieces), 'piece')} that nothing marked joins: mark what leads {way}"
            yield Finding(FindingKind.OPEN, what, far.rect)


def _place(shape: Shape, shapes: Shapes) -> str:
    x, y = shapes.frame.at(*shape.rect.centre)
    return f"{shape.layer} at ({x:.0f}, {y:.0f})"


def _nearest(some: Sequence[Shape], others: Sequence[Shape]) -> tuple[Shape, Shape]:
    """Return the two shapes, one of each piece, that lie nearest to each other; of many, only the first are tried."""
    pairs = ((a, b) for a in some[:_MOST_TRIED] for b in others[:_MOST_TRIED])
    return min(pairs, key=lambda pair: (_gap(pair[0].rect, pair[1].rect), pair[0].layer is not pair[1].layer))


def _gap(a: Rect, b: Rect) -> int:
    return max(0, a.x0 - b.x1, b.x0 - a.x1) + max(0, a.y0 - b.y1, b.y0 - a.y1)


def differences(marks: Marks, process: Process, region: Region) -> tuple[str, ...]:
    """
    Return how a region's marks differ from the netlist that it names, beside the mark file; () where they are equal.

    Raises LayoutdrillError where that netlist cannot be read.
    """
    try:
        return differences_from(netlist_of(within(marks, region), process, region.name), marks.folder / region.netlist)
    except LayoutdrillError as error:
        own = f" ({error.where})" if error.where else ""
        raise LayoutdrillError(f"{error.what}{own}", where=region.where, todo=error.todo) from None


def differences_from(marked: Netlist, file: Path) -> tuple[str, ...]:
    """Return how what is marked differs from a netlist that was written; () where equal. Raises LayoutdrillError."""
    from layoutdrill.netlist.compare import Terms, compare_by  # noqa: PLC0415 - few marks have a netlist beside
    from layoutdrill.netlist.spice import read_spice_file  # noqa: PLC0415 - the same

    result = compare_by(marked, read_spice_file(file), Terms(titles=("the marks", file.name)))
    return () if result.equal else (result.differences or ("the circuits differ",))


def nearest_mark(marks: Marks, at: tuple[float, float], reach: float) -> Where | None:
    """Return where in the file the mark stands that lies nearest to a place, None where none is in reach."""
    best: tuple[float, Where] | None = None
    every: tuple[Placed, ...] = (
        *marks.transistors, *marks.contacts, *marks.points, *marks.ports, *marks.wires,
    )  # fmt: skip
    for mark in every:
        x, y = middle(mark)
        far = max(abs(x - at[0]), abs(y - at[1]))
        if far <= reach and (best is None or far < best[0]):
            best = far, mark.where
    return best[1] if best else None
