"""Draw one pair of device rows as a part of something larger: upright, its wires ending in metal on its borders."""

from collections.abc import Mapping
from dataclasses import replace

from layoutdrill.drawing.blocks.channel import Exit
from layoutdrill.drawing.row_pairs.draw import Drawing, as_part, begin, finish
from layoutdrill.drawing.shared import Request
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.value import value

_TRIES = 4


@value
class DrawnRow:
    """
    A drawn row with its left border at x = 0; the middles of its two rails, and where its wires end on either side.

    `box` is the border of all that is drawn, wells included.
    """

    layout: Layout
    drawn: Drawing
    rails: tuple[int, int]
    exits: tuple[Exit, ...]
    box: Rect


def drawn_row(asked: Request, sides: Mapping[str, str]) -> DrawnRow | None:
    """Draw a row whose nets leave on the `sides` given, "left" or "right"; None where no try found room."""
    for extra in range(_TRIES):
        drawn = finish(as_part(begin(replace(asked, attempt=extra)), sides, len(sides)))
        if drawn is not None:
            return placed_row(drawn, sides, asked.process.supplies)
    return None


def placed_row(drawn: Drawing, sides: Mapping[str, str], supplies: tuple[str, str]) -> DrawnRow:
    """Return a drawn row moved to its place, its wires ending on the `sides` given."""
    layout = drawn.layout.transformed(Transform(-drawn.frame.x0, -drawn.frame.y0))
    places = {label.text: label for label in layout.labels}
    low, high = (places[rail].y if rail in places else 0 for rail in supplies)
    right = drawn.frame.x1 - drawn.frame.x0
    exits = tuple(Exit(net, right if side == "right" else 0, places[net].y) for net, side in sides.items())
    assert layout.box is not None
    return DrawnRow(layout, drawn, (low, high), exits, layout.box)
