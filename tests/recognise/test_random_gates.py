"""Random static gates, drawn up from random series-parallel functions, are recognised with their function."""

import sys
from pathlib import Path

from hypothesis import given, settings

sys.path.insert(0, str(Path(__file__).parents[1] / "simulate"))

from test_random import forms, static_gate

from layoutdrill.recognise.gates import static_term
from layoutdrill.recognise.terms import term
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.expression import Not, equivalent, parse_equation, text, truth, variables
from layoutdrill.simulate.minimal import minimal
from tests.sampling import examples


@settings(max_examples=examples(60), deadline=None)
@given(forms)
def test_a_random_gate_is_one_gate_with_its_function(form):
    """One structure, the function equivalent, the term that of its shortest form (the function is the reference)."""
    found = recognise(static_gate(form))
    assert len(found.structures) == 1
    equation = parse_equation(found.structures[0].function)
    assert equivalent(equation.expression, Not(form))
    names = tuple(sorted(variables(form)))
    shortest = minimal(truth(Not(form), names), names)
    assert term(found.term)
    read_once = all(text(form).count(n) == 1 for n in names)  # a repeat may stand for a simpler gate
    if read_once and static_term(shortest) != "complex gate":
        assert found.term == static_term(shortest)
