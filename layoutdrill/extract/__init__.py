"""Layout to netlist, from geometry alone, and where on the drawing each device and net lies."""
