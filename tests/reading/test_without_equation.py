"""Of each output without an equation it is said why, and what would settle it; the plants are slips of the cases."""

from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.spice import read_spice
from layoutdrill.reading.explain import explain_netlist
from tests.each import each
from tests.reading.netlists import all_cases, planted
from tests.reading.published import published_cases

CASES = {case.name: case for case in (*all_cases(), *published_cases())}
SETTLED = "; `layoutdrill simulate` with a stimulus settles it"


def left_out(name, *edits) -> list[str]:
    """Return what is said of a case's outputs without an equation, once the edits are made."""
    netlist: Netlist = CASES[name].netlist
    for edit in edits:
        netlist, _, _ = planted(netlist, edit)
    explained = explain_netlist(netlist)
    assert list(explained.unconfirmed) == [
        line.removeprefix("  no equation of ") for line in explained.text().splitlines() if "no equation of" in line
    ]
    return list(explained.unconfirmed)


def test_right_logic_lacks_none():
    """Nothing is said where every output has its equation."""
    assert left_out("equal") == left_out("ripple") == left_out("voters") == []


REASONS = {
    "its stages contradict each other": (
        "complex_nmos", ("flip", "w_15.n1"),
        "s2: its gates say one thing and the simulator another, at a0=0, a1=0, a2=0, b0=0, b1=1, b2=1, c0=1",
    ),
    "no run holds what it takes": (
        "function_block", ("drop", "bn.load"), "y: none held in a run of changes of b and the other inputs",
    ),
    "it is charged in one phase": (
        "domino", ("drop", "x1.n1"), "y0: it is charged in one phase and decided in another",
    ),
    "it is not driven": (
        "pad_input", ("gate", "q.n0", "in"), "q: for some inputs it is not driven, or driven both ways",
    ),
    "what it follows is not driven": (
        "pad_open_drain_nmos", ("drop", "g.load"),
        "pad: for some inputs g, which it follows, is not driven, or driven both ways",
    ),
    "no output is known": (
        "charge_pump", ("drop", "w_2.n0"), "any port: none is known to be an output",
    ),
}  # fmt: skip


@each("reason", REASONS)
def test_the_reason_is_told(reason):
    """The reason names the output, and an input or a net to look at where there is one."""
    name, edit, words = REASONS[reason]
    assert any(said.startswith(words + SETTLED) for said in left_out(name, edit)), left_out(name, edit)


def test_what_hangs_on_inputs_alone_is_told_beside_what_stores():
    """A gate beside a stage that goes one way has its equation."""
    text = (
        ".subckt both a b y q VDD VSS\nM1 y a VDD VDD pmos\nM2 y b VDD VDD pmos\nM3 y a k VSS nmos\n"
        "M4 k b VSS VSS nmos\nM5 z a VSS VSS nmos\nM6 q z VDD VDD pmos\nM7 q z VSS VSS nmos\n.ends\n"
    )
    explained = explain_netlist(read_spice(text, "both.sp"))
    assert explained.functions == ("y = !(a*b)",)
    assert explained.behaviour is not None
    assert explained.behaviour.dynamic == ("z",)


def test_right_circuits_that_are_no_functions_say_why():
    """A ring swings, a FIFO's marker hangs on what went in before, a charged ROM on its clock."""
    ((ring,), (marker,), rom) = map(left_out, ("ring_5", "fifo", "rom_charged"))
    assert ring == "y: it swings by itself" + SETTLED
    assert marker == "v2: it hangs on what is stored, not on the inputs alone" + SETTLED
    assert all("charged in one phase" in said and said.endswith("its clocks as clocks") for said in rom)
