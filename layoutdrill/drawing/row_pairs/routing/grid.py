"""
Build the routing grid of a floor: layers of nodes, who owns which, and what each net has to reach.

A node is a number: (layer · rows + row) · columns + column, row 0 at the bottom. Rows from the bottom: rail, outer
rows, bottom device rows, channel, top device rows, outer rows, rail.
"""

import itertools
from collections.abc import Iterable
from dataclasses import field

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.job import ABSENT, Job
from layoutdrill.drawing.row_pairs.placing.choices import Choices
from layoutdrill.drawing.row_pairs.placing.devices import Form
from layoutdrill.drawing.row_pairs.placing.floor import Floor, Gate, Region, Stand, Strip
from layoutdrill.drawing.shared.technique import METAL, OTHER, UPPER_METAL, GateForm, Loads, Technique
from layoutdrill.value import mutable, value

FREE, BLOCKED = -1, -2
"""What `Grid.owner` holds for a node that no net owns, and for one that no net may use."""

ALIEN = 1_000_000
"""Nets from here up belong to no cell."""


@value
class Rows:
    """
    The grid rows of the bottom and of the top device row, and how many there are in all. Only metal crosses from below
    row `barrier` to it, where guard rings part the channel; 0 for none. `stands` tells which device rows hold loads.
    """

    device: tuple[range, range]
    count: int
    barrier: int
    stands: tuple[bool, bool]

    @property
    def between(self) -> range:
        """Return the rows of the channel."""
        return range(self.device[0].stop, self.device[1].start)

    def lying(self, row: int) -> range:
        """Return the grid rows of a device row in which strips lie; beside standing loads it is the inner one."""
        block = self.device[row]
        if not self.stands[row]:
            return block
        return block[-1:] if row == 0 else block[:1]


def stacked(choices: Choices, channel: int, barrier: int) -> Rows:
    """Return the rows for a channel so high; `barrier` counts from its lowest row, 0 for none."""
    (below, above), (low, high) = choices.outer, choices.device_rows
    bottom = range(1 + below, 1 + below + low)
    top = range(bottom.stop + channel, bottom.stop + channel + high)
    return Rows((bottom, top), top.stop + above + 1, bottom.stop + barrier if barrier else 0, choices.stands)


def rows_of(t: Technique, choices: Choices, columns: int, wires: int, dice: Dice) -> Rows:
    """Return the rows for so many columns, and `wires` that run through; guard rings part their channel half-way."""
    channel = 3 + columns // 6 + choices.spare + wires
    return stacked(choices, channel, channel // 2 + dice.below(2) * (channel % 2) if t.rings else 0)


@value
class Pin:
    """
    Nodes of which one must be reached. `side` says that the wire leaves the drawing there (left, right, bottom, top);
    if it does not, they are one conductor anyway.
    """

    nodes: tuple[int, ...]
    region: Region | None = None
    side: str = ""


@mutable
class Grid:
    """
    The floor as nodes. `steps[node]` lists (neighbour, price); `cheapest` is the least price of a step along a row, and
    along a column; `effort` counts the wires that routing laid; `fixed` holds the edges that every drawing of this
    floor has; `contacts` those of supply straps; `level` the nodes of standing loads' poly that may not be left
    upright, past their contact; `shut` those from which no wire goes straight up, as a bent gate lies across; `burials`
    the nodes at which poly may end on a diffusion.
    """

    floor: Floor
    rows: Rows
    job: Job
    choices: Choices
    owner: list[int]
    steps: list[list[tuple[int, int]]] = field(default_factory=list)
    pins: dict[int, list[Pin]] = field(default_factory=dict)
    fixed: dict[int, set[tuple[int, int]]] = field(default_factory=dict)
    contacts: list[tuple[int, Region]] = field(default_factory=list)
    burials: dict[int, Region] = field(default_factory=dict)
    level: set[int] = field(default_factory=set)
    shut: set[int] = field(default_factory=set)
    cheapest: tuple[int, int] = (0, 0)
    effort: int = 0

    @property
    def technique(self) -> Technique:
        return self.job.technique

    @property
    def supplies(self) -> tuple[int, int]:
        return self.job.supply_nets

    @property
    def columns(self) -> int:
        return self.floor.columns

    @property
    def layers(self) -> int:
        return len(self.technique.wires)

    @property
    def size(self) -> int:
        return self.rows.count * self.columns

    def node(self, layer: int, row: int, column: int) -> int:
        return (layer * self.rows.count + row) * self.columns + column

    def place(self, node: int) -> tuple[int, int, int]:
        """Return (layer, row, column)."""
        layer, rest = divmod(node, self.size)
        return layer, *divmod(rest, self.columns)

    def across(self, layer: int, row: int) -> range:
        """Return the nodes of a layer in a row, from left to right."""
        return range(self.node(layer, row, 0), self.node(layer, row + 1, 0))

    def block(self, layer: int, rows: Iterable[int], columns: Iterable[int]) -> list[int]:
        """Return the nodes of a layer where rows and columns cross."""
        return [self.node(layer, r, c) for r, c in itertools.product(rows, columns)]

    def gate_nodes(self, strip: Strip, gate: Gate) -> list[int]:
        return self.block(self.technique.gate_layer, self.rows.lying(strip.row), (gate.column,))

    def ends_of(self, stand: Stand) -> tuple[int, int]:
        """Return the nodes of metal at a standing load's output and at its end by the rail."""
        rows = self.rows.device[stand.device.row]
        inner, outer = (rows[0], rows[-1]) if stand.device.row == 1 else (rows[-1], rows[0])
        return self.node(METAL, inner, stand.column), self.node(METAL, outer, stand.column)

    def ask(self, net: int, pin: Pin) -> None:
        """Let a net have one more pin to reach."""
        self.pins.setdefault(net, []).append(pin)

    def fix(self, net: int, nodes: Iterable[int]) -> None:
        """Join neighbouring nodes of a net in every drawing."""
        self.fixed.setdefault(net, set()).update(itertools.pairwise(nodes))

    def claim(self, net: int, nodes: Iterable[int]) -> None:
        for node in nodes:
            self.owner[node] = net


def build(floor: Floor, rows: Rows, job: Job, choices: Choices, dice: Dice) -> Grid:
    """Return the grid with rails and supply straps in place and a pin for each rail, gate, and source or drain."""
    nodes = len(job.technique.wires) * rows.count * floor.columns
    grid = Grid(floor, rows, job, choices, [FREE] * nodes)
    _own_rails(grid)
    for strip in floor.strips:
        _own(grid, strip)
    for strip in floor.strips:
        _ask(grid, strip, dice)
        _shut(grid, strip)
    for stand in floor.stands:
        _stand(grid, stand, dice)
    _join_neighbours(grid, dice)
    for supply, row in zip(grid.supplies, (0, rows.count - 1), strict=True):
        if supply in grid.pins:  # gates tied to it, and ends in the row that is far from it, aim for the rail
            grid.pins[supply].insert(0, Pin(tuple(grid.across(METAL, row))))
    return grid


def _own_rails(grid: Grid) -> None:
    rings = grid.technique.rings
    for supply, row in zip(grid.supplies, (0, grid.rows.count - 1), strict=True):
        grid.claim(FREE if supply == ABSENT else supply, grid.across(METAL, row))
        if rings is not None and not rings.open:
            grid.claim(BLOCKED, grid.across(OTHER, row))
        if grid.choices.levelled and supply != ABSENT:
            grid.claim(BLOCKED, grid.across(UPPER_METAL, row))


def _own(grid: Grid, strip: Strip) -> None:
    technique, rows = grid.technique, grid.rows.lying(strip.row)
    for region in strip.regions:
        buried = technique.buried is not None and len(rows) == 1 and region.net not in grid.supplies
        nodes = grid.block(OTHER, rows, region.columns)
        grid.claim(region.net if buried else BLOCKED, nodes)
        if buried:
            grid.burials |= dict.fromkeys(nodes, region)
    for gate in strip.gates:
        nodes = grid.gate_nodes(strip, gate)
        grid.claim(gate.device.gate, nodes)
        grid.fix(gate.device.gate, nodes)
        if technique.form is GateForm.METAL:
            grid.claim(BLOCKED, grid.block(OTHER, rows, (gate.column,)))


def _ask(grid: Grid, strip: Strip, dice: Dice) -> None:
    """Ask for straps to a strip's supplies and for wires to all else that its own diffusion does not join."""
    rows = grid.rows.lying(strip.row)
    for region in strip.regions:
        if region.net == grid.supplies[strip.row] and not region.tied:
            _strap(grid, region, rows, dice)
        elif not region.tied:
            buried = [node for node in grid.block(OTHER, rows, region.columns) if grid.burials.get(node) is region]
            grid.ask(region.net, Pin((*grid.block(METAL, rows, region.columns), *buried), region=region))
    arms = {last: first for first, last, _ in strip.bent if first is not last}
    reached = {gate: grid.gate_nodes(strip, gate) for gate in strip.gates if gate not in arms}
    for last, first in arms.items():
        reached[first] += grid.gate_nodes(strip, last)
    for gate, nodes in reached.items():
        grid.ask(gate.device.gate, Pin(tuple(nodes)))


def _shut(grid: Grid, strip: Strip) -> None:
    """Close the ways past bent gates: over their bars, and out of a ring but for the one arm that it leaves by."""
    technique, rows = grid.technique, grid.rows.lying(strip.row)
    below, above = rows[0] - 1, rows[-1]
    outer, inward = (below, above) if strip.row == 0 else (above, below)
    grid.shut |= {grid.node(technique.gate_layer, outer, g.column) for g in strip.gates if g.step}
    for first, last, region in strip.bent:
        channel = first.device.channel
        grid.shut |= {grid.node(technique.gate_layer, outer, gate.column) for gate in (first, last)}
        if channel.form is Form.RING:
            grid.shut.add(grid.node(technique.gate_layer, inward, (first if channel.far else last).column))
        elif technique.form is GateForm.METAL:
            grid.shut |= {grid.node(METAL, outer, column) for column in region.columns}


def _stand(grid: Grid, stand: Stand, dice: Dice) -> None:
    metal, outer = grid.ends_of(stand)
    net = stand.inner.net
    grid.claim(BLOCKED, grid.block(OTHER, grid.rows.device[stand.device.row], (stand.column,)))
    nodes = [metal]
    if grid.technique.loads is Loads.BURIED:
        poly = metal + grid.size
        grid.owner[poly] = net
        if dice.chance(50):
            nodes = [poly]
        else:
            nodes.append(poly)
            grid.level.add(poly)
    grid.ask(net, Pin(tuple(nodes), region=stand.inner))
    row = grid.place(outer)[1]
    _strap(grid, stand.outer, range(row, row + 1), dice)


def _strap(grid: Grid, region: Region, own: range, dice: Dice) -> None:
    """Run metal from a supply's diffusion straight to the rail on its side."""
    column = dice.pick(region.columns)
    span = range(own[0] + 1) if region.row == 0 else range(own[-1], grid.rows.count)
    nodes = grid.block(METAL, span, (column,))
    grid.claim(region.net, nodes)
    grid.fix(region.net, nodes)
    grid.contacts.append((nodes[-1] if region.row == 0 else nodes[0], region))


def _join_neighbours(grid: Grid, dice: Dice) -> None:
    """Price the steps: along rows and columns, whose prices vary a little, and from layer to layer."""
    columns, count, owner = grid.columns, grid.rows.count, grid.owner
    costs, unrest = grid.choices.costs(grid.technique), grid.choices.unrest
    gates = {n for strip in grid.floor.strips for gate in strip.gates for n in grid.gate_nodes(strip, gate)}
    by_row = [dice.below(unrest + 1) for _ in range(count)]
    by_column = [dice.below(unrest + 1) for _ in range(columns)]
    burying = dice.below(24) if grid.burials else 0
    last = count - 1
    steps: list[list[tuple[int, int]]] = [[] for _ in owner]
    device = {*grid.rows.device[0], *grid.rows.device[1]}
    hidden = grid.technique.gate_layer == OTHER
    closed = gates | grid.burials.keys()

    def join(a: int, b: int, price: int) -> None:
        if owner[a] != BLOCKED and owner[b] != BLOCKED:
            steps[a].append((b, price))
            steps[b].append((a, price))

    for layer, r in itertools.product(range(grid.layers), range(count)):
        upright, level = costs.steps[layer]
        rail = r in (0, last)
        parted = r == last or (layer == OTHER and grid.rows.barrier == r + 1)
        over = layer == METAL and hidden and r in device
        nodes = grid.across(layer, r)
        for node, dearer in zip(nodes, by_column, strict=True):
            above = node + columns
            if not (parted or node in grid.shut or node in grid.level or above in grid.level):
                extra = burying if node in grid.burials or above in grid.burials else 0
                extra += costs.along_gate if over and node + grid.size in gates else 0
                join(node, above, upright + dearer + extra)
            if not (rail or node == nodes[-1] or node in closed or node + 1 in closed):
                join(node, node + 1, level + by_row[r])
    crowded = gates | {node for pins in grid.pins.values() for pin in pins if pin.region for node in pin.nodes}
    for node in range(grid.size):
        r, below = node // columns, node + grid.size
        if not (r in device and (node in gates or below in crowded)):
            join(node, below, costs.contact)
        if grid.layers > UPPER_METAL and r not in device and r not in (0, last):
            join(node, below + grid.size, costs.via)
    grid.steps = steps
    prices = costs.steps[: grid.layers]
    grid.cheapest = min(level for _, level in prices), min(upright for upright, _ in prices)


def ask_for_ports(grid: Grid) -> None:
    """Let ports leave on the sides that were chosen; one that would be nowhere a wire leaves on the left."""
    layers = (METAL,) if grid.technique.rings or grid.choices.landings else (METAL, OTHER)
    for port, chosen in grid.choices.sides.items():
        net = grid.job.nets[port]
        pins = grid.pins.get(net, [])
        alone = len(pins) == 1 and pins[0].region is not None
        side = chosen or ("left" if alone else "")
        if side and pins:
            pins.append(exit_pin(grid, side, net, layers))


def exit_pin(grid: Grid, side: str, net: int, layers: tuple[int, ...] = (METAL, OTHER)) -> Pin:
    """Return a pin for leaving on a side: left and right in `layers`, past rails below them or in the second metal."""
    rows, columns = grid.rows.count, range(grid.columns)
    if side in ("left", "right"):
        column = columns[:1] if side == "left" else columns[-1:]
        nodes = [node for layer in layers for node in grid.block(layer, range(1, rows - 1), column)]
    else:
        row = 0 if side == "bottom" else rows - 1
        nodes = [node for layer in range(OTHER, grid.layers) for node in grid.across(layer, row)]
    return Pin(tuple(node for node in nodes if grid.owner[node] in (FREE, net)), side=side)


def pass_through(grid: Grid, dice: Dice) -> None:
    """Ask for wires from one side to the other, as many as were chosen."""
    ringed = grid.technique.rings is not None
    for net in range(ALIEN, ALIEN + grid.choices.foreign):
        if dice.chance(80) or ringed:
            layers = (METAL,) if dice.chance(75) or ringed else (METAL, OTHER)
            pins = [exit_pin(grid, side, net, layers) for side in ("left", "right")]
        else:
            pins = [exit_pin(grid, side, net) for side in ("bottom", "top")]
        if all(pin.nodes for pin in pins):
            grid.pins[net] = pins


def drop_strangers(grid: Grid) -> None:
    """Give up the wires that only pass through."""
    for net in [net for net in grid.pins if net >= ALIEN]:
        del grid.pins[net]
