"""
Gate arrays: base cells used and unused, transistors tied off, rows with channels between them.

Source of what they look like: common practice (uncommitted logic arrays of about 1978 on): base cells all alike, wiring
channels between the rows, the last metal alone made to order.
"""

from functools import cache
from itertools import pairwise, product

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.arrays.bases import base, gate_array
from layoutdrill.cells.compact import HIGH, LOW
from layoutdrill.cells.model import Port, Role
from layoutdrill.drawing.bases.channel import channel_of
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.compare import compare
from layoutdrill.process import load_process
from layoutdrill.prove import proved
from layoutdrill.reading.slips import find_slips
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.supplies import find_supplies
from layoutdrill.simulate.table import table
from tests.each import each
from tests.sampling import covering

NAMES = ("gate_array_row", "gate_array_lamp", "gate_array_beacon")
PROCESSES = (
    "silicon-gate-cmos",
    "metal-gate-cmos",
    "silicon-gate-cmos-pwell",
    "silicon-gate-cmos-2m",
    "metal-gate-sapphire",
)
FITTING = [(name, p) for name in NAMES for p in PROCESSES]
LAMP = {
    "lamp": lambda dark, run, flash, test, fault: (dark and run and flash) or test,
    "horn": lambda dark, run, flash, test, fault: fault or test,
}


@cache
def array(name, process_name, seed=1, difficulty=0.3):
    cell, process = load_cell(name), load_process(process_name)
    return proved(cell.netlist(process), process, seed, difficulty=difficulty, tiling=cell.tiling(process))


@each(("name", "process"), covering(FITTING, 2), ids=str)
def test_gate_arrays_are_proved_from_tidy_to_crowded_and_read_as_what_they_are(name, process):
    """The whole array is read back, those tied off too; it is named, and no slip is told of it."""
    made = load_process(process)
    for seed, difficulty in ((1, 0.0), (2, 1.0))[: 2 if name == "gate_array_row" else 1]:
        found = array(name, process, seed, difficulty)
        assert found.extraction.findings == ()
        assert compare(load_cell(name).netlist(made), found.cell, bodies=True).equal
    reading = recognise(found.cell)
    assert "gate-array gates" in reading.names
    assert find_slips(found.cell, find_supplies(found.cell)) == ()


def test_the_array_does_what_it_says():
    """The table of the netlist read back, against the equations written here once more."""
    found = array("gate_array_lamp", "silicon-gate-cmos")
    names = ("dark", "run", "flash", "test", "fault")
    rows = {row.inputs: row.outputs for row in table(found.cell, names, tuple(LAMP)).rows}
    for values in product((0, 1), repeat=5):
        assert [str(level) for level in rows[values]] == [str(int(bool(rule(*values)))) for rule in LAMP.values()]


def test_all_bases_are_alike():
    """Channels of a kind have one size, gates stand at whole numbers of one pitch, in every row."""
    found = array("gate_array_beacon", "silicon-gate-cmos")
    kinds = {(t.kind, t.length, t.width) for t in found.cell.transistors}
    assert len(kinds) == 2
    channels = [found.extraction.channel(t.name)[0] for t in found.cell.transistors]
    level = channels[0].width > channels[0].height  # turned by a quarter, gates lie level
    places = sorted({r.y0 if level else r.x0 for r in channels})
    steps = {b - a for a, b in pairwise(places)}
    least = min(steps)
    assert all(step % least == 0 for step in steps)
    assert len(found.cell.transistors) == 3 * 5 * 2 * 2


def test_unused_pairs_are_tied_off():
    """A free base of three pairs has six transistors whose gates lie on the rails that keep them off."""
    pairs = base("an array", "free", 3, "0_0")
    assert len(pairs) == 3
    assert {(n.gate, p.gate) for n, p in pairs} == {(LOW, HIGH)}
    netlist = load_cell("gate_array_lamp").netlist(load_process("silicon-gate-cmos"))
    off = [t for t in netlist.transistors if t.gate == ("VSS" if t.kind.value == "n" else "VDD")]
    assert len(netlist.transistors) == 36
    assert len(off) == 2 * (3 + 1 + 2 + 3)  # two free bases, one pair behind the NOR, two behind an inverter


def test_gates_in_one_base_share_an_end_or_are_kept_apart():
    """An inverter and a NAND2 meet at both rails; two inverters of unlike nets beside each other do so too."""
    pairs = base("an array", "inverter a=a y=y, inverter a=b y=z", 2, "0_0")
    (n, p), (m, q) = pairs
    assert n.ends[1] == m.ends[0] == LOW
    assert p.ends[1] == q.ends[0] == HIGH
    apart = base("an array", "transmission_gate a=a b=b on=c off=d, transmission_gate a=e b=f on=c off=d", 3, "0_0")
    assert (apart[1][0].gate, apart[1][1].gate) == (LOW, HIGH)


def test_what_no_base_can_hold_is_refused():
    """The reason names the base and says what to do."""
    ports = tuple(Port(net, Role.INPUT) for net in "abc")
    with pytest.raises(LayoutdrillError, match="a base of 2 pairs in x cannot hold"):
        gate_array("x", "x", (*ports, Port("y", Role.OUTPUT)), ("y = !(a*b*c)",), ("nand3 a=a b=b c=c y=y",), 2)


def test_tracks_of_a_channel_never_meet():
    """Wires from below end under those from above in their column; what waits in a circle is refused."""
    channel = channel_of([("a", 0), ("b", 40)], [("b", 0), ("a", 80)], {}, 14)
    assert channel.tracks["a"] < channel.tracks["b"]
    assert channel_of([("a", 0), ("b", 40)], [("b", 0), ("a", 40)], {}, 14) is None
    side_by_side = channel_of([("a", 0), ("a", 20), ("b", 60), ("b", 90)], [], {}, 14)
    assert side_by_side.count == 1


def test_rows_in_guard_rings_are_joined_beside_them():
    """Each row has a well of its own with its n transistors, and all names stand outside every well."""
    found = array("gate_array_lamp", "metal-gate-cmos")
    wells = found.layout.shapes["pwell"]
    assert len(wells) == 2
    n = [found.extraction.channel(t.name)[0] for t in found.cell.transistors if t.kind.value == "n"]
    assert all(any(well.covers(r) for well in wells) for r in n)
    ports = [label for label in found.layout.labels if label.text in ("dark", "run", "flash", "lamp", "horn")]
    assert len(ports) == 5
    assert not any(well.contains(label.x, label.y) for well in wells for label in ports)


@pytest.mark.parametrize("process", ["silicon-gate-cmos", "metal-gate-sapphire"])
def test_channels_lie_between_the_rows(process):
    """Between two rows of channels lies room for tracks, wider than a row's own devices stand apart."""
    found = array("gate_array_lamp", process)
    by_kind = {"n": [], "p": []}
    for t in found.cell.transistors:
        by_kind[t.kind.value].append(found.extraction.channel(t.name)[0])
    level = len({r.y0 for r in by_kind["n"]}) > len({r.x0 for r in by_kind["n"]})
    rows = sorted({r.x0 if level else r.y0 for r in (*by_kind["n"], *by_kind["p"])})
    assert len(rows) == 4
    inner, channel = max(rows[1] - rows[0], rows[3] - rows[2]), rows[2] - rows[1]
    assert channel > inner


# Source: common practice: main rails are 3 to 10 signal widths wide.
def test_the_main_rails_of_an_array_are_three_to_ten_signals_wide():
    """The two bars of metal along which its rows hang, against the least width of metal."""
    process = load_process("silicon-gate-cmos")
    found = array("gate_array_beacon", "silicon-gate-cmos")
    least = process.drawing.length("metal", "width")
    wide = [min(r.width, r.height) for r in found.layout.shapes["metal"] if min(r.width, r.height) >= 3 * least]
    assert len(wide) == 2
    assert max(wide) <= 10 * least
