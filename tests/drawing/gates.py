"""Build netlists of static gates from functions, for the tests of drawing and proof."""

from layoutdrill.cells.build import build
from layoutdrill.cells.library import read_cell
from layoutdrill.cells.load import load_cell
from layoutdrill.yamldoc import loads


def gate(function, process):
    """Return the netlist of `y = function` in a process; inputs are single letters."""
    inputs = sorted({letter for letter in function if letter.isalpha()})
    ports = ", ".join(f"{name}: input" for name in inputs)
    text = (
        f"name: drawn\ntitle: drawn\nstructure: drawn\nports: {{{ports}, y: output}}\n"
        f"function: y = {function}\nlook for: it\n"
    )
    return build(read_cell(loads(text, "tests").root, "tests"), process, load_cell)


def cell(name, process):
    return build(load_cell(name), process, load_cell)
