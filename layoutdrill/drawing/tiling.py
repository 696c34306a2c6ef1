"""
Draw an array by abutment: one tile, drawn once, copied side by side, rows mirrored about the rails they share.

The tile is routed like any other cell, with one condition more: a wire that runs through it leaves at the same place
on opposite borders. Wires between the bottom and the top of a tile as the library writes it run level here, in metal,
beside the rails; those between left and right run upright, below the rails. So the array lies a quarter turn from
how it is written; which way up it is shown is the seed's choice anyway.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from layoutdrill.cells.build import tile_netlist
from layoutdrill.cells.tiling import Tile, Tiling
from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.compaction import press, settle
from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.engine import supply_pins, tap_places
from layoutdrill.drawing.families import technique_for
from layoutdrill.drawing.floor import Floor, lay_out
from layoutdrill.drawing.grid import FREE, Grid, Pin, Rows, build
from layoutdrill.drawing.ordering import order
from layoutdrill.drawing.painting import paint
from layoutdrill.drawing.pairing import number_nets, pair, split
from layoutdrill.drawing.rails import BOTTOM, LEFT, RAILS, RIGHT, TOP, Room
from layoutdrill.drawing.refusal import refuse_what_cannot_be_drawn
from layoutdrill.drawing.routing import route
from layoutdrill.drawing.sizes import Drawn, drawn_sizes, least_heights, sizes_of
from layoutdrill.drawing.sketch import Sketch
from layoutdrill.drawing.sketching import sketch
from layoutdrill.drawing.style import Style, choose
from layoutdrill.drawing.technique import METAL, OTHER, Technique
from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process

_PICKS = 12
"""How many choices of the places where wires leave a tile are tried in one attempt."""


@dataclass(frozen=True, slots=True)
class _DrawnTile:
    """A tile with its low rail's middle at y = 0, its high rail's at `height`, its left border at x = 0."""

    layout: Layout
    width: int
    height: int
    rail: int
    sizes: Drawn


def tiled(
    netlist: Netlist, tiling: Tiling, process: Process, seed: int, *, difficulty: float = 0.3, attempt: int = 0
) -> ArrayDrawing | None:
    """
    Return the drawing of a whole array, or None when this attempt found no room for the wires of its tile.

    Raises LayoutdrillError, with the reason, for arrays that cannot be drawn in this way.
    """
    technique = technique_for(process)
    tile = _the_tile(netlist, tiling, technique, process)
    own = tile_netlist(tiling, tile.name, netlist, process)
    refuse_what_cannot_be_drawn(own, process)
    hard = max(0, min(100, round(difficulty * 100)))
    dice = Dice.from_text(f"array|{process.name}|{seed}|{hard}|{attempt}|{tiling.rows}|{tiling.columns}|{own.text()}")
    rows_of = {t.name: technique.row_of(t, process.supplies) for t in own.transistors}
    sizes = sizes_of(own, process, technique)
    least = least_heights(own, rows_of, sizes, technique)
    standing = {rows_of[t.name] for t in own.transistors if technique.stands(t, process.supplies)}
    stands = 0 in standing, 1 in standing
    chosen = choose(own, technique, process.supplies, dice, hard, attempt, least, stands)
    style = replace(chosen, levelled=False, fingers={t.name: t.fingers for t in own.transistors if t.fingers > 1})
    meant = drawn_sizes(own, technique, rows_of, sizes, style.fingers, style.widths)
    nets = number_nets(own)
    low, high = process.supplies
    supplies = nets[low], nets[high]
    slots = pair(split(own, rows_of, style.fingers, nets, sizes), dice, supplies)
    count = len(slots)
    slots = order(slots, dice, style.weights, supplies, min(style.steps, 12 * count * count + 20 * count))
    floor = lay_out(slots, *style.margins, supplies)
    for _ in range(_PICKS):
        drawn = _routed(floor, technique, style, supplies, nets, tile, stands, dice)
        if drawn is not None:
            one = _painted(own, drawn, technique, nets, meant)
            return _assembled(netlist, tiling, one, technique, process, style)
    return None


def _the_tile(netlist: Netlist, tiling: Tiling, technique: Technique, process: Process) -> Tile:
    """Return the only tile of an array that can be drawn, or raise LayoutdrillError with the reason why it cannot."""
    names = {place.tile for place in tiling.places}
    reason = ""
    tile = tiling.tiles[next(iter(names))]
    if len(names) > 1 or len(tiling.places) != tiling.rows * tiling.columns:
        reason = "its tiles are not all alike"
    elif tile.left != tile.right or tile.bottom != tile.top or len(tile.ports) < len(tile.left + tile.bottom):
        reason = "not every wire runs straight through its tiles"
    elif len(tile.rails) != len(process.supplies):
        reason = "its tiles do not have both rails"
    elif technique.rings is not None:
        reason = f"only metal passes the guard rings of {process.name}"
    if reason:
        raise LayoutdrillError(
            f"the array {netlist.name} cannot be drawn tile by tile: {reason}",
            todo="choose another process or a smaller array",
        )
    return tile


def _routed(floor: Floor, technique: Technique, style: Style, supplies: tuple[int, int], nets: Mapping[str, int],
            tile: Tile, stands: tuple[bool, bool], dice: Dice) -> Sketch | None:  # fmt: skip
    """Choose where wires leave, route, and compact; None where there is no room."""
    channel = 3 + floor.columns // 6 + style.spare + len(tile.upright)
    rows = Rows(style.outer[0], style.device_rows[0], channel, style.device_rows[1], style.outer[1], 0, stands)
    grid = build(floor, rows, technique, supplies, technique.costs, style.unrest, dice)
    supply_pins(grid, supplies)
    if not _through(grid, tile, nets, dice):
        return None
    trees = route(grid, dice)
    if trees is None:
        return None
    taps, _ = tap_places(grid, trees, style, technique, dice)
    room = Room(style.widths, taps, style.loose, stout=style.stout, under=style.under)
    found = sketch(floor, grid, trees, technique, room, supplies)
    _fit_neighbours(found, technique)
    press(found)
    settle(found)
    return found


def _through(grid: Grid, tile: Tile, nets: Mapping[str, int], dice: Dice) -> bool:
    """Give every net that runs through two pins straight across from each other; tell whether all found a place."""
    rows = grid.rows
    device = {*rows.device(0), *rows.device(1)}
    tracks = dice.shuffled([r for r in range(1, rows.count - 1) if r not in device])
    columns = dice.shuffled(list(range(grid.columns)))
    for names, places, layer, sides in (
        (tile.upright, tracks, METAL, ("left", "right")),
        (tile.across, columns, OTHER, ("bottom", "top")),
    ):
        for name in names:
            ends = next((e for e in (_ends(grid, layer, place) for place in places) if _open(grid, e)), None)
            if ends is None:
                return False
            for node, side in zip(ends, sides, strict=True):
                grid.owner[node] = nets[name]
                grid.pins.setdefault(nets[name], []).append(Pin((node,), joined=False, side=side))
    return True


def _ends(grid: Grid, layer: int, place: int) -> tuple[int, int]:
    if layer == METAL:
        return grid.node(layer, place, 0), grid.node(layer, place, grid.columns - 1)
    return grid.node(layer, 0, place), grid.node(layer, grid.rows.count - 1, place)


def _open(grid: Grid, ends: tuple[int, int]) -> bool:
    return all(grid.owner[node] == FREE for node in ends)


def _fit_neighbours(found: Sketch, technique: Technique) -> None:
    """
    Hold the two ends of each through wire level with each other, and keep all else so far from the borders left and
    right that a copy may begin there.
    """
    level: dict[int, list[int]] = {}
    upright: dict[int, list[int]] = {}
    for net, _, x, y in found.labels:
        if y[0] in (BOTTOM, TOP) and y[1] in (1, -1) and x[0] not in (LEFT, RIGHT):
            upright.setdefault(net, []).append(x[0])
        elif x[1] in (1, -1) and x[0] in (LEFT, RIGHT) and y[0] not in RAILS:
            level.setdefault(net, []).append(y[0])
    for lines, rules in ((level, found.y_rules), (upright, found.x_rules)):
        for a, b in lines.values():
            rules += [(a, b, 0), (b, a, 0)]
    margin = (max(gap.least for gap in found.gaps) + 1) // 2
    past = technique.doped.past if technique.doped else 0
    for shape in found.shapes:
        keep = margin if shape.sort else max(0, margin - past)
        if shape.x0[0] != LEFT:
            found.x_rules.append((LEFT, shape.x0[0], keep - shape.x0[1]))
        if shape.x1[0] != RIGHT:
            found.x_rules.append((shape.x1[0], RIGHT, keep + shape.x1[1]))


def _painted(own: Netlist, drawn: Sketch, technique: Technique, nets: Mapping[str, int], sizes: Drawn) -> _DrawnTile:
    """Paint the tile; implants and wells run on to its borders, so that those of copies join."""
    layout = paint(own.name, drawn, technique, {n: net for net, n in nets.items()}, [nets[p] for p in own.ports])
    left, low = drawn.xs[LEFT], drawn.ys[RAILS[0]]
    layout = layout.transformed(Transform(-left, -low))
    width = drawn.xs[RIGHT] - left
    shapes = dict(layout.shapes)
    if technique.implants is not None:
        for mask in (*technique.implants.doping, technique.implants.well):
            rects = shapes.get(mask, ())
            shapes[mask] = tuple(Rect(min(0, r.x0), r.y0, max(width, r.x1), r.y1) for r in rects)
    rail = next(s for s in drawn.shapes if s.sort == "metal" and s.y0[0] == RAILS[0] and s.x0 == (LEFT, 0))
    height = drawn.ys[RAILS[1]] - low
    return _DrawnTile(replace(layout, shapes=shapes), width, height, rail.y1[1], sizes)


def _assembled(netlist: Netlist, tiling: Tiling, one: _DrawnTile, technique: Technique, process: Process,
               style: Style) -> ArrayDrawing:  # fmt: skip
    """Copy the tile to every place, join the rails by a strap on either side, and name every port once."""
    shapes: dict[str, list[Rect]] = {mask: [] for mask in one.layout.shapes}
    labels: dict[str, Label] = {}
    sizes: dict[str, tuple[int, int, int]] = {}
    owners = list(one.sizes.values())
    ports = set(netlist.ports)
    for place in tiling.places:
        row, column = place.column, place.row
        flipped = row % 2 == 1
        at = Transform(column * one.width, (row + flipped) * one.height, mirrored=flipped)
        for mask, rects in one.layout.shapes.items():
            shapes[mask] += [at.rect(r) for r in rects]
        sizes.update(zip(place.transistors, owners, strict=True))
        joined = dict(place.joined)
        for label in one.layout.labels:
            net = joined.get(label.text)
            if net in ports and net not in labels:
                assert net is not None
                labels[net] = Label(net, label.layer, *at.point(label.x, label.y))
    right, top = tiling.rows * one.width, tiling.columns * one.height
    gap = technique.wires[METAL].spacing + style.loose
    wide = 2 * one.rail
    for number, net in enumerate(process.supplies):
        x0, x1 = (-gap - wide, -gap) if number == 0 else (right + gap, right + gap + wide)
        rails = [k * one.height for k in range(tiling.columns + 1) if k % 2 == number]
        strap = Rect(x0, rails[0] - one.rail, x1, rails[-1] + one.rail)
        stubs = [Rect(min(x0, right), y - one.rail, max(x1, 0), y + one.rail) for y in rails]
        shapes["metal"] += [strap, *stubs]
        labels[net] = Label(net, "metal", (x0 + x1) // 2, rails[0])
    layout = Layout(netlist.name, {mask: tuple(dict.fromkeys(rects)) for mask, rects in shapes.items()},
                    tuple(labels.values()))  # fmt: skip
    turn = Transform(turns=style.turns, mirrored=style.mirrored)
    box = layout.box
    assert box is not None
    corner = turn.rect(box)
    turn = Transform(-corner.x0, -corner.y0, style.turns, style.mirrored)
    frame = turn.rect(Rect(-gap - wide, -one.rail, right + gap + wide, top + one.rail))
    return ArrayDrawing(layout.transformed(turn), frame, sizes)
