"""
Draw one row of base cells: the same diffusions and gates in every base, at one pitch, and wires over them.

The silicon of a gate array is made before anyone knows what it is for, so the row is not compacted, poly runs upright
only, and n and p gates are parted; metal joins what belongs together (common practice). Crossunders are drawn where
they are used.
"""

from collections.abc import Iterable
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.drawing.bases.plan import Base, Row
from layoutdrill.drawing.row_pairs.draw import RowPair
from layoutdrill.drawing.row_pairs.job import Job
from layoutdrill.drawing.row_pairs.placing.choices import Choices
from layoutdrill.drawing.row_pairs.placing.devices import Device
from layoutdrill.drawing.row_pairs.placing.floor import Floor, Gate, Region, Strip
from layoutdrill.drawing.row_pairs.routing.grid import FREE, Grid, build, exit_pin, stacked
from layoutdrill.drawing.row_pairs.routing.router import route
from layoutdrill.drawing.row_pairs.shaping.lines import Line
from layoutdrill.drawing.row_pairs.shaping.painting import paint
from layoutdrill.drawing.row_pairs.shaping.rails import choose_cuts
from layoutdrill.drawing.row_pairs.shaping.sketch import Sketch
from layoutdrill.drawing.row_pairs.shaping.sketching import sketch
from layoutdrill.drawing.shared.technique import METAL, OTHER, GateForm


def draw_row(job: Job, row: Row, choices: Choices, tracks: int, dice: Dice) -> RowPair | None:
    """
    Return the row, its channel between the devices `tracks` high, or None where its wires find no room.

    Its nets leave below and above, in the layer below the metal; where guard rings lie in their way there, all of them
    on the right, in metal.
    """
    grid = _grid(_floor(row.bases, job), job, choices, tracks, dice)
    ways = (("bottom", row.below), ("top", row.above)) if job.technique.rings is None else (("right", row.leaving),)
    for side, nets in ways:
        for net in nets:
            pin = exit_pin(grid, side, job.nets[net])
            layer = METAL if side == "right" else OTHER
            nodes = tuple(node for node in pin.nodes if grid.place(node)[0] == layer)
            grid.ask(job.nets[net], replace(pin, nodes=nodes))
    trees = route(grid, dice)
    if trees is None:
        return None
    drawn = sketch(grid, trees, choose_cuts(grid, trees.values(), dice))
    if grid.technique.rings is None:  # rings hang on the borders, at a distance from what they hold
        _draw_borders_in(drawn)
    layout = paint(job, drawn, [supply for supply in job.supplies if supply in job.nets])
    return RowPair(layout, drawn.frame, choices.drawn(job), choices, grid, trees)


def _floor(bases: Iterable[Base], job: Job) -> Floor:
    """Number the columns: regions and gates in turn in each base, and one column free between two bases."""
    strips, at = [], 1
    for base in bases:
        for row in (0, 1):
            strip = Strip(row, [Region(job.nets[base[0][row].source], row, [at])])
            for k, pair in enumerate(base):
                t = pair[row]
                device = Device(t.name, row, job.nets[t.gate], job.nets[t.source], job.nets[t.drain], job.sizes[t.name])
                strip.add(Gate(device, at + 2 * k + 1), Region(job.nets[t.drain], row, [at + 2 * k + 2]))
            strips.append(strip)
        at += 2 * len(base) + 2
    return Floor(at, strips)


def _grid(floor: Floor, job: Job, choices: Choices, tracks: int, dice: Dice) -> Grid:
    """Return the grid of a row, poly parted in the middle and every gate's head in place."""
    t = job.technique
    metal, (upright, _), *upper = t.costs.steps
    costs = replace(t.costs, steps=(metal, (upright, 40 * metal[1]), *upper))
    poly = t.form is GateForm.POLY
    rows = stacked(choices, tracks, tracks // 2 if poly or t.rings is not None else 0)
    grid = build(floor, rows, replace(job, technique=replace(t, costs=costs)), choices, dice)
    for strip in floor.strips if poly else ():
        head = rows.between[0] if strip.row == 0 else rows.between[-1]
        for gate in strip.gates:
            node = grid.node(OTHER, head, gate.column)
            if grid.owner[node] == FREE:
                grid.claim(gate.device.gate, [node])
            ends = sorted((grid.gate_nodes(strip, gate)[0], node))
            grid.fix(gate.device.gate, ends)
    return grid


def _draw_borders_in(drawn: Sketch) -> None:
    """Bring the borders of a sketch that is not compacted as near as what lies inside allows."""
    for axis, first, last in ((drawn.x, Line.LEFT, Line.RIGHT), (drawn.y, Line.BOTTOM, Line.TOP)):
        lower = [axis.at[j] - w for i, j, w in axis.rules if i == first and j != last]
        upper = [axis.at[i] + w for i, j, w in axis.rules if j == last and i != first]
        axis.at[first], axis.at[last] = min(lower), max(upper)
