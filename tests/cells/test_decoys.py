"""Decoys: circuits that a cell is taken for differ from it by one wire, truly, and still are circuits."""

from functools import cache
from itertools import combinations, product

import pytest

from layoutdrill.cells import Role, load_cell
from layoutdrill.cells.decoys import decoys, same, used_ports
from layoutdrill.cells.library import read_cell
from layoutdrill.dice import Dice
from layoutdrill.process import load_process
from layoutdrill.simulate.expression import evaluate
from layoutdrill.simulate.table import table
from layoutdrill.yamldoc import loads
from tests.cells.processes import NMOS, PMOS, made
from tests.each import each

PROCESS = load_process("metal-gate-sapphire")
COMBINATIONAL = ["nand2", "nor3", "aoi21", "oai22", "and2", "xor2_tg", "xor2_nand", "mux2_tg", "half_adder"]
STORES = ["latch_static", "latch_gates", "ff_switches", "ram_6t", "sr_nor", "shift_dynamic"]


@cache
def decoys_of(name):
    """Return the decoys of a cell, found once for all tests."""
    return decoys(load_cell(name), PROCESS, Dice(1))


@each("name", COMBINATIONAL + STORES)
def test_a_decoy_is_another_circuit_with_the_same_ports(name):
    """Unequal to the cell and to each other decoy; at most one transistor apart, and every port that was used is."""
    cell = load_cell(name)
    own = cell.netlist(PROCESS)
    found = decoys_of(name)
    assert found
    for decoy in found:
        assert not same(own, decoy.netlist)
        assert decoy.netlist.ports == own.ports
        assert used_ports(decoy.netlist) == used_ports(own)
        assert own.count() - decoy.netlist.count() == int(decoy.edit == "transistor missing")
        assert decoy.says
    for first, second in combinations(found, 2):
        assert not same(first.netlist, second.netlist)


@each("name", COMBINATIONAL)
def test_a_decoy_of_a_gate_is_a_gate_and_says_truly_whether_it_differs(name):
    """Every row simulated: outputs driven, not constant, and unlike the stated function where the decoy says so."""
    cell = load_cell(name)
    inputs, outputs = [p.name for p in cell.ports if p.role is not Role.OUTPUT], cell.of_role(Role.OUTPUT)
    functions = {stage.output: stage.value for stage in cell.function}
    wanted = []
    for values in product((0, 1), repeat=len(inputs)):
        given = dict(zip(inputs, values, strict=True))
        wanted.append(tuple(str(int(evaluate(functions[o], given))) for o in outputs))
    for decoy in decoys_of(name):
        seen = [tuple(map(str, row.outputs)) for row in table(decoy.netlist, inputs, outputs).rows]
        assert {level for row in seen for level in row} <= {"0", "1"}
        assert all(len(set(column)) == 2 for column in zip(*seen, strict=True))
        assert decoy.function_differs == (seen != wanted)


# Source: duality of series and parallel networks (any CMOS textbook): the neighbour of each is the other.
@pytest.mark.parametrize(
    ("name", "term"), [("nand2", "NOR2"), ("nor2", "NAND2"), ("aoi21", "NOR3"), ("oai21", "NAND3"), ("aoi22", "AOI211")]
)
def test_series_and_parallel_are_exchanged(name, term):
    """In complementary logic, on both sides at once."""
    found = decoys_of(name)
    assert term in [decoy.term for decoy in found if decoy.edit == "series and parallel"]


# Source: the definition of XOR and XNOR (common practice): exchanging the select of the two switches inverts.
def test_controls_the_other_way_round_make_the_opposite():
    """XOR of transmission gates becomes XNOR."""
    found = decoys_of("xor2_tg")
    assert "XNOR2" in [decoy.term for decoy in found if decoy.edit == "controls exchanged" and decoy.renamed]


def test_a_latch_that_does_not_run_back_is_no_latch():
    """Its feedback broken, recognition calls it something else."""
    found = [d for d in decoys_of("latch_static") if d.edit == "feedback broken"]
    assert found
    assert all(decoy.renamed and "latch" not in decoy.term for decoy in found)


@pytest.mark.parametrize("text", [NMOS, PMOS], ids=["nmos", "pmos"])
@pytest.mark.parametrize(("name", "term"), [("nand2", "NOR2"), ("nor2", "NAND2"), ("latch_pass", None)])
def test_logic_of_one_kind_has_decoys_too(name, term, text, tmp_path):
    """Drivers in series against drivers in parallel, and a loop that is broken."""
    process = made(tmp_path, text)
    cell = load_cell(name)
    found = decoys(cell, process, Dice(1))
    assert found
    assert all(not same(cell.netlist(process), decoy.netlist) for decoy in found)
    if term:
        assert term in [decoy.term for decoy in found]


def test_a_crosspoint_moved_is_a_decoy_of_a_decoder():
    """A line that answers to another address, or to two: the truth table says so."""
    cell = load_cell("decoder2_nor_own")
    found = decoys(cell, PROCESS, Dice(1))
    assert found
    assert all(decoy.function_differs for decoy in found)


def test_the_same_seed_gives_the_same_decoys():
    """And another seed, another choice among many."""
    cell = load_cell("xor2_nand")
    first, again, other = (decoys(cell, PROCESS, Dice(seed), most=4) for seed in (5, 5, 6))
    assert first == again
    assert first != other
    assert len(first) == 4


def test_an_author_s_cell_has_decoys():
    """A cell from a deck, by its function."""
    entry = "name: own\ntitle: t\nstructure: OAI21\nlook for: l\nports: {a: input, b: input, c: input, y: output}\n"
    cell = read_cell(loads(entry + "function: y = !((a+b)*c)\n", "own.yaml").root, "own")
    assert {"NAND3"} <= {decoy.term for decoy in decoys(cell, PROCESS, Dice(1))}


def test_what_has_no_neighbour_by_one_wire_has_no_decoy():
    """An inverter: any wire moved leaves it no circuit."""
    assert decoys(load_cell("inverter"), PROCESS, Dice(1)) == ()
