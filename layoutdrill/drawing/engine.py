"""Draw a netlist in a process: the chain from pairing to paint."""

from dataclasses import dataclass

from layoutdrill.drawing.compaction import compact
from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.floor import Floor, lay_out
from layoutdrill.drawing.grid import ABSENT, FREE, Grid, Pin, Rows, build
from layoutdrill.drawing.ordering import order
from layoutdrill.drawing.painting import paint
from layoutdrill.drawing.pairing import number_nets, pair, split
from layoutdrill.drawing.routing import Tree, route
from layoutdrill.drawing.sketching import Room, sketch
from layoutdrill.drawing.style import Style, choose
from layoutdrill.drawing.technique import HOME, METAL, OTHER, technique_for
from layoutdrill.errors import FaultError
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process

_TRIES = 8


@dataclass(frozen=True, slots=True)
class Drawing:
    """A layout with what the engine meant: fingers by transistor, and the symbolic structure."""

    layout: Layout
    fingers: dict[str, int]
    floor: Floor
    grid: Grid
    trees: dict[int, Tree]


def draw(netlist: Netlist, process: Process, seed: int, *, difficulty: float = 0.3, attempt: int = 0) -> Layout:
    """
    Return a layout of the netlist, the same for the same arguments on every machine.

    `difficulty` runs from 0 (tidy) to 1 (crowded); a later `attempt` redraws with more room. Coordinates are in
    grid units of the process. The layout is not proved: only `layoutdrill.prove` may hand it to a learner. Raises
    FaultError when several attempts find no room.
    """
    for extra in range(attempt, attempt + _TRIES):
        found = drawing(netlist, process, seed, difficulty=difficulty, attempt=extra)
        if found is not None:
            return found.layout
    raise FaultError(f"{netlist.name} in {process.name} from seed {seed} could not be drawn")


def drawing(
    netlist: Netlist, process: Process, seed: int, *, difficulty: float = 0.3, attempt: int = 0
) -> Drawing | None:
    """Return the drawing with what was meant by it, or None when this attempt found no room for the wires."""
    technique = technique_for(process)
    hard = max(0, min(100, round(difficulty * 100)))
    dice = Dice.from_text(f"{process.name}|{seed}|{hard}|{attempt}|{netlist.text()}")
    style = choose(netlist, technique, dice, hard, attempt)
    nets = number_nets(netlist)
    low, high = process.supplies
    supplies = nets.get(low, ABSENT), nets.get(high, ABSENT)
    rows_of = {t.name: HOME[t.kind] for t in netlist.transistors}
    slots = pair(split(netlist, rows_of, style.fingers, nets), dice, supplies)
    count = len(slots)
    slots = order(slots, dice, style.weights, supplies, min(500, 12 * count * count + 20 * count))
    floor = lay_out(slots, *style.margins)
    channel = 3 + floor.columns // 6 + style.spare
    rows = Rows(style.outer[0], style.device_rows[0], channel, style.device_rows[1], style.outer[1])
    grid = build(floor, rows, technique, supplies, dice)
    _supply_pins(grid, supplies)
    _ports(grid, style, nets)
    trees = route(grid, dice)
    if trees is None:
        return None
    room = Room(style.widths, _tap_columns(grid, trees, style, dice))
    drawn = sketch(floor, grid, trees, technique, room, supplies)
    compact(drawn)
    names = {number: net for net, number in nets.items()}
    layout = paint(netlist.name, drawn, technique, names, [nets[p] for p in netlist.ports])
    layout = layout.transformed(Transform(turns=style.turns, mirrored=style.mirrored))
    fingers = {t.name: style.fingers.get(t.name, 1) for t in netlist.transistors}
    return Drawing(layout, fingers, floor, grid, trees)


def _supply_pins(grid: Grid, supplies: tuple[int, int]) -> None:
    """Let a gate or a diffusion that a supply must reach from afar aim for the rail."""
    for supply, row in zip(supplies, (0, grid.rows.count - 1), strict=True):
        if supply in grid.pins:
            nodes = tuple(grid.node(METAL, row, c) for c in range(grid.columns))
            grid.pins[supply].insert(0, Pin(nodes, joined=True))


def _ports(grid: Grid, style: Style, nets: dict[str, int]) -> None:
    rows = grid.rows
    for port, side in style.sides.items():
        net = nets[port]
        pins = grid.pins.get(net, [])
        if not side and len(pins) == 1 and pins[0].region is not None:
            side = "left"
        if not side or not pins:
            continue
        if side in ("left", "right"):
            column = 0 if side == "left" else grid.columns - 1
            places = [(layer, r, column) for layer in (METAL, OTHER) for r in range(1, rows.count - 1)]
        else:
            row = 0 if side == "bottom" else rows.count - 1
            places = [(OTHER, row, c) for c in range(grid.columns)]
        nodes = tuple(n for n in (grid.node(*place) for place in places) if grid.owner[n] in (FREE, net))
        grid.pins[net].append(Pin(nodes, joined=False, side=side))


def _tap_columns(grid: Grid, trees: dict[int, Tree], style: Style, dice: Dice) -> tuple[tuple[int, ...], ...]:
    """Choose columns for taps in which nothing passes below the rail."""
    used = {node for tree in trees.values() for node in tree.nodes}
    chosen = []
    for row in (0, grid.rows.count - 1):
        free = [c for c in range(grid.columns) if grid.node(OTHER, row, c) not in used]
        chosen.append(tuple(sorted(dice.shuffled(free)[: style.taps])))
    return tuple(chosen)
