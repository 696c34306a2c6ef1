"""Draw arrays of library cells: one tile of each kind, drawn once, and copies of it that abut."""
