"""
Published circuits of all kinds, from 5 to 272 transistors, by somebody who had not read the code that recognises.

First reading: of 67, 34 named as a whole, 20 by their parts, 13 wrong or unknown; of 201 slips 148 told; 2 accused.
What has changed since is general; the heads are in the terms of this program where they mean what the old hand said.
References are plain Python.
"""

from dataclasses import replace
from functools import cache

from tests.reading.netlists.board import Case

from . import adders, clocks, counters, edges, gates, memories, registers, select

FAMILIES = {"logic": gates, "adder": adders, "counter": counters, "register": registers, "memory": memories,
            "selection": select, "clock": clocks, "border": edges}  # fmt: skip


@cache
def published_cases() -> tuple[Case, ...]:
    """Return every case."""
    return tuple(replace(case, family=family) for family, module in FAMILIES.items() for case in module.cases())
