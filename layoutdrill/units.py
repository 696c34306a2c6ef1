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
