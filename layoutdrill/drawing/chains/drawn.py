"""Draw an array whose lines are chains, in the way that its process asks for."""

from collections.abc import Mapping

from layoutdrill.cells.tiling import Tiling
from layoutdrill.dice import Dice
from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains import metal_loads, metal_pairs, metal_tree, poly_loads, poly_pairs, poly_tree
from layoutdrill.drawing.chains.plan import Plan, plan_of
from layoutdrill.drawing.chains.sheet import manner_of
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.shared.families import technique_for
from layoutdrill.drawing.shared.sizes import Size, sizes_of
from layoutdrill.drawing.shared.technique import GateForm, Loads
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
    _refuse_unlike(netlist, plan, sizes)
    way = _TREES[technique.form] if plan.tree else _WAYS[technique.form, technique.loads]
    return way(Task(netlist, plan, technique, process.supplies, sizes, manner, dice))


def _refuse_unlike(netlist: Netlist, plan: Plan, sizes: Mapping[str, Size]) -> None:
    """Raise LayoutdrillError where transistors that stand in one place of their rows are not all of one size."""
    fingers = {t.name: t.fingers for t in netlist.transistors}
    places = (
        [link.name for chain in plan.chains for link in chain.series],
        [link.name for chain in plan.chains for link in chain.beside],
        [chain.load for chain in plan.chains if chain.load],
        [made.transistors[0] for made in plan.complements],
        [made.transistors[1] for made in plan.complements],
    )
    for names in places:
        found = {(sizes[name].length, sizes[name].width) for name in names}
        if len(found) > 1 or any(fingers[name] > 1 for name in names):
            raise LayoutdrillError(
                f"the array {netlist.name} cannot be drawn: its rows are not all alike",
                todo="give transistors of one kind one size, and one finger each",
            )
