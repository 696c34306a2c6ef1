"""
Choose where the wires of a tile leave it.

Ends that meet in the array share a track, or a column, in every kind of tile; the wires that run straight through
along the rails get a whole track of their own where that can be routed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import field

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.routing.grid import FREE, Grid, Pin, Rows, exit_pin
from layoutdrill.drawing.shared.technique import METAL, UPPER_METAL
from layoutdrill.drawing.tiles.plan import End, Kind, Plan
from layoutdrill.value import value

Tracks = Mapping[tuple[End, ...], int]
"""The grid row of each level group."""
Columns = dict[tuple[End, ...], int]
"""The grid column of each upright group, as far as one was chosen."""
_WHOLE = 50
"""How often, in percent, a wire that runs through across the rails, below the metal, gets a whole column."""
_UNREST = 30
"""By how much, of 100, the height at which a wire runs may differ from that of its transistors."""


def choose_tracks(plan: Plan, rows: Rows, heights: Mapping[str, Mapping[str, int]], dice: Dice) -> Tracks | None:
    """
    Return a grid row in the channel for each group of ends that meet there, or None when there are too few.

    `heights` tells for each net of each kind how high its transistors lie, from 0 to 100. Tracks keep clear of the
    rows of transistors, which need a way out, and of the legs of guard rings, which other metal must cross.
    """
    inner = list(rows.between)[1:-1]
    free = [row for row in inner if row not in (rows.barrier - 1, rows.barrier)]
    if len(plan.level) > len(free):
        return None
    picked = sorted(dice.shuffled(free)[: len(plan.level)])
    wish = {group: sum(heights[end.kind][end.port] for end in group) // len(group) for group in plan.level}
    ranked = sorted(plan.level, key=lambda group: wish[group] + dice.below(_UNREST))
    return dict(zip(ranked, picked, strict=True))


@value
class Leaving:
    """
    How wires leave the tiles of an array in one trial.

    `straight` lays wires that run through along the rails, or in the second metal across them, as whole tracks; those
    across the rails lie on `layer`, in the `columns` chosen for other kinds that stand above this one, to which its own
    choices are added. `sides` names the side on which an end that meets nothing leaves, "" for one that ends inside.
    """

    plan: Plan
    rows: Rows
    tracks: Tracks
    sides: Mapping[End, str]
    straight: bool
    layer: int
    columns: Columns = field(default_factory=dict)


def place_ports(leaving: Leaving, grid: Grid, kind: str, dice: Dice) -> bool:
    """Add a pin for every end of a kind of tile; tell whether all found a place."""
    for group, row in leaving.tracks.items():
        if not _level([end for end in group if end.kind == kind], row, grid, straight=leaving.straight):
            return False
    return _upright(leaving, grid, kind, dice) and _outer(leaving, grid, kind)


def _level(ends: list[End], row: int, grid: Grid, *, straight: bool) -> bool:
    track = grid.across(METAL, row)
    if straight and _through(ends) and not _whole(grid, track, ends[0]):
        return False
    return all(_own(grid, track, end) for end in ends)


def _through(ends: list[End]) -> bool:
    return len(ends) > 1 and len({end.port for end in ends}) == 1


def _whole(grid: Grid, track: Sequence[int], end: End) -> bool:
    """Give the net of an end a whole track; tell whether it is free."""
    net = grid.job.nets[end.port]
    if any(grid.owner[node] != FREE for node in track):
        return False
    grid.claim(net, track)
    grid.fix(net, track)
    grid.ask(net, Pin(tuple(track)))
    return True


def _own(grid: Grid, track: Sequence[int], end: End) -> bool:
    """Let a wire leave where a track ends on its side; tell whether that place is free."""
    net, node = grid.job.nets[end.port], track[0 if end.side in ("left", "bottom") else -1]
    if grid.owner[node] not in (FREE, net):
        return False
    grid.claim(net, [node])
    grid.ask(net, Pin((node,), side=end.side))
    return True


def _upright(leaving: Leaving, grid: Grid, kind: str, dice: Dice) -> bool:
    """Give each group of upright ends a column, near what its nets have to reach."""
    layer, columns = leaving.layer, leaving.columns
    for group in dice.shuffled(leaving.plan.upright):
        ends = [end for end in group if end.kind == kind]
        if not ends:
            continue
        whole = leaving.straight and not grid.rows.barrier and _through(ends)
        whole = whole and (layer == UPPER_METAL or dice.chance(_WHOLE))
        near = [_distances(grid, grid.job.nets[end.port]) for end in ends]
        column = columns[group] if group in columns else _column(grid, near, dice, layer, whole=whole)
        if column is None:
            return False
        columns[group] = column
        track = grid.block(layer, range(grid.rows.count), (column,))
        if whole:
            _whole(grid, track, ends[0])
        if not all(_own(grid, track, end) for end in ends):
            return False
    return True


def _column(grid: Grid, far: list[list[int]], dice: Dice, layer: int, *, whole: bool) -> int | None:
    """Return a column free at both rails, if possible a `whole` free one, not `far` from what nets must reach."""
    choices = sorted(range(grid.columns), key=lambda c: (3 * sum(weights[c] for weights in far) + dice.below(8), c))
    last = grid.rows.count - 1
    for rows in ([range(last + 1)] if whole else []) + [range(0, last + 1, last)]:
        for column in choices:
            if all(grid.owner[grid.node(layer, row, column)] == FREE for row in rows):
                return column
    return None


def _distances(grid: Grid, net: int) -> list[int]:
    """Return how far each column is from the nearest that a net has to reach."""
    wanted = {
        node % grid.columns for pin in grid.pins.get(net, ()) if len(pin.nodes) < grid.columns for node in pin.nodes
    }
    return [min((abs(c - column) for column in wanted), default=0) for c in range(grid.columns)]


def _outer(leaving: Leaving, grid: Grid, kind: str) -> bool:
    for end in leaving.plan.outer:
        side = leaving.sides[end]
        if end.kind == kind and side:
            net = grid.job.nets[end.port]
            pin = exit_pin(grid, side, net, (METAL,))
            if not pin.nodes:
                return False
            grid.ask(net, pin)
    return True


def choose_sides(plan: Plan, dice: Dice) -> dict[End, str]:
    """
    Let every end that meets nothing leave on a side: where tiles stand alone in their column, below or above the
    rails or nowhere; along the rails, and where rows stand one above the other, on its own side.
    """
    sides = {}
    for end in plan.outer:
        if end.side in ("bottom", "top") and plan.rows == 1:
            inside = 3 if _met(plan.kinds[end.kind], end.port) else 0
            sides[end] = dice.weighted(((end.side, 5), ("bottom", 1), ("top", 1), ("", inside)))
        else:
            sides[end] = end.side
    return sides


def _met(kind: Kind, port: str) -> bool:
    """Tell whether a net may end inside the tile: it is driven there, and has a wire on which it can be named."""
    ends = sum((t.source == port) + (t.drain == port) for t in kind.netlist.transistors)
    return ends > 1 or (ends == 1 and any(t.gate == port for t in kind.netlist.transistors))
