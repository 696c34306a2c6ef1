"""A learner's or practitioner's own netlist or layout, explained and checked."""
