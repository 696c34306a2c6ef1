"""Lay out, route and compact the tiles of an array, so that copies may stand side by side."""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.engine import supply_pins, tap_places
from layoutdrill.drawing.floor import Floor, lay_out
from layoutdrill.drawing.grid import Grid, Rows, build
from layoutdrill.drawing.ordering import order, turned
from layoutdrill.drawing.pairing import Slot, number_nets, pair, split
from layoutdrill.drawing.rails import BOTTOM, LEFT, RAILS, RIGHT, TOP, Room
from layoutdrill.drawing.routing import Tree, route
from layoutdrill.drawing.sizes import Drawn, drawn_sizes, least_heights, sizes_of
from layoutdrill.drawing.sketch import Sketch
from layoutdrill.drawing.sketching import sketch
from layoutdrill.drawing.style import Style, choose
from layoutdrill.drawing.technique import METAL, OTHER, Technique
from layoutdrill.drawing.tiles.plan import End, Exit, Kind, Plan
from layoutdrill.drawing.tiles.ports import Columns, Tracks, choose_tracks, place_ports
from layoutdrill.drawing.tiles.together import press_together
from layoutdrill.process.model import Process

_Routed = tuple[Grid, dict[int, Tree]]
_ROUNDS = 24
"""How often nets give way to one another before other places for the wires that leave are tried."""


@dataclass(frozen=True, slots=True)
class Laid:
    """A kind of tile before its wires are routed: its columns, its nets by number, the sizes it will have."""

    kind: Kind
    floor: Floor
    nets: Mapping[str, int]
    supplies: tuple[int, int]
    sizes: Drawn


@dataclass(frozen=True, slots=True)
class Made:
    """A kind of tile routed and compacted, and the lines on which its wires leave."""

    laid: Laid
    sketch: Sketch
    ends: tuple[Exit, ...]

    @property
    def width(self) -> int:
        return self.sketch.xs[RIGHT] - self.sketch.xs[LEFT]


def common_style(plan: Plan, technique: Technique, process: Process, dice: Dice, difficulty: int,
                 attempt: int) -> tuple[Style, tuple[bool, bool]]:  # fmt: skip
    """Return one style for all kinds of tiles, and in which device rows loads stand."""
    least, standing = (0, 0), (False, False)
    for kind in plan.kinds.values():
        own = kind.netlist
        rows_of = _rows_of(kind, technique, process)
        low, high = least_heights(own, rows_of, sizes_of(own, process, technique), technique)
        least = max(least[0], low), max(least[1], high)
        stands = {rows_of[t.name] for t in own.transistors if technique.stands(t, process.supplies)}
        standing = standing[0] or 0 in stands, standing[1] or 1 in stands
    largest = max(plan.kinds.values(), key=lambda kind: len(kind.netlist.transistors)).netlist
    style = choose(largest, technique, process.supplies, dice, difficulty, attempt, least, standing)
    return replace(style, levelled=False, stout=0 if technique.rings else style.stout), standing


def _rows_of(kind: Kind, technique: Technique, process: Process) -> dict[str, int]:
    return {t.name: technique.row_of(t, process.supplies) for t in kind.netlist.transistors}


def lay(kind: Kind, technique: Technique, process: Process, style: Style, dice: Dice) -> Laid:
    """Pair and order the transistors of a kind of tile, those at the wire that comes from the left on the left."""
    own = kind.netlist
    rows_of = _rows_of(kind, technique, process)
    sizes = sizes_of(own, process, technique)
    fingers = {t.name: t.fingers for t in own.transistors if t.fingers > 1}
    nets = number_nets(own)
    low, high = process.supplies
    supplies = nets[low], nets[high]
    slots = pair(split(own, rows_of, fingers, nets, sizes), dice, supplies)
    count = len(slots)
    slots = order(slots, dice, style.weights, supplies, min(style.steps, 12 * count * count + 20 * count))
    slots = _facing(slots, [nets[p] for p in kind.ports["left"]], [nets[p] for p in kind.ports["right"]])
    floor = lay_out(slots, *style.margins, supplies)
    return Laid(kind, floor, nets, supplies, drawn_sizes(own, technique, rows_of, sizes, fingers, style.widths))


def lay_all(plan: Plan, technique: Technique, process: Process, style: Style, dice: Dice) -> list[Laid]:
    """Lay out all kinds of tiles; a folded one like the tile that it is."""
    found = {name: lay(kind, technique, process, style, dice) for name, kind in plan.kinds.items() if not kind.folded}
    return [
        replace(found[kind.netlist.name], kind=kind) if kind.folded else found[name]
        for name, kind in plan.kinds.items()
    ]


def _facing(slots: list[Slot], left: Sequence[int], right: Sequence[int]) -> list[Slot]:
    """Turn an order round where the nets from the left lie further right than those that leave there."""
    here, there = ([net for net in own if net not in other] for own, other in ((left, right), (right, left)))
    middles = []
    for own in (here, there):
        places = [
            at
            for at, slot in enumerate(slots)
            for device in slot
            if device is not None and not {device.gate, device.left, device.right}.isdisjoint(own)
        ]
        middles.append((sum(places), len(places)))
    (first, n), (second, m) = middles
    if not n or not m or first * m <= second * n:
        return slots
    return [(turned(low), turned(high)) for low, high in reversed(slots)]


def rows_for(plan: Plan, laid: Sequence[Laid], technique: Technique, style: Style, stands: tuple[bool, bool],
             dice: Dice) -> Rows:  # fmt: skip
    """Return the rows of the routing grid, which all kinds have in common."""
    columns = max(one.floor.columns for one in laid)
    channel = 3 + columns // 6 + style.spare + len(plan.level) + (2 if technique.rings else 0)
    below = style.outer[0] + style.device_rows[0] + 1
    barrier = below + channel // 2 + dice.below(2) * (channel % 2) if technique.rings else 0
    return Rows(style.outer[0], style.device_rows[0], channel, style.device_rows[1], style.outer[1], barrier, stands)


def make(plan: Plan, laid: Sequence[Laid], technique: Technique, style: Style, rows: Rows, sides: Mapping[End, str],
         dice: Dice, *, straight: bool, layer: int) -> list[Made] | None:  # fmt: skip
    """
    Route every kind of tile and compact them together; None where there is no room.

    With `straight` wires that run through get whole tracks of their own; those across the rails lie on `layer`.
    """
    heights = {one.kind.name: _heights(one) for one in laid}
    tracks = choose_tracks(plan, rows, heights, dice)
    if tracks is None:
        return None
    columns: Columns = {}
    routed: list[_Routed] = []
    for one in laid:
        found = _routed(plan, one, technique, style, rows, tracks, sides, columns, dice, straight=straight, layer=layer)
        if found is None:
            return None
        routed.append(found)
    numbers = {one.kind.name: number for number, one in enumerate(laid)}
    stacks = [[numbers[name] for name in stack] for stack in plan.stacks]
    bands = [[numbers[name] for name in band] for band in plan.bands]
    taps = _common_taps(routed, stacks, technique, style, dice)
    sketches = []
    for one, (grid, trees), own in zip(laid, routed, taps, strict=True):
        room = Room(style.widths, own, style.loose, stout=style.stout, under=style.under, held=True)
        sketches.append(sketch(one.floor, grid, trees, technique, room, one.supplies))
    ends = [_ends(drawn, one) for drawn, one in zip(sketches, laid, strict=True)]
    for drawn, own_ends, one in zip(sketches, ends, laid, strict=True):
        _hold_upright(drawn, own_ends, one.kind.name, plan, technique)
        _keep_from_borders(drawn, technique)
        if plan.rows > 1:
            _part_level(drawn, own_ends, technique)
    level, upright = ([_tie(group, laid, ends) for group in groups] for groups in (plan.level, plan.upright))
    press_together(sketches, upright + _tied_taps(sketches, stacks), level + _legs(sketches), stacks, bands)
    return [Made(*three) for three in zip(laid, sketches, ends, strict=True)]


def _heights(one: Laid) -> dict[str, int]:
    """Return, for each net, how many percent of what it has to reach lies in the upper row of transistors."""
    reached: dict[int, list[int]] = {}
    for strip in one.floor.strips:
        for net in (*(gate.device.gate for gate in strip.gates), *(region.net for region in strip.regions)):
            reached.setdefault(net, []).append(100 * strip.row)
    return {net: sum(own) // len(own) if (own := reached.get(number)) else 50 for net, number in one.nets.items()}


def _routed(plan: Plan, one: Laid, technique: Technique, style: Style, rows: Rows, tracks: Tracks,
            sides: Mapping[End, str], columns: Columns, dice: Dice, *, straight: bool,
            layer: int) -> _Routed | None:  # fmt: skip
    grid = build(one.floor, rows, technique, one.supplies, technique.costs, style.unrest, dice)
    supply_pins(grid, one.supplies)
    if not place_ports(
        grid, one.kind.name, plan, tracks, one.nets, sides, columns, dice, straight=straight, layer=layer
    ):
        return None
    trees = route(grid, dice, _ROUNDS)
    return None if trees is None else (grid, trees)


_Taps = tuple[tuple[int, ...], ...]


def _common_taps(routed: Sequence[_Routed], stacks: Sequence[Sequence[int]], technique: Technique, style: Style,
                 dice: Dice) -> list[_Taps]:  # fmt: skip
    """Choose the places of taps for each kind; those that share rails have them in common. Rings have their own."""
    found: dict[int, _Taps] = {}
    for stack in stacks:
        grid = routed[stack[0]][0]
        trees = {(number, net): tree for number in stack for net, tree in routed[number][1].items()}
        taps: _Taps = ((), ())
        if technique.rings is None:
            taps, _ = tap_places(grid, dict(enumerate(trees.values())), style, technique, dice)
        found |= dict.fromkeys(stack, taps)
    return [found[number] for number in range(len(routed))]


def _tied_taps(sketches: Sequence[Sketch], stacks: Sequence[Sequence[int]]) -> list[list[tuple[int, int]]]:
    ties = []
    for stack in stacks:
        lines = [
            [(number, s.x0[0]) for s in sketches[number].shapes if s.mask == "contact" and s.y0[0] in RAILS]
            for number in stack
        ]
        ties += [list(tie) for tie in zip(*lines, strict=True)]
    return ties


def _ends(found: Sketch, one: Laid) -> tuple[Exit, ...]:
    """Return the lines on which wires leave a sketch: in y for those to the left and right, else in x."""
    names = {number: net for net, number in one.nets.items()}
    ends = []
    for net, mask, x, y in found.labels:
        if net in one.supplies:
            continue
        if y in ((BOTTOM, 1), (TOP, -1)):
            ends.append(Exit("bottom" if y[0] == BOTTOM else "top", names[net], x[0], mask))
        elif x in ((LEFT, 1), (RIGHT, -1)):
            ends.append(Exit("left" if x[0] == LEFT else "right", names[net], y[0], mask))
    return tuple(ends)


def _hold_upright(found: Sketch, ends: Sequence[Exit], kind: str, plan: Plan,
                  technique: Technique) -> None:  # fmt: skip
    """Hold the two ends of each upright wire, or of two that meet, above one another."""
    lines = {(one.side, one.port): one.place for one in ends}
    for group in plan.upright:
        own = [lines[end.side, end.port] for end in group if end.kind == kind]
        for a in own[1:]:
            found.x_rules += [(own[0], a, 0), (a, own[0], 0)]
    if technique.rings is not None:  # they will come up to the metal beyond the rails
        apart = technique.wires[OTHER].pad + max(technique.wires[METAL].spacing, technique.wires[OTHER].spacing)
        for side in ("bottom", "top"):
            places = sorted((found.xs[one.place], one.place) for one in ends if one.side == side)
            found.x_rules += [(a, b, apart) for (_, a), (_, b) in itertools.pairwise(places) if a != b]


def _part_level(found: Sketch, ends: Sequence[Exit], technique: Technique) -> None:
    """Keep the wires that leave along the rails so far apart that each may have a contact beyond the border."""
    pads = max(
        technique.wires[METAL].pad + technique.wires[METAL].spacing,
        technique.wires[OTHER].pad + technique.wires[OTHER].spacing,
    )
    for side in ("left", "right"):
        places = sorted((found.ys[one.place], one.place) for one in ends if one.side == side)
        found.y_rules += [(a, b, pads) for (_, a), (_, b) in itertools.pairwise(places) if a != b]


def _keep_from_borders(found: Sketch, technique: Technique) -> None:
    """Keep all but what leaves so far from the borders left and right that another tile may begin there."""
    margins: dict[str, int] = {"": 0}
    for gap in found.gaps:
        for sort in (gap.a, gap.b):
            margins[sort] = max(margins.get(sort, 0), (gap.least + 1) // 2)
    past = technique.doped.past if technique.doped else 0
    most = max(margins.values())
    for shape in found.shapes:
        keep = margins.get(shape.sort, most) if shape.sort else max(0, most - past)
        if shape.x0[0] != LEFT:
            found.x_rules.append((LEFT, shape.x0[0], keep - shape.x0[1]))
        if shape.x1[0] != RIGHT:
            found.x_rules.append((shape.x1[0], RIGHT, keep + shape.x1[1]))


def _tie(group: Sequence[End], laid: Sequence[Laid],
         ends: Sequence[Sequence[Exit]]) -> list[tuple[int, int]]:  # fmt: skip
    wanted = {(end.kind, end.side, end.port) for end in group}
    return [
        (number, line)
        for number, (one, own) in enumerate(zip(laid, ends, strict=True))
        for side, port, line, _ in own
        if (one.kind.name, side, port) in wanted
    ]


def _legs(sketches: Sequence[Sketch]) -> list[list[tuple[int, int]]]:
    """Tie the legs of guard rings that run through all tiles."""
    return [
        [(n, s.y0[0]) for n, one in enumerate(sketches) for s in one.shapes if s.sort == "ring" and s.net == row]
        for row in (0, 1)
    ]
