"""Netlist to structures and functions, without the cell library."""
