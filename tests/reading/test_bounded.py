"""
Whatever the netlist, its reading ends after a bounded count of work, and says what it left and of which part.

The netlists are no circuits that anybody would draw: meshes and cliques of pass transistors, ladders with thousands of
ways through, stacks of hundreds, stars of hundreds of gates, ties, loops onto themselves. Seconds are measured by
`tests/bench/bench_reading.py hard`; here the count of work is held, which is the same on every machine.
"""

import re
from dataclasses import replace
from random import Random

import pytest

from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.reading.behaving import doings
from layoutdrill.reading.explain import explain_netlist
from layoutdrill.reading.slips import Scene, slips_in
from layoutdrill.recognise.whole import seen
from layoutdrill.simulate.effort import BASE, EACH, OutOfEffortError, bounded, part, spend, tried
from tests.reading.netlists import all_cases
from tests.reading.netlists.hard import HARD, ladder
from tests.reading.published import published_cases

SIZE = 240


@pytest.mark.parametrize("name", HARD)
def test_no_netlist_takes_more_than_its_work(name):
    """What is counted stays within the bound, one step of overrun aside, and all transistors are accounted for."""
    netlist = HARD[name](SIZE, Random(3))
    with bounded(len(netlist.transistors)) as effort:
        view, recognition = seen(netlist)
        slips_in(Scene(view, recognition))
    allowed = BASE + EACH * len(netlist.transistors)
    assert effort.left > -allowed / 4, name
    told = {n for s in recognition.structures for n in s.transistors} | set(recognition.leftover)
    assert {t.name for t in netlist.transistors} - set(view.prepared.idle) <= told


def test_what_was_left_is_told_with_its_part_and_thorough_goes_on():
    """A ladder with too many ways through is left, named by its switches; a small one is worked out when asked to."""
    text = explain_netlist(ladder(60, Random(0), side=6)).text()
    assert re.search(r"not worked out: when (M\d+, ){3}M\d+ and 56 more join q to the low rail \(--thorough", text)
    left = explain_netlist(ladder(60, Random(0), side=5))
    assert any("join q to the" in words for words in left.undone)
    through = explain_netlist(ladder(60, Random(0), side=5), thorough=True)
    assert not any("join q to the" in words for words in through.undone)


def test_a_part_ends_alone():
    """A part that is spent ends, is noted, and what comes after it still has its work."""

    def long():
        spend(60)
        spend(60)
        return "all"

    def short():
        spend(5)
        return "all"

    with bounded(0) as effort:
        assert tried(100, "the long one", long, "none") == "none"
        assert tried(100, "the short one", short, "none") == "all"
        assert list(effort.undone) == ["the long one"]
        with pytest.raises(OutOfEffortError), part(3):
            short()
    assert long() == "all"  # nobody counts


def test_sums_that_run_in_a_circle_are_read_to_the_end():
    """In a tree of sums, one of which reads what a later one makes, each has one that follows it: a row must end."""
    tree = next(c.netlist for c in all_cases() if c.name == "parity_nand")
    other = {"d6": "x21", "k_44": "k_34"}  # two gates misread, two inner nets taken for one

    def misread(t):
        name = t.name.split(".")[0]
        if name in ("w_22", "w_24"):
            return replace(t, gate=other.get(t.gate, t.gate))
        if name == "w_43":
            return replace(t, source=other.get(t.source, t.source), drain=other.get(t.drain, t.drain))
        return t

    ts = tuple(map(misread, tree.transistors))
    recognition = seen(Netlist("circle", tree.ports, ts))[1]
    assert {n for s in recognition.structures for n in s.transistors} == {t.name for t in ts}


def test_the_count_does_not_hang_on_the_machine():
    """Twice the same netlist costs the same units: what is recognised and told cannot depend on how busy one is."""
    left = []
    for _ in range(2):
        netlist = HARD["ladder"](SIZE, Random(1))
        with bounded(len(netlist.transistors)) as effort:
            view, recognition = seen(netlist)
            slips = slips_in(Scene(view, recognition))
        left.append((effort.left, tuple(effort.undone), tuple(s.text for s in slips)))
    assert left[0] == left[1]


def test_a_slip_in_a_gate_of_thirty_two_transistors_is_still_mended():
    """The change that makes a wide gate whole again is found among hundreds, within the work of one part."""
    ins = [f"i{k}" for k in range(16)]
    ts = []
    for k in range(8):  # (i0 + i1) * (i2 + i3) * …, n in series of pairs, p in parallel of pairs
        top, bottom = ("q" if k == 0 else f"d{k}"), ("VSS" if k == 7 else f"d{k + 1}")
        a, b = ins[2 * k], ins[2 * k + 1]
        ts += [Transistor(f"N{2 * k}", Kind.N, a, top, bottom), Transistor(f"N{2 * k + 1}", Kind.N, b, top, bottom)]
        ts += [Transistor(f"P{2 * k}", Kind.P, a, "VDD", f"u{k}"), Transistor(f"P{2 * k + 1}", Kind.P, b, f"u{k}", "q")]
    wrong = tuple(Transistor(t.name, t.kind, "i9", t.source, t.drain) if t.name == "P4" else t for t in ts)
    netlist = Netlist("wide", (*ins, "q", "VDD", "VSS"), wrong)
    with bounded(len(netlist.transistors)) as effort:
        view, recognition = seen(netlist)
        slips = slips_in(Scene(view, recognition))
    assert any("P4 with its gate on i4 instead of i9" in s.repair for s in slips)
    assert not effort.undone


def test_no_time_at_all_is_told_too():
    """Equations and tables that get no time are left, and told: the first loop that counts ends each."""
    netlist = next(case.netlist for case in published_cases() if case.name == "log_shifter")
    left = doings(*seen(netlist), 0.0)
    assert (left.functions, left.tables) == ((), ())
    assert left.undone == ("the equation of y0 and of those after it", "the table of y0 and those after it")
