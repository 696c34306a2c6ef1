"""Transistor, net and netlist; SPICE in and out; comparison, with differences in words."""
