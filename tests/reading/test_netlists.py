"""The own netlists do what their independent references in plain Python say, and each slip changes the netlist."""

from itertools import product
from random import Random

from layoutdrill.netlist.compare import Merge, alike
from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.table import table
from tests.each import each
from tests.reading.netlists import all_cases
from tests.reading.netlists.runs import RUNS
from tests.reading.netlists.starts import STARTS
from tests.sampling import WHOLE, spread

MOST_ROWS = 48 if WHOLE else 24
CASES = {case.name: case for case in all_cases()}


def rows(inputs, seed):
    """Return rows of inputs: all of few, a sample of many."""
    if 1 << len(inputs) <= MOST_ROWS:
        return [dict(zip(inputs, row, strict=True)) for row in product((0, 1), repeat=len(inputs))]
    rng = Random(seed)
    return [{net: rng.randint(0, 1) for net in inputs} for _ in range(MOST_ROWS)]


def test_there_are_enough_of_each_kind():
    """At least sixty netlists, a third of them published, three slips each, and every name once."""
    cases = all_cases()
    assert len(cases) >= 60
    assert len(CASES) == len(cases)
    assert 3 * sum(case.held_out for case in cases) >= len(cases)
    assert all(case.source != "own" for case in cases if case.held_out)
    assert all(len(case.slips) >= 3 for case in cases)


@each("name", [n for n, c in CASES.items() if c.function])
def test_combinational_netlists_do_what_is_said(name):
    """The simulator, on the transistors, agrees with the reference."""
    case = CASES[name]
    for row in rows(case.inputs, name):
        wanted = case.function(row)
        seen = table(case.netlist, (), tuple(wanted), fixed=row)
        assert wanted
        assert [str(level) for level in seen.rows[0].outputs] == [str(v) for v in wanted.values()], row


@each("name", [n for n, c in CASES.items() if c.steps])
def test_sequential_netlists_do_what_is_said(name):
    """The simulator, step by step, agrees with the reference."""
    case = CASES[name]
    steps = case.steps()
    states = sequence(case.netlist, [ins for ins, _ in steps])
    checked = 0
    for at, ((_, wanted), state) in enumerate(zip(steps, states, strict=True)):
        seen = {net: str(state.level(net)) for net in wanted}
        assert seen == {net: str(v) for net, v in wanted.items()}, at
        checked += len(wanted)
    assert checked > 1


def test_each_has_a_reference():
    """A function, steps, or a run from a state that is given: no netlist is without, and none has two."""
    given = [name for name, case in CASES.items() if case.function or case.steps]
    assert sorted([*given, *RUNS, *STARTS]) == sorted(CASES)


@each("name", [*RUNS, *STARTS])
def test_phases_charge_and_lines_do_what_is_said(name):
    """Step by step; a net that floats keeps what it has, where no Z is wanted."""
    steps = (RUNS.get(name) or STARTS[name])()
    states = sequence(CASES[name].netlist, [ins for ins, _ in steps])
    checked = 0
    for at, ((_, wanted), state) in enumerate(zip(steps, states, strict=True)):
        for net, value in wanted.items():
            level = str(state.level(net))
            held = str(state.stored(net)) if level == "Z" and value != "Z" else level
            assert held == str(value), (at, net)
            checked += 1
    assert checked > 1


@each("name", CASES)
def test_slips_change_the_circuit(name):
    """
    No slip planted leaves the circuit as it was; a device written twice is one device in two pieces.

    So that slip alone shows only as drawn, and not where pieces are merged, as comparison does unless asked.
    """
    case = CASES[name]
    for number in spread(range(len(case.slips)), 1):
        kind = case.slips[number][0]
        wrong, touched, _ = case.with_slip(number)
        assert touched
        assert not alike(case.netlist, wrong, merge=Merge.NONE), case.slips[number]
        assert alike(case.netlist, wrong) is (kind == "twice"), case.slips[number]
