"""
Own netlists of the kinds that people read off chips, each with what it is and what it does, and slips to plant.

More than a third is of published circuits, marked `held_out`: written down before recognition was tried on them.
"""

from functools import cache

from . import adders, arithmetic, border, counters, logic, memory, papers, sheets, shifting, textbook, textbook_stores
from .board import Case, planted, shuffled

FAMILIES = (adders, counters, shifting, logic, arithmetic, memory, border, textbook, textbook_stores, sheets, papers)


@cache
def all_cases() -> tuple[Case, ...]:
    """Return every case."""
    return tuple(case for module in FAMILIES for case in module.cases())


__all__ = ["FAMILIES", "Case", "all_cases", "planted", "shuffled"]
