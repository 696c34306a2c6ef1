"""
Say what is the same in two drawings of a cell once mirrors, widths and spacing are undone.

The structure is told column by column: what lies above one another there, in order, on which layer, and where it
leads; the form of a channel that is not straight counts. Which track a wire runs on is told only by what it passes
above and below; a column in which nothing turns, lands or ends counts with its neighbour. Mirror images about either
axis are one structure.
"""

from collections import defaultdict
from hashlib import blake2b

from layoutdrill.drawing.row_pairs.placing.devices import Device, Form
from layoutdrill.drawing.row_pairs.placing.floor import Floor
from layoutdrill.drawing.row_pairs.routing.grid import Grid
from layoutdrill.drawing.row_pairs.routing.router import Tree

_RIGHT, _LEFT, _UP, _DOWN, _CUT, _LANDING = 1, 2, 4, 8, 16, 32
_EXITS = {"right": _RIGHT, "left": _LEFT, "top": _UP, "bottom": _DOWN}
_EXIT = 64
_FORMS = 4
"""What stands for the layer where a channel's form is told."""
_Told = tuple[int, int, int, int]
"""One thing in a column: row, layer, net, marks; a device has its name's number as net and layer 2."""


def fingerprint(grid: Grid, trees: dict[int, Tree]) -> str:
    """Return a short text that is equal for drawings of one structure (of one cell in one process)."""
    columns = _columns(grid.floor, grid, trees)
    forms = [repr(_form(columns, across=x, over=y)) for x in (False, True) for y in (False, True)]
    return blake2b(min(forms).encode(), digest_size=8).hexdigest()


def _columns(floor: Floor, grid: Grid, trees: dict[int, Tree]) -> list[list[_Told]]:
    marks: dict[int, int] = defaultdict(int)
    nets: dict[int, int] = {}
    edges: list[tuple[int, tuple[int, int]]] = [(net, edge) for net, tree in trees.items() for edge in tree.edges]
    edges += [(net, edge) for net, fixed in grid.fixed.items() for edge in fixed]
    for net, (a, b) in edges:
        nets[a] = nets[b] = net
        step = b - a
        low, high = (_CUT, _CUT) if step >= grid.size else (_UP, _DOWN) if step == grid.columns else (_RIGHT, _LEFT)
        marks[a] |= low
        marks[b] |= high
    landings = [(node, region.net) for node, region in grid.contacts]
    for net, tree in trees.items():
        landings += [(node, net) for node, _ in tree.contacts]
        for node, side in tree.exits:
            nets[node] = net
            marks[node] |= _EXITS[side] | _EXIT
    for node, net in landings:
        nets[node] = net
        marks[node] |= _LANDING
    columns: list[list[_Told]] = [[] for _ in range(floor.columns)]
    for node, mark in marks.items():
        if mark != _UP | _DOWN:
            layer, row, column = grid.place(node)
            columns[column].append((row, layer, nets[node], mark))
    for strip in floor.strips:
        for gate in strip.gates:
            row = grid.rows.lying(strip.row)[0]
            left, right = gate.device.left, gate.device.right
            way = 0 if left == right else _RIGHT if left < right else _LEFT
            columns[gate.column].append((row, 2, gate.device.gate, way))
            columns[gate.column] += _bend(gate.device, row)
    for stand in floor.stands:
        row = grid.rows.device[stand.device.row][0]
        columns[stand.column].append((row, 2, stand.device.gate, 0))
        columns[stand.column] += _bend(stand.device, row)
    return columns


def _bend(device: Device, row: int) -> list[_Told]:
    """Tell the form of a channel that is not straight, and to which side it turns or lets its gate out."""
    if device.form is Form.STRAIGHT:
        return []
    way = 0
    if device.form in (Form.RING, Form.ELBOW):
        way = _RIGHT if device.channel.far else _LEFT
    if device.channel.step:
        way = _RIGHT if device.channel.step > 0 else _LEFT
    return [(row, _FORMS, list(Form).index(device.form), way)]


def _form(columns: list[list[_Told]], *, across: bool, over: bool) -> list[list[tuple[int, int, int]]]:
    told: list[list[tuple[int, int, int]]] = []
    for column in reversed(columns) if across else columns:
        things = []
        for row, layer, net, mark in column:
            turned = _swapped(mark, _RIGHT, _LEFT) if across else mark
            things.append((-row if over else row, layer, net, _swapped(turned, _UP, _DOWN) if over else turned))
        form = [thing[1:] for thing in sorted(things)]
        plain = all(mark == _RIGHT | _LEFT for _, _, mark in form)
        if not plain or (told and form != told[-1]):
            told.append(form)
    return told


def _swapped(mark: int, a: int, b: int) -> int:
    rest = mark & ~(a | b)
    return rest | (b if mark & a else 0) | (a if mark & b else 0)
