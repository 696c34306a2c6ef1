"""Draw an array of crosspoint planes: read it, choose, and put it on the sheet in the way of its process."""

from layoutdrill.cells.tiling import Tiling
from layoutdrill.dice import Dice
from layoutdrill.drawing.array import ArrayDrawing, turned
from layoutdrill.drawing.planes.choices import choose
from layoutdrill.drawing.planes.metal import draw_metal
from layoutdrill.drawing.planes.plan import plan_of
from layoutdrill.drawing.planes.poly import draw_poly
from layoutdrill.drawing.planes.widths import settle_widths
from layoutdrill.drawing.shared.families import technique_for
from layoutdrill.drawing.shared.sizes import sizes_of
from layoutdrill.drawing.shared.technique import GateForm
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process


def planes(
    netlist: Netlist, tiling: Tiling, process: Process, seed: int, *, difficulty: float = 0.3, attempt: int = 0
) -> ArrayDrawing | None:
    """
    Return the drawing of an array of planes; the same for the same arguments.

    Raises LayoutdrillError, with the reason, for arrays that cannot be drawn in this way.
    """
    technique = technique_for(process)
    plan = plan_of(tiling, netlist.ports)
    if plan is None:
        raise LayoutdrillError(f"the array {netlist.name} is not made of planes", todo="draw it in another way")
    hard = max(0, min(100, round(difficulty * 100)))
    dice = Dice.from_text(f"planes|{process.name}|{seed}|{hard}|{attempt}|{netlist.text()}")
    choices = choose(plan, technique, dice, hard, attempt)
    widths = settle_widths(netlist.name, plan, sizes_of(netlist, process, technique), technique, choices.widths)
    draw = draw_poly if technique.form is GateForm.POLY else draw_metal
    layout = draw(plan, technique, choices, widths, process.supplies).layout(netlist.name, netlist.ports)
    return turned(layout, widths.drawn, choices.turns, mirrored=choices.mirrored)
