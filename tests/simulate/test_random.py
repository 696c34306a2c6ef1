"""
Random netlists against brute force: every path through conducting switches is enumerated.

The reference knows no strengths ladder, groups or events: for each net it walks all simple paths from the rails and
inputs, as the definition of conduction says.
"""

import sys
from itertools import count, product
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))

from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.expression import And, Not, Or, Var, evaluate
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.table import table
from tests.sampling import examples

INPUTS = ("a", "b", "c")
INNER = ("x", "y", "z")


@st.composite
def switch_networks(draw):
    """Networks of up to eight switches gated by inputs only, between rails, an input and three inner nets."""
    devices = []
    for i in range(draw(st.integers(1, 8))):
        a, b = draw(st.lists(st.sampled_from((*INNER, "VDD", "VSS", "a")), min_size=2, max_size=2, unique=True))
        devices.append(Transistor(f"M{i}", draw(st.sampled_from(Kind)), draw(st.sampled_from(INPUTS)), a, b))
    return Netlist("random", (*INPUTS, *INNER, "VDD", "VSS"), tuple(devices))


def reached(netlist, values, net):
    """Return the levels of the sources that conducting paths join to a net, sources not passed through."""
    sources = {**values, "VDD": 1, "VSS": 0}
    found = set()

    def walk(here, seen):
        for t in netlist.transistors:
            if here not in t.ends or values[t.gate] != (1 if t.kind is Kind.N else 0):
                continue
            other = t.drain if t.source == here else t.source
            if other in sources:
                found.add(sources[other])
            elif other not in seen:
                walk(other, seen | {other})

    walk(net, {net})
    return found


@settings(max_examples=examples(150), deadline=None)
@given(switch_networks())
def test_levels_are_what_the_paths_say(netlist):
    """A net is 1 or 0 where paths lead to one level only, a fight where to both, floating where to none."""
    circuit = Circuit(netlist, INPUTS, {"VDD": 1, "VSS": 0})
    for bits in product((0, 1), repeat=3):
        values = dict(zip(INPUTS, bits, strict=True))
        state = settle(circuit, values)
        for net in INNER:
            wanted = {frozenset(): "Z", frozenset({0}): "0", frozenset({1}): "1"}.get(
                frozenset(reached(netlist, values, net)), "!"
            )
            assert state.level(net) == wanted, (bits, net)


@settings(max_examples=examples(80), deadline=None)
@given(switch_networks(), st.data())
def test_an_x_input_covers_both_values(netlist, data):
    """A definite level with an input at X is the level for both of its values (the meaning of X)."""
    unknown = data.draw(st.sampled_from(INPUTS))
    others = {net: data.draw(st.sampled_from((0, 1))) for net in INPUTS if net != unknown}
    circuit = Circuit(netlist, INPUTS, {"VDD": 1, "VSS": 0})
    state = settle(circuit, {**others, unknown: "X"})
    both = [settle(circuit, {**others, unknown: v}) for v in (0, 1)]
    for net in INNER:
        if state.level(net).known:
            assert {s.level(net) for s in both} == {state.level(net)}


forms = st.recursive(
    st.sampled_from("abcd").map(Var),
    lambda inner: st.one_of(
        st.lists(inner, min_size=2, max_size=3).map(lambda t: And(tuple(t))),
        st.lists(inner, min_size=2, max_size=3).map(lambda t: Or(tuple(t))),
    ),
    max_leaves=7,
)


def network(kind, form, top, bottom, devices, fresh):
    """Add the series-parallel switches of a form between two nets."""
    if isinstance(form, Var):
        devices.append(Transistor(f"M{len(devices)}", kind, form.name, top, bottom))
    elif isinstance(form, And):
        for i, term in enumerate(form.terms):
            below = bottom if i == len(form.terms) - 1 else f"k{next(fresh)}"
            network(kind, term, top, below, devices, fresh)
            top = below
    else:
        for term in form.terms:
            network(kind, term, top, bottom, devices, fresh)


def dual(form):
    if isinstance(form, Var):
        return form
    return (Or if isinstance(form, And) else And)(tuple(dual(t) for t in form.terms))


def static_gate(form):
    """Return the complementary gate `y = !form`."""
    devices, fresh = [], count()
    network(Kind.N, form, "y", "VSS", devices, fresh)
    network(Kind.P, dual(form), "VDD", "y", devices, fresh)
    return Netlist("gate", ("VSS", "VDD", "a", "b", "c", "d", "y"), tuple(devices))


@settings(max_examples=examples(60), deadline=None)
@given(forms)
def test_static_gates_compute_their_function(form):
    """The table of a complementary gate is its function, evaluated row by row."""
    seen = table(static_gate(form), list("abcd"), ["y"])
    for row in seen.rows:
        assert row.outputs[0] == str(int(evaluate(Not(form), dict(zip("abcd", row.inputs, strict=True)))))
