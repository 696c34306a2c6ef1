"""Whole chips of the scenario as data: their parts, how these hang together, their pads, how many transistors."""

from layoutdrill.cells.chips.model import Chip, Pad, Part, Slot, Story
from layoutdrill.cells.chips.read import chip_names, load_chip

__all__ = ["Chip", "Pad", "Part", "Slot", "Story", "chip_names", "load_chip"]
