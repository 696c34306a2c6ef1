"""Route and compact the tiles of an array, so that copies may stand side by side."""

import itertools
from collections.abc import Sequence

from layoutdrill.drawing.row_pairs.draw import choose_taps
from layoutdrill.drawing.row_pairs.placing.choices import Choices
from layoutdrill.drawing.row_pairs.routing.grid import Grid, build
from layoutdrill.drawing.row_pairs.routing.pins import ask_for_rails
from layoutdrill.drawing.row_pairs.routing.router import Tree, route
from layoutdrill.drawing.row_pairs.shaping.rails import Taps
from layoutdrill.drawing.row_pairs.shaping.sketch import BOTTOM, LEFT, RAILS, RIGHT, TOP, UPPER, Sketch, Sort
from layoutdrill.drawing.row_pairs.shaping.sketching import sketch
from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique
from layoutdrill.drawing.tiles.laying import Laid, Task
from layoutdrill.drawing.tiles.plan import End, Exit, Plan
from layoutdrill.drawing.tiles.ports import Leaving, place_ports
from layoutdrill.drawing.tiles.together import press_together
from layoutdrill.value import value

_Routed = tuple[Grid, dict[int, Tree]]
_ROUNDS = 24
"""How often nets give way to one another before other places for the wires that leave are tried."""


@value
class Made:
    """A kind of tile routed and compacted, and the lines on which its wires leave."""

    laid: Laid
    sketch: Sketch
    ends: tuple[Exit, ...]

    @property
    def width(self) -> int:
        return self.sketch.xs[RIGHT] - self.sketch.xs[LEFT]


def make(task: Task, laid: Sequence[Laid], leaving: Leaving) -> list[Made] | None:
    """Route every kind of tile and compact them together; None where there is no room."""
    plan, technique = task.plan, task.technique
    routed: list[_Routed] = []
    for tile in laid:
        wires = _routed(task, tile, leaving)
        if wires is None:
            return None
        routed.append(wires)
    numbers = {tile.kind.name: number for number, tile in enumerate(laid)}
    stacks = [[numbers[name] for name in stack] for stack in plan.stacks]
    bands = [[numbers[name] for name in band] for band in plan.bands]
    taps = _common_taps(task, routed, stacks)
    sketches = [sketch(grid, trees, own) for (grid, trees), own in zip(routed, taps, strict=True)]
    ends = [_ends(drawn, tile) for drawn, tile in zip(sketches, laid, strict=True)]
    for drawn, own_ends, tile in zip(sketches, ends, laid, strict=True):
        _hold_upright(drawn, own_ends, tile.kind.name, plan, technique)
        _keep_from_borders(drawn, technique)
        if plan.rows > 1:
            _part_level(drawn, own_ends, technique, task.choices)
    level, upright = ([_tie(group, laid, ends) for group in groups] for groups in (plan.level, plan.upright))
    press_together(sketches, upright + _tied_taps(sketches, stacks), level + _legs(sketches), stacks, bands)
    return [Made(*three) for three in zip(laid, sketches, ends, strict=True)]


def _routed(task: Task, tile: Laid, leaving: Leaving) -> _Routed | None:
    grid = build(tile.floor, leaving.rows, task.technique, tile.supplies, task.choices, task.dice)
    ask_for_rails(grid)
    if not place_ports(leaving, grid, tile.kind.name, tile.nets, task.dice):
        return None
    trees = route(grid, task.dice, _ROUNDS)
    return None if trees is None else (grid, trees)


def _common_taps(task: Task, routed: Sequence[_Routed], stacks: Sequence[Sequence[int]]) -> list[Taps]:
    """Choose the places of taps for each kind; those that share rails have them in common. Rings have their own."""
    pitch = task.technique.pitch + task.choices.loose
    taps_of: dict[int, Taps] = {}
    for stack in stacks:
        grid = routed[stack[0]][0]
        trees = {(number, net): tree for number in stack for net, tree in routed[number][1].items()}
        taps = Taps(((), ()))
        if task.technique.rings is None:
            taps = choose_taps(grid, trees.values(), [c * pitch for c in range(grid.columns)], task.dice)
        taps_of |= dict.fromkeys(stack, taps)
    return [taps_of[number] for number in range(len(routed))]


def _tied_taps(sketches: Sequence[Sketch], stacks: Sequence[Sequence[int]]) -> list[list[tuple[int, int]]]:
    """Tie the taps that tiles above one another have in common."""
    ties = []
    for stack in stacks:
        lines = [
            [(number, s.x0[0]) for s in sketches[number].shapes if s.sort is Sort.DIFFUSION and s.net <= 2 * UPPER]
            for number in stack
        ]
        ties += [list(tie) for tie in zip(*lines, strict=True)]
    return ties


def _ends(sketch: Sketch, tile: Laid) -> tuple[Exit, ...]:
    """Return the lines on which wires leave a sketch: in y for those to the left and right, else in x."""
    names = {number: net for net, number in tile.nets.items()}
    ends = []
    for net, mask, x, y in sketch.labels:
        if net in tile.supplies:
            continue
        if y in ((BOTTOM, 1), (TOP, -1)):
            ends.append(Exit("bottom" if y[0] == BOTTOM else "top", names[net], x[0], mask))
        elif x in ((LEFT, 1), (RIGHT, -1)):
            ends.append(Exit("left" if x[0] == LEFT else "right", names[net], y[0], mask))
    return tuple(ends)


def _hold_upright(sketch: Sketch, ends: Sequence[Exit], kind: str, plan: Plan, technique: Technique) -> None:
    """Hold the two ends of each upright wire, or of two that meet, above one another."""
    lines = {(end.side, end.port): end.place for end in ends}
    for group in plan.upright:
        own = [lines[end.side, end.port] for end in group if end.kind == kind]
        for a in own[1:]:
            sketch.x_rules += [(own[0], a, 0), (a, own[0], 0)]
    if technique.rings is not None:  # they will come up to the metal beyond the rails
        apart = technique.wires[OTHER].pad + max(technique.wires[METAL].spacing, technique.wires[OTHER].spacing)
        for side in ("bottom", "top"):
            places = sorted((sketch.xs[end.place], end.place) for end in ends if end.side == side)
            sketch.x_rules += [(a, b, apart) for (_, a), (_, b) in itertools.pairwise(places) if a != b]


def _part_level(sketch: Sketch, ends: Sequence[Exit], technique: Technique, choices: Choices) -> None:
    """Keep wires that leave along the rails so far apart, and from the rails, that each may have a contact there."""
    metal, other = technique.wires[METAL], technique.wires[OTHER]
    pads = max(metal.pad + metal.spacing, other.pad + other.spacing)
    rail = (technique.rail + choices.rail_extra) // 2 + metal.spacing + metal.pad // 2
    for side in ("left", "right"):
        places = sorted((sketch.ys[end.place], end.place) for end in ends if end.side == side)
        sketch.y_rules += [(a, b, pads) for (_, a), (_, b) in itertools.pairwise(places) if a != b]
        for _, line in places:
            sketch.y_rules += [(RAILS[0], line, rail), (line, RAILS[1], rail)]


def _keep_from_borders(sketch: Sketch, technique: Technique) -> None:
    """Keep all but what leaves so far from the borders left and right that another tile may begin there."""
    margins: dict[Sort, int] = {Sort.NONE: 0}
    for gap in sketch.gaps:
        for sort in (gap.a, gap.b):
            margins[sort] = max(margins.get(sort, 0), (gap.least + 1) // 2)
    past = technique.doped.past if technique.doped else 0
    most = max(margins.values())
    for shape in sketch.shapes:
        keep = margins.get(shape.sort, most) if shape.sort else max(0, most - past)
        if shape.x0[0] != LEFT:
            sketch.x_rules.append((LEFT, shape.x0[0], keep - shape.x0[1]))
        if shape.x1[0] != RIGHT:
            sketch.x_rules.append((shape.x1[0], RIGHT, keep + shape.x1[1]))


def _tie(group: Sequence[End], laid: Sequence[Laid], ends: Sequence[Sequence[Exit]]) -> list[tuple[int, int]]:
    wanted = {(end.kind, end.side, end.port) for end in group}
    return [
        (number, line)
        for number, (tile, own) in enumerate(zip(laid, ends, strict=True))
        for side, port, line, _ in own
        if (tile.kind.name, side, port) in wanted
    ]


def _legs(sketches: Sequence[Sketch]) -> list[list[tuple[int, int]]]:
    """Tie the legs of guard rings that run through all tiles."""
    return [
        [
            (n, s.y0[0])
            for n, sketch in enumerate(sketches)
            for s in sketch.shapes
            if s.sort is Sort.RING and s.net == row
        ]
        for row in (0, 1)
    ]
