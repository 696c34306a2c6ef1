"""The drawing engine: a netlist, a process and a seed in; a layout out."""

from layoutdrill.drawing.row_pairs.draw import draw

__all__ = ["draw"]
