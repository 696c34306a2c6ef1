"""Draw an array of crosspoints: read it, choose, and put it on the canvas in the way of its process's gates."""

from layoutdrill.cells.tiling import Tiling
from layoutdrill.drawing.crosspoints import metal, poly
from layoutdrill.drawing.crosspoints.plan import plan_of
from layoutdrill.drawing.crosspoints.task import choose, settle_widths
from layoutdrill.drawing.shared import Drawing, PolyPen, Request, pen_for


def draw_crosspoints(asked: Request, tiling: Tiling) -> Drawing:
    """Return the drawing of an array of planes. Raises LayoutdrillError where transistors of one sort differ."""
    plan = plan_of(tiling, asked.netlist.ports)
    choices = choose(plan, asked.technique, asked.dice("planes"), asked.percent, asked.attempt)
    widths = settle_widths(asked, plan, choices.widths)
    task, pen = (plan, choices, widths, asked.process.supplies), pen_for(asked.technique, choices.rail_extra)
    if isinstance(pen, PolyPen):
        poly.draw_poly(poly.Site(*task, pen))
    else:
        metal.draw_metal(metal.Site(*task, pen))
    return pen.finished(asked, choices.turns, mirrored=choices.mirrored)
