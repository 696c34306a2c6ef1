"""Whole chips: parts drawn once, stacked into a core, joined in channels beside it, with pads round the edge."""

from layoutdrill.drawing.chips.draw import chip_drawing

__all__ = ["chip_drawing"]
