"""
Each kind of slip that readers of chips make is told, in a circuit of the kind where it is made.

The circuits are the own netlists with an edit planted; the plant itself is the reference.
"""

from dataclasses import replace
from random import Random

import pytest

from layoutdrill.netlist.model import Mode, Netlist
from layoutdrill.reading.explain import explain_netlist
from layoutdrill.reading.explanation import function_lines
from layoutdrill.reading.slips import find_slips
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.expression import evaluate, parse, variables
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.supplies import find_supplies
from tests.each import each
from tests.reading.netlists import all_cases, planted
from tests.reading.netlists.board import Board

CASES = {case.name: case for case in all_cases()}


def slips(netlist: Netlist):
    return find_slips(netlist, find_supplies(netlist))


def test_a_duplicate_address_in_a_decoder_that_is_not_of_full_size():
    """Ten lines of four address bits; one line is read as another's: the pair is told, with what nothing answers."""
    right = CASES["decoder_ten"].netlist
    mine = {t.name: t.gate for t in right.transistors if t.name.startswith("y6.")}
    turned = {name: "a1n" for name, gate in mine.items() if gate == "a1b"}
    assert len(turned) == 2
    ts = tuple(replace(t, gate=turned.get(t.name, t.gate)) for t in right.transistors)
    (slip,) = [s for s in slips(replace(right, transistors=ts)) if s.kind == "same address"]
    assert set(slip.nets) == {"y4", "y6"}


@each(
    ("name", "edit"),
    [
        ("ram_4x4_cmos", "side"),
        ("rotator", ("gate", "x2-z2.tg.p", "s0")),
        ("two_phase_nmos", ("gate", "m2f1.s", "f2")),
        ("gates", ("twice", "c2.n0")),
        ("gates", ("flip", "c3.n1")),
        ("two_phase_nmos", ("drop", "x3f2.load")),
        ("complex_nmos", ("join", "s0", "s2")),
        ("gates", ("drop", "c2.p0")),
    ],
    ids=["wrong side", "other select", "other phase", "twice", "n as p", "no load", "two loads", "no p"],
)
def test_the_slip_is_told_and_placed(name, edit):
    """A cell on the wrong bit line, a control or a phase misread, a device twice, of the other kind, or missing."""
    right = CASES[name].netlist
    if edit == "side":
        t = next(t for t in right.transistors if t.name.endswith(".access"))
        lines = sorted({e for o in right.transistors if o.name.endswith(".access") for e in o.ends} - set(t.ends))
        bit = next(e for e in t.ends if sum(e in o.ends for o in right.transistors) > 3)
        edit = ("end", t.name, bit, next(n for n in lines if sum(n in o.ends for o in right.transistors) > 3))
    wrong, devices, nets = planted(right, edit)
    told = [s for s in slips(wrong) if len(s.transistors) <= 8]
    if edit[0] in ("drop", "join"):
        assert any(set(nets) - {"VDD", "VSS"} & set(s.nets) for s in told)
    else:
        assert any(set(devices) & set(s.transistors) for s in told)


def test_loads_that_all_have_their_gate_on_their_own_output_are_asked_about():
    """As enhancement loads they never conduct; were they depletion loads, nothing were wrong: so it is asked, once."""
    b = Board("nmos")
    b.nand("a", b.inv("b"), y="y")
    right = b.case("own", "a b y", "").netlist
    plain = replace(right, transistors=tuple(replace(t, mode=Mode.ENHANCEMENT) for t in right.transistors))
    assert slips(right) == ()
    (slip,) = [s for s in slips(plain) if s.kind == "idle load"]
    assert len(slip.transistors) == 2
    assert "are they depletion loads? Then write nmosd for them" in slip.repair


@pytest.mark.parametrize("name", ["two_phase_nmos", "four_phase", "domino", "dynamic_latches", "clocked_loads"])
def test_equations_of_what_works_by_charge_are_those_that_the_simulator_sees(name):
    """Every equation printed holds, step after step of a random run, wherever its nets have known levels."""
    netlist = CASES[name].netlist
    lines = [f.strip() for f in function_lines(explain_netlist(netlist))]
    told = [f.split(" = ") for f in lines if " = " in f and " is " not in f and " becomes " not in f]
    forms = {y: parse(f, variables(parse(f, netlist.nets))) for y, f in told}
    rng = Random(name)
    inputs = [p for p in netlist.ports if p not in ("VDD", "VSS") and not any(p == y for y in forms)]
    inputs = [p for p in inputs if not any(p in t.ends and t.gate != p for t in netlist.transistors) or p == "d"
              or p.startswith(("f", "d"))]  # fmt: skip
    row = dict.fromkeys(inputs, 0)
    steps = []
    for _ in range(30):
        row = row | {rng.choice(inputs): rng.randint(0, 1)}
        steps.append(row)
    held = 0
    for state in sequence(netlist, steps):
        for y, form in forms.items():
            levels = {n: state.level(n) for n in (y, *variables(form))}
            if all(level.known for level in levels.values()):
                values = {n: level is Level.HIGH for n, level in levels.items()}
                assert evaluate(form, values) == values[y], (y, form)
                held += 1
    assert held > 0 or not forms


def test_an_adder_of_nine_inputs_has_an_equation_an_output():
    """Nine inputs are too many for one table; each output is told over its own cone, and the lowest sum is short."""
    found = explain_netlist(CASES["gates"].netlist)
    lines = [f.strip() for f in function_lines(found)]
    told = {f.split(" = ")[0] for f in lines if " = " in f}
    assert {"s0", "s1", "s2", "s3", "c4"} <= told
    assert "s0 = a0 ^ b0 ^ c0" in lines


def test_lines_that_share_only_their_enable_are_no_plane():
    """Four NOR2, each of a line of its own and one common line: gated lines, not a ROM."""
    b = Board("nmos")
    for i in range(4):
        b.nor(f"a{i}", "ck", y=f"y{i}")
    netlist = b.case("gated", [*(f"a{i}" for i in range(4)), "ck", *(f"y{i}" for i in range(4))], "").netlist
    assert recognise(netlist).heading == "4 × NOR2"
