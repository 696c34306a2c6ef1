"""Arrays made from parameters: decoders, ROM and PLA planes, RAM arrays, registers, FIFOs; each with its tiling."""

from layoutdrill.cells.arrays.names import FORMS, array_cell, array_names

__all__ = ["FORMS", "array_cell", "array_names"]
