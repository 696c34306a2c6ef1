"""Write what was recognised in a netlist: hierarchical SPICE, structural Verilog, a schematic as SVG."""
