"""Collect what an array is drawn of, and turn the whole as a seed says."""

from dataclasses import dataclass, field

from layoutdrill.dice import Dice
from layoutdrill.drawing.array import ArrayDrawing, turned
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout

Span = tuple[int, int]
"""From and to, along one axis, in grid units."""


@dataclass(frozen=True, slots=True)
class Manner:
    """
    What a seed decides for every array: extra distance, `loose` between gate lines, `spread` between their columns and
    `apart` between rows, `stout` what rails are wider than the least, and the orientation of the whole. All even.
    """

    loose: int
    spread: int
    apart: int
    stout: int
    turns: int
    mirrored: bool


def manner_of(dice: Dice, difficulty: int, attempt: int) -> Manner:
    """Return a manner; `difficulty` runs from 0 (tidy) to 100, and a later attempt has more room."""
    return Manner(
        loose=2 * (dice.between(0, 1 + difficulty // 33) + attempt),
        spread=dice.weighted(((0, 50), (4, 20), (8, 20), (12, 10))),
        apart=2 * (dice.between(0, 1 + difficulty // 33) + attempt),
        stout=dice.weighted(((0, 40), (2, 25), (4, 20), (8, 15))),
        turns=dice.below(4) if difficulty > 10 else 2 * dice.below(2),
        mirrored=dice.chance(50),
    )


@dataclass(slots=True)
class Sheet:
    """Shapes by mask, labels, and by transistor the fingers, length and width of its channel."""

    shapes: dict[str, list[Rect]] = field(default_factory=dict)
    labels: list[Label] = field(default_factory=list)
    sizes: dict[str, tuple[int, int, int]] = field(default_factory=dict)

    def box(self, mask: str, x: Span, y: Span) -> None:
        self.shapes.setdefault(mask, []).append(Rect(x[0], y[0], x[1], y[1]))

    def square(self, mask: str, x: int, y: int, half: int) -> None:
        self.box(mask, (x - half, x + half), (y - half, y + half))

    def label(self, net: str, layer: str, x: int, y: int) -> None:
        self.labels.append(Label(net, layer, x, y))

    def finished(self, name: str, manner: Manner) -> ArrayDrawing:
        """Return the drawing, turned, its lower left corner at (0, 0); its frame is the border of all it shows."""
        shapes = {mask: tuple(dict.fromkeys(rects)) for mask, rects in self.shapes.items() if rects}
        layout = Layout(name, shapes, tuple(self.labels))
        return turned(layout, self.sizes, manner.turns, mirrored=manner.mirrored)
