"""Give the rows and columns of a routed grid their first places, so far apart that whatever was routed is legal."""

from layoutdrill.drawing.row_pairs.placing.floor import Floor
from layoutdrill.drawing.row_pairs.routing.grid import Rows
from layoutdrill.drawing.row_pairs.shaping.rails import Room
from layoutdrill.drawing.row_pairs.shaping.standing import run_of
from layoutdrill.drawing.row_pairs.shaping.strips import half_of
from layoutdrill.drawing.shared.technique import OTHER, Technique


def row_places(floor: Floor, rows: Rows, t: Technique, room: Room) -> list[int]:
    """Space the rows alike, but device rows and guard rings out."""
    pitch = t.pitch + room.loose
    at = 0
    places = []
    blocks = {}
    for row in (0, 1):
        block, lying = rows.device(row), rows.lying(row)
        slack = max(0, room.widths[row] - pitch * (len(lying) - 1) - 2 * t.surround - t.contact)
        blocks[block[0]] = blocks[block[-1] + 1] = pitch + slack
        for stand in floor.stands:
            if stand.device.row == row:
                blocks[block[-1]] = max(blocks.get(block[-1], 0), run_of(stand) + slack + pitch // 2)
    if t.rings is not None:
        blocks[rows.barrier] = (
            2 * (t.wires[OTHER].pad + t.rings.gap + t.rings.width) + t.rings.well_past + t.rings.apart
        )
    for r in range(rows.count):
        at += (pitch if r else 0) + blocks.get(r, 0)
        places.append(at)
    return places


def column_places(floor: Floor, t: Technique, pitch: int) -> list[int]:
    """Space the columns alike, but long gates and folded loads out."""
    extra = [0] * floor.columns
    for strip in floor.strips:
        for gate in strip.gates:
            extra[gate.column] = max(extra[gate.column], half_of(gate, t) - t.gate // 2)
    for stand in floor.stands:
        if stand.device.fold is not None:
            extra[stand.column] = max(-stand.device.fold.sides[0], stand.device.fold.sides[1]) + t.gate_past
    at = 0
    places = []
    for c in range(floor.columns):
        at += (pitch if c else 0) + extra[c] + (extra[c - 1] if c else 0)
        places.append(at)
    return places
