"""Netlists are written as one .subckt that reads back as the same circuit."""

from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.netlist.model import Element, Kind, Mode, Netlist, Transistor
from layoutdrill.netlist.number import micrometres, nanometres
from layoutdrill.netlist.spice import read_spice, write_spice
from tests.netlist.netlists import disguised, netlists
from tests.sampling import examples


def test_the_text_of_an_inverter_with_all_that_can_be_told():
    """Sizes in µm, four nodes drain gate source body, a depletion load, fingers, elements, and no body as no_body."""
    n = Netlist(
        "cell",
        ("A", "Y", "VDD", "VDD#2"),
        (
            Transistor("M1", Kind.N, "A", "GND", "Y", body="GND", length=150, width=1300, fingers=2),
            Transistor("X2", Kind.N, "Y", "VDD", "Y", length=1000, width=4725, mode=Mode.DEPLETION),
            Transistor("M3", Kind.P, "A", "VDD#2", "Y", width=1001, fingers=2),
        ),
        (
            Element("R1", "resistor", "res_generic_po", ("Y", "p"), (("L", "0.045u"), ("W", "0.48u"))),
            Element("D1", "diode", "", ("GND", "A")),
            Element("C1", "capacitor", "", ("Y", "GND"), (("C", "10f"),)),
        ),
    )
    assert write_spice(n) == (
        ".subckt cell A Y VDD VDD#2\n"
        "M1 Y A GND GND nmos L=0.15u W=0.65u m=2\n"
        "MX2 Y Y VDD no_body nmosd L=1u W=4.725u\n"
        "M3 Y A VDD#2 no_body pmos W=1.001u nf=2\n"
        "R1 Y p res_generic_po L=0.045u W=0.48u\n"
        "D1 GND A diode\n"
        "C1 Y GND 10f\n"
        ".ends\n"
    )


def test_names_that_spice_cannot_spell_are_replaced_and_told():
    """Names with spaces or other signs are replaced, and a comment tells which."""
    n = Netlist(
        "my cell",
        ("a", "A"),
        (
            Transistor("M 1", Kind.N, "a", "A", "$x"),
            Transistor("m_1", Kind.N, "a", "no_body", "w=3"),
        ),
    )
    text = write_spice(n)
    assert text == (
        "* net 'A' is written as A_2\n"
        "* net '$x' is written as _x\n"
        "* net 'w=3' is written as w_3\n"
        "* net 'no_body' is written as no_body_2\n"
        ".subckt my_cell a A_2\n"
        "M_1 _x a A_2 no_body nmos\n"
        "m_1_2 w_3 a no_body_2 no_body nmos\n"
        ".ends\n"
    )
    back = read_spice(text, "f.sp")
    assert compare(n, Netlist(back.name, ("a", "A"), tuple(t.renamed({"A_2": "A"}) for t in back.transistors))).equal


@settings(max_examples=examples(150), deadline=None)
@given(netlists(), st.integers(0, 999))
def test_what_is_written_reads_back_as_the_same_circuit(n, seed):
    """Ports, nets, kinds, sizes and bodies survive; the text of what was read back is the same text again."""
    n = disguised(n, Random(seed))
    text = write_spice(n)
    back = read_spice(text, "f.sp")
    assert compare(n, back, sizes=True, bodies=True, merge=Merge.NONE).equal
    assert back.ports == n.ports
    assert write_spice(back) == text


@given(st.text(max_size=12), st.text(max_size=12), st.text(max_size=6))
def test_any_name_whatever_can_be_written(gate, end, name):
    """Names from a layout's labels may hold anything; two different nets stay two."""
    n = Netlist(name, (gate,), (Transistor(name, Kind.N, gate, end, "y", "y"),))
    back = read_spice(write_spice(n), "f.sp")
    assert back.count() == 1
    assert len(back.nets) == len(n.nets)


@given(st.integers(1, 9_000_000))
def test_sizes_survive_to_the_nanometre(nm):
    """Up to 9 mm; beyond that a bare number is taken for µm."""
    assert nanometres(micrometres(nm)) == nm


def test_a_long_line_is_continued():
    """Long port lists are continued with a plus and read back whole."""
    n = Netlist("wide", tuple(f"PORT{at}" for at in range(40)), (Transistor("M1", Kind.N, "PORT1", "PORT2", "PORT3"),))
    text = write_spice(n)
    assert max(map(len, text.splitlines())) <= 110
    assert read_spice(text, "f.sp").ports == n.ports
