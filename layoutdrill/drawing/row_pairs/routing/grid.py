"""
Build the routing grid of a floor: layers of nodes, who owns which, and what each net has to reach.

A node is a number: (layer · rows + row) · columns + column, row 0 at the bottom. Rows from the bottom: rail, outer
rows, bottom device rows, channel, top device rows, outer rows, rail.
"""

import itertools
from dataclasses import dataclass, field

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.placing.floor import Floor, Region, Stand, Strip
from layoutdrill.drawing.row_pairs.placing.pairing import Form
from layoutdrill.drawing.shared.technique import METAL, OTHER, UPPER_METAL, Costs, GateForm, Loads, Technique

FREE, BLOCKED = -1, -2
"""What `Grid.owner` holds for a node that no net owns, and for one that no net may use."""


ABSENT = -3
"""The number of a supply that the netlist does not have."""


@dataclass(frozen=True, slots=True)
class Rows:
    """
    How many rows of each sort, from the bottom between the two rails. Only metal crosses from below row `barrier` to
    it, where guard rings part the channel; 0 for none. `stands` tells in which device rows loads stand.
    """

    outer_low: int
    low: int
    channel: int
    high: int
    outer_high: int
    barrier: int = 0
    stands: tuple[bool, bool] = (False, False)

    def lying(self, row: int) -> range:
        """Return the grid rows of a device row in which strips lie; beside standing loads it is the inner one."""
        block = self.device(row)
        if not self.stands[row]:
            return block
        return block[-1:] if row == 0 else block[:1]

    @property
    def count(self) -> int:
        return 2 + self.outer_low + self.low + self.channel + self.high + self.outer_high

    def device(self, row: int) -> range:
        """Return the grid rows of device row 0 (bottom) or 1 (top)."""
        if row == 0:
            return range(1 + self.outer_low, 1 + self.outer_low + self.low)
        first = 1 + self.outer_low + self.low + self.channel
        return range(first, first + self.high)

    @property
    def between(self) -> range:
        return range(1 + self.outer_low + self.low, 1 + self.outer_low + self.low + self.channel)


@dataclass(frozen=True, slots=True)
class Pin:
    """
    Nodes of which one must be reached. `joined` says that they are one conductor anyway; `side` that the wire
    leaves the drawing there (left, right, bottom, top).
    """

    nodes: tuple[int, ...]
    joined: bool
    region: Region | None = None
    side: str = ""


@dataclass(slots=True)
class Grid:
    """
    `steps[node]` lists (neighbour, price); `cheapest` is the least price of a step along a row, and along a column;
    `effort` counts the wires that routing laid; `fixed` holds the edges that every drawing of this floor has;
    `level` those of standing loads' poly that may not be
    left upright, past their contact; `shut` those from which no wire goes straight up, as a bent gate lies across;
    `burials` the nodes at which poly may end on a diffusion.
    """

    rows: Rows
    columns: int
    owner: list[int]
    steps: list[list[tuple[int, int]]]
    pins: dict[int, list[Pin]]
    fixed: dict[int, set[tuple[int, int]]] = field(default_factory=dict)
    contacts: list[tuple[int, Region]] = field(default_factory=list)
    burials: dict[int, Region] = field(default_factory=dict)
    level: set[int] = field(default_factory=set)
    shut: set[int] = field(default_factory=set)
    cheapest: tuple[int, int] = (0, 0)
    effort: int = 0

    @property
    def layers(self) -> int:
        return len(self.owner) // self.size

    @property
    def size(self) -> int:
        return self.rows.count * self.columns

    def node(self, layer: int, row: int, column: int) -> int:
        return (layer * self.rows.count + row) * self.columns + column

    def place(self, node: int) -> tuple[int, int, int]:
        """Return (layer, row, column)."""
        layer, rest = divmod(node, self.size)
        return layer, *divmod(rest, self.columns)


def build(floor: Floor, rows: Rows, technique: Technique, supplies: tuple[int, int], costs: Costs, unrest: int,
          dice: Dice, *, broad: bool = False) -> Grid:  # fmt: skip
    """
    Return the grid with rails and supply straps in place and a pin for each gate and each source or drain.

    With `broad` the rails lie in the second metal too.
    """
    grid = Grid(rows, floor.columns, [FREE] * (len(technique.wires) * rows.count * floor.columns), [], {})
    for supply, row in zip(supplies, (0, rows.count - 1), strict=True):
        for c in range(floor.columns):
            grid.owner[grid.node(METAL, row, c)] = FREE if supply == ABSENT else supply
            if technique.rings is not None and not technique.rings.open:
                grid.owner[grid.node(OTHER, row, c)] = BLOCKED
            if broad and supply != ABSENT:
                grid.owner[grid.node(UPPER_METAL, row, c)] = BLOCKED
    for strip in floor.strips:
        _own(grid, strip, technique, supplies)
    gates: set[int] = set()
    for strip in floor.strips:
        for region in strip.regions:
            if region.tied:
                continue
            if region.net == supplies[strip.row]:
                _strap(grid, region, rows.lying(strip.row), dice)
            else:
                places = [(r, c) for r in rows.lying(strip.row) for c in region.columns]
                nodes = [grid.node(METAL, r, c) for r, c in places]
                nodes += [n for n in (grid.node(OTHER, r, c) for r, c in places) if grid.burials.get(n) is region]
                grid.pins.setdefault(region.net, []).append(Pin(tuple(nodes), joined=True, region=region))
        arms = {id(second): first for first, second, _ in strip.bent if first is not second}
        found: dict[int, list[int]] = {}
        for gate in strip.gates:
            nodes = [grid.node(technique.gate_layer, r, gate.column) for r in rows.lying(strip.row)]
            gates.update(nodes)
            found.setdefault(id(arms.get(id(gate), gate)), []).extend(nodes)
        for gate in strip.gates:
            if id(gate) in found:
                grid.pins.setdefault(gate.device.gate, []).append(Pin(tuple(found[id(gate)]), joined=True))
        _shut(grid, strip, technique)
    for stand in floor.stands:
        _stand(grid, stand, technique, dice)
    grid.steps = _steps(grid, technique, costs, unrest, gates, dice)
    prices = [costs.of(layer) for layer in range(grid.layers)]
    grid.cheapest = min(level for _, level in prices), min(upright for upright, _ in prices)
    return grid


def _own(grid: Grid, strip: Strip, technique: Technique, supplies: tuple[int, int]) -> None:
    rows = grid.rows.lying(strip.row)
    for region in strip.regions:
        buried = technique.buried is not None and len(rows) == 1 and region.net not in supplies
        for r in rows:
            for c in region.columns:
                node = grid.node(OTHER, r, c)
                grid.owner[node] = region.net if buried else BLOCKED
                if buried:
                    grid.burials[node] = region
    for gate in strip.gates:
        nodes = [grid.node(technique.gate_layer, r, gate.column) for r in rows]
        for node in nodes:
            grid.owner[node] = gate.device.gate
        grid.fixed.setdefault(gate.device.gate, set()).update(itertools.pairwise(nodes))
        if technique.form is GateForm.METAL:
            for r in rows:
                grid.owner[grid.node(OTHER, r, gate.column)] = BLOCKED


def _shut(grid: Grid, strip: Strip, technique: Technique) -> None:
    """Close the ways past bent gates: over their bars, and out of a ring but for the one arm that it leaves by."""
    rows = grid.rows.lying(strip.row)
    below, above = rows[0] - 1, rows[-1]
    outer, inward = (below, above) if strip.row == 0 else (above, below)
    grid.shut |= {grid.node(technique.gate_layer, outer, g.column) for g in strip.gates if g.device.step}
    for first, last, region in strip.bent:
        device = first.device
        grid.shut |= {grid.node(technique.gate_layer, outer, gate.column) for gate in (first, last)}
        if device.form is Form.RING:
            grid.shut.add(grid.node(technique.gate_layer, inward, (first if device.far else last).column))
        elif technique.form is GateForm.METAL:
            grid.shut |= {grid.node(METAL, outer, column) for column in region.columns}


def ends_of(grid: Grid, stand: Stand) -> tuple[int, int]:
    """Return the grid rows of a standing load's output and of its end by the rail."""
    rows = grid.rows.device(stand.device.row)
    return (rows[0], rows[-1]) if stand.device.row == 1 else (rows[-1], rows[0])


def _stand(grid: Grid, stand: Stand, technique: Technique, dice: Dice) -> None:
    inner, outer = ends_of(grid, stand)
    net = stand.inner.net
    for r in grid.rows.device(stand.device.row):
        grid.owner[grid.node(OTHER, r, stand.column)] = BLOCKED
    nodes = [grid.node(METAL, inner, stand.column)]
    if technique.loads is Loads.BURIED:
        poly = grid.node(OTHER, inner, stand.column)
        grid.owner[poly] = net
        if dice.chance(50):
            nodes = [poly]
        else:
            nodes.append(poly)
            grid.level.add(poly)
    grid.pins.setdefault(net, []).append(Pin(tuple(nodes), joined=True, region=stand.inner))
    _strap(grid, stand.outer, range(outer, outer + 1), dice)


def _strap(grid: Grid, region: Region, own: range, dice: Dice) -> None:
    """Run metal from a supply's diffusion straight to the rail on its side."""
    rows = grid.rows
    column = dice.pick(region.columns)
    span = range(own[0] + 1) if region.row == 0 else range(own[-1], rows.count)
    nodes = [grid.node(METAL, r, column) for r in span]
    for node in nodes:
        grid.owner[node] = region.net
    grid.fixed.setdefault(region.net, set()).update(itertools.pairwise(nodes))
    grid.contacts.append((nodes[-1] if region.row == 0 else nodes[0], region))


def _steps(grid: Grid, technique: Technique, costs: Costs, unrest: int, gates: set[int],
           dice: Dice) -> list[list[tuple[int, int]]]:  # fmt: skip
    rows, columns, owner = grid.rows, grid.columns, grid.owner
    by_row = [dice.below(unrest + 1) for _ in range(rows.count)]
    by_column = [dice.below(unrest + 1) for _ in range(columns)]
    burying = dice.below(24) if grid.burials else 0
    last = rows.count - 1
    steps: list[list[tuple[int, int]]] = [[] for _ in owner]
    device = set(rows.device(0)) | set(rows.device(1))
    over_poly = technique.gate_layer == OTHER

    def join(a: int, b: int, price: int) -> None:
        if owner[a] != BLOCKED and owner[b] != BLOCKED:
            steps[a].append((b, price))
            steps[b].append((a, price))

    for layer in range(grid.layers):
        upright, level = costs.of(layer)
        for r in range(rows.count):
            base = (layer * rows.count + r) * columns
            rail = r in (0, last)
            parted = layer == OTHER and rows.barrier == r + 1
            for c in range(columns):
                node = base + c
                upward = r < last and not parted and node not in grid.shut
                if upward and node not in grid.level and node + columns not in grid.level:
                    hides = layer == METAL and over_poly and r in device and node + grid.size in gates
                    extra = (burying if node in grid.burials or node + columns in grid.burials else 0) + (
                        costs.along_gate if hides else 0
                    )
                    join(node, node + columns, upright + by_column[c] + extra)
                closed = rail or node in gates or node + 1 in gates or node in grid.burials or node + 1 in grid.burials
                if c + 1 < columns and not closed:
                    join(node, node + 1, level + by_row[r])
    crowded = gates | {node for pins in grid.pins.values() for pin in pins if pin.region for node in pin.nodes}
    for r in range(rows.count):
        for c in range(columns):
            node = grid.node(METAL, r, c)
            below = node + grid.size
            if not (r in device and (node in gates or below in crowded)):
                join(node, below, costs.contact)
            if grid.layers > UPPER_METAL and r not in device and r not in (0, last):
                join(node, below + grid.size, costs.via)
    return steps
