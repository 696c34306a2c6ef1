"""Fingers, series splits and tied ends: the same devices drawn in other ways are the same circuit."""

import pytest

from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.netlist.merge import as_acting, merge_splits
from layoutdrill.netlist.spice import read_spice
from tests.each import each

HEAD = ".subckt stage a b y VDD VSS\n"


def read(lines):
    return read_spice(f"{HEAD}{lines}\n.ends\n", "stage.sp")


SAME = {
    "two fingers": ("M1 y a VSS nmos", "M1 y a VSS nmos\nM2 VSS a y nmos"),
    "two fingers, sized": ("M1 y a VSS nmos L=2u W=8u", "M1 y a VSS nmos L=2u W=4u\nM2 VSS a y nmos L=2u W=4u"),
    "a channel in two parts": ("M1 y a VSS nmos L=4u W=2u", "M1 y a k nmos L=2u W=2u\nM2 VSS a k nmos L=2u W=2u"),
    "fingers of parts": (
        "M1 y a VSS nmos L=4u W=4u",
        "M1 y a k nmos L=2u W=2u\nM2 k a VSS nmos L=2u W=2u\nM3 y a m nmos L=2u W=2u\nM4 m a VSS nmos L=2u W=2u",
    ),
    "a stack in two stacks": (
        "M1 y a k nmos W=8u L=2u\nM2 k b VSS nmos W=8u L=2u",
        "M1 y a k nmos W=4u L=2u\nM2 k b VSS nmos W=4u L=2u\nM3 VSS b m nmos W=4u L=2u\nM4 m a y nmos W=4u L=2u",
    ),
    "a resistor in two parts": ("R1 a y 3k", "R1 a k 1k\nR2 y k 2k"),
    "a drawn resistor in two parts": ("R1 y a L=30u W=2u", "R1 a k L=10u W=2u\nR2 y k L=20u W=2u"),
    "resistors in parallel": ("R1 a y 1k", "R1 a y 2k\nR2 y a 2k"),
    "capacitors in parallel": ("C1 a y 3p", "C1 a y 1p\nC2 y a 2p"),
    "diodes in parallel": ("D1 VSS a junction", "D1 VSS a junction\nD2 VSS a junction"),
    "a transistor with tied ends": ("C1 a y 1p", "M1 y a y nmos L=9u W=9u"),
    "an unused transistor, tied off whole": ("M1 y a VSS nmos", "M1 y a VSS nmos\nM2 VSS VSS VSS nmos"),
}
OTHER = {
    "a node that is seen outside": ("M1 y a VSS nmos", "M1 y a b nmos\nM2 b a VSS nmos"),
    "two gates in series": ("M1 y a VSS nmos", "M1 y a k nmos\nM2 k b VSS nmos"),
    "a diode the other way round": ("D1 VSS a junction", "D1 a VSS junction"),
    "one of each way": ("D1 VSS a junction", "D1 VSS a junction\nD2 a VSS junction"),
    "a resistor for a capacitor": ("R1 a y 1k", "C1 a y 1p"),
    "a load in series with its like": ("M1 y y VDD nmosd", "M1 y y k nmosd\nM2 k k VDD nmosd"),
}


@each("case", SAME)
def test_in_how_many_pieces_a_device_is_drawn_does_not_matter(case):
    """Unless it is asked for: then the pieces are counted."""
    one, other = (read(lines) for lines in SAME[case])
    assert compare(one, other).equal
    assert compare(other, one).equal
    assert not compare(one, other, merge=Merge.NONE).equal


@pytest.mark.parametrize("case", OTHER)
def test_what_is_no_split_stays_different(case):
    """A merge must not hide a difference."""
    one, other = (read(lines) for lines in OTHER[case])
    assert not compare(one, other).equal
    assert not compare(other, one).equal


def test_values_add_up_as_circuit_theory_has_them():
    """Series resistances add, parallel conductances and capacitances do (textbook circuit theory)."""
    joined = merge_splits(read("R1 a k 1k\nR2 k y 2k\nR3 a y 6k\nC1 b y 1p\nC2 b y 2.5p"))
    assert [(e.name, e.value) for e in joined.elements] == [("R1", 2000.0), ("C1", 3.5e-12)]


def test_a_capacitor_made_of_a_transistor_keeps_its_name():
    """Its plates are the gate and the net that both ends are on."""
    acting = as_acting(read("M1 y a y nmos L=9u W=9u"))
    assert not acting.transistors
    assert [(e.name, e.kind, e.nodes) for e in acting.elements] == [("M1", "capacitor", ("a", "y"))]
