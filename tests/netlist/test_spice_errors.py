"""What cannot be read as a netlist is told in one line: where, what, and what to do."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.spice import read_spice, write_spice
from tests.each import each
from tests.sampling import examples

MALFORMED = {
    "": "f.sp: there is no circuit here; write a transistor a line: M1 drain gate source nmos",
    "M1 y a nmos": (
        'f.sp:1:1: transistor "M1" has 2 nodes; '
        "write its name, drain, gate, source, body if known, and model: M1 out in gnd nmos"
    ),
    "M1 y a g nmoss": (
        'f.sp:1:10: "nmoss" is no transistor model; end the nodes with nmos or pmos (nmosd or pmosd for depletion)'
    ),
    "\n  M1 y a g nmos W=wide": 'f.sp:2:19: W of "M1" is "wide"; write µm, such as 0.65u',
    "M1 y a g nmos W=-1u": 'f.sp:1:17: W of "M1" is "-1u"; write µm, such as 0.65u',
    "M1 y a g nmos m=0.5": 'f.sp:1:17: m of "M1" is "0.5"; write a whole number from 1 to 10,000',
    "M1 y a g nmos W=": 'f.sp:1:16: nothing after "W="; write a number there, such as W=0.65u',
    "title\n =3": 'f.sp:2:2: nothing before "="; write name=number, such as W=0.65u',
    "M1 y a g nmos W={w}": 'f.sp:1:17: W of "M1" is "{w}"; write µm, such as 0.65u',
    "M1 y a g nmos W={2*w}": "f.sp:1:17: an expression stands here; write the number itself, such as W=0.65u",
    "M1 y a g nmos\nm1 y b g nmos": 'f.sp:2:1: a second device "m1" (the first in line 1); rename one of them',
    "+ W=1u": (
        'f.sp:1:1: "+" continues a line, but none stands before it; put it after the statement that it belongs to'
    ),
    "title\nQ1 c b e npn": (
        'f.sp:2:1: "Q1" is a bipolar transistor; leave it out: only lines M, X, R, C and D can be read'
    ),
    "* a comment first\nQ1 c b e npn": (
        'f.sp:2:1: "Q1" is a bipolar transistor; leave it out: only lines M, X, R, C and D can be read'
    ),
    "title\n1M y a g nmos": 'f.sp:2:1: no device starts with "1"; start a transistor\'s name with M, a comment with *',
    "title\nR1 a": 'f.sp:2:1: "R1" has 1 node; a resistor has two, and then its value or model',
    "title\n.lib corner": "f.sp:2:1: .lib asks for another file; paste what it holds here: one file is read at a time",
    "title\n.sub inv": 'f.sp:2:1: unknown statement ".sub"; known: .subckt, .ends, .model, .global, .option, .end',
    ".subckt": "f.sp:1:1: this .subckt has no name; write .subckt NAME PORTS",
    ".subckt inv a y": 'f.sp:1:1: .subckt "inv" has no end; write .ends after its last device',
    ".subckt inv a A": 'f.sp:1:15: port "A" stands twice; keep one of them',
    ".ends": "f.sp:1:1: .ends ends nothing; write .subckt NAME PORTS before the devices",
    ".subckt a\n.ends b": 'f.sp:2:7: .ends names "b", but the subcircuit is "a"; write the same name, or none',
    ".subckt a\n.subckt b": 'f.sp:2:1: .subckt inside .subckt "a"; write .ends before it',
    ".subckt a\n.ends\n.subckt A\n.ends": 'f.sp:3:9: a second .subckt "A"; rename one of them',
    ".subckt a\n.ends\n.subckt b\n.ends": "f.sp: 2 circuits stand here: a, b; name the one meant (--cell)",
    ".subckt a\nX1 a\n.ends": "f.sp:1:1: every subcircuit is used by another one, in a ring; take one instance out",
    "X1 p q inv\n.subckt inv a b c\n.ends": (
        'f.sp:1:1: "X1" gives 2 nodes to "inv", which has 3 ports; give them in this order: a b c'
    ),
    "X1 p q inw\n.subckt inv a b\n.ends": 'f.sp:1:8: no .subckt "inw"; did you mean "inv"?',
    "X1 p q inv": 'f.sp:1:8: no .subckt "inv"; write it in this file: .subckt NAME PORTS, devices, .ends',
    ".subckt a\nV1 p q 5\n.ends": (
        'f.sp:2:1: a source, "V1", stands inside .subckt "a"; take it out: a layout has no sources'
    ),
    ".model n": "f.sp:1:1: a .model line needs a name and a type; write .model NAME NMOS or .model NAME PMOS",
    ".option scale=small": 'f.sp:1:15: "small" is no scale; write a number, such as scale=1e-6',
    "title\nW=1u": "f.sp:2:1: this line names no device; start it with one, such as: M1 drain gate source nmos",
}


@each(("text", "message"), MALFORMED.items())
def test_malformed_text_is_told_with_its_place_and_remedy(text, message):
    """Each mistake is told with line, column, what is wrong and what to write."""
    with pytest.raises(LayoutdrillError) as told:
        read_spice(text, "f.sp")
    assert str(told.value) == message


def test_a_wanted_subcircuit_that_is_not_there_is_told_with_the_nearest_name():
    """A misspelt circuit name is answered with the nearest one."""
    with pytest.raises(LayoutdrillError) as told:
        read_spice(".subckt nand2 a b y\n.ends", "f.sp", subckt="nand")
    assert str(told.value) == 'f.sp: no .subckt "nand"; did you mean "nand2"?'


def test_a_ring_of_subcircuits_below_the_top_is_told():
    """Subcircuits that contain each other are refused, though the top one is in no ring."""
    text = ".subckt top\nX1 a\n.ends\n.subckt a\nX1 b\n.ends\n.subckt b\nX1 a\n.ends"
    with pytest.raises(LayoutdrillError, match=r'f.sp:4:1: subcircuit "a" contains itself; take that instance out'):
        read_spice(text, "f.sp")


WORDS = """.subckt .ends .model .global .option .end .control M1 M2 X1 X2 R1 D1 C1 V1 nmos pmos cell W=1u m=2 m=-1
scale=0 1k 1e999999999 W=1e400 W=1e999999999 m=1e9 a b 0 p / + * $ ; ( ) { = ' µ \ufeff"""
PIECES = st.sampled_from([*WORDS.split(), "\n", "\n", "\n", "\n"])


@settings(max_examples=examples(400), deadline=None)
@given(st.lists(PIECES, max_size=30).map(" ".join) | st.text(max_size=60))
def test_any_text_is_a_netlist_or_a_told_error(text):
    """Nothing but a LayoutdrillError with the file's name comes out of bad text; what is read can be written."""
    try:
        n = read_spice(text, "f.sp")
    except LayoutdrillError as error:
        told = error
    else:
        again = read_spice(write_spice(n), "f.sp")
        assert again.count() == n.count()
        assert len(again.elements) == len(n.elements)
        return
    assert str(told).startswith("f.sp:")
    assert told.todo


def test_a_circuit_that_opens_without_end_is_refused():
    """Thirty levels of two instances each would be a thousand million transistors; a million copies likewise."""
    levels = [f".subckt s{at} a\nX1 a s{at + 1}\nX2 a s{at + 1}\n.ends" for at in range(30)]
    text = "\n".join([*levels, ".subckt s30 a\nM1 a a a nmos\n.ends"])
    with pytest.raises(
        LayoutdrillError, match=r'f.sp:1:1: "s0" opens into more than 200,000 devices; take a smaller part'
    ):
        read_spice(text, "f.sp")
    deep = "\n".join(f".subckt s{at} a\nX1 a s{at + 1}\n.ends" for at in range(2000))
    with pytest.raises(LayoutdrillError, match=r"subcircuits lie deeper than 200 in each other; take a lower one"):
        read_spice(f"{deep}\n.subckt s2000 a\n.ends", "f.sp")
    with pytest.raises(LayoutdrillError, match=r'f.sp:1:10: m of "X1" is "1e9"; write a whole number from 1 to 10,000'):
        read_spice("X1 a s m=1e9\n.subckt s a\nM1 a a a nmos\n.ends", "f.sp")
