"""The cell library as data: function or netlist, ports, aliases, boundary, teaching notes."""
