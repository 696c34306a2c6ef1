"""
Own netlists of the kinds that people read off chips, each with what it is and what it does, and slips to plant.

A third is of published circuits, marked `held_out`: recognition is never tuned on those.
"""

from functools import cache

from . import adders, border, counters, logic, memory, shifting
from .board import Case, planted, shuffled

FAMILIES = (adders, counters, shifting, logic, memory, border)


@cache
def all_cases() -> tuple[Case, ...]:
    """Return every case."""
    return tuple(case for module in FAMILIES for case in module.cases())


__all__ = ["FAMILIES", "Case", "all_cases", "planted", "shuffled"]
