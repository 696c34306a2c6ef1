"""Draw series arrays: rows of transistors in series across upright address lines, and trees of switches."""
