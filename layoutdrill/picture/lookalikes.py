"""
Draw by hand what a reader confuses: transistor, contact and crossing side by side, and two contacts 2 λ apart.

A fixed drawing for each family of processes, in λ, for the gallery and for the tests of legibility.
"""

from dataclasses import dataclass

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.process import Process

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class LookAlikes:
    """
    The drawing, and (in grid units) the middles of what is in it: a transistor, a contact under metal, a crossing of
    metal over diffusion, and the two close contacts with the metal between them.
    """

    layout: Layout
    transistor: Rect
    contact: Rect
    crossing: Rect
    pair: tuple[Rect, Rect]
    between: Rect


def look_alikes(process: Process) -> LookAlikes:
    """Return the drawing for a process; the doping and the gate follow from the roles of its layers."""
    unit = process.grid_per_lambda
    roles = {layer.role: name for name, layer in reversed(tuple(process.layers.items()))}
    wire = roles.get("local-metal", roles.get("metal", ""))
    shapes: dict[str, list[Rect]] = {}

    def draw(role: str, *boxes: Box) -> None:
        name = wire if role == "wire" else roles.get(role)
        if name:
            shapes.setdefault(name, []).extend(_rect(box, unit) for box in boxes)

    if "poly" in roles:
        draw("active", (2, 4, 12, 8), (16, 4, 26, 8), (30, 4, 40, 8), (44, 4, 56, 8))
        draw("n-doping", (0, 2, 58, 10))
        draw("poly", (6, 1, 8, 11))
        draw("contact", (20, 5, 22, 7), (47, 5, 49, 7), (51, 5, 53, 7))
        draw("wire", (19, 4, 23, 11), (33, 1, 37, 11), (46, 4, 54, 8))
        gate = (6, 5, 8, 7)
    else:
        split = (2, 4, 6, 8), (8, 4, 12, 8)
        whole = (16, 4, 26, 8), (30, 4, 40, 8), (44, 4, 56, 8)
        draw("active", (2, 4, 12, 8), *whole)
        draw("n-doping", *split, *whole)
        draw("thin-oxide", (5, 4, 9, 8))
        draw("contact", (20, 5, 22, 7), (47, 5, 49, 7), (51, 5, 53, 7))
        draw("wire", (5, 1, 9, 11), (4, 3, 10, 9), (19, 4, 23, 11), (33, 1, 37, 11), (46, 4, 54, 8))
        gate = (6, 5, 8, 7)
    layout = Layout("look-alikes", {name: tuple(rects) for name, rects in shapes.items()})
    return LookAlikes(
        layout=layout,
        transistor=_rect(gate, unit),
        contact=_rect((20, 5, 22, 7), unit),
        crossing=_rect((34, 5, 36, 7), unit),
        pair=(_rect((47, 5, 49, 7), unit), _rect((51, 5, 53, 7), unit)),
        between=_rect((49, 5, 51, 7), unit),
    )


def _rect(box: Box, unit: int) -> Rect:
    x0, y0, x1, y1 = (round(v * unit) for v in box)
    return Rect(x0, y0, x1, y1)
