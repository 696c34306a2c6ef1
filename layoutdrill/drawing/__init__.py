"""The drawing engine: a netlist, a process and a seed in; a layout out."""
