"""Gate arrays: rows of base cells that are all alike, with channels between the rows, and only the wires custom."""
