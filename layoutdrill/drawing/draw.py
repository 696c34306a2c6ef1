"""
Draw what is asked for, in the way that suits it.

A cell is drawn as one pair of device rows, an array by the way of its tiles, and what is too large for either as a
block of several row pairs joined in a channel.
"""

from dataclasses import replace

from layoutdrill.cells.tiling import Tiling
from layoutdrill.drawing.edge import AT_THE_EDGE, at_the_edge
from layoutdrill.drawing.pads import PORT, with_pad
from layoutdrill.drawing.row_pairs.draw import Drawing, begin, drawing, finish
from layoutdrill.drawing.shared.canvas import ArrayDrawing
from layoutdrill.drawing.shared.refusal import MOST
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process
from layoutdrill.value import value


@value
class Request:
    """
    What is to be drawn. `difficulty` runs from 0 (tidy) to 1 (crowded); with `neighbours`, crowded drawings of cells
    may show where another cell begins; a `tiling` of the netlist makes it an array, one tile beside another.
    """

    netlist: Netlist
    process: Process
    seed: int
    difficulty: float = 0.3
    neighbours: bool = False
    tiling: Tiling | None = None


def draw(asked: Request, attempt: int = 0) -> Drawing | ArrayDrawing | None:
    """
    Return the drawing, the same for the same request and attempt, or None when this attempt found no room.

    A later `attempt` has more room. Raises LayoutdrillError, with the reason, for what cannot be drawn.
    """
    drawn = _drawn(asked, attempt)
    if drawn is None or not asked.netlist.name.startswith(AT_THE_EDGE):
        return drawn
    return at_the_edge(drawn, asked.process, asked.seed)


def _drawn(asked: Request, attempt: int) -> Drawing | ArrayDrawing | None:
    """Return the drawing by itself."""
    netlist, process, seed, difficulty = asked.netlist, asked.process, asked.seed, asked.difficulty
    if asked.tiling is not None:
        from layoutdrill.drawing.arrays import draw_array  # noqa: PLC0415 - most drawings are of single cells
        from layoutdrill.drawing.shared.job import ArrayJob  # noqa: PLC0415 - as above

        hard = max(0, min(100, round(difficulty * 100)))
        return draw_array(ArrayJob(netlist, asked.tiling, process, seed, hard, attempt))
    if sum(t.fingers for t in netlist.transistors) > MOST and not netlist.elements:
        from layoutdrill.drawing.blocks import block_drawing  # noqa: PLC0415 - as above

        return block_drawing(netlist, process, seed, difficulty=difficulty, attempt=attempt)
    if netlist.elements:
        from layoutdrill.drawing.passives.draw import drawing_with_passives  # noqa: PLC0415 - as above

        whole = drawing_with_passives(netlist, process, seed, difficulty=difficulty, attempt=attempt, pad=PORT)
        return None if whole is None else with_pad(whole, process)
    if PORT not in netlist.ports:
        return drawing(netlist, process, seed, difficulty=difficulty, attempt=attempt, neighbours=asked.neighbours)
    begun = begin(netlist, process, seed, difficulty=difficulty, attempt=attempt)
    sides = dict(begun.choices.sides)
    if sides[PORT] not in ("left", "right"):
        sides[PORT] = ("left", "right")[seed % 2]
    alone = replace(begun.choices, sides=sides, neighbours=(), landings=True)  # nothing stands where the pad goes
    drawn = finish(replace(begun, choices=alone))
    return None if drawn is None else with_pad(drawn, process)
