"""
Draw an array by abutment: each kind of tile drawn once, copied side by side along the rails, row above row.

The tiles are routed like any other cell, with one condition more: wires that meet leave at the same place on the two
borders that touch. Wires that run along the rails are metal; those across the rails pass below them. An array whose
wires all run straight through lies a quarter turn from how the library writes it where the seed says so.
"""

from collections.abc import Mapping
from dataclasses import replace

from layoutdrill.cells.tiling import Tiling
from layoutdrill.drawing.shared import Drawing, Request, refuse
from layoutdrill.drawing.shared.technique import OTHER, UPPER_METAL, Technique
from layoutdrill.drawing.tiles.copying import assembled
from layoutdrill.drawing.tiles.laying import lay_all, rows_for, task_of
from layoutdrill.drawing.tiles.plan import Plan, may_fold, may_turn, plan_of
from layoutdrill.drawing.tiles.ports import Leaving, choose_sides, choose_tracks
from layoutdrill.drawing.tiles.tile import Made, make

_PICKS = 12
"""How many choices of the places where wires leave a tile are tried in one attempt."""
_STRAIGHT = 8
"""How many of these ask for straight tracks."""
_UPPER, _TURNED = 65, 40
"""
How often, in percent, wires across the rails lie in a second metal, and how often then an array that may be turned
lies a quarter turn from how the library writes it. Without a second metal it always does: of lines that cross, those
with the gates on them lie below the metal.
"""
_UNDER = 40
"""How often, in percent, wires along the rails leave below the straps that join the rails."""

_FOLDED = 50
"""How often, in percent, rows that signals pass one after the other share their rails, every second one upside down."""
_MOST_TRIALS, _EFFORT = 4, 36


def draw_tiles(asked: Request, tiling: Tiling) -> Drawing | None:
    """
    Return the drawing of a whole array, or None when this attempt found no room for the wires of its tiles.

    Raises LayoutdrillError, with the reason, for arrays that cannot be drawn in this way.
    """
    technique = asked.technique
    if technique.rings is not None:
        technique = replace(technique, rings=replace(technique.rings, open=True))
    dice = asked.dice("array")
    layer = UPPER_METAL if technique.via and dice.chance(_UPPER) else OTHER
    turned = not asked.upright and may_turn(tiling) and (layer == OTHER or dice.chance(_TURNED))
    folded = not turned and may_fold(tiling) and dice.chance(_FOLDED)
    plan = plan_of(asked.netlist, tiling, asked.process, turned=turned, folded=folded)
    for kind in plan.kinds.values():
        refuse(kind.netlist, asked.process)
    task = task_of(asked, plan, technique, dice)
    sides = {end: end.side for end in plan.outer} if asked.upright else choose_sides(plan, dice)
    under = asked.upright or dice.chance(_UNDER)
    best: dict[str, Made] | None = None
    most = _trials(plan, technique)
    trials = dice.between((most + 1) // 2, most)
    for pick in range(_PICKS):
        laid = lay_all(task)
        rows = rows_for(task, laid)
        tracks = choose_tracks(plan, rows, {name: tile.heights for name, tile in laid.items()}, dice)
        if tracks is None:
            continue
        made = make(task, laid, Leaving(plan, rows, tracks, sides, straight=pick < _STRAIGHT, layer=layer))
        if made is None:
            continue
        if best is None or _area(made, plan) < _area(best, plan):
            best = made
        trials -= 1
        if not trials:
            break
    if best is None:
        return None
    return assembled(task, asked, best, under=under)


def _trials(plan: Plan, technique: Technique) -> int:
    """Return from how many routings the smallest may be chosen: more where tiles are small, fewer inside rings."""
    count = sum(len(kind.netlist.transistors) for kind in plan.kinds.values())
    return max(1, min(_MOST_TRIALS, _EFFORT // count) - (technique.rings is not None))


def _area(made: Mapping[str, Made], plan: Plan) -> int:
    height = sum(made[band[0]].sketch.frame.height for band in plan.bands)
    return height * sum(made[plan.column(column)].width for column in range(plan.columns))
