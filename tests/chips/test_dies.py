"""The chips of the scenario, whole: numbers before drawing, drawings, what they do, their files in other hands."""

from collections import Counter
from dataclasses import replace

import pytest

from layoutdrill.cells.chips import chip_names, load_chip
from layoutdrill.cells.chips.read import read_chip
from layoutdrill.cells.entry import Style
from layoutdrill.errors import LayoutdrillError
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.process import load_process, process_names
from layoutdrill.recognise.outline import outline
from layoutdrill.recognise.whole import recognise
from layoutdrill.yamldoc.document import loads
from tests.chips.models import MODELS, PROCESSES
from tests.chips.plain_extraction import read, shape
from tests.chips.running import compared
from tests.sampling import some

PARTS = {
    "message_buffer": ["4 × 4 FIFO", "4-bit register", "2-to-4 decoder"],
    "lamp_flash_timer": ["4-bit synchronous counter", "3-bit ripple counter", "4-bit register", "PLA"],
    "key_scanner": ["2-bit synchronous counter", "5-bit register", "PLA", "3-bit shift register", "2-to-4 decoder"],
}
"""What each is to be seen as, by its netlist alone."""


@pytest.fixture(params=MODELS)
def name(request):
    return request.param


@pytest.fixture
def die(chip_of, name):
    return chip_of(name, PROCESSES[name])


def test_every_chip_has_its_program():
    """Each chip that there is has a plain program, and they are drawn in all three kinds of technology."""
    assert set(chip_names()) == set(MODELS) == set(PROCESSES)
    assert len(set(PROCESSES.values())) == 3


def test_as_many_transistors_as_stated(name):
    """A chip has the number of transistors that its file states, at least 300, and no two of one name."""
    chip = load_chip(name)
    for process in map(load_process, PROCESSES.values()):
        netlist = chip.netlist(process)
        assert len({t.name for t in netlist.transistors}) == chip.transistors[Style.COMPLEMENTARY] >= 300


def test_it_is_drawn_with_one_metal(name):
    """A chip fits the processes of both kinds of transistor that have one metal, and no others."""
    fitting = {process for process in process_names() if load_chip(name).fits(load_process(process))}
    assert fitting == {*PROCESSES.values(), "silicon-gate-cmos-pwell"}


def test_another_number_is_refused():
    """A chip that has not as many as stated is an error that says both numbers."""
    chip = replace(load_chip("message_buffer"), transistors={Style.COMPLEMENTARY: 479})
    with pytest.raises(LayoutdrillError, match="480 transistors, 479 are stated"):
        chip.netlist(load_process(PROCESSES["message_buffer"]))


def test_a_port_that_a_gate_has_not_is_refused():
    """A net joined to a port that there is not would hang on nothing: the file's line and the ports are told."""
    root = loads(KEYS.replace("nand2 a=k b=k", "nand2 d=k b=k"), "chip.yaml").root
    with pytest.raises(LayoutdrillError, match="nand2 has no port d; ports: a, b, y"):
        read_chip(root)
    assert read_chip(loads(KEYS, "chip.yaml").root).parts[0].name == "gate"


KEYS = """
name: two_pads
title: a gate and two pads
about: nothing
transistors: {complementary: 12}
pads: {left: {a side: [K]}, top: {supply: [VDD]}, right: {a side: [Q]}, bottom: {supply: [VSS]}}
parts:
  - name: gate
    title: a gate
    gates: |
      nand2 a=k b=k y=q
inputs: {title: in, at: {K: k}, gates: "inverter a=pad y=y"}
outputs: {title: out, at: {Q: q}, gates: "inverter a=a y=pad"}
"""


def test_the_drawn_die_has_what_was_planned(die, name):
    """What is extracted from the drawing has the transistors stated (fingers as one), and a pad to each pin."""
    chip, netlist = load_chip(name), die.cell
    groups = {(t.kind, t.gate, t.ends) for t in netlist.transistors}
    assert len(groups) == chip.transistors[Style.COMPLEMENTARY]
    opened = die.layout.shapes["glass"]
    assert len(opened) == len(chip.pads)
    for label in die.layout.labels:
        assert sum(r.contains(label.x, label.y) for r in opened) == 1, label.text
    assert {label.text for label in die.layout.labels} == {pad.name for pad in chip.pads}


def test_the_drawn_die_does_what_it_is_meant_to(die, name):
    """Its switch-level run equals a plain program of the chip, step by step; ten thousand in a bench."""
    steps, levels, wrong = compared(die.cell, name, 150)
    assert (steps, wrong) == (150, [])
    assert levels > 20 * steps


@pytest.mark.parametrize("seed", [2, 3])
def test_the_plan_does_what_it_is_meant_to(name, seed):
    """So does the netlist that it is drawn from, on other boards."""
    netlist = load_chip(name).netlist(load_process(PROCESSES[name]))
    assert compared(netlist, name, 300, seed=seed)[2] == []


def test_a_lost_transistor_is_noticed(name):
    """The same run tells dies that lack one transistor of the core (not all: half a switch may do)."""
    netlist = load_chip(name).netlist(load_process(PROCESSES[name]))
    devices = netlist.transistors
    lacking = [replace(netlist, transistors=devices[:k] + devices[k + 1 :]) for k in range(5, 200, 40)]
    assert any(compared(n, name, 120)[2] for n in lacking)


def test_it_is_seen_for_what_it_is(name):
    """Its netlist alone tells its parts from the top, the drivers of its outputs and the protection of its inputs."""
    chip = load_chip(name)
    lines: Counter[str] = Counter()
    for entry in outline(recognise(chip.netlist(load_process(PROCESSES[name]))).structures):
        lines[entry.term] += entry.count
    for part in PARTS[name]:
        assert lines[part] == 1, part
    sorts = Counter(pad.sort for pad in chip.pads)
    assert lines["output pad"] == sorts["output"]
    assert lines["input pad"] >= sorts["input"] - 1


@pytest.mark.parametrize("chosen", some(MODELS))
def test_other_hands_read_the_same_netlist(chip_of, chosen, tmp_path):
    """A die's GDSII, read by gdstk 0.9 and extracted by polygons without the project's code, gives the same netlist."""
    process = PROCESSES[chosen]
    die = chip_of(chosen, process)
    path = tmp_path / "die.gds"
    path.write_bytes(write_gdsii(die.layout, load_process(process)))
    transistors, names = read(path, process)
    meant = [(t.kind.value, t.gate, *t.ends) for t in die.cell.transistors]
    assert len(transistors) == len(meant)
    ours = {name: name for name in names}
    assert shape(transistors, names) == shape(meant, ours)
    moved = [
        (kind, ends[0], gate, ends[1]) if k == 7 else (kind, gate, *ends) for k, (kind, gate, *ends) in enumerate(meant)
    ]
    assert shape(moved, ours) != shape(meant, ours)
