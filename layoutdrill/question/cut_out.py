"""A part cut out of a die, to be read in full: its shapes, the nets that lead out of it, and its netlist."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from string import ascii_lowercase

from layoutdrill.cells.entry import Port
from layoutdrill.extract import extract
from layoutdrill.extract.model import Extraction
from layoutdrill.face import DrawnFace
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.compare import Merge, alike
from layoutdrill.netlist.model import Netlist, Transistor
from layoutdrill.netlist.roles import Role
from layoutdrill.process import Process
from layoutdrill.question.die_plan import extent_of
from layoutdrill.question.model import Specimen
from layoutdrill.recognise.model import Recognition, Structure

MOST_OF_ONE = 24
"""Transistors, fingers counted, up to which a part is read in one go."""
_FAR = 60
"""λ beyond its transistors to which a part's border may be looked for."""


def readable_parts(structure: Structure) -> Iterator[Structure]:
    """Yield the largest parts of a repeat, itself included, that can be read in one go; each term once."""
    seen: set[str] = set()

    def within(part: Structure) -> Iterator[Structure]:
        if len(part.transistors) <= MOST_OF_ONE:
            if part.term not in seen and len(part.transistors) > 1:
                seen.add(part.term)
                yield part
        else:
            for inner in part.parts:
                yield from within(inner)

    yield from within(structure)


def cut_out(die: Specimen, seen: Recognition, part: Structure) -> Specimen | None:
    """
    Return a part of a die as a specimen of its own: what lies within its border, with letters for the nets that lead
    out. It is read anew from its shapes alone and compared with the same transistors of the die; None where no border
    can be drawn within which it is that and nothing more.
    """
    if not isinstance(die.face, DrawnFace):
        return None
    names = set(part.transistors)
    own = tuple(t for t in die.netlist.transistors if t.name in names)
    named = _named(die, part)
    meant = _renamed(own, named)
    for border in dict.fromkeys(_borders(die, part)):
        layout = _clipped(die.face.layout, die.process, border)
        labels = tuple(_labels(die, named, border))
        if len({label.text for label in labels}) < len(named):
            continue
        layout = Layout(part.term.replace(" ", "_"), layout.shapes, labels)
        read = extract(layout, die.process)
        if _same(meant, read):
            face = DrawnFace(layout, die.process, read)
            return _specimen(die, face, part, named, seen)
    return None


def _named(die: Specimen, part: Structure) -> Mapping[str, str]:
    """Return a letter for each net that leads out of a part, rails by their names: those that it is driven by first."""
    names, rails = set(part.transistors), die.process.rails
    inside = {n for t in die.netlist.transistors if t.name in names for n in (t.gate, *t.ends)}
    beyond = {n for t in die.netlist.transistors if t.name not in names for n in (t.gate, *t.ends)}
    out = {p.net: p.role for p in part.ports}
    leading = [n for n in sorted(inside) if n in beyond or n in die.netlist.ports or n in out]
    signals = [n for n in leading if n not in rails]
    signals.sort(key=lambda n: (out.get(n) is Role.OUTPUT, _left(die, part, n), n))
    letters = [letter for letter in ascii_lowercase if letter not in "lnopx"]
    return {**{n: n for n in leading if n in rails}, **dict(zip(signals, letters, strict=False))}


def _left(die: Specimen, part: Structure, net: str) -> int:
    extent = extent_of(die, part.transistors)
    shapes = [r for rects in die.extraction.net_shapes(net).values() for r in rects]
    near = [r.x0 for r in shapes if extent is not None and r.overlaps(extent)]
    return min(near, default=0)


def _renamed(own: Iterable[Transistor], named: Mapping[str, str]) -> Netlist:
    devices = tuple(
        replace(t, gate=_of(named, t.gate), source=_of(named, t.source), drain=_of(named, t.drain), body="")
        for t in own
    )  # fmt: skip
    return Netlist("part", tuple(dict.fromkeys(named.values())), devices)


def _of(named: Mapping[str, str], net: str) -> str:
    return named.get(net, f"inner {net}")


def _borders(die: Specimen, part: Structure) -> Iterator[Rect]:
    """Yield borders round a part, widest first, that stay clear of every other transistor."""
    extent = extent_of(die, part.transistors)
    if extent is None:
        return
    per, names = die.process.grid_per_lambda, set(part.transistors)
    others = [r for t in die.netlist.transistors if t.name not in names for r in die.extraction.channel(t.name)]
    for far in (_FAR, 30, 20, 14, 10, 7, 5):
        for upright_first in (False, True):
            yield _grown(extent, others, far * per, upright_first=upright_first)


def _grown(extent: Rect, others: list[Rect], far: int, *, upright_first: bool) -> Rect:
    """Return a rectangle grown each way as far as `far`, less where another transistor lies."""
    x0, y0, x1, y1 = extent
    for upright in (upright_first, not upright_first):
        beside = [r for r in others if (r.x0 < x1 and x0 < r.x1 if upright else r.y0 < y1 and y0 < r.y1)]
        if upright:
            below = [r.y1 for r in beside if r.y1 <= extent.y0]
            above = [r.y0 for r in beside if r.y0 >= extent.y1]
            y0 = max([extent.y0 - far, *((b + extent.y0) // 2 for b in below)])
            y1 = min([extent.y1 + far, *((b + extent.y1) // 2 for b in above)])
        else:
            left = [r.x1 for r in beside if r.x1 <= extent.x0]
            right = [r.x0 for r in beside if r.x0 >= extent.x1]
            x0 = max([extent.x0 - far, *((b + extent.x0) // 2 for b in left)])
            x1 = min([extent.x1 + far, *((b + extent.x1) // 2 for b in right)])
    return Rect(x0, y0, x1, y1)


def _clipped(layout: Layout, process: Process, border: Rect) -> Layout:
    """Return what lies within a border: wires are cut at it, contacts that stand across it left out."""
    holes = {cut.layer for cut in process.cuts}
    shapes: dict[str, tuple[Rect, ...]] = {}
    for name, rects in layout.flattened().shapes.items():
        whole = name in holes
        kept = [r if border.covers(r) else None if whole else r.common(border) for r in rects]
        shapes[name] = tuple(r for r in kept if r is not None)
    return Layout("part", {name: rects for name, rects in shapes.items() if rects})


def _labels(die: Specimen, named: Mapping[str, str], border: Rect) -> Iterator[Label]:
    """Yield each name on the largest piece of its net that lies within a border, on metal where there is some."""
    conductors = die.process.conductors
    for net, name in named.items():
        pieces = []
        for conductor, rects in die.extraction.net_shapes(net).items():
            if conductor not in conductors or not conductors[conductor].labels:
                continue
            layer = conductors[conductor].labels[0]
            metal = conductor in die.face.metal
            inside = [r for r in (rect.common(border) for rect in rects) if r is not None]
            pieces += [(metal, r.area, r, layer) for r in inside]
        if pieces:
            _, _, rect, layer = max(pieces)
            yield Label(name, layer, *rect.centre)


def _same(meant: Netlist, read: Extraction) -> bool:
    """Tell whether the part, read alone, is what it is on the die, every net that leads out by its name."""
    bare = tuple(replace(t, body="") for t in read.netlist.transistors)
    if len(bare) != len(meant.transistors):
        return False
    alone = Netlist("part", meant.ports, bare)
    return alike(meant, alone, merge=Merge.NONE)


def _specimen(die: Specimen, face: DrawnFace, part: Structure, named: Mapping[str, str], seen: Recognition) -> Specimen:
    roles = {port.net: port for port in part.ports}
    ports = []
    for net, name in named.items():
        if net in die.process.rails:
            continue
        port = roles.get(net)
        opposite = _opposite(net, named, seen) if port is None or port.role is not Role.OUTPUT else None
        ports.append(Port(name, port.role if port is not None else _role(net, part, die), opposite))
    return replace(
        die,
        structure=part.term,
        aliases=part.also,
        face=face,
        netlist=face.extraction.netlist,
        boundary="what lies within the border of this picture",
        about="",
        ports=tuple(ports),
    )


def _role(net: str, part: Structure, die: Specimen) -> Role:
    """Say what a net that no port tells of is for a part: it drives gates there, or comes out of channels."""
    names = set(part.transistors)
    ends = {end for t in die.netlist.transistors if t.name in names for end in t.ends}
    return Role.OUTPUT if net in ends else Role.INPUT


def _opposite(net: str, named: Mapping[str, str], seen: Recognition) -> str | None:
    """Return the letter of the net of which an inverter of the die makes this one, where both lead into the part."""
    for s in seen.all():
        if s.term == "inverter" and net in s.nets(Role.OUTPUT):
            source = next((n for n in s.nets(Role.INPUT) if n in named), None)
            return named[source] if source is not None else None
    return None
