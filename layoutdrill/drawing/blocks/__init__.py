"""Netlists too large for one pair of rows: several pairs above one another, joined in a channel beside them."""

from layoutdrill.drawing.blocks.draw import MOST, block_drawing, draw_mains, joined_rows

__all__ = ["MOST", "block_drawing", "draw_mains", "joined_rows"]
