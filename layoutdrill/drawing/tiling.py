"""
Draw an array by abutment: each kind of tile drawn once, copied side by side along the rails, row above row.

The tiles are routed like any other cell, with one condition more: wires that meet leave at the same place on the two
borders that touch. Wires that run along the rails are metal; those across the rails pass below them. An array whose
wires all run straight through lies a quarter turn from how the library writes it where the seed says so.
"""

from dataclasses import replace

from layoutdrill.cells.tiling import Tiling
from layoutdrill.dice import Dice
from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.shared.families import technique_for
from layoutdrill.drawing.shared.refusal import refuse_what_cannot_be_drawn
from layoutdrill.drawing.shared.technique import OTHER, UPPER_METAL, Technique
from layoutdrill.drawing.tiles.copying import assembled
from layoutdrill.drawing.tiles.laying import common_choices, lay_all, rows_for
from layoutdrill.drawing.tiles.painted import painted
from layoutdrill.drawing.tiles.plan import Plan, may_fold, may_turn, plan
from layoutdrill.drawing.tiles.ports import choose_sides
from layoutdrill.drawing.tiles.tile import Made, make
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process

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


def tiled(
    netlist: Netlist, tiling: Tiling, process: Process, seed: int, *, difficulty: float = 0.3, attempt: int = 0
) -> ArrayDrawing | None:
    """
    Return the drawing of a whole array, or None when this attempt found no room for the wires of its tiles.

    Raises LayoutdrillError, with the reason, for arrays that cannot be drawn in this way.
    """
    technique = technique_for(process)
    if technique.rings is not None:
        technique = replace(technique, rings=replace(technique.rings, open=True))
    hard = max(0, min(100, round(difficulty * 100)))
    dice = Dice.from_text(f"array|{process.name}|{seed}|{hard}|{attempt}|{netlist.text()}")
    layer = UPPER_METAL if technique.via and dice.chance(_UPPER) else OTHER
    turned = may_turn(tiling) and (layer == OTHER or dice.chance(_TURNED))
    folded = not turned and may_fold(tiling) and dice.chance(_FOLDED)
    how = plan(netlist, tiling, process, turned=turned, folded=folded)
    for kind in how.kinds.values():
        refuse_what_cannot_be_drawn(kind.netlist, process)
    choices, stands = common_choices(how, technique, process, dice, hard, attempt)
    sides = choose_sides(how, dice)
    under = dice.chance(_UNDER)
    best: list[Made] | None = None
    most = _trials(how, technique)
    trials = dice.between((most + 1) // 2, most)
    for pick in range(_PICKS):
        laid = lay_all(how, technique, process, choices, dice)
        rows = rows_for(how, laid, technique, choices, stands, dice)
        made = make(how, laid, technique, choices, rows, sides, dice, straight=pick < _STRAIGHT, layer=layer)
        if made is None:
            continue
        if best is None or _area(made, how) < _area(best, how):
            best = made
        trials -= 1
        if not trials:
            break
    if best is None:
        return None
    return assembled(netlist, how, painted(best, technique, how), technique, process, choices, under=under)


def _trials(how: Plan, technique: Technique) -> int:
    """Return from how many routings the smallest may be chosen: more where tiles are small, fewer inside rings."""
    count = sum(len(kind.netlist.transistors) for kind in how.kinds.values())
    return max(1, min(_MOST_TRIALS, _EFFORT // count) - (technique.rings is not None))


def _area(made: list[Made], how: Plan) -> int:
    heights = {one.laid.kind.name: max(one.sketch.ys) for one in made}
    widths = {one.laid.kind.name: one.width for one in made}
    height = sum(heights[band[0]] for band in how.bands)
    return height * sum(widths[how.column(column)] for column in range(how.columns))
