"""Past the inputs that a whole table may have, each output that sees few of them has its own. Reference: arithmetic."""

from layoutdrill.netlist.spice import read_spice
from layoutdrill.reading.explain import explain_netlist
from layoutdrill.simulate.expression import parse, truth

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


def test_an_adder_is_told_over_its_carries():
    """Sum and carry of each bit over the carry before it (textbook), not gate by gate; each holds for all levels."""
    bits = range(4)
    ports = " ".join([*(f"a{i} b{i} s{i}" for i in bits), "c0 c4"])
    rows = "\n".join(f"X{i} a{i} b{i} c{i} s{i} c{i + 1} full" for i in bits)
    text = f".global VDD VSS\n{NAND}{FULL}.subckt top {ports}\n{rows}\n.ends\n"
    told = dict(line.split(" = ") for line in explain_netlist(read_spice(text, "top.sp", subckt="top")).functions)
    assert set(told) == {*(f"s{i}" for i in bits), *(f"c{i}" for i in range(1, 5))}
    for at in (2, 3):
        names = (f"a{at}", f"b{at}", f"c{at}")
        for name, wanted in ((f"s{at}", 0b10010110), (f"c{at + 1}", 0b11101000)):
            assert truth(parse(told[name]), names) == wanted, told[name]


def test_logic_of_no_parts_is_not_told_by_dozens_of_gates():
    """A row of thirty NAND gates: what would take more steps than a page is left, and told as left."""
    gates = [f"X{i} {'a0' if i == 1 else f'n{i - 1}'} a{i} n{i} nand" for i in range(1, 31)]
    ports = " ".join(f"a{i}" for i in range(31))
    text = f".global VDD VSS\n{NAND}.subckt top {ports} n30\n" + "\n".join(gates) + "\n.ends\n"
    read = read_spice(text, "top.sp", subckt="top")
    short, whole = explain_netlist(read), explain_netlist(read, thorough=True)
    assert not short.functions
    assert "the equation of n30, of 30 steps" in short.undone
    assert len(whole.functions) == 30
