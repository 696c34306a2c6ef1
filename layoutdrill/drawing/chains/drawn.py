"""Draw an array whose lines are chains, in the way that its process asks for."""

from layoutdrill.cells.tiling import Tiling
from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains import metal_loads, metal_pairs, metal_tree, poly_loads, poly_pairs, poly_tree
from layoutdrill.drawing.chains.plan import plan_of
from layoutdrill.drawing.chains.sheet import manner_of
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.families import technique_for
from layoutdrill.drawing.sizes import sizes_of
from layoutdrill.drawing.technique import GateForm, Loads
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process

_WAYS = {
    (GateForm.POLY, Loads.BURIED): poly_loads.draw,
    (GateForm.METAL, Loads.PLATE): metal_loads.draw,
    (GateForm.POLY, None): poly_pairs.draw,
    (GateForm.METAL, None): metal_pairs.draw,
}

_TREES = {GateForm.POLY: poly_tree.draw, GateForm.METAL: metal_tree.draw}


def chained(
    netlist: Netlist, tiling: Tiling, process: Process, seed: int, *, difficulty: float = 0.3, attempt: int = 0
) -> ArrayDrawing | None:
    """
    Return the drawing of a decoder of series rows, or of a tree.

    Raises LayoutdrillError, with the reason, for arrays that cannot be drawn in this way.
    """
    technique = technique_for(process)
    hard = max(0, min(100, round(difficulty * 100)))
    dice = Dice.from_text(f"chains|{process.name}|{seed}|{hard}|{attempt}|{netlist.text()}")
    plan = plan_of(tiling)
    sizes = sizes_of(netlist, process, technique)
    manner = manner_of(dice, hard, attempt)
    way = _TREES[technique.form] if plan.tree else _WAYS.get((technique.form, technique.loads))
    if way is None:
        raise LayoutdrillError(
            f"the array {netlist.name} cannot be drawn in {process.name}: its rows are chains",
            todo="choose another process or another array",
        )
    return way(Task(netlist, plan, technique, process.supplies, sizes, manner, dice))
