"""A reader's own netlist or layout explained and checked."""
