"""Proportions that an old hand expects of a drawing, read back from it."""

from fractions import Fraction
from statistics import median

import pytest

from layoutdrill.cells.load import load_cell
from layoutdrill.drawing.blocks import block_drawing
from layoutdrill.process import load_process
from layoutdrill.prove import proved
from tests.drawing.gates import cell

CMOS = [
    load_process(name)
    for name in ("metal-gate-cmos", "metal-gate-sapphire", "silicon-gate-cmos", "silicon-gate-cmos-pwell")
]


def strength(transistors):
    """Return the mean of W over L."""
    return sum(Fraction(t.width, t.length) for t in transistors) / len(transistors)


# Source: common practice: holes are about half as fast as electrons, so p channels were made about twice as wide.
@pytest.mark.parametrize("process", CMOS, ids=lambda p: p.name)
def test_p_channels_are_about_twice_as_wide_as_n(process):
    """Over gates of one to eight transistors, tidy and crowded: the middle ratio is near 2, and few are below 1."""
    ratios = []
    for number, name in enumerate(("inverter", "nand2", "nor2", "aoi21", "oai22", "mux2_tg")):
        for seed in range(4):
            netlist = proved(cell(name, process), process, 10 * number + seed, difficulty=seed / 4).cell
            n, p = ([t for t in netlist.transistors if t.kind.value == kind] for kind in "np")
            ratios.append(strength(p) / strength(n))
    assert Fraction(17, 10) <= median(ratios) <= Fraction(24, 10)
    assert sum(ratio < 1 for ratio in ratios) <= 1


# Source: lecture notes on static RAM: the driver is wider than the access transistor, that wider than the load.
@pytest.mark.parametrize("process", [*CMOS, load_process("silicon-gate-nmos")], ids=lambda p: p.name)
def test_in_a_ram_cell_driver_beats_access_and_access_beats_load(process):
    """As read back from the drawing; where loads are in depletion they are the weakest too."""
    for seed in range(3):
        netlist = proved(cell("ram_6t", process), process, seed, difficulty=seed / 4).cell
        drivers = [t for t in netlist.transistors if "VSS" in t.ends]
        loads = [t for t in netlist.transistors if "VDD" in t.ends]
        access = [t for t in netlist.transistors if t not in drivers and t not in loads]
        assert [len(group) for group in (drivers, access, loads)] == [2, 2, 2]
        assert strength(drivers) > strength(access) > strength(loads)


def test_a_keeper_is_weak():
    """What holds a precharged line yields to the two n transistors in series that pull it (common practice)."""
    for process in CMOS:
        netlist = proved(cell("domino_and2_keeper", process), process, 2).cell
        (keeper,) = [t for t in netlist.transistors if t.kind.value == "p" and t.gate == "y"]
        series = [t for t in netlist.transistors if t.kind.value == "n" and t.gate in ("a", "b", "ph")]
        assert strength([keeper]) < strength(series) / len(series)


# Source: common practice: main rails are 3 to 10 signal widths wide.
@pytest.mark.parametrize("process", CMOS, ids=lambda p: p.name)
def test_main_rails_at_a_blocks_edge_are_three_to_ten_signals_wide(process):
    """The two bars of metal at the borders of a block, against the least width of metal."""
    netlist = load_cell("ram_array_4x4").netlist(process)
    made = block_drawing(netlist, process, 1, attempt=0) or block_drawing(netlist, process, 1, attempt=1)
    least = process.drawing.length("metal", "width")
    metal = made.layout.shapes[process.drawing.layers["metal"]]
    longest = max(max(r.width, r.height) for r in metal)
    main = [r for r in metal if 2 * max(r.width, r.height) > longest and min(r.width, r.height) >= 3 * least]
    assert len(main) >= 2
    assert all(min(r.width, r.height) <= 10 * least for r in main)
