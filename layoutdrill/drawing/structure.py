"""
Say what is the same in two drawings of a cell once mirrors, widths and spacing are undone.

The structure is the routed grid: which device stands where and which way round, how many fingers it has, on which
layer and track each wire runs, where it lands and where it leaves. Tracks and columns that nothing uses are left
out, and so are mirror images about either axis.
"""

from hashlib import blake2b

from layoutdrill.drawing.grid import Grid
from layoutdrill.drawing.floor import Floor
from layoutdrill.drawing.routing import Tree

_SIDES = ({"left": "right", "right": "left"}, {"bottom": "top", "top": "bottom"})


def fingerprint(floor: Floor, grid: Grid, trees: dict[int, Tree]) -> str:
    """Return a short text that is equal for drawings of one structure (of one cell in one process)."""
    edges = {(net, a, b) for net, tree in trees.items() for a, b in tree.edges}
    edges |= {(net, a, b) for net, fixed in grid.fixed.items() for a, b in fixed}
    nodes = {node for _, a, b in edges for node in (a, b)}
    nodes |= {node for tree in trees.values() for node in tree.nodes}
    places = [grid.place(node) for node in nodes]
    gates = [(strip.row, gate.column, gate.device) for strip in floor.strips for gate in strip.gates]
    rows = sorted({row for _, row, _ in places} | {grid.rows.device(row)[0] for row, _, _ in gates})
    columns = sorted({column for _, _, column in places} | {column for _, column, _ in gates})
    row_of = {row: at for at, row in enumerate(rows)}
    column_of = {column: at for at, column in enumerate(columns)}
    told: set[tuple[object, ...]] = set()
    for net, a, b in edges:
        layer, r0, c0 = grid.place(a)
        other, r1, c1 = grid.place(b)
        ends = sorted(((row_of[r0], column_of[c0]), (row_of[r1], column_of[c1])))
        told.add(("wire", net, layer, other, *ends))
    told |= {("land", net, *_at(grid, node, row_of, column_of)) for net, tree in trees.items() for node, _ in tree.contacts}
    told |= {("exit", net, side, *_at(grid, node, row_of, column_of)) for net, t in trees.items() for node, side in t.exits}
    told |= {("gate", d.name, row_of[grid.rows.device(row)[0]], column_of[c], d.left, d.right) for row, c, d in gates}
    forms = [repr(sorted(_mirrored(told, x, y, len(rows), len(columns)), key=repr)) for x in (0, 1) for y in (0, 1)]
    return blake2b(min(forms).encode(), digest_size=8).hexdigest()


def _at(grid: Grid, node: int, row_of: dict[int, int], column_of: dict[int, int]) -> tuple[int, int, int]:
    layer, row, column = grid.place(node)
    return layer, row_of[row], column_of[column]


def _mirrored(told: set[tuple[object, ...]], x: int, y: int, rows: int, columns: int) -> list[tuple[object, ...]]:
    def place(row: int, column: int) -> tuple[int, int]:
        return (rows - 1 - row if y else row), (columns - 1 - column if x else column)

    found: list[tuple[object, ...]] = []
    for item in told:
        match item:
            case ("wire", net, layer, other, (r0, c0), (r1, c1)):
                found.append(("wire", net, layer, other, *sorted((place(r0, c0), place(r1, c1)))))
            case ("land", net, layer, row, column):
                found.append(("land", net, layer, *place(row, column)))
            case ("exit", net, side, layer, row, column):
                for axis, on in enumerate((x, y)):
                    side = _SIDES[axis].get(side, side) if on else side
                found.append(("exit", net, side, layer, *place(row, column)))
            case ("gate", name, row, column, left, right):
                found.append(("gate", name, *place(row, column), *((right, left) if x else (left, right))))
    return found
