"""Cells in logic of one kind of transistor: counts, loads, and what they do."""

from fractions import Fraction
from itertools import product

import networkx as nx
import pytest

from layoutdrill.cells import Role, Style, cell_names, load_cell, style_of
from layoutdrill.netlist.model import Kind, Mode
from layoutdrill.process import load_process
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.expression import evaluate
from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.table import table
from tests.cells.processes import NMOS, PMOS, made
from tests.each import each


@pytest.fixture(scope="session")
def nmos(tmp_path_factory):
    return made(tmp_path_factory.mktemp("nmos"), NMOS)


@pytest.fixture(scope="session")
def pmos(tmp_path_factory):
    return made(tmp_path_factory.mktemp("pmos"), PMOS)


@pytest.fixture(params=[NMOS, PMOS], ids=["nmos", "pmos"], scope="session")
def process(request, tmp_path_factory):
    return made(tmp_path_factory.mktemp("one"), request.param)


def is_load(t, process):
    """A depletion transistor, or in PMOS one whose gate is on the negative rail."""
    return t.mode is Mode.DEPLETION or (t.kind is Kind.P and t.gate == process.supplies[0])


def test_the_style_follows_from_the_transistors(nmos, pmos):
    """Depletion transistors make depletion loads; p transistors alone make enhancement loads."""
    assert (style_of(nmos), style_of(pmos)) == (Style.DEPLETION_LOAD, Style.ENHANCEMENT_LOAD)


# Source: a ratioed gate of k literals has k + 1 transistors, one of them the load (Mead & Conway 1980, from memory).
GATES = [("inverter", 1), *((f"{gate}{n}", n) for gate in ("nand", "nor") for n in (2, 3, 4)),
         ("aoi21", 3), ("oai21", 3), ("aoi22", 4), ("oai22", 4),
         ("aoi211", 4), ("oai211", 4), ("aoi222", 6), ("oai222", 6)]  # fmt: skip


@each(("name", "literals"), GATES)
def test_a_gate_has_a_driver_for_each_literal_and_one_load(name, literals, process):
    """In NMOS and in PMOS."""
    netlist = load_cell(name).netlist(process)
    assert netlist.count() == literals + 1
    assert sum(is_load(t, process) for t in netlist.transistors) == 1


# Source: Mead & Conway 1980, from memory: super buffer 4, two-phase shift-register bit 6, static latch 6; a RAM cell
# has six in every technology (encyclopedia article on static RAM); a footed dynamic gate n + 2 (Weste & Harris, from
# memory).
@pytest.mark.parametrize(
    ("name", "count"),
    [("super_buffer", 4), ("super_buffer_true", 4), ("shift_two_phase", 6), ("latch_pass", 6), ("ram_6t", 6),
     ("precharged_nor2", 4), ("full_adder", (5 + 1) + (7 + 1) + 2 + 2)],
)  # fmt: skip
def test_nmos_cells_have_the_textbook_s_counts(name, count, nmos):
    """The adder is the gate of its carry (five literals), that of its sum (seven) and two inverters."""
    assert load_cell(name).netlist(nmos).count() == count


WITH_FUNCTION = [
    (name, text)
    for name in cell_names()
    for style, text in ((Style.DEPLETION_LOAD, NMOS), (Style.ENHANCEMENT_LOAD, PMOS))
    if load_cell(name).function and (load_cell(name).stages or style in load_cell(name).netlists)
]


IDS = [f"{name}-{'n' if text is NMOS else 'p'}" for name, text in WITH_FUNCTION]


@pytest.mark.parametrize(("name", "text"), WITH_FUNCTION, ids=IDS)
def test_the_stated_function_is_the_simulated_one(name, text, tmp_path):
    """Every row of the truth table, levels by voltage."""
    cell = load_cell(name)
    process = made(tmp_path, text)
    netlist = cell.netlist(process)
    free = [p.name for p in cell.ports if p.role is not Role.OUTPUT and not p.complement_of]
    outputs = cell.of_role(Role.OUTPUT)
    functions = {stage.output: stage.value for stage in cell.function}
    for values in product((0, 1), repeat=len(free)):
        given = dict(zip(free, values, strict=True))
        given |= {p.name: 1 - given[p.complement_of] for p in cell.ports if p.complement_of}
        row = table(netlist, (), outputs, fixed=given).rows[0]
        assert tuple(map(str, row.outputs)) == tuple(str(int(evaluate(functions[o], given))) for o in outputs), given


# Source: Mead & Conway 1980, from memory: Z of the load is 4 times that of the pull against it, summed over a series;
# 8 times where an input comes through a pass transistor. The longest path is found by networkx.
@each(
    ("name", "ratio"),
    [(name, 4) for name, _ in GATES]
    + [("latch_gates", 4), ("sr_nor", 4), ("shift_two_phase", 8), ("latch_dynamic_pass", 8)],
)  # fmt: skip
def test_loads_have_the_ratio_of_the_textbook(name, ratio, nmos):
    """Every load against its own longest path to the low rail."""
    netlist = load_cell(name).netlist(nmos)
    loads = [t for t in netlist.transistors if t.mode is Mode.DEPLETION]
    outputs = {next(end for end in t.ends if end != "VDD") for t in loads}
    graph = nx.MultiGraph()
    for t in netlist.transistors:
        if t.mode is Mode.ENHANCEMENT:
            graph.add_edge(*t.ends, z=Fraction(t.length, t.width))
    for load in loads:
        (output,) = set(load.ends) - {"VDD"}
        inner = graph.subgraph(
            [n for n in graph if n in (output, "VSS") or (n not in outputs and n not in netlist.ports)]
        )
        paths = nx.all_simple_edge_paths(inner, output, "VSS")
        longest = max(sum(inner.edges[edge]["z"] for edge in path) for path in paths)
        assert Fraction(load.length, load.width) == ratio * longest


def test_sizes_are_whole_nanometres_of_the_process(nmos):
    """λ is 2500 nm here: an inverter of 2 by 4 λ with a load of 4 by 2 λ, the 4:1 ratio."""
    assert load_cell("inverter").netlist(nmos).text() == (
        "netlist inverter\nports VSS VDD a y\n"
        "nmos M1 gate=a ends=VSS,y L=5000 W=10000\n"
        "nmosd M2 gate=y ends=VDD,y L=10000 W=5000\n"
    )


def test_pmos_rails_and_loads(pmos):
    """VSS is the positive rail that drivers pull to; the load has gate and one end on the negative VDD."""
    assert load_cell("nor2").netlist(pmos).text() == (
        "netlist nor2\nports VDD VSS a b y\n"
        "pmos M1 gate=a ends=VSS,x1 L=12000 W=36000\n"
        "pmos M2 gate=b ends=x1,y L=12000 W=36000\n"
        "pmos M3 gate=VDD ends=VDD,y L=84000 W=12000\n"
    )


# Source: common practice: a saturated enhancement load has ten times the L/W of the path against it, or more.
@pytest.mark.parametrize("name", ["metal-gate-pmos", "silicon-gate-nmos-enhancement"])
def test_enhancement_loads_are_ten_times_the_path_or_more(name):
    """An inverter, two in series and two in parallel: the load against its longest path, drivers wider than loads."""
    process = load_process(name)
    low, high = process.supplies
    for cell, series in (("inverter", 1), ("nand2", 2), ("nor2", 1)):
        found = load_cell(cell).netlist(process)
        (load,) = [t for t in found.transistors if t.gate in process.supplies]
        drivers = [t for t in found.transistors if t is not load]
        count = series if name.startswith("silicon") else {"nand2": 1, "nor2": 2}.get(cell, 1)
        path = count * Fraction(drivers[0].length, drivers[0].width)
        assert load.gate == (high if name.startswith("silicon") else low)
        assert Fraction(load.length, load.width) >= 10 * path
        assert min(t.width for t in drivers) > load.width


# Source: common practice: read with negative logic, the NAND of a circuit is the NOR, and the other way round.
@pytest.mark.parametrize(("name", "other"), [("nand2", "nor2"), ("nand3", "nor3"), ("aoi21", "oai21")])
def test_negative_logic_exchanges_nand_and_nor(name, other, pmos):
    """Complement inputs and output of the PMOS table of one: the table of the other."""
    inputs = load_cell(name).of_role(Role.INPUT)
    first = table(load_cell(name).netlist(pmos), inputs, ("y",)).mask("y")
    second = table(load_cell(other).netlist(pmos), inputs, ("y",)).mask("y")
    rows = 1 << len(inputs)
    negative = sum((~first >> (rows - 1 - r) & 1) << r for r in range(rows))
    assert negative == second


def run(cell, process, steps, port, *, stored=True):
    """Return a port's level after each step; complements of ports follow."""
    full = []
    for step in steps:
        full.append(dict(step))
        full[-1] |= {p.name: 1 - step[p.complement_of] for p in cell.ports if p.complement_of in step}
    states = sequence(cell.netlist(process), full)
    return "".join(str(state.stored(port) if stored else state.level(port)) for state in states)


# Source: the D latch of the data sheet LS75: enable high, Q follows D; enable low, Q holds.
@pytest.mark.parametrize("name", ["latch_pass", "latch_pass_clock", "latch_gates"])
def test_latches_follow_and_hold(name, process):
    """Followed at 1, held at 0, whatever d does then; in PMOS with p switches."""
    steps = [{"d": d, "on": on} for d, on in [(1, 1), (1, 0), (0, 0), (0, 1), (0, 0), (1, 0)]]
    assert run(load_cell(name), process, steps, "q") == "111000"


# Source: the definition of a rising-edge flip-flop (common practice).
def test_flip_flops_take_d_at_the_rise(process):
    """q changes only when clk rises."""
    steps = [{"d": d, "clk": c} for d, c in [(1, 0), (1, 1), (0, 1), (0, 0), (0, 1), (1, 1), (1, 0), (1, 1)]]
    assert run(load_cell("ff_pass"), process, steps, "q")[1:] == "1110001"


# Source: the two-phase shift-register bit of Mead & Conway 1980, from memory: in on one phase, out on the other.
@pytest.mark.parametrize(("name", "on"), [("shift_two_phase", 1), ("shift_two_phase_p", 0)])
def test_a_shift_register_bit_passes_its_bit_on_in_two_phases(name, on, nmos, pmos):
    """With n switches the phases are at 1, with p switches at 0."""
    process = nmos if on else pmos
    phases = [(1, on, 1 - on), (0, 1 - on, 1 - on), (0, 1 - on, on), (0, on, 1 - on), (1, 1 - on, on)]
    steps = [{"d": d, "ph1": p1, "ph2": p2} for d, p1, p2 in phases]
    assert run(load_cell(name), process, steps, "q")[2:] == "110"


def test_the_static_shift_bit_holds(nmos):
    """Shifted in by ph1 and ph2, then held by hold and ph2 together, whatever d does."""
    idle = {"ph1": 0, "ph2": 0, "hold": 0}
    steps = [
        idle | {"d": 1, "ph1": 1},
        idle | {"d": 0, "ph2": 1},
        idle | {"d": 0, "ph2": 1, "hold": 1},
        idle | {"d": 0},
    ]
    assert run(load_cell("shift_static"), nmos, steps, "q")[1:] == "111"
    kept = sequence(load_cell("shift_static").netlist(nmos), steps)[2]
    assert str(kept.level("q")) == "1"  # by the loop, not by charge


# Source: the definition of a static RAM cell (encyclopedia article): the word line opens it to read and to write.
@pytest.mark.parametrize(("name", "on"), [("ram_6t", 1), ("ram_6t_p", 0)])
def test_ram_cells_are_written_keep_and_are_read(name, on, nmos, pmos):
    """Each value, written through the bit lines, kept with the word line shut, and read with both lines let go."""
    process = nmos if on else pmos
    for value in (0, 1):
        steps = [
            {"word": on, "bit": value, "bitn": 1 - value},
            {"word": 1 - on, "bit": 1 - value, "bitn": value},
            {"word": 1 - on, "bit": None, "bitn": None},
            {"word": on},
        ]
        last = sequence(load_cell(name).netlist(process), steps)[-1]
        assert (str(last.level("bit")), str(last.level("bitn"))) == (str(value), str(1 - value))


# Source: precharge and evaluate phases of a dynamic gate (Weste & Harris, from memory).
def test_the_precharged_nor_charges_and_evaluates(nmos):
    """NOR of its inputs while ev is 1."""
    netlist = load_cell("precharged_nor2").netlist(nmos)
    for a, b in product((0, 1), repeat=2):
        charged, evaluated = sequence(netlist, [{"a": a, "b": b, "pc": 1, "ev": 0}, {"pc": 0, "ev": 1}])
        assert str(charged.stored("y")) == "1"
        assert str(evaluated.stored("y")) == str(int(not (a or b)))


# Source: common practice; no figure is published that would fit every process.
@pytest.mark.parametrize("name", ["output_driver", "output_driver_tristate"])
def test_output_drivers_are_wide(name):
    """The last pair is many times as wide as long, in fingers."""
    process = load_process("silicon-gate-cmos")
    netlist = load_cell(name).netlist(process)
    last = [t for t in netlist.transistors if "y" in t.ends]
    assert {t.kind for t in last} == {Kind.N, Kind.P}
    assert all(t.fingers == 8 and t.width >= 8 * 4 * t.length for t in last)


# Source: the definition of a three-state output (common practice).
def test_a_tri_state_driver_drives_or_floats():
    """Off, both wide transistors are off; on, the output follows."""
    netlist = load_cell("output_driver_tristate").netlist(load_process("silicon-gate-cmos"))
    assert "".join(map(str, table(netlist, ("on", "a"), ("y",)).column("y"))) == "ZZ01"


def test_protection_never_turns_on(process):
    """The clamp's gate is on the rail that keeps it shut."""
    netlist = load_cell("input_protection").netlist(process)
    clamps = [t for t in netlist.transistors if t.gate in t.ends and not is_load(t, process)]
    assert len(clamps) == 1
    assert clamps[0].gate == "VSS"  # the low rail shuts an n transistor; in PMOS, VSS is the high one, which shuts a p
    assert recognise(netlist).leftover == ()


THIRD = load_process("metal-gate-pmos-vgg")


@pytest.mark.parametrize("name", ["inverter", "nor3", "aoi22", "latch_pass"])
def test_a_third_supply_gates_every_load_and_nothing_else(name):
    """
    VGG lies beyond VDD so that a load is never cut off by its own output: it is on gates, of loads alone, and ends on
    no diffusion (common practice of metal-gate PMOS).
    """
    netlist = load_cell(name).netlist(THIRD)
    plain = load_cell(name).netlist(load_process("metal-gate-pmos"))
    low = THIRD.supplies[0]
    assert netlist.ports[:3] == (*THIRD.supplies, "VGG")
    assert {t.gate for t in netlist.transistors if low in t.ends} == {"VGG"}
    assert all(low in t.ends for t in netlist.transistors if t.gate == "VGG")
    assert not any("VGG" in t.ends for t in netlist.transistors)
    assert [(t.ends, t.length, t.width) for t in netlist.transistors] == [
        (t.ends, t.length, t.width) for t in plain.transistors
    ]
    found = recognise(netlist)
    assert found.names == recognise(plain).names
    assert found.supplies.low == {low, "VGG"}


def test_a_clamp_keeps_its_own_supply():
    """What is tied so as never to turn on is no load, and does not move to the supply for gates."""
    netlist = load_cell("input_protection").netlist(THIRD)
    (clamp,) = [t for t in netlist.transistors if "pad" in t.ends]
    assert clamp.gate == THIRD.supplies[1]
    assert "input protection" in recognise(netlist).names


def test_no_array_is_drawn_with_a_third_supply():
    assert not load_cell("decoder2_nor").fits(THIRD)
