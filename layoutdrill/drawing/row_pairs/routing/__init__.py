"""Wires on a grid: who owns which node, what each net must reach, and the paths that reach it."""
