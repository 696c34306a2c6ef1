"""
Where one edit makes a part equal to its likes, that edit is the first repair; the plant itself is the reference.

The circuits are the own netlists; what is planted is known, and the repair must take it back exactly.
"""

from random import Random

from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.reading.slips import find_slips
from layoutdrill.reading.slips.likeness import likeliest
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.supplies import find_supplies
from tests.each import each
from tests.reading.netlists import all_cases, planted, shuffled

CASES = {case.name: case for case in all_cases()}

MENDED = [
    ("gates", ("gate", "s1.n0", "a1")),
    ("gates", ("drop", "c2.p0")),
    ("gates", ("flip", "c3.p1")),
    ("gates", ("end", "c2.n0", "c2", "s1")),
    ("complex_nmos", ("drop", "c2_n.load")),
    ("incrementer", ("join", "s3", "c2")),
    ("rising", ("twice", "q3.n0")),
    ("clocked_loads", ("gate", "m1f1.s", "f2")),
]


@each(("name", "edit"), MENDED, ids=[f"{n}-{e[0]}" for n, e in MENDED])
def test_the_repair_takes_the_slip_back(name, edit):
    """With meaningless names and another order of lines, the best edit gives the circuit that was there before."""
    right = CASES[name].netlist
    wrong, _, _ = planted(right, edit)
    wrong, _ = shuffled(wrong, Random(5))
    supplies = find_supplies(wrong)
    best = likeliest(wrong, supplies.high, supplies.low)[0]
    mended = best.made(wrong)
    if edit[0] == "join":
        assert mended is None
        assert best.words.startswith(f"{best.nets[0]} is two nets: ")
    else:
        assert compare(mended, right, ports=False, merge=Merge.NONE).equal, best.words


def test_it_is_the_first_repair_of_the_slip_that_is_told():
    """A NAND of an adder with a p gate misread has several repairs; the one that its likes speak for comes first."""
    right = CASES["gates"].netlist
    wrong, (name,), (old, new) = planted(right, ("gate", "c3.p1", "s1"))
    slip = find_slips(wrong, find_supplies(wrong))[0]
    assert slip.transistors[0] == name
    assert slip.repair.startswith(f"{name} with its gate on {old} instead of {new} (then it is like others here)")


def test_it_is_a_slip_of_its_own_where_nothing_else_is_told():
    """A pass transistor of a two-phase register whose end is on another net: no gate is torn, yet it is told."""
    right = CASES["two_phase_nmos"].netlist
    wrong, (name,), (old, new) = planted(right, ("end", "m2f1.s", "x1f2", "x4f1"))
    (slip,) = [s for s in find_slips(wrong, find_supplies(wrong)) if name in s.transistors]
    assert slip.repair.startswith(f"{name} with an end on {old} instead of {new}")


def chain(count: int) -> Netlist:
    ts = []
    for i in range(count):
        ts.append(Transistor(f"N{i}", Kind.N, f"x{i}", f"x{i + 1}", "VSS"))
        ts.append(Transistor(f"P{i}", Kind.P, f"x{i}", f"x{i + 1}", "VDD"))
    return Netlist("chain", ("x0", f"x{count}", "VDD", "VSS"), tuple(ts))


def test_the_ends_of_a_row_are_no_slips():
    """The first and the last of a row are unlike the others by right: no edit may leave a port without a device."""
    netlist = chain(9)
    assert likeliest(netlist, {"VDD"}, {"VSS"}) == []
    wrong, _, _ = planted(netlist, ("gate", "N4", "x2"))
    slip = find_slips(wrong, find_supplies(wrong))[0]
    assert slip.repair.startswith("N4 with its gate on x4 instead of x2")


def test_what_is_known_heads_a_circuit_with_a_slip():
    """One torn gate in an adder does not make the whole an unknown structure: its parts head the reading."""
    wrong, _, _ = planted(CASES["gates"].netlist, ("gate", "c3.p1", "s1"))
    assert recognise(wrong).heading.startswith("2-bit ripple adder, full adder")
