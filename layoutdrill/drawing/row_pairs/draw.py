"""Draw a netlist as one pair of device rows between two rails: place, route, shape."""

from collections.abc import Mapping
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.job import ABSENT, Job, job_of
from layoutdrill.drawing.row_pairs.placing.choices import Choices, choose
from layoutdrill.drawing.row_pairs.placing.floor import Floor, arranged, keep_bends, lay_out
from layoutdrill.drawing.row_pairs.placing.forms import choose_bends
from layoutdrill.drawing.row_pairs.routing.grid import Grid, ask_for_ports, build, drop_strangers, pass_through, rows_of
from layoutdrill.drawing.row_pairs.routing.router import Tree, route
from layoutdrill.drawing.row_pairs.shaping.compaction import alone, compact, spread
from layoutdrill.drawing.row_pairs.shaping.neighbours import begin_neighbour
from layoutdrill.drawing.row_pairs.shaping.painting import paint
from layoutdrill.drawing.row_pairs.shaping.rails import choose_cuts
from layoutdrill.drawing.row_pairs.shaping.sketch import Sketch
from layoutdrill.drawing.row_pairs.shaping.sketching import sketch
from layoutdrill.drawing.row_pairs.shaping.strips import measured
from layoutdrill.drawing.shared import Drawing, Request, refuse
from layoutdrill.drawing.shared.technique import GateForm
from layoutdrill.geometry.transform import Transform
from layoutdrill.value import value

_EASY = 7
"""Twice the number of times that a net is laid, on average, up to which another routing is worth its time."""


@value
class RowPair(Drawing):
    """A drawn pair of rows with its routed grid; rails and wires reach its frame, and wells may pass it."""

    choices: Choices
    grid: Grid
    trees: dict[int, Tree]


@value
class Begun:
    """A drawing of which the seed has made its choices, which may still be changed."""

    job: Job
    choices: Choices
    dice: Dice
    difficulty: int


def drawing(asked: Request) -> RowPair | None:
    """
    Return the drawing, or None when this attempt found no room for the wires; the same for the same request.

    Neighbours stand beyond the cell's frame. Coordinates are in grid units. The layout is not proved: only
    `layoutdrill.prove` may hand it to a learner. Raises LayoutdrillError for a netlist that cannot be drawn in the
    process, with the reason.
    """
    return finish(begin(asked), neighbours=asked.neighbours)


def begin(asked: Request) -> Begun:
    """Return what the seed chooses for a drawing."""
    refuse(asked.netlist, asked.process)
    job, dice = job_of(asked.netlist, asked.process), asked.dice()
    return Begun(job, choose([job], dice, asked.percent, asked.attempt), dice, asked.percent)


def as_part(begun: Begun, sides: Mapping[str, str], leaving: int) -> Begun:
    """
    Return what was begun as a part of something larger: it lies as it was drawn, alone, between plain level rails, its
    nets leave on the `sides` given, and there is room for so many `leaving` ones.
    """
    plain = replace(begun.choices, turns=0, mirrored=False, neighbours=(), foreign=0, levelled=False, rail_extra=0)
    spare = plain.spare + leaving // 3
    return replace(begun, choices=replace(plain, sides=dict(sides), spare=spare, landings=True))


def finish(begun: Begun, *, neighbours: bool = False) -> RowPair | None:
    """Place, route and shape what was begun; None when there was no room for the wires."""
    dice = begun.dice
    job, choices = choose_bends(begun.job, begun.choices, dice, begun.difficulty)
    floor = lay_out(arranged(job, choices, dice), choices.margins, job.supply_nets)
    keep_bends(floor, job.supply_nets, crossed=job.technique.form is GateForm.POLY)
    best = _smallest(floor, job, choices, dice)
    if best is None:
        return None
    grid, trees, drawn = best
    spread(alone(drawn))
    for side in choices.neighbours if neighbours and ABSENT not in job.supply_nets else ():
        begin_neighbour(drawn, side, choices.widths, dice)
    layout = paint(job, drawn, job.netlist.ports)
    assert layout.box is not None
    turn = Transform(turns=choices.turns, mirrored=choices.mirrored).to_origin(layout.box)  # as places are shown
    sizes = {**choices.drawn(job), **measured(drawn)}
    return RowPair(layout.transformed(turn), turn.rect(drawn.frame), sizes, choices, grid, trees)


_Placed = tuple[Grid, dict[int, Tree], Sketch]


def _smallest(floor: Floor, job: Job, choices: Choices, dice: Dice) -> _Placed | None:
    """Return the smallest of as many routings as were chosen, fewer where routing is hard."""
    best: _Placed | None = None
    for _ in range(choices.trials):
        trial = _placed(floor, job, choices, dice)
        if trial is not None:
            if best is None or _area(trial[2]) < _area(best[2]):
                best = trial
            if 2 * trial[0].effort > _EASY * len(trial[0].pins):
                break
    return best


def _placed(floor: Floor, job: Job, choices: Choices, dice: Dice) -> _Placed | None:
    """Route the floor once and compact the result; without the decoys when there is no room for them."""
    rows = rows_of(job.technique, choices, floor.columns, choices.foreign, dice)
    grid = build(floor, rows, job, choices, dice)
    ask_for_ports(grid)
    pass_through(grid, dice)
    trees = route(grid, dice)
    if trees is None and choices.foreign:
        drop_strangers(grid)
        trees = route(grid, dice)
    if trees is None:
        return None
    drawn = sketch(grid, trees, choose_cuts(grid, trees.values(), dice))
    compact(alone(drawn))
    return grid, trees, drawn


def _area(sketch: Sketch) -> int:
    return sketch.frame.area
