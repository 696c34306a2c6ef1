"""Draw an array of crosspoints: read it, choose, and put it on the canvas in the way of its process's gates."""

from layoutdrill.cells.tiling import Tiling
from layoutdrill.drawing.crosspoints import metal, poly
from layoutdrill.drawing.crosspoints.plan import plan_of
from layoutdrill.drawing.crosspoints.task import choose, settle_widths
from layoutdrill.drawing.shared import ArrayDrawing, PolyPen, Request, pen_for, sizes_of


def draw_crosspoints(asked: Request, tiling: Tiling) -> ArrayDrawing:
    """Return the drawing of an array of planes. Raises LayoutdrillError where transistors of one sort differ."""
    netlist, process, technique = asked.netlist, asked.process, asked.technique
    plan = plan_of(tiling, netlist.ports)
    choices = choose(plan, technique, asked.dice("planes"), asked.percent, asked.attempt)
    widths = settle_widths(netlist.name, plan, sizes_of(netlist, process, technique), technique, choices.widths)
    task, pen = (plan, choices, widths, process.supplies), pen_for(technique, choices.rail_extra)
    if isinstance(pen, PolyPen):
        poly.draw_poly(poly.Site(*task, pen))
    else:
        metal.draw_metal(metal.Site(*task, pen))
    return pen.finished(asked, choices.turns, mirrored=choices.mirrored)
