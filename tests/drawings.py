"""Proved drawings of cells, each made once in a run, for whatever test looks at them."""

from functools import cache

from layoutdrill.cells import load_cell
from layoutdrill.process import load_process
from layoutdrill.prove import proved


@cache
def drawing_of(cell_name, process_name, seed, difficulty=0.3):
    """Return what `proved` gives for a cell of the library; those who ask are given the same one."""
    cell, process = load_cell(cell_name), load_process(process_name)
    return proved(cell.netlist(process), process, seed, difficulty=difficulty)
