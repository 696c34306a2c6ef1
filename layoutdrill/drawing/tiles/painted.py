"""Paint the tiles of an array, ready to be copied."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from layoutdrill.drawing.row_pairs.shaping.lines import ACROSS, Line
from layoutdrill.drawing.row_pairs.shaping.painting import paint
from layoutdrill.drawing.row_pairs.shaping.sketch import Sort
from layoutdrill.drawing.shared.sizes import Drawn
from layoutdrill.drawing.shared.technique import OTHER, Implants, Rings, Technique
from layoutdrill.drawing.tiles.plan import Exit, Plan
from layoutdrill.drawing.tiles.tile import Made
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class Painted:
    """
    A tile with its low rail's middle at y = 0, its high rail's at `height`, its left border at x = 0; `low` and `top`
    are its borders in y, `ends` where wires leave it, `legs` the middles of its
    guard rings' legs between the rows.
    """

    layout: Layout
    width: GridUnits
    height: GridUnits
    rail: GridUnits
    low: GridUnits
    top: int
    sizes: Drawn
    ends: tuple[Exit, ...]
    legs: tuple[int, ...] = ()


def painted(made: Mapping[str, Made], technique: Technique, plan: Plan) -> dict[str, Painted]:
    """Paint the kinds of tiles; implants and wells run on to their borders, all alike, so that those of copies join."""
    tiles = {name: _paint(tile) for name, tile in made.items()}
    if technique.rings is not None:
        for stack in plan.stacks:
            tiles |= with_tap_pieces({name: tiles[name] for name in stack}, technique, technique.rings)
    if technique.implants is not None:
        for band in plan.bands:
            tiles |= _joined_implants({name: tiles[name] for name in band}, technique.implants)
    return tiles


def _joined_implants(band: Mapping[str, Painted], implants: Implants) -> dict[str, Painted]:
    """Make implants and wells as high in all kinds of a row, from border to border, and past the borders alike."""
    joined = dict(band)
    for mask in (*implants.doping, implants.well):
        places = [(r, tile.width) for tile in joined.values() for r in tile.layout.shapes.get(mask, ())]
        spans = _spans([(r.y0, r.y1) for r, _ in places], 2 * implants.past)
        over = max((max(-r.x0, r.x1 - width, 0) for r, width in places), default=0)
        for name, tile in joined.items():
            rects = tile.layout.shapes.get(mask, ())
            own = [(low, high) for low, high in spans if any(low <= r.y0 and r.y1 <= high for r in rects)]
            wide = tuple(Rect(-over, low, tile.width + over, high) for low, high in own)
            joined[name] = replace(tile, layout=replace(tile.layout, shapes={**tile.layout.shapes, mask: wide}))
    return joined


def _paint(made: Made) -> Painted:
    laid, drawn = made.laid, made.sketch
    names = {number: net for net, number in laid.job.nets.items()}
    layout = paint(laid.kind.name, drawn, names, [laid.job.nets[p] for p in laid.kind.netlist.ports])
    x, y = drawn.x.at, drawn.y.at
    left, low = x[Line.LEFT], y[Line.RAILS[0]]
    rail = next(s for s in drawn.shapes if s.sort is Sort.METAL and s.y[0][0] == Line.RAILS[0] and s.x[0] == ACROSS[0])
    ends = tuple(
        end._replace(place=y[end.place] - low if end.side in ("left", "right") else x[end.place] - left)
        for end in made.ends
    )
    return Painted(
        layout.transformed(Transform(-left, -low)),
        made.width,
        y[Line.RAILS[1]] - low,
        rail.y[1][1],
        y[Line.BOTTOM] - low,
        y[Line.TOP] - low,
        laid.sizes,
        ends,
        tuple(y[s.y[0][0]] - low for s in drawn.shapes if s.sort is Sort.RING),
    )


def _spans(spans: Sequence[tuple[int, int]], least: int) -> list[tuple[int, int]]:
    """Join spans that are less than `least` apart."""
    joined: list[tuple[int, int]] = []
    for low, high in sorted(spans):
        if joined and low < joined[-1][1] + least:
            joined[-1] = joined[-1][0], max(high, joined[-1][1])
        else:
            joined.append((low, high))
    return joined


def with_tap_pieces(stack: Mapping[str, Painted], t: Technique, rings: Rings) -> dict[str, Painted]:
    """
    Lay the legs of open rings under the rails: a piece, with its contact, wherever no wire passes below.

    Tiles that stand above one another, on either side of a rail, have the same pieces.
    """
    assert t.doped is not None
    half, clear, cut = rings.width // 2, rings.gap + (t.wires[OTHER].pad - t.wires[OTHER].width) // 2, t.contact // 2
    edge, width = (rings.gap + 1) // 2, next(iter(stack.values())).width
    reach = half + clear
    pieced = dict(stack)
    for supply in (0, 1):
        blocked = []
        for tile in stack.values():
            y = supply * tile.height
            diffusions = (r for mask in t.doped.doping for r in tile.layout.shapes.get(mask, ()))
            blocked += [(r.x0 - clear, r.x1 + clear) for r in diffusions if r.y0 < y + reach and r.y1 > y - reach]
        spans = [(x0, x1) for x0, x1 in _free(edge, width - edge, blocked) if x1 - x0 >= rings.width]
        mask = t.doped.doping[1 - supply]
        for name, tile in pieced.items():
            y = supply * tile.height
            shapes = dict(tile.layout.shapes)
            shapes[mask] = shapes.get(mask, ()) + tuple(Rect(x0, y - half, x1, y + half) for x0, x1 in spans)
            middles = [(x0 + x1) // 2 for x0, x1 in spans]
            shapes[t.cut] += tuple(Rect(x - cut, y - cut, x + cut, y + cut) for x in middles)
            pieced[name] = replace(tile, layout=replace(tile.layout, shapes=shapes))
    return pieced


def _free(low: int, high: int, blocked: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the stretches from `low` to `high` that nothing blocks."""
    left = []
    for x0, x1 in sorted(blocked):
        if x0 > low:
            left.append((low, min(x0, high)))
        low = max(low, x1)
    if high > low:
        left.append((low, high))
    return left
