"""The cell library as data: function or netlist, ports, boundary, and how a reader tells one cell from another."""

from layoutdrill.cells.library import cell_names, cells_as_met, check_library, library
from layoutdrill.cells.load import find_cell, load_cell
from layoutdrill.cells.model import Cell, Lookalike, Port, Role, Style, style_of

__all__ = [
    "Cell",
    "Lookalike",
    "Port",
    "Role",
    "Style",
    "cell_names",
    "cells_as_met",
    "check_library",
    "find_cell",
    "library",
    "load_cell",
    "style_of",
]
