"""
Build the routing grid of a floor: two layers of nodes, who owns which, and what each net has to reach.

A node is a number: (layer · rows + row) · columns + column, row 0 at the bottom. Rows from the bottom: rail, outer
rows, bottom device rows, channel, top device rows, outer rows, rail.
"""

import itertools
from dataclasses import dataclass, field

from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.floor import Floor, Region, Strip
from layoutdrill.drawing.technique import METAL, OTHER, GateForm, Technique

FREE, BLOCKED = -1, -2
"""What `Grid.owner` holds for a node that no net owns, and for one that no net may use."""


ABSENT = -3
"""The number of a supply that the netlist does not have."""


@dataclass(frozen=True, slots=True)
class Rows:
    """How many rows of each sort, from the bottom between the two rails."""

    outer_low: int
    low: int
    channel: int
    high: int
    outer_high: int

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
    `fixed` holds the edges that every drawing of this floor has.
    """

    rows: Rows
    columns: int
    owner: list[int]
    steps: list[list[tuple[int, int]]]
    pins: dict[int, list[Pin]]
    fixed: dict[int, set[tuple[int, int]]] = field(default_factory=dict)
    contacts: list[tuple[int, Region]] = field(default_factory=list)
    cheapest: tuple[int, int] = (0, 0)

    @property
    def size(self) -> int:
        return self.rows.count * self.columns

    def node(self, layer: int, row: int, column: int) -> int:
        return (layer * self.rows.count + row) * self.columns + column

    def place(self, node: int) -> tuple[int, int, int]:
        """Return (layer, row, column)."""
        layer, rest = divmod(node, self.size)
        return layer, *divmod(rest, self.columns)


def build(floor: Floor, rows: Rows, technique: Technique, supplies: tuple[int, int], unrest: int,
          dice: Dice) -> Grid:  # fmt: skip
    """Return the grid with rails and supply straps in place and a pin for each gate and each source or drain."""
    count = 2 * rows.count * floor.columns
    grid = Grid(rows, floor.columns, [FREE] * count, [], {})
    for supply, row in zip(supplies, (0, rows.count - 1), strict=True):
        for c in range(floor.columns):
            grid.owner[grid.node(METAL, row, c)] = FREE if supply == ABSENT else supply
    for strip in floor.strips:
        _own(grid, strip, technique)
    for strip in floor.strips:
        for region in strip.regions:
            if region.net == supplies[strip.row]:
                _strap(grid, region, dice)
            else:
                nodes = tuple(grid.node(METAL, r, c) for r in rows.device(strip.row) for c in region.columns)
                grid.pins.setdefault(region.net, []).append(Pin(nodes, joined=True, region=region))
        for gate in strip.gates:
            nodes = tuple(grid.node(technique.gate_layer, r, gate.column) for r in rows.device(strip.row))
            grid.pins.setdefault(gate.device.gate, []).append(Pin(nodes, joined=True))
    grid.steps = _steps(grid, technique, unrest, dice)
    costs = technique.costs
    grid.cheapest = min(costs.metal, costs.other_level), min(costs.metal, costs.other_upright)
    return grid


def _own(grid: Grid, strip: Strip, technique: Technique) -> None:
    rows = grid.rows.device(strip.row)
    for region in strip.regions:
        for r in rows:
            for c in region.columns:
                grid.owner[grid.node(OTHER, r, c)] = BLOCKED
    for gate in strip.gates:
        nodes = [grid.node(technique.gate_layer, r, gate.column) for r in rows]
        for node in nodes:
            grid.owner[node] = gate.device.gate
        grid.fixed.setdefault(gate.device.gate, set()).update(itertools.pairwise(nodes))
        if technique.form is GateForm.METAL:
            for r in rows:
                grid.owner[grid.node(OTHER, r, gate.column)] = BLOCKED


def _strap(grid: Grid, region: Region, dice: Dice) -> None:
    """Run metal from a supply's diffusion straight to the rail on its side."""
    rows = grid.rows
    column = dice.pick(region.columns)
    span = range(rows.device(0)[0] + 1) if region.row == 0 else range(rows.device(1)[-1], rows.count)
    nodes = [grid.node(METAL, r, column) for r in span]
    for node in nodes:
        grid.owner[node] = region.net
    grid.fixed.setdefault(region.net, set()).update(itertools.pairwise(nodes))
    grid.contacts.append((nodes[-1] if region.row == 0 else nodes[0], region))


def _steps(grid: Grid, technique: Technique, unrest: int, dice: Dice) -> list[list[tuple[int, int]]]:
    rows, columns, owner, costs = grid.rows, grid.columns, grid.owner, technique.costs
    by_row = [dice.below(unrest + 1) for _ in range(rows.count)]
    by_column = [dice.below(unrest + 1) for _ in range(columns)]
    last = rows.count - 1
    steps: list[list[tuple[int, int]]] = [[] for _ in range(2 * grid.size)]
    device = set(rows.device(0)) | set(rows.device(1))
    gates = [False] * (2 * grid.size)
    for pins in grid.pins.values():
        for pin in pins:
            if pin.region is None:
                for node in pin.nodes:
                    gates[node] = True

    def join(a: int, b: int, price: int) -> None:
        if owner[a] != BLOCKED and owner[b] != BLOCKED:
            steps[a].append((b, price))
            steps[b].append((a, price))

    for layer in (METAL, OTHER):
        upright = costs.metal if layer == METAL else costs.other_upright
        level = costs.metal if layer == METAL else costs.other_level
        for r in range(rows.count):
            base = (layer * rows.count + r) * columns
            rail = r in (0, last)
            for c in range(columns):
                node = base + c
                if r < last:
                    hides = layer == METAL and r in device and technique.gate_layer == OTHER and gates[node + grid.size]
                    join(node, node + columns, upright + by_column[c] + (costs.along_gate if hides else 0))
                if c + 1 < columns and not rail and not gates[node] and not gates[node + 1]:
                    join(node, node + 1, level + by_row[r])
    for r in range(rows.count):
        for c in range(columns):
            node = grid.node(METAL, r, c)
            below = node + grid.size
            if not (r in device and (gates[node] or gates[below])):
                join(node, below, costs.contact)
    return steps
