"""Route and compact the tiles of an array, so that copies may stand side by side."""

from collections.abc import Iterable, Mapping, Sequence

from layoutdrill.drawing.row_pairs.placing.choices import Choices
from layoutdrill.drawing.row_pairs.routing.grid import Grid, build
from layoutdrill.drawing.row_pairs.routing.router import Tree, route
from layoutdrill.drawing.row_pairs.shaping.compaction import Bundle, Tie, compact, spread
from layoutdrill.drawing.row_pairs.shaping.lines import BORDERS, Line, X, Y
from layoutdrill.drawing.row_pairs.shaping.rails import Cuts, choose_cuts, keep_from_borders
from layoutdrill.drawing.row_pairs.shaping.sketch import UPPER, Sketch, Sort
from layoutdrill.drawing.row_pairs.shaping.sketching import sketch
from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique
from layoutdrill.drawing.tiles.laying import Laid, Task
from layoutdrill.drawing.tiles.plan import End, Exit, Plan
from layoutdrill.drawing.tiles.ports import Leaving, place_ports
from layoutdrill.units import GridUnits
from layoutdrill.value import value

_Routed = tuple[Grid, dict[int, Tree]]
_ROUNDS = 24
"""How often nets give way to one another before other places for the wires that leave are tried."""


@value
class Made:
    """A kind of tile routed and compacted, its low rail's middle at y = 0 and its left border at x = 0."""

    laid: Laid
    sketch: Sketch

    @property
    def ends(self) -> list[Exit]:
        """Return where wires leave it."""
        job = self.laid.job
        names = {number: net for net, number in job.nets.items() if number not in job.supply_nets}
        return [
            Exit(side, names[net], mask, (y if axis == X else x)[0])
            for net, mask, x, y in self.sketch.labels
            for side, (axis, border) in BORDERS.items()
            if net in names and (x if axis == X else y) == (border, -1 if border else 1)
        ]

    @property
    def width(self) -> GridUnits:
        return self.sketch.frame.width

    @property
    def height(self) -> GridUnits:
        """Return the distance of the two rails."""
        return self.sketch.y.at[Line.RAILS[1]]

    @property
    def legs(self) -> tuple[GridUnits, ...]:
        """Return the middles of the legs of guard rings between the rows of transistors."""
        return tuple(self.sketch.y.at[s.y[0][0]] for s in self.sketch.shapes if s.sort is Sort.RING)

    def place(self, end: Exit) -> GridUnits:
        """Return where along its side a wire leaves."""
        return self.sketch.axis(1 - BORDERS[end.side][0]).at[end.line]


def make(task: Task, laid: Mapping[str, Laid], leaving: Leaving) -> dict[str, Made] | None:
    """Route every kind of tile and compact them together; None where there is no room."""
    plan, t = task.plan, task.technique
    routed: dict[str, _Routed] = {}
    for name, tile in laid.items():
        wires = _routed(task, tile, leaving)
        if wires is None:
            return None
        routed[name] = wires
    cuts = _common_cuts(task, routed)
    made: dict[str, Made] = {}
    for name, (grid, trees) in routed.items():
        drawn = sketch(grid, trees, cuts[name])
        made[name] = Made(laid[name], drawn)
        if t.rings is not None:  # wires will come up to the metal beyond the rails
            apart = t.wires[OTHER].pad + max(t.wires[METAL].spacing, t.wires[OTHER].spacing)
            for side in ("bottom", "top"):
                drawn.x.order(_in_order(made[name], side), apart)
        keep_from_borders(drawn, _margins(drawn))
        if plan.rows > 1:
            _part_level(made[name], t, task.choices)
    _compact(made, plan)
    return made


def _compact(made: Mapping[str, Made], plan: Plan) -> None:
    """Compact tiles above one another as one along the rails, and those between the same rails as one across them."""
    upright, level = ([_tie(group, made) for group in groups] for groups in (plan.upright, plan.level))
    columns = [{name: made[name].sketch for name in stack} for stack in plan.stacks]
    rows = [{name: made[name].sketch for name in band} for band in plan.bands]
    bundles = [Bundle(X, own, (*upright, *_tied_taps(own))) for own in columns]
    bundles += [Bundle(Y, own, (*level, *_legs(own))) for own in rows]
    compact(bundles)
    spread(bundles)
    for tile in made.values():
        heights = tile.sketch.y.at
        heights[:] = [height - heights[Line.RAILS[0]] for height in heights]


def _routed(task: Task, tile: Laid, leaving: Leaving) -> _Routed | None:
    grid = build(tile.floor, leaving.rows, tile.job, task.choices, task.dice)
    if not place_ports(leaving, grid, tile.kind.name, task.dice):
        return None
    trees = route(grid, task.dice, _ROUNDS)
    return None if trees is None else (grid, trees)


def _common_cuts(task: Task, routed: Mapping[str, _Routed]) -> dict[str, Cuts]:
    """Choose the columns of taps for each kind; those that share rails have them in common. Rings have their own."""
    cuts_of: dict[str, Cuts] = {}
    for stack in task.plan.stacks:
        grid = routed[stack[0]][0]
        trees = [tree for name in stack for tree in routed[name][1].values()]
        cuts_of |= dict.fromkeys(stack, ([], []) if task.technique.rings else choose_cuts(grid, trees, task.dice))
    return cuts_of


def _tied_taps(stack: Mapping[str, Sketch]) -> Iterable[Tie]:
    """Tie the taps that tiles above one another have in common."""
    lines = [
        [(name, s.x[0][0]) for s in drawn.shapes if s.sort is Sort.DIFFUSION and s.net <= 2 * UPPER]
        for name, drawn in stack.items()
    ]
    return zip(*lines, strict=True)


def _in_order(tile: Made, side: str) -> list[int]:
    """Return the lines on which wires leave on a side, in the order in which they lie."""
    return [line for _, line in sorted((tile.place(end), end.line) for end in tile.ends if end.side == side)]


def _part_level(tile: Made, technique: Technique, choices: Choices) -> None:
    """Keep wires that leave along the rails so far apart, and from the rails, that each may have a contact there."""
    metal, other, axis = technique.wires[METAL], technique.wires[OTHER], tile.sketch.y
    pads = max(metal.pad + metal.spacing, other.pad + other.spacing)
    rail = choices.half_rail(technique) + metal.spacing + metal.pad // 2
    for side in ("left", "right"):
        lines = _in_order(tile, side)
        axis.order(lines, pads)
        for line in lines:
            axis.order((Line.RAILS[0], line, Line.RAILS[1]), rail)


def _margins(sketch: Sketch) -> dict[Sort, int]:
    """Return how far shapes of each sort keep from the borders left and right, that another tile may begin there."""
    t = sketch.technique
    halves = sorted((-(-gap.least // 2), sort) for gap in sketch.gaps for sort in (gap.a, gap.b))
    least = {sort: half for half, sort in halves}  # the greatest of each
    most = max(least.values())
    return {**dict.fromkeys(Sort, most), **least, Sort.NONE: max(0, most - (t.doped.past if t.doped else 0))}


def _tie(group: Sequence[End], made: Mapping[str, Made]) -> Tie:
    return [
        (end.kind, exit_.line)
        for end in group
        for exit_ in made[end.kind].ends
        if (exit_.side, exit_.port) == (end.side, end.port)
    ]


def _legs(row: Mapping[str, Sketch]) -> list[Tie]:
    """Tie the legs of guard rings that run through all tiles."""
    return [
        [(name, s.y[0][0]) for name, drawn in row.items() for s in drawn.shapes if s.sort is Sort.RING and s.net == leg]
        for leg in (0, 1)
    ]
