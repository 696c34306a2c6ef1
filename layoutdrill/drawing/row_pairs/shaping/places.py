"""Give the rows and columns of a routed grid their first places, so far apart that whatever was routed is legal."""

from itertools import accumulate, pairwise

from layoutdrill.drawing.row_pairs.placing.floor import Floor
from layoutdrill.drawing.row_pairs.routing.grid import Grid
from layoutdrill.drawing.row_pairs.shaping.lane import half_of
from layoutdrill.drawing.shared.technique import OTHER, Technique


def row_places(grid: Grid) -> list[int]:
    """Space the rows alike, but device rows and guard rings out."""
    t, rows = grid.technique, grid.rows
    pitch = t.pitch + grid.choices.loose
    before = {}
    for row in (0, 1):
        block = rows.device[row]
        slack = max(0, grid.choices.widths[row] - pitch * (len(rows.lying(row)) - 1) - t.body)
        before[block[0]] = before[block[-1] + 1] = pitch + slack
        for stand in grid.floor.stands:
            if stand.device.row == row:
                before[block[-1]] = max(before.get(block[-1], 0), stand.channel.plate + slack + pitch // 2)
    if t.rings is not None:
        across = t.wires[OTHER].pad + t.rings.gap + t.rings.width
        before[rows.barrier] = 2 * across + t.rings.well_past + t.rings.apart
    return list(accumulate((pitch + before.get(r, 0) for r in range(1, rows.count)), initial=before.get(0, 0)))


def column_places(floor: Floor, t: Technique, pitch: int) -> list[int]:
    """Space the columns alike, but long gates and folded loads out."""
    extra = [0] * floor.columns
    for strip in floor.strips:
        for gate in strip.gates:
            extra[gate.column] = max(extra[gate.column], half_of(gate, t) - t.gate // 2)
    for stand in floor.stands:
        if stand.device.fold is not None:
            left, right = stand.device.fold.sides
            extra[stand.column] = max(-left, right) + t.gate_past
    return list(accumulate((pitch + before + own for before, own in pairwise(extra)), initial=extra[0]))
