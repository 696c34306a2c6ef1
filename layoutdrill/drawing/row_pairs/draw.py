"""Draw a netlist in a process: the chain from pairing to paint."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.placing.choices import Style, choose
from layoutdrill.drawing.row_pairs.placing.floor import Floor, keep_bends, lay_out
from layoutdrill.drawing.row_pairs.placing.forms import choose_bends
from layoutdrill.drawing.row_pairs.placing.ordering import order
from layoutdrill.drawing.row_pairs.placing.pairing import number_nets, pair, split
from layoutdrill.drawing.row_pairs.routing.grid import ABSENT, Grid, Pin, Rows, build
from layoutdrill.drawing.row_pairs.routing.router import Tree, route
from layoutdrill.drawing.row_pairs.shaping.bent import measured
from layoutdrill.drawing.row_pairs.shaping.compaction import press, settle
from layoutdrill.drawing.row_pairs.shaping.decoys import ALIEN, exit_pin, neighbour, pass_through
from layoutdrill.drawing.row_pairs.shaping.painting import paint
from layoutdrill.drawing.row_pairs.shaping.places import column_places
from layoutdrill.drawing.row_pairs.shaping.rails import BOTTOM, LEFT, RIGHT, TOP, Room
from layoutdrill.drawing.row_pairs.shaping.sketch import Sketch
from layoutdrill.drawing.row_pairs.shaping.sketching import sketch
from layoutdrill.drawing.shared.families import technique_for
from layoutdrill.drawing.shared.refusal import refuse_what_cannot_be_drawn
from layoutdrill.drawing.shared.sizes import Drawn, drawn_sizes, least_heights, sizes_of
from layoutdrill.drawing.shared.technique import METAL, OTHER, GateForm, Technique
from layoutdrill.errors import FaultError
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process

_TRIES = 8
_EASY = 7
"""Twice the number of times that a net is laid, on average, up to which another routing is worth its time."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """
    A layout with what the engine meant: fingers and sizes by transistor, and the symbolic structure.

    `frame` is the cell's border, which rails and wires reach and wells may pass.
    """

    layout: Layout
    frame: Rect
    style: Style
    sizes: Drawn
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
    netlist: Netlist,
    process: Process,
    seed: int,
    *,
    difficulty: float = 0.3,
    attempt: int = 0,
    neighbours: bool = False,
    restyle: Callable[[Style], Style] = lambda style: style,
) -> Drawing | None:
    """
    Return the drawing with what was meant by it, or None when this attempt found no room for the wires.

    With `neighbours`, crowded drawings also show where another cell begins, beyond the cell's frame; `restyle` may
    change what the seed chose. Raises LayoutdrillError for a netlist that cannot be drawn in the process, with the
    reason.
    """
    technique = technique_for(process)
    refuse_what_cannot_be_drawn(netlist, process)
    hard = max(0, min(100, round(difficulty * 100)))
    dice = Dice.from_text(f"{process.name}|{seed}|{hard}|{attempt}|{netlist.text()}")
    rows_of = {t.name: technique.row_of(t, process.supplies) for t in netlist.transistors}
    standing = {rows_of[t.name] for t in netlist.transistors if technique.stands(t, process.supplies)}
    stands = 0 in standing, 1 in standing
    sizes = sizes_of(netlist, process, technique)
    least = least_heights(netlist, rows_of, sizes, technique)
    style = restyle(choose(netlist, technique, process.supplies, dice, hard, attempt, least, stands))
    bends = choose_bends(netlist, technique, process.supplies, rows_of, sizes, style, dice, hard)
    style, sizes = replace(style, fingers=bends.fingers, widths=bends.widths), bends.sizes
    nets = number_nets(netlist)
    low, high = process.supplies
    supplies = nets.get(low, ABSENT), nets.get(high, ABSENT)
    slots = pair(split(netlist, rows_of, style.fingers, nets, sizes, bends.wishes), dice, supplies)
    count = len(slots)
    slots = order(slots, dice, style.weights, supplies, min(style.steps, 12 * count * count + 20 * count))
    floor = lay_out(slots, *style.margins, supplies)
    keep_bends(floor, supplies, crossed=technique.form is GateForm.POLY)
    best: tuple[Grid, dict[int, Tree], Sketch] | None = None
    for _ in range(style.trials):
        trial = _placed(floor, technique, style, supplies, nets, stands, dice)
        if trial is not None and (best is None or _area(trial[2]) < _area(best[2])):
            best = trial
        if trial is not None and 2 * trial[0].effort > _EASY * len(trial[0].pins):
            break
    if best is None:
        return None
    grid, trees, drawn = best
    settle(drawn)
    names = {number: net for net, number in nets.items()}
    shown = neighbours and ABSENT not in supplies
    sides = style.neighbours if shown else ()
    beyond = [neighbour(drawn, side, technique, supplies, style.widths, dice) for side in sides]
    layout = paint(netlist.name, drawn, technique, names, [nets[p] for p in netlist.ports], beyond)
    turn = Transform(turns=style.turns, mirrored=style.mirrored)
    box = layout.box
    if box is not None:  # the lower left corner of what is drawn lies at (0, 0), as coordinates are shown to learners
        corner = turn.rect(box)
        turn = Transform(-corner.x0, -corner.y0, style.turns, style.mirrored)
    frame = turn.rect(Rect(drawn.xs[LEFT], drawn.ys[BOTTOM], drawn.xs[RIGHT], drawn.ys[TOP]))
    meant = {**drawn_sizes(netlist, technique, rows_of, sizes, style.fingers, style.widths), **measured(drawn)}
    return Drawing(layout.transformed(turn), frame, style, meant, floor, grid, trees)


def _placed(floor: Floor, technique: Technique, style: Style, supplies: tuple[int, int], nets: dict[str, int],
            stands: tuple[bool, bool], dice: Dice) -> tuple[Grid, dict[int, Tree], Sketch] | None:  # fmt: skip
    """Route the floor once and compact the result; without the decoys when there is no room for them."""
    channel = 3 + floor.columns // 6 + style.spare + style.foreign
    below = style.outer[0] + style.device_rows[0] + 1
    barrier = below + channel // 2 + dice.below(2) * (channel % 2) if technique.rings else 0
    rows = Rows(style.outer[0], style.device_rows[0], channel, style.device_rows[1], style.outer[1], barrier, stands)
    costs = technique.levelled if style.levelled and technique.levelled else technique.costs
    grid = build(floor, rows, technique, supplies, costs, style.unrest, dice, broad=style.levelled)
    supply_pins(grid, supplies)
    _ports(grid, style, nets, technique)
    pass_through(grid, style.foreign, dice, ringed=technique.rings is not None)
    trees = route(grid, dice)
    if trees is None and style.foreign:
        for net in [net for net in grid.pins if net >= ALIEN]:
            del grid.pins[net]
        trees = route(grid, dice)
    if trees is None:
        return None
    taps, vias = tap_places(grid, trees, style, technique, dice, floor)
    broad = technique.broad if style.levelled else 0
    stout = 0 if broad or technique.rings else style.stout
    room = Room(style.widths, taps, style.loose, broad=broad, vias=vias, stout=stout, under=style.under,
                landings=style.landings, cuts=style.cuts)  # fmt: skip
    drawn = sketch(floor, grid, trees, technique, room, supplies)
    press(drawn)
    return grid, trees, drawn


def _area(drawn: Sketch) -> int:
    return drawn.xs[RIGHT] * drawn.ys[TOP]


def supply_pins(grid: Grid, supplies: tuple[int, int]) -> None:
    """Let a gate or a diffusion that a supply must reach from afar aim for the rail."""
    for supply, row in zip(supplies, (0, grid.rows.count - 1), strict=True):
        if supply in grid.pins:
            nodes = tuple(grid.node(METAL, row, c) for c in range(grid.columns))
            grid.pins[supply].insert(0, Pin(nodes, joined=True))


def _ports(grid: Grid, style: Style, nets: dict[str, int], technique: Technique) -> None:
    layers = (METAL,) if technique.rings or style.landings else (METAL, OTHER)
    for port, chosen in style.sides.items():
        net = nets[port]
        pins = grid.pins.get(net, [])
        alone = len(pins) == 1 and pins[0].region is not None
        side = chosen or ("left" if alone else "")
        if not side or not pins:
            continue
        grid.pins[net].append(exit_pin(grid, side, net, layers))


_Places = tuple[tuple[int, ...], ...]


def tap_places(grid: Grid, trees: dict[int, Tree], style: Style, technique: Technique, dice: Dice,
                floor: Floor | None = None) -> tuple[_Places, _Places]:  # fmt: skip
    """
    Choose places in x for taps by rail, where nothing passes below it, and for vias to rails of the second metal.

    Columns are as far apart as they are first drawn for the `floor`; without one, at the least pitch.
    """
    pitch = technique.pitch + style.loose
    places = [c * pitch for c in range(grid.columns)] if floor is None else column_places(floor, technique, pitch)
    used = {node for tree in trees.values() for node in tree.nodes}
    taps, vias = [], []
    for row in (0, grid.rows.count - 1):
        free = dice.shuffled([c for c in range(grid.columns) if grid.node(OTHER, row, c) not in used])
        if technique.implants is None and technique.rings is None:
            free = []
        taps.append(tuple(sorted(places[c] for c in free[: style.taps])))
        more = free[style.taps : style.taps + 1 + len(free) // 4] if style.levelled else []
        vias.append(tuple(sorted(places[c] for c in more)))
    return tuple(taps), tuple(vias)
