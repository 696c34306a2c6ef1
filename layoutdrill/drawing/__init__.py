"""The drawing engine: a netlist, a process and a seed in; a layout out."""

from layoutdrill.drawing.engine import draw

__all__ = ["draw"]
