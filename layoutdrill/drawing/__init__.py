"""The drawing engine: netlist, process and seed to layout."""
