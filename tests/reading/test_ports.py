"""Netlists jotted down without ports: the likely ones are taken, and said."""

from dataclasses import replace

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
    assert any("taken: a b as input, y as output" in remark for remark in found.remarks)


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
