"""Netlist to structures and functions, by the trade's names."""
