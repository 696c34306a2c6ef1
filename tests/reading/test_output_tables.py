"""Past the inputs that a whole table may have, each output that sees few of them has its own. Reference: arithmetic."""

from layoutdrill.netlist.spice import read_spice
from layoutdrill.reading.explain import explain_netlist

NAND = ".subckt nand a b y\nM1 y a k VSS nmos\nM2 k b VSS VSS nmos\nM3 y a VDD VDD pmos\nM4 y b VDD VDD pmos\n.ends\n"
FULL = (
    ".subckt full a b c s k\nX1 a b p nand\nX2 a p q nand\nX3 b p r nand\nX4 q r h nand\nX5 h c t nand\n"
    "X6 h t u nand\nX7 c t v nand\nX8 u v s nand\nX9 p t k nand\n.ends\n"
)


def test_an_output_that_sees_few_inputs_has_a_table_of_its_own():
    """A 4-bit adder of nine inputs: its two lowest sums, over three and five of them; what was left is told."""
    bits = range(4)
    ports = " ".join([*(f"a{i} b{i} s{i}" for i in bits), "c0 c4"])
    rows = "\n".join(f"X{i} a{i} b{i} c{i} s{i} c{i + 1} full" for i in bits)
    text = f".global VDD VSS\n{NAND}{FULL}.subckt top {ports}\n{rows}\n.ends\n"
    found = explain_netlist(read_spice(text, "top.sp", subckt="top"))
    assert found.table is None
    assert [(set(t.inputs), t.outputs) for t in found.tables] == [
        ({"a0", "b0", "c0"}, ("s0",)),
        ({"a0", "b0", "a1", "b1", "c0"}, ("s1",)),
    ]
    for at, table in enumerate(found.tables):
        for row in table.rows:
            level = dict(zip(table.inputs, row.inputs, strict=True))
            total = level["c0"] + sum((level[f"a{i}"] + level[f"b{i}"]) << i for i in range(at + 1))
            assert row.outputs[0].value == str(total >> at & 1)
    assert "Table of s1" in found.text()
    assert any("the table of s2" in what for what in found.undone)
