"""Draw an array of series rows: read it, choose, and put it on the canvas in the way of its process's gates."""

from layoutdrill.cells.tiling import Tiling
from layoutdrill.dice import Dice
from layoutdrill.drawing.series.bar_pairs import draw_bar_pairs
from layoutdrill.drawing.series.level_pairs import draw_level_pairs
from layoutdrill.drawing.series.loaded import draw_loaded
from layoutdrill.drawing.series.plan import Plan, plan_of
from layoutdrill.drawing.series.task import Task, choose
from layoutdrill.drawing.series.tree import draw_tree
from layoutdrill.drawing.shared import Drawing, PolyPen, Request, pen_for, refuse_unlike, sizes_of
from layoutdrill.drawing.shared.technique import Technique


def draw_series(asked: Request, tiling: Tiling) -> Drawing:
    """
    Return the drawing of a decoder of series rows, or of a tree.

    Raises LayoutdrillError, with the reason, for arrays that cannot be drawn in this way.
    """
    technique, dice = asked.technique, asked.dice("chains")
    plan = plan_of(tiling)
    sizes = sizes_of(asked.netlist, asked.process, technique)
    choices = choose(dice, asked.percent, asked.attempt)
    refuse_unlike(asked.netlist, plan.sorts)
    nets = _nets(plan, technique, dice)
    task = Task(plan, technique, asked.process.supplies, sizes, choices, dice, nets)
    pen = pen_for(technique, choices.rail_extra)
    if plan.tree:
        draw_tree(task, pen)
    elif technique.loads is not None:
        draw_loaded(task, pen)
    elif isinstance(pen, PolyPen):
        draw_level_pairs(task, pen)
    else:
        draw_bar_pairs(task, pen)
    return pen.finished(asked, choices.turns, mirrored=choices.mirrored)


def _nets(plan: Plan, technique: Technique, dice: Dice) -> tuple[str, ...]:
    """
    Return the address lines from left to right, either of a column first.

    Where depletion loads stand below lines that the array makes, every second column lies the other way round, so that
    loads stand beside loads and drivers share the contact to their rail.
    """
    if not plan.complements or technique.buried is None:
        return tuple(net for pair in plan.pairs for net in dice.shuffled(pair))
    made, first = {i.y for i in plan.complements}, dice.below(2)
    ordered = [sorted(pair, key=made.__contains__) for pair in plan.pairs]
    return tuple(net for n, pair in enumerate(ordered) for net in (reversed(pair) if (n + first) % 2 else pair))
