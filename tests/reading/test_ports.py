"""Netlists jotted down without ports: the likely ones are taken, and said."""

from dataclasses import replace

import pytest

from layoutdrill.netlist.roles import Role
from layoutdrill.netlist.spice import read_spice
from layoutdrill.reading.explain import explain_netlist

NAND = """\
M1 y a m nmos
M2 m b VSS nmos
M3 y a VDD pmos
M4 y b VDD pmos
"""


def test_a_bare_list_of_transistors_is_explained_like_one_with_ports():
    """A NAND without a port list is a NAND with its inputs, output and table, and the ports taken are told."""
    found = explain_netlist(read_spice(NAND, "jotted.sp"))
    assert found.recognition.term == "NAND2"
    assert found.functions == ("y = !(a*b)",)
    assert found.slips == ()
    assert any("taken as ports: a b y " in remark for remark in found.remarks)


def test_two_spellings_of_a_name_stay_a_slip():
    """An input written once as `a` and once as `A` is not taken for two inputs."""
    read = read_spice(NAND, "jotted.sp")
    mixed = tuple(replace(t, gate="A") if t.name == "M3" else t for t in read.transistors)
    found = explain_netlist(replace(read, transistors=mixed))
    assert {slip.kind for slip in found.slips} >= {"floating gate"}


def test_a_netlist_with_ports_keeps_them():
    """Named ports are never replaced, so a gate that none of them drives is still told."""
    text = ".subckt nand VSS VDD a y\n" + NAND + ".ends\n"
    found = explain_netlist(read_spice(text, "jotted.sp"))
    assert [slip.nets for slip in found.slips if slip.kind == "floating gate"] == [("b",)]


@pytest.mark.parametrize(
    ("rows", "term", "ports"),
    [
        pytest.param("M1 VDD z z VSS nmosd|M2 z a VSS VSS nmos|M3 z b VSS VSS nmos", "NOR2", "a b z", id="load"),
        pytest.param(
            "M1 VDD q q VSS nmosd|M2 q r VSS VSS nmos|M3 q qn VSS VSS nmos|"
            "M4 VDD qn qn VSS nmosd|M5 qn s VSS VSS nmos|M6 qn q VSS VSS nmos",
            "SR latch", "r s q qn", id="crossed gates",
        ),
        pytest.param(
            "M1 q qb VDD VDD pmos|M2 q qb VSS VSS nmos|M3 qb q VDD VDD pmos|M4 qb q VSS VSS nmos|"
            "M5 bl wl q VSS nmos|M6 blb wl qb VSS nmos",
            "static RAM cell", "wl bl blb", id="bit lines",
        ),
        pytest.param(
            "M1 d p1 a VSS nmos|M2 VDD b b VSS nmosd|M3 b a VSS VSS nmos|"
            "M4 b p2 c VSS nmos|M5 VDD q q VSS nmosd|M6 q c VSS VSS nmos",
            "shift-register bit", "p1 p2 q d", id="data behind a pass transistor",
        ),
    ],
)  # fmt: skip
def test_a_store_tells_which_of_its_nets_lead_outside(rows, term, ports):
    """Outputs under a load, outputs that read each other, bit lines and data are taken, inner nets are not."""
    found = explain_netlist(read_spice(rows.replace("|", "\n"), "jotted.sp"))
    assert found.name == term
    assert found.slips == ()
    assert any(f"taken as ports: {ports} (" in remark for remark in found.remarks)


def test_a_stage_that_lacks_its_other_half_is_no_port():
    """The drain of a lone pull-down is a loose end, not an output."""
    text = "M1 VDD y y VSS nmosd\nM2 y a VSS VSS nmos\nM3 z y VSS VSS nmos\n"
    found = explain_netlist(read_spice(text, "jotted.sp"))
    assert [(slip.kind, slip.nets) for slip in found.slips] == [("loose end", ("z",))]


PAD = "M1 y a VDD VDD pmos\nM2 y a VSS VSS nmos\n"


def test_a_pad_behind_a_resistor_is_the_port():
    """Of an output it is clamped as an output, of an input as an input (common practice)."""
    for devices, roles, names, said in (
        ("R1 y pad 1k\nD1 VSS pad clamp\n", ("a", "pad"), {"inverter", "output protection"},
         ("clamps pad, y to VSS", "pad = !a")),
        ("R1 pad a 1k\nD1 VSS a clamp\nD2 a VDD clamp\n", ("pad", "y"), {"inverter", "input pad", "input protection"},
         ("clamps a, pad to the rails", "y = !pad")),
    ):  # fmt: skip
        explained = explain_netlist(read_spice(PAD + devices, "pad.sp"))
        whole, text = explained.recognition, explained.text()
        assert (*whole.nets(Role.INPUT), *whole.nets(Role.OUTPUT)) == roles
        assert set(whole.names) == names
        assert all(words in text for words in said), text


def test_a_divider_ties_nothing():
    """A resistor to one rail gives a pad its level; one to either rail gives it neither (Ohm's law)."""
    tied, divided = (
        explain_netlist(read_spice(f".subckt r a y VDD VSS\n{PAD}R1 a VDD 10k\n{more}.ends\n", "r.sp")).recognition
        for more in ("", "R2 a VSS 10k\n")
    )
    assert "tie cell" in {s.term for s in tied.all()}
    assert "tie cell" not in {s.term for s in divided.all()}


def test_a_clamped_pad_that_is_read_is_an_input_too():
    """An open drain that nothing reads is clamped as an output, one that a gate reads as an input (common practice)."""
    drain = "M3 pad g VSS VSS nmos W=200u\nM4 g d VSS VSS nmos W=4u\nM5 g d VDD VDD pmos W=4u\nD1 VSS pad clamp\n"
    reading = PAD.replace(" a ", " pad ").replace("mos\n", "mos W=4u\n")
    for ports, more, clamp in (("d pad", "", "output protection"), ("d pad y", reading, "input protection")):
        text = f".subckt drain {ports} VDD VSS\n{drain}{more}.ends\n"
        whole = explain_netlist(read_spice(text, "drain.sp")).recognition
        assert {"open-drain pad", clamp} <= {s.term for s in whole.all()}, whole.text()
