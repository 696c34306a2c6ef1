"""Proportions that an old hand expects of a drawing, read back from it."""

from dataclasses import replace
from fractions import Fraction
from statistics import median

import pytest

from layoutdrill.cells.load import load_cell
from layoutdrill.drawing.blocks import block_drawing
from layoutdrill.drawing.shared import Request
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.process import load_process
from layoutdrill.prove import proved
from tests.drawing.gates import cell
from tests.sampling import some, spread

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
        for seed in spread(range(4), 2):
            netlist = proved(cell(name, process), process, 10 * number + seed, difficulty=seed / 4).cell
            n, p = ([t for t in netlist.transistors if t.kind.value == kind] for kind in "np")
            ratios.append(strength(p) / strength(n))
    assert Fraction(17, 10) <= median(ratios) <= Fraction(24, 10)
    assert sum(ratio < 1 for ratio in ratios) <= 1


# Source: lecture notes on static RAM: the driver is wider than the access transistor, that wider than the load.
@pytest.mark.parametrize("process", [*CMOS, load_process("silicon-gate-nmos")], ids=lambda p: p.name)
def test_in_a_ram_cell_driver_beats_access_and_access_beats_load(process):
    """As read back from the drawing; where loads are in depletion they are the weakest too."""
    for seed in spread(range(3), 2):
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


def resistance_of_pull(transistors, loads, net, rail, seen=()):
    """Return the largest sum of L over W of a way from a net to a rail through transistors that are no loads."""
    most = Fraction(0)
    for t in transistors:
        if t in loads or t in seen or net not in t.ends:
            continue
        far = t.drain if t.source == net else t.source
        rest = 0 if far == rail else resistance_of_pull(transistors, loads, far, rail, (*seen, t))
        most = max(most, Fraction(t.length, t.width) + rest) if far == rail or rest else most
    return most


# Source: Mead & Conway 1980 (4 to 1 against a depletion load, from memory); common practice (10 to 1 and more against a
# saturated enhancement load).
@pytest.mark.parametrize(
    ("name", "ratio"),
    [("silicon-gate-nmos", 4), ("silicon-gate-nmos-enhancement", 10),
     ("metal-gate-pmos", 10), ("metal-gate-pmos-vgg", 10)],
)  # fmt: skip
def test_loads_are_as_weak_as_their_kind_must_be_on_the_drawing(name, ratio):
    """Each load's L over W against the longest way that pulls against it, read back from tidy and crowded drawings."""
    process = load_process(name)
    high = process.supplies[1]
    for number, made in enumerate(("inverter", "nand2", "nor2", "aoi21")):
        netlist = merge_fingers(proved(cell(made, process), process, number, difficulty=number / 4).cell)
        on = {high, process.gate_supply, process.supplies[0]}
        loads = [t for t in netlist.transistors if t.mode.value == "depletion" or t.gate in on]
        assert loads, made
        for load in loads:
            own = next(end for end in load.ends if end in process.supplies)
            output = next(end for end in load.ends if end != own)
            other = next(s for s in process.supplies if s != own)
            pull = resistance_of_pull(netlist.transistors, loads, output, other)
            assert pull
            assert Fraction(load.length, load.width) >= ratio * pull, (made, load)


def test_a_level_restorer_is_weak():
    """Its feedback has a quarter of the strength of the inverter that it serves, or less (common practice)."""
    for process in CMOS:
        netlist = merge_fingers(proved(cell("level_restorer", process), process, 3, difficulty=0.4).cell)
        (back,) = [t for t in netlist.transistors if t.gate == "y"]
        (forward,) = [t for t in netlist.transistors if t.gate == "a" and t.kind is back.kind]
        assert 4 * strength([back]) <= strength([forward])


# Source: common practice: main rails are 3 to 10 signal widths wide.
@pytest.mark.parametrize("process", some(CMOS), ids=lambda p: p.name)
def test_main_rails_at_a_blocks_edge_are_three_to_ten_signals_wide(process):
    """The two bars of metal at the borders of a block, against the least width of metal."""
    netlist = load_cell("ram_array_4x4").netlist(process)
    made = next(d for attempt in (0, 1) if (d := block_drawing(Request(netlist, process, 1, attempt=attempt))))
    least = process.drawing.length("metal", "width")
    metal = made.layout.shapes[process.drawing.layers["metal"]]
    longest = max(max(r.width, r.height) for r in metal)
    main = [r for r in metal if 2 * max(r.width, r.height) > longest and min(r.width, r.height) >= 3 * least]
    assert len(main) >= 2
    assert all(min(r.width, r.height) <= 10 * least for r in main)


# Source: common practice: what only holds a net must lose against whoever drives it.
@pytest.mark.parametrize("process", CMOS, ids=lambda p: p.name)
def test_a_feedback_that_only_holds_is_weak(process):
    """A keeper of a line is a quarter as strong as the inverter that it follows, or less; on the drawing."""
    netlist = proved(cell("bus_keeper", process), process, 4, difficulty=0.5).cell
    for kind in "np":
        forward, back = (
            [t for t in netlist.transistors if t.kind.value == kind and ("line" in t.ends) == holds]
            for holds in (False, True)
        )
        assert 4 * sum(Fraction(t.width, t.length) for t in back) <= sum(Fraction(t.width, t.length) for t in forward)


@pytest.mark.parametrize(
    ("name", "length", "width"),
    [("silicon-gate-cmos", 30000, 4500), ("metal-gate-cmos", 60000, 9000), ("metal-gate-sapphire", 60000, 12000)],
)
def test_a_weak_device_is_drawn_as_weak_as_it_is_asked_for(name, length, width):
    """Long and narrow in the netlist, long and narrow on the drawing; its neighbour keeps its size too."""
    process = load_process(name)
    inverter = cell("inverter", process)
    strong, weak = inverter.transistors
    sized = replace(
        inverter, transistors=(replace(strong, length=6000, width=24000), replace(weak, length=length, width=width))
    )
    for seed in range(2):
        drawn = proved(sized, process, seed, difficulty=0.6 * seed).cell
        found = merge_fingers(drawn).transistors
        assert {(t.kind.value, t.length, t.width) for t in found} == {("n", 6000, 24000), ("p", length, width)}


def test_a_device_too_narrow_to_draw_is_refused():
    """Never silently strengthened: the reason names the device and the least width."""
    process = load_process("silicon-gate-cmos")
    inverter = cell("inverter", process)
    n, p = inverter.transistors
    narrow = replace(inverter, transistors=(n, replace(p, length=3000, width=3000)))
    with pytest.raises(LayoutdrillError, match="W of M2, 3000 nm, is too narrow for silicon-gate-cmos; use 4500 nm"):
        proved(narrow, process, 1)
