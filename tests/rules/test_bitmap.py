"""Layers as long integers hold the squares that their rectangles cover."""

from layoutdrill.dice import Dice
from layoutdrill.geometry.rect import Rect
from layoutdrill.rules.bitmap import Field


def test_a_bitmap_has_a_bit_for_each_square_covered():
    """Whatever the order, overlaps and heights of the rectangles, counted square by square."""
    dice = Dice(5)
    for count in (0, 1, 2, 3, 17, 60):
        rects = []
        for _ in range(count):
            x, y = dice.between(-9, 30), dice.between(-7, 40)
            rects.append(Rect(x, y, x + dice.between(1, 12), y + dice.between(1, 25)))
        field = Field(-10, -10, 60, 80)
        covered = {(x, y) for r in rects for x in range(r.x0, r.x1) for y in range(r.y0, r.y1)}
        squares = sum(1 << (y - field.y0) * field.stride + x - field.x0 for x, y in covered)
        assert field.bits(rects) == squares == field.bits(rects[::-1])
