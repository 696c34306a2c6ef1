"""
Proved drawings, each made once in a run, for whatever test looks at them.

What the same words draw is the same drawing: `tests/drawing` and `tests/prove` claim that, and draw for themselves.
"""

from functools import cache, lru_cache

from layoutdrill.cells import load_cell
from layoutdrill.deck import load_deck
from layoutdrill.process import load_process
from layoutdrill.prove import proof


@cache
def deck_of(name):
    """Return a deck that ships, read once in a run; nothing changes a deck."""
    return load_deck(name)


def drawing_of(cell_name, process_name, seed, difficulty=0.3):
    """Return what `proved` gives for a cell of the library; those who ask are given the same one."""
    cell, process = load_cell(cell_name), load_process(process_name)
    return proved_once(cell.netlist(process), process, seed, difficulty=difficulty)


def proved_once(netlist, process, seed, *, difficulty=0.3, neighbours=False, tiling=None):
    """Return what `proved` gives, made once for the same arguments; arrays are drawn whenever they are asked for."""
    if tiling is not None:
        return proof.proved(netlist, process, seed, difficulty=difficulty, neighbours=neighbours, tiling=tiling)
    return _proved(netlist, process, seed, difficulty, neighbours)


@lru_cache(maxsize=600)
def _proved(netlist, process, seed, difficulty, neighbours):
    return proof.proved(netlist, process, seed, difficulty=difficulty, neighbours=neighbours)
