"""
Name the units of length in signatures, where rooms meet.

A length is told to people in λ, half the shortest channel (Mead and Conway 1980), and computed in whole steps of a
process's grid, of which `Process.grid_per_lambda` make one λ. Both are plain numbers; the names say which is meant.
"""

from typing import TypeAlias

GridUnits: TypeAlias = int
"""A length or coordinate in whole steps of the grid of a process."""

Lambda: TypeAlias = float
"""A length or coordinate in λ."""

_ROUND = tuple(digit * 10.0**power for power in range(-2, 5) for digit in (1, 2, 5))


def round_length(room: float, step: float = 1.0) -> float:
    """
    Return the longest of 1, 2 and 5 × 10ⁿ, from 0.01 to 50,000, that fits into the room where one takes `step` of it;
    0 where none fits. It is what a scale bar is long.
    """
    return max((length for length in _ROUND if length * step <= room), default=0.0)
