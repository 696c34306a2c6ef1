"""Tell a layout's shapes in plain text: the connected pieces of each layer, and where pieces of two layers meet."""

from collections.abc import Iterator, Mapping
from textwrap import wrap

from layoutdrill.face.lettered import WIDTH, drawn_layers, joined
from layoutdrill.face.scene import groups
from layoutdrill.face.unit import Unit
from layoutdrill.geometry.cutting import union
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.process import Process
from layoutdrill.units import GridUnits

Pieces = Mapping[str, tuple[tuple[Rect, ...], ...]]
_CUTS = ("contact", "via", "glass-opening")
_DOPINGS = ("n-doping", "p-doping", "implant")


def pieces_of(layout: Layout, process: Process) -> Pieces:
    """Return each layer's connected pieces, from the lower left; a piece's number is its place in them, from 1."""
    pieces = {}
    for name, rects in drawn_layers(layout, process):
        pieces[name] = tuple(sorted(joined(group) for group in groups(joined(rects))))
    return pieces


def shape_lines(layout: Layout, process: Process, unit: Unit | None = None) -> list[str]:
    """
    Return each layer's pieces with the ranges of their rectangles (λ unless told), the lowest layer first. Cuts stand
    in their order without a number: how many there are may be asked.
    """
    unit = unit or Unit(process.grid_per_lambda)
    lines = [f"Shapes, by layer and by connected piece, in {unit.sign}:"]
    for name, pieces in pieces_of(layout, process).items():
        title = process.layers[name].title
        places = [" and ".join(unit.span(rect) for rect in piece) for piece in pieces]
        if _role(process, name) in _CUTS:
            lines.extend(_wrapped(f"{title}, each piece: {'; '.join(places)}"))
            continue
        lines.append(f"{title}, {len(pieces)} piece{'s' if len(pieces) > 1 else ''}:")
        for i, text in enumerate(places, 1):
            lines.extend(_wrapped(f"{i}: {text}", "    ", first="  "))
    return lines


def meeting_lines(layout: Layout, process: Process, unit: Unit | None = None) -> list[str]:
    """Return where pieces lie over each other: what each contact joins, each other overlap, each piece's doping."""
    unit = unit or Unit(process.grid_per_lambda)
    pieces = pieces_of(layout, process)
    lines = ["Where layers meet, pieces numbered as in the shapes:"]
    lines.extend(_cut_lines(pieces, process, unit))
    lines.extend(_overlap_lines(pieces, process, unit))
    lines.extend(_doping_lines(pieces, process, unit))
    return lines if len(lines) > 1 else ["No two layers meet."]


def at_point(layout: Layout, process: Process, x: GridUnits, y: GridUnits) -> str:
    """Say which pieces lie at a point (grid units), topmost first; doping and wells only where they dope an area."""
    here = [
        (name, i)
        for name, pieces in pieces_of(layout, process).items()
        for i, piece in enumerate(pieces, 1)
        if any(rect.contains(x, y) for rect in piece)
    ]
    doping = _doping(process)
    if all(_role(process, name) != "active" for name, _ in here):
        here = [(name, i) for name, i in here if name not in doping]
    return " over ".join(_piece(process, name, i) for name, i in reversed(here)) or "nothing"


def _doping(process: Process) -> frozenset[str]:
    """Return the layers that only dope what another layer outlines; without such a layer a doping is an area itself."""
    roles = ("well", *_DOPINGS) if any(layer.role == "active" for layer in process.layers.values()) else ("well",)
    return frozenset(name for name, layer in process.layers.items() if layer.role in roles)


def _piece(process: Process, name: str, number: int) -> str:
    """Name a piece by its number in the shapes; a cut, which has none there, by its layer."""
    title = process.layers[name].title
    return title if _role(process, name) in _CUTS else f"{title} {number}"


def _role(process: Process, name: str) -> str:
    return process.layers[name].role


def _cut_lines(pieces: Pieces, process: Process, unit: Unit) -> Iterator[str]:
    """Tell, for each cut, the nearest piece above it and the nearest below that its layer can join."""
    order, doping = list(pieces), _doping(process)
    for name in (name for name in pieces if _role(process, name) in _CUTS):
        joins = [cut for cut in process.cuts if cut.layer == name]
        for i, piece in enumerate(pieces[name], 1):
            x, y = piece[0].centre
            here = [
                (other, j)
                for other in order
                if other != name and _role(process, other) not in _CUTS and other not in doping
                for j, rects in enumerate(pieces[other], 1)
                if any(rect.contains(x, y) for rect in rects)
            ]
            over = [piece for piece in here if any(piece[0] == cut.upper for cut in joins)]
            under = [piece for piece in here if order.index(piece[0]) < order.index(over[0][0])] if over else here
            titles = [_piece(process, *piece) for piece in (*over[:1], *under[-1:])]
            yield from _wrapped(f"{_piece(process, name, i)}, at {unit.axes(x, y)}: {' to '.join(titles)}.")


def _overlap_lines(pieces: Pieces, process: Process, unit: Unit) -> Iterator[str]:
    """Tell each overlap of two pieces without a cut in it."""
    doping = _doping(process)
    bodies = [name for name in pieces if _role(process, name) not in _CUTS and name not in doping]
    cuts = [rect for name in pieces if _role(process, name) in _CUTS for piece in pieces[name] for rect in piece]
    for k, upper in enumerate(bodies):
        for lower in bodies[:k]:
            for i, above in enumerate(pieces[upper], 1):
                for j, below in enumerate(pieces[lower], 1):
                    shared = [area for a in above for b in below if (area := a.common(b)) is not None and area.area]
                    areas = [joined(group) for group in groups(union(shared))] if shared else []
                    clear = [area for area in areas if not any(cut.overlaps(rect) for cut in cuts for rect in area)]
                    if clear:
                        where = "; ".join(" and ".join(unit.span(rect) for rect in area) for area in sorted(clear))
                        yield from _wrapped(f"{_piece(process, upper, i)} over {_piece(process, lower, j)}: {where}.")


def _doping_lines(pieces: Pieces, process: Process, unit: Unit) -> Iterator[str]:
    """Tell the doping of each active piece, where it is doped in part, and the well that it lies in."""
    doping = _doping(process)
    for name in (name for name in pieces if _role(process, name) in ("active", *_DOPINGS) and name not in doping):
        for i, piece in enumerate(pieces[name], 1):
            sayings = []
            for other in pieces:
                if other not in doping:
                    continue
                shared = [area for a in piece for other_piece in pieces[other] for b in other_piece
                          if (area := a.common(b)) is not None and area.area]  # fmt: skip
                parts = joined(union(shared)) if shared else ()
                whole = sum(rect.area for rect in union(piece))
                if parts and sum(rect.area for rect in union(parts)) == whole:
                    sayings.append(f"all in {process.layers[other].title}")
                elif parts:
                    where = " and ".join(unit.span(rect) for rect in parts)
                    sayings.append(f"{process.layers[other].title} at {where}")
            if sayings:
                yield from _wrapped(f"{_piece(process, name, i)}: {'; '.join(sayings)}.")


def _wrapped(text: str, indent: str = "  ", first: str = "") -> list[str]:
    return wrap(text, WIDTH, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False)
