"""Draw an array of crosspoints: read it, choose, and put it on the canvas in the way of its process's gates."""

from layoutdrill.drawing.crosspoints.choices import choose
from layoutdrill.drawing.crosspoints.metal import draw_metal
from layoutdrill.drawing.crosspoints.plan import plan_of
from layoutdrill.drawing.crosspoints.poly import draw_poly
from layoutdrill.drawing.crosspoints.task import Task
from layoutdrill.drawing.crosspoints.widths import settle_widths
from layoutdrill.drawing.shared.canvas import ArrayDrawing
from layoutdrill.drawing.shared.job import ArrayJob
from layoutdrill.drawing.shared.pens import pen_for
from layoutdrill.drawing.shared.poly import PolyPen
from layoutdrill.drawing.shared.sizes import sizes_of


def draw_crosspoints(job: ArrayJob) -> ArrayDrawing:
    """Return the drawing of an array of planes. Raises LayoutdrillError where transistors of one sort differ."""
    name, process, technique = job.netlist.name, job.process, job.technique
    plan = plan_of(job.tiling, job.netlist.ports)
    choices = choose(plan, technique, job.dice("planes"), job.difficulty, job.attempt)
    widths = settle_widths(name, plan, sizes_of(job.netlist, process, technique), technique, choices.widths)
    task, pen = Task(plan, choices, widths, process.supplies), pen_for(technique, choices.rail_extra)
    canvas = draw_poly(task, pen) if isinstance(pen, PolyPen) else draw_metal(task, pen)
    turns, mirrored = (0, False) if job.upright else (choices.turns, choices.mirrored)
    return canvas.finished(name, job.netlist.ports, turns, mirrored=mirrored)
