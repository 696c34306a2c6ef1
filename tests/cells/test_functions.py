"""What an entry says its cell does is what its transistors do."""

from itertools import product

import networkx as nx
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from layoutdrill.cells import Role, cell_names, load_cell
from layoutdrill.cells.library import read_cell
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Kind
from layoutdrill.process import load_process
from layoutdrill.simulate.expression import And, Not, Or, Var, Xor, evaluate, text
from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.table import table
from layoutdrill.yamldoc import loads
from tests.each import each
from tests.sampling import examples

PROCESS = load_process("metal-gate-sapphire")
WITH_FUNCTION = [name for name in cell_names() if load_cell(name).function and load_cell(name).fits(PROCESS)]


@each("name", WITH_FUNCTION)
def test_the_stated_function_is_the_simulated_one(name):
    """Every row of the truth table; ports that are the complement of another follow it."""
    cell = load_cell(name)
    free = [p.name for p in cell.ports if p.role is not Role.OUTPUT and not p.complement_of]
    outputs = cell.of_role(Role.OUTPUT)
    netlist = cell.netlist(PROCESS)
    functions = {stage.output: stage.value for stage in cell.function}
    for values in product((0, 1), repeat=len(free)):
        given_ = dict(zip(free, values, strict=True))
        given_ |= {p.name: 1 - given_[p.complement_of] for p in cell.ports if p.complement_of}
        row = table(netlist, (), outputs, fixed=given_).rows[0]
        expected = tuple(str(int(evaluate(functions[out], given_))) for out in outputs)
        assert tuple(str(level) for level in row.outputs) == expected, given_


# Source: the function tables of the standard parts, from memory: inputs 00, 01, 10, 11 give NAND 1110, NOR 1000,
# XOR 0110.
@pytest.mark.parametrize(
    ("names", "column"),
    [
        (("nand2",), "1110"),
        (("nor2",), "1000"),
        (("and2",), "0001"),
        (("or2",), "0111"),
        (("xor2_nand", "xor2_aoi", "xor2_nor", "xor2_tg", "xor2_compact"), "0110"),
        (("xnor2_nor", "xnor2_aoi", "xnor2_nand", "xnor2_tg", "xnor2_compact"), "1001"),
    ],
)
def test_two_input_gates_have_the_columns_of_the_standard_parts(names, column):
    """Each variant, simulated."""
    for name in names:
        assert "".join(table(load_cell(name).netlist(PROCESS), ("a", "b"), ("y",)).column("y")) == column, name


# Source: the full adder's definition, 2·co + s = a + b + ci (arithmetic).
@pytest.mark.parametrize("name", ["full_adder", "full_adder_mirror"])
def test_full_adders_add(name):
    """All eight rows."""
    for row in table(load_cell(name).netlist(PROCESS), ("a", "b", "ci"), ("co", "s")).rows:
        assert 2 * int(row.outputs[0]) + int(row.outputs[1]) == sum(row.inputs)


# Source: the 3-to-8 decoder of the data sheet M74HC138: the output of address k is low for that address alone.
def test_decoder_columns_answer_to_their_address_alone():
    """Each of the eight columns is low at its own address, high at the seven others."""
    for k in range(8):
        netlist = load_cell(f"decoder3_{k}").netlist(PROCESS)
        column = "".join(table(netlist, ("a2", "a1", "a0"), ("y",)).column("y"))
        assert column == "".join("0" if address == k else "1" for address in range(8))


# Source: the D latch of the data sheet LS75: enable high, Q follows D; enable low, Q holds.
@pytest.mark.parametrize("name", ["latch_static", "latch_static_clock", "latch_clocked", "latch_gates"])
def test_latches_follow_and_hold(name):
    """Followed at 1, held at 0, whatever d does then."""
    cell = load_cell(name)
    both = any(port.name == "off" for port in cell.ports)

    def at(d, on):
        return {"d": d, "on": on} | ({"off": 1 - on} if both else {})

    steps = [at(1, 1), at(1, 0), at(0, 0), at(0, 1), at(0, 0), at(1, 0)]
    states = sequence(cell.netlist(PROCESS), steps)
    assert [str(state.level("q")) for state in states] == ["1", "1", "1", "0", "0", "0"]


# Source: the definition of a rising-edge flip-flop (common practice): q takes d at the rise and at no other moment.
@pytest.mark.parametrize("name", ["ff_clocked", "ff_switches", "ff_switches_clock", "ff_switches_buffer", "ff_nand"])
def test_flip_flops_take_d_at_the_rise(name):
    """d changes while clk is 1 and while it is 0; q changes only when clk rises."""
    cell = load_cell(name)
    both = any(port.name == "clkn" for port in cell.ports)

    def at(d, clk):
        return {"d": d, "clk": clk} | ({"clkn": 1 - clk} if both else {})

    steps = [at(1, 0), at(1, 1), at(0, 1), at(0, 0), at(0, 1), at(1, 1), at(1, 0), at(1, 1)]
    states = sequence(cell.netlist(PROCESS), steps)
    assert [str(state.stored("q")) for state in states][1:] == ["1", "1", "1", "0", "0", "0", "1"]


# Source: the definition of the SR latch (common practice).
def test_sr_latches_set_reset_and_keep():
    """The NOR form is set by 1, the NAND form by 0."""
    nor = sequence(load_cell("sr_nor").netlist(PROCESS), [{"s": 1, "r": 0}, {"s": 0}, {"r": 1}, {"r": 0}])
    assert [str(state.level("q")) for state in nor] == ["1", "1", "0", "0"]
    nand = sequence(load_cell("sr_nand").netlist(PROCESS), [{"sn": 0, "rn": 1}, {"sn": 1}, {"rn": 0}, {"rn": 1}])
    assert [str(state.level("q")) for state in nand] == ["1", "1", "0", "0"]


# Source: the definition of precharged and domino gates (Weste & Harris, from memory).
@pytest.mark.parametrize("name", ["precharged_nand2", "domino_and2", "domino_and2_keeper"])
def test_precharged_gates_charge_and_evaluate(name):
    """Precharged with inputs low, then evaluated for each pair of inputs: NAND, and AND behind an inverter."""
    netlist = load_cell(name).netlist(PROCESS)
    for a, b in product((0, 1), repeat=2):
        charged, evaluated = sequence(netlist, [{"a": 0, "b": 0, "ph": 0}, {"a": a, "b": b, "ph": 1}])
        inverted = name != "precharged_nand2"
        assert str(charged.stored("y")) == ("0" if inverted else "1")
        assert str(evaluated.stored("y")) == str(int((a and b) == inverted))


def expressions():
    """Random series-parallel functions with complements and exclusive ors, to about eight literals."""
    leaf = st.sampled_from("abcd").map(Var)
    leaf = st.one_of(leaf, leaf.map(Not))

    def more(inner):
        pair = st.lists(inner, min_size=2, max_size=3).map(tuple)
        return st.one_of(pair.map(And), pair.map(Or), st.tuples(inner, inner).map(Xor), inner.map(Not))

    return st.recursive(leaf, more, max_leaves=6)


@settings(max_examples=examples(300), deadline=None)
@given(expressions())
def test_any_function_is_built_as_it_is_written(function):
    """
    A cell of the author's own, from a random function: at every input row exactly one of the two networks conducts,
    and it is the right one. Connectivity by networkx on the closed switches, stage by stage; nothing of our simulator.
    """
    head = "name: own\ntitle: t\nstructure: s\nlook for: l\n"
    ports = "ports: {a: input, b: input, c: input, d: input, y: output}\n"
    entry = f'{head}{ports}function: "y = {text(function)}"\n'
    cell = read_cell(loads(entry, "own.yaml").root, "own")
    try:
        netlist = cell.netlist(PROCESS)
    except LayoutdrillError as refusal:  # exclusive ors within one another double their literals each time
        if "more than 24 literals in one gate" not in str(refusal):
            raise
        reject()
    for values in product((0, 1), repeat=4):
        known = dict(zip("abcd", values, strict=True)) | {"VSS": 0, "VDD": 1}
        while "y" not in known:
            graph = nx.Graph()
            graph.add_nodes_from(("VSS", "VDD", *netlist.nets))
            for t in netlist.transistors:
                if t.gate in known and known[t.gate] == (t.kind is Kind.N):
                    graph.add_edge(*t.ends)
            assert not nx.has_path(graph, "VSS", "VDD")
            gates = {t.gate for t in netlist.transistors} | {"y"}
            found = {}
            for net in gates - set(known):
                if nx.has_path(graph, net, "VSS"):
                    found[net] = 0
                elif nx.has_path(graph, net, "VDD"):
                    found[net] = 1
            assert found, values
            known |= found
        assert known["y"] == evaluate(function, dict(zip("abcd", map(bool, values), strict=True))), values
