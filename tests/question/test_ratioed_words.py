"""In processes of one kind of transistor no verdict speaks of the other, and what levels mean is told."""

import re

import pytest

from layoutdrill.cells import cell_names, load_cell
from layoutdrill.dice import Dice
from layoutdrill.netlist.model import Kind
from layoutdrill.process import load_process, process_names
from layoutdrill.question import kinds
from layoutdrill.question.lookalikes import look_for, would_show
from layoutdrill.question.ratioed_words import drivers, levels_told, only_kind
from layoutdrill.question.targets import is_load
from tests.each import each

ONE_KIND = [name for name in process_names() if only_kind(load_process(name)) is not None]
GATES = ("nand2", "nand3", "nor2", "nor3", "aoi21", "oai21", "aoi22", "oai22", "aoi211", "oai31")


def fitting(process):
    return [load_cell(name) for name in cell_names() if load_cell(name).fits(process)]


@pytest.mark.parametrize("name", ONE_KIND)
def test_no_words_name_what_the_process_lacks(name):
    """What decides, and what tells a wrong name from the right one, never speaks of the missing kind."""
    process = load_process(name)
    missing = re.compile(r"\bp\b" if only_kind(process) is Kind.N else r"\bn\b")
    for cell in fitting(process):
        said = look_for(cell.structure, cell.name, process)
        assert said
        assert not missing.search(said), cell.name
        for other in cell.mistaken_for:
            told = would_show(cell.structure, cell.name, load_cell(other.cell).structure, process)
            assert not missing.search(told), (cell.name, told)


def in_series(netlist, process):
    """Tell from the netlist alone whether some driver pulls the output without an end on a rail of its own."""
    own = [t for t in netlist.transistors if not is_load(t, process, netlist)]
    rail = {end for t in own for end in t.ends} & set(process.supplies)
    assert len(rail) == 1
    on_rail = [t for t in own if rail & set(t.ends)]
    on_output = [t for t in own if "y" in t.ends]
    return len(own), len(on_rail), len(on_output)


# Source: the netlists of the library's cells, built from their functions.
@pytest.mark.parametrize("cell", GATES)
@pytest.mark.parametrize("name", ONE_KIND)
def test_drivers_stand_as_told(name, cell):
    """All in series: one touches the output, one the rail. Side by side: all touch both. Branches: as many as told."""
    process = load_process(name)
    if not load_cell(cell).fits(process):
        pytest.skip(f"{cell} is not built in {name}")
    structure = load_cell(cell).structure
    said = drivers(structure, only_kind(process))
    count, on_rail, on_output = in_series(load_cell(cell).netlist(process), process)
    digits = [int(digit) for digit in re.findall(r"\d", structure)]
    if "branches" in said:
        assert on_output == on_rail == len(digits)
    elif "groups" in said:
        assert {on_output, on_rail} <= set(digits)
        assert on_output + on_rail < count or len(digits) == 2
    elif "in series" in said:
        assert (on_output, on_rail) == (1, 1)
    else:
        assert on_output == on_rail == count == digits[0]


@each("name", [name for name in process_names() if name != "open-130nm"])
def test_what_levels_mean_is_told_for_p_alone(drawn, name):
    """PMOS runs on a negative supply, where NAND and NOR swap with the convention (from memory): so it is stated."""
    process = load_process(name)
    question = kinds()["name"].ask(drawn("nand2", name, 1), Dice(1))
    assert question.facts == levels_told(process)
    assert bool(question.facts) == (only_kind(process) is Kind.P)
    if question.facts:
        assert process.supplies[1] in question.facts[0].split(";")[0]


def test_there_are_processes_of_one_kind():
    """So that none of the tests above is empty."""
    assert ONE_KIND
