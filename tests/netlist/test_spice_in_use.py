"""SPICE as people write it: node 0, globals, depletion transistors under many names, copies by m."""

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Kind, Mode
from layoutdrill.netlist.models import channel
from layoutdrill.netlist.spice import read_spice
from tests.each import each

N, P, E, D = Kind.N, Kind.P, Mode.ENHANCEMENT, Mode.DEPLETION
NAMES = {
    # common practice: no standard says what a model is called
    "dep": (N, D), "depl": (N, D), "d": (N, D), "nd": (N, D), "ndep": (N, D), "ndepl": (N, D), "nmos_d": (N, D),
    "depletion_nmos": (N, D),
    "nmosd": (N, D), "nmos_dep": (N, D), "nmos_depletion": (N, D), "nmosdep": (N, D), "NDEP": (N, D), "nch_d": (N, D),
    "pdep": (P, D), "pmosd": (P, D), "pd": (P, D), "pmos_dep": (P, D),
    "nmos": (N, E), "pmos": (P, E), "n": (N, E), "p": (P, E), "nch": (N, E), "pch": (P, E), "nfet": (N, E),
    "nfet_01v8": (N, E), "cmosn": (N, E), "cmosp": (P, E), "modn": (N, E), "modp": (P, E), "nenh": (N, E),
    "penh": (P, E), "nmos_enh": (N, E), "mosp": (P, E), "nmos1": (N, E), "kit__nfet_01v8": (N, E),
}  # fmt: skip


@each("name", NAMES)
def test_the_names_of_models_in_use_are_read(name):
    """Kind and mode from the name alone; depletion is never taken for enhancement."""
    told = channel(name)
    assert told is not None
    assert (told.kind, told.mode) == NAMES[name]


@each("name", ["nmoss", "e", "m", "", "load", "resistor", "x", "np", "npn", "diode", "mos"])
def test_what_names_no_transistor_is_not_guessed(name):
    """Neither a kind nor a depletion transistor can be read from it."""
    assert channel(name) is None


def test_a_model_card_decides_before_its_name():
    """The sign of the threshold says it (SPICE's VTO); a card that gives none leaves it to the name."""
    text = """title
    .model ndep nmos level=1 vto=0.8
    .model pull nmos level=1 vto=-2.5
    .model depl nmos level=1
    M1 a b c ndep
    M2 a b c pull
    M3 a b c depl
    """
    assert [t.mode for t in read_spice(text, "cards.sp").transistors] == [E, D, D]


def test_node_0_and_globals_are_one_net_at_every_depth():
    """Node 0 is ground throughout (SPICE), `.global` nets and CDL's names with ! are too; other nets stay inside."""
    text = """title
    .global vcc
    .subckt inv a y
    M1 y a 0 0 nmos
    M2 y a vcc vcc pmos
    .ends
    .subckt pair a y
    X1 a m inv
    X2 m y inv
    M9 y m vee! nmos
    .ends
    X1 in out pair
    """
    netlist = read_spice(text, "deck.sp")
    assert set(netlist.nets) == {"0", "vcc", "vee!", "in", "out", "X1.m"}


def test_copies_of_devices_and_of_subcircuits_are_counted():
    """`m=` on a transistor is so many fingers, on an instance so many instances."""
    text = """.subckt half a y
    M1 y a 0 nmos W=2u L=1u m=3
    .ends
    .subckt top a y
    X1 a y half m=2
    .ends
    """
    netlist = read_spice(text, "m.sp")
    assert [(t.name, t.fingers, t.width) for t in netlist.transistors] == [
        ("X1#1.M1", 3, 6000),
        ("X1#2.M1", 3, 6000),
    ]


def test_parameters_of_a_subcircuit_are_no_ports():
    """What follows `params:` gives values, no nets."""
    netlist = read_spice(".subckt inv a y params: wide=2u\nM1 y a 0 nmos W=wide\n.ends\n", "p.sp")
    assert netlist.ports == ("a", "y")
    assert netlist.transistors[0].width == 2000


def test_an_instance_may_give_its_own_parameters():
    """A named value stands for what the instance gives, else for what the subcircuit gives, else `.param`."""
    text = """title
    .param long=3u
    .subckt inv a y wide=2u
    M1 y a 0 nmos W={wide} L='long'
    .ends
    X1 a b inv
    X2 b c inv wide=5u
    """
    netlist = read_spice(text, "p.sp")
    assert [(t.width, t.length) for t in netlist.transistors] == [(2000, 3000), (5000, 3000)]


def test_a_value_that_nothing_gives_is_told():
    """With its place, and what to write."""
    with pytest.raises(LayoutdrillError) as told:
        read_spice("M1 y a g nmos W=wide", "f.sp")
    assert str(told.value) == 'f.sp:1:17: W of "M1" is "wide"; write µm, such as 0.65u'
