"""Draw arrays whose lines are chains: transistors in series across upright address lines, and trees of switches."""
