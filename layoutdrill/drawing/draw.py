"""
Draw what is asked for, in the way that suits it.

A cell is drawn as one pair of device rows, an array by the way of its tiles, and what is too large for either as a
block of several row pairs joined in a channel.
"""

from dataclasses import replace

from layoutdrill.drawing.edge import AT_THE_EDGE, at_the_edge
from layoutdrill.drawing.pads import PORT, with_pad
from layoutdrill.drawing.row_pairs.draw import begin, drawing, finish
from layoutdrill.drawing.shared import MOST, Drawing, Request


def draw(asked: Request) -> Drawing | None:
    """
    Return the drawing, the same for the same request, or None when this attempt found no room.

    Raises LayoutdrillError, with the reason, for what cannot be drawn.
    """
    drawn = _drawn(asked)
    if drawn is None or not asked.netlist.name.startswith(AT_THE_EDGE):
        return drawn
    return at_the_edge(drawn, asked.process, asked.seed)


def _drawn(asked: Request) -> Drawing | None:
    """Return the drawing by itself."""
    netlist = asked.netlist
    if asked.tiling is not None:
        from layoutdrill.drawing.arrays import draw_array  # noqa: PLC0415 - most drawings are of single cells

        return draw_array(asked, asked.tiling)
    if sum(t.fingers for t in netlist.transistors) > MOST and not netlist.elements:
        from layoutdrill.drawing.blocks import block_drawing  # noqa: PLC0415 - as above

        return block_drawing(asked)
    if netlist.elements:
        from layoutdrill.drawing.passives.draw import drawing_with_passives  # noqa: PLC0415 - as above

        whole = drawing_with_passives(asked, pad=PORT)
        return None if whole is None else with_pad(whole, asked.process)
    if PORT not in netlist.ports:
        return drawing(asked)
    begun = begin(asked)
    sides = dict(begun.choices.sides)
    if sides[PORT] not in ("left", "right"):
        sides[PORT] = ("left", "right")[asked.seed % 2]
    alone = replace(begun.choices, sides=sides, neighbours=(), landings=True)  # nothing stands where the pad goes
    drawn = finish(replace(begun, choices=alone))
    return None if drawn is None else with_pad(drawn, asked.process)
