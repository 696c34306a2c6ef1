"""Gates of random functions are drawn and proved."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.dice import Dice
from layoutdrill.process import load_process
from layoutdrill.prove import proved
from tests.drawing.gates import gate
from tests.sampling import examples


def function(seed, literals):
    """Return a random series-parallel function of so many literals, each a different input."""
    dice = Dice(seed)
    terms = [(chr(ord("a") + i), "") for i in range(literals)]
    while len(terms) > 1:
        terms = dice.shuffled(terms)
        count = dice.between(2, min(3, len(terms)))
        operator = dice.pick("*+")
        joined = f" {operator} ".join(t if op in ("", operator) else f"({t})" for t, op in terms[:count])
        terms = [*terms[count:], (joined, operator)]
    return terms[0][0]


@pytest.mark.parametrize("name", ["silicon-gate-cmos", "metal-gate-sapphire"])
@settings(max_examples=examples(25), deadline=None)
@given(seed=st.integers(0, 2**32), literals=st.integers(1, 8), hard=st.integers(0, 4))
def test_any_series_parallel_function_is_drawn(name, seed, literals, hard):
    """Up to eight literals, any nesting of and and or: proved at the first seed, whatever it is."""
    process = load_process(name)
    netlist = gate(f"!({function(seed, literals)})", process)
    assert len(netlist.transistors) == 2 * literals
    found = proved(netlist, process, seed, difficulty=hard / 4)
    assert found.attempts <= 3
