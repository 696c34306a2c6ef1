"""
Published circuits are named as a whole, accused of nothing, and their slips told; they do what their references say.

Names go for all of them in every run, the rest for some, rotated (`tests.sampling`).
"""

from collections import Counter
from dataclasses import replace

from layoutdrill.reading.slips import find_slips
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.supplies import find_supplies
from layoutdrill.simulate.table import table
from tests.reading.netlists.board import planted
from tests.reading.published import published_cases
from tests.reading.test_netlists import rows
from tests.sampling import some

CASES = {case.name: case for case in published_cases()}
WITHOUT_REFERENCE = {"pulsed_latch", "folded_column"}
"""What a race or charge that is shared decides: a switch-level model has no word on it."""
SETTLED_BY_SIZE = {"sense_flip_flop": "uv.n"}
"""A transistor that only keeps two nodes alike until a race is over."""
UNTOLD = {
    ("drop", "x.p2"), ("gate", "n3.n0", "n1"), ("gate", "t5.n1", "cn"), ("gate", "g2.n1", "f2"), ("drop", "ct"),
}  # fmt: skip
"""Slips of which nothing is told: each leaves a circuit that could be meant."""
TOLD_AT_ONCE = 12


def test_each_is_named_and_its_parts_counted():
    """From transistors under meaningless names alone."""
    wrong = {}
    for name, case in CASES.items():
        reading = recognise(case.anonymous()[0])
        counts = Counter(s.term for s in reading.all())
        if (reading.heading, {t: counts[t] for t in case.parts}) != (case.head, case.parts):
            wrong[name] = reading.heading, {t: counts[t] for t in case.parts}
    assert not wrong


def test_right_ones_are_accused_of_nothing():
    accused = {}
    for case in some(CASES.values(), len(CASES) // 5):
        netlist, _ = case.anonymous()
        if slips := find_slips(netlist, find_supplies(netlist)):
            accused[case.name] = slips[0].text
    assert not accused


def test_slips_are_told_but_for_a_few():
    every = [(case, edit) for case in CASES.values() for edit in case.slips]
    quiet = []
    for case, edit in some(every, TOLD_AT_ONCE):
        wrong = planted(case.netlist, edit)[0]
        if not find_slips(wrong, find_supplies(wrong)) and edit not in UNTOLD:
            quiet.append((case.name, edit))
    assert not quiet


def test_they_do_what_their_references_say():
    checked = 0
    for case in some(CASES.values(), len(CASES) // 5):
        left_out = SETTLED_BY_SIZE.get(case.name, "")
        netlist = replace(case.netlist, transistors=tuple(t for t in case.netlist.transistors if t.name != left_out))
        if case.function is not None:
            for row in rows(case.inputs, case.name)[:8]:
                wanted = case.function(row)
                seen = table(netlist, (), tuple(wanted), fixed=row).rows[0].outputs if wanted else ()
                assert [str(level) for level in seen] == [str(v) for v in wanted.values()], (case.name, row)
                checked += len(wanted)
        if case.steps is not None:
            steps = case.steps()
            states = sequence(netlist, [ins for ins, _ in steps])
            for at, ((_, wanted), state) in enumerate(zip(steps, states, strict=True)):
                for net, value in wanted.items():
                    level = str(state.level(net))
                    held = str(state.stored(net)) if level == "Z" else level
                    assert held == str(value), (case.name, at, net)
                    checked += 1
        assert case.function or case.steps or case.name in WITHOUT_REFERENCE, case.name
    assert checked > 100


def test_each_source_is_named_and_every_slip_is_one():
    for case in CASES.values():
        assert case.held_out
        assert case.source.endswith("(from memory)"), case.name
        assert len(case.slips) == 3
        for edit in case.slips:
            assert planted(case.netlist, edit)[0] != case.netlist, (case.name, edit)
