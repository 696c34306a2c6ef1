"""Resistors and diodes, drawn beside a pair of rows, between its rails drawn on."""
