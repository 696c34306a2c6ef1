"""Paint the tiles of an array, ready to be copied."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from layoutdrill.drawing.painting import paint
from layoutdrill.drawing.rails import BOTTOM, LEFT, RAILS, RIGHT, TOP
from layoutdrill.drawing.sizes import Drawn
from layoutdrill.drawing.technique import OTHER, Rings, Technique
from layoutdrill.drawing.tiles.plan import Exit
from layoutdrill.drawing.tiles.tile import Made
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout


@dataclass(frozen=True, slots=True)
class Painted:
    """
    A tile with its low rail's middle at y = 0, its high rail's at `height`, its left border at x = 0; `low` and `top`
    are its borders in y, `ends` where wires leave it, `legs` the middles of its
    guard rings' legs between the rows.
    """

    layout: Layout
    width: int
    height: int
    rail: int
    low: int
    top: int
    sizes: Drawn
    ends: tuple[Exit, ...]
    legs: tuple[int, ...] = ()


def painted(made: Sequence[Made], technique: Technique) -> dict[str, Painted]:
    """Paint the kinds of tiles; implants and wells run on to their borders, all alike, so that those of copies join."""
    found = {one.laid.kind.name: _paint(one, technique) for one in made}
    if technique.rings is not None:
        return {name: with_tap_pieces(one, technique, technique.rings) for name, one in found.items()}
    if technique.implants is None:
        return found
    for mask in (*technique.implants.doping, technique.implants.well):
        bands = _bands([(r.y0, r.y1) for one in found.values() for r in one.layout.shapes.get(mask, ())])
        for name, one in found.items():
            rects = one.layout.shapes.get(mask, ())
            own = [(low, high) for low, high in bands if any(low <= r.y0 and r.y1 <= high for r in rects)]
            wide = tuple(Rect(0, low, one.width, high) for low, high in own)
            past = tuple(r for r in rects if r.x0 < 0 or r.x1 > one.width)
            shapes = {**one.layout.shapes, mask: wide + past}
            found[name] = replace(one, layout=replace(one.layout, shapes=shapes))
    return found


def _paint(one: Made, technique: Technique) -> Painted:
    laid, drawn = one.laid, one.sketch
    names = {number: net for net, number in laid.nets.items()}
    layout = paint(laid.kind.name, drawn, technique, names, [laid.nets[p] for p in laid.kind.netlist.ports])
    left, low = drawn.xs[LEFT], drawn.ys[RAILS[0]]
    rail = next(s for s in drawn.shapes if s.sort == "metal" and s.y0[0] == RAILS[0] and s.x0 == (LEFT, 0))
    ends = tuple(
        end._replace(place=drawn.ys[end.place] - low if end.side in ("left", "right") else drawn.xs[end.place] - left)
        for end in one.ends
    )
    return Painted(
        layout.transformed(Transform(-left, -low)),
        drawn.xs[RIGHT] - left,
        drawn.ys[RAILS[1]] - low,
        rail.y1[1],
        drawn.ys[BOTTOM] - low,
        drawn.ys[TOP] - low,
        laid.sizes,
        ends,
        tuple(drawn.ys[s.y0[0]] - low for s in drawn.shapes if s.sort == "ring"),
    )


def _bands(spans: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Join spans that overlap."""
    found: list[tuple[int, int]] = []
    for low, high in sorted(spans):
        if found and low < found[-1][1]:
            found[-1] = found[-1][0], max(high, found[-1][1])
        else:
            found.append((low, high))
    return found


def with_tap_pieces(one: Painted, t: Technique, rings: Rings) -> Painted:
    """Lay the legs of open rings under the rails: one piece, with its contact, wherever no wire passes below."""
    assert t.doped is not None
    half, clear = rings.width // 2, rings.gap + (t.wires[OTHER].pad - t.wires[OTHER].width) // 2
    shapes = {mask: list(rects) for mask, rects in one.layout.shapes.items()}
    diffusions = [r for mask in t.doped.doping for r in one.layout.shapes.get(mask, ())]
    cut = t.contact // 2
    for supply, y in ((0, 0), (1, one.height)):
        edge = (rings.gap + 1) // 2
        blocked = [
            (r.x0 - clear, r.x1 + clear) for r in diffusions if r.y0 < y + half + clear and r.y1 > y - half - clear
        ]
        for x0, x1 in _free(edge, one.width - edge, blocked):
            if x1 - x0 < rings.width:
                continue
            shapes.setdefault(t.doped.doping[1 - supply], []).append(Rect(x0, y - half, x1, y + half))
            x = (x0 + x1) // 2
            shapes.setdefault("contact", []).append(Rect(x - cut, y - cut, x + cut, y + cut))
    layout = replace(one.layout, shapes={mask: tuple(rects) for mask, rects in shapes.items()})
    return replace(one, layout=layout)


def _free(low: int, high: int, blocked: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the stretches from `low` to `high` that nothing blocks."""
    found = []
    for x0, x1 in sorted(blocked):
        if x0 > low:
            found.append((low, min(x0, high)))
        low = max(low, x1)
    if high > low:
        found.append((low, high))
    return found
