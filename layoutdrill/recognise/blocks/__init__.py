"""
Put neighbours together: adders of full adders, counters of register bits, memories of cells and what serves them.

Each step takes the outermost structures and returns them with some joined into one, which keeps them as its parts.
"""

from collections.abc import Sequence
from functools import partial

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.border import join_border, join_protected
from layoutdrill.recognise.blocks.carry import join_carries
from layoutdrill.recognise.blocks.charged import join_charged
from layoutdrill.recognise.blocks.choosing import join_choosers
from layoutdrill.recognise.blocks.coding import join_codes, join_sums
from layoutdrill.recognise.blocks.columns import join_columns
from layoutdrill.recognise.blocks.computing import join_computing
from layoutdrill.recognise.blocks.counting import join_counters
from layoutdrill.recognise.blocks.detecting import join_detectors
from layoutdrill.recognise.blocks.lifting import join_multipliers
from layoutdrill.recognise.blocks.loops import join_loops
from layoutdrill.recognise.blocks.passing_on import join_passing_on
from layoutdrill.recognise.blocks.read_lines import join_read_lines
from layoutdrill.recognise.blocks.serving import join_serving
from layoutdrill.recognise.blocks.steering import join_steered
from layoutdrill.recognise.blocks.storing import join_memories
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.view import View
from layoutdrill.simulate.effort import tried

__all__ = ["join_blocks"]

_STEPS = (
    join_protected, join_steered, join_charged, join_columns, join_read_lines, join_memories, join_counters,
    join_carries, join_sums, join_choosers, join_codes, join_serving, join_multipliers, join_detectors,
    join_loops, join_computing, join_border, join_passing_on,
)  # fmt: skip


BLOCKS = "which neighbours make a block"
MOST_WORK = 300_000
"""Units of work for one step."""


def join_blocks(view: View, structures: Sequence[Structure]) -> tuple[Structure, ...]:
    """Return the structures with neighbours joined into the blocks that the trade has names for."""
    whole = [
        s for s in structures if s.term not in ("inverter", "buffer") or (s.nets(Role.INPUT) and s.nets(Role.OUTPUT))
    ]
    inside = set(whole)
    odd = [s for s in structures if s not in inside]  # as an inverter whose gate was read as a supply
    joined = whole
    for step in _STEPS:
        joined = tried(MOST_WORK, BLOCKS, partial(step, view, joined), joined)
    return (*joined, *odd)
