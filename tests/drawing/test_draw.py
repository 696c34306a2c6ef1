"""Drawings are reproducible and various."""

import os
import subprocess
import sys

import pytest

from layoutdrill.drawing.row_pairs.draw import drawing
from layoutdrill.drawing.shared import Request
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.layout.text import layout_text
from layoutdrill.process import load_process
from tests.drawing.gates import cell
from tests.drawing.structure import fingerprint
from tests.sampling import WHOLE, covering, some

SILICON, SAPPHIRE = load_process("silicon-gate-cmos"), load_process("metal-gate-sapphire")

_ELSEWHERE = """
import sys
sys.path.insert(0, ".")
from tests.drawing.gates import cell
from layoutdrill.drawing.row_pairs.draw import drawing
from layoutdrill.drawing.shared import Request
from layoutdrill.layout.text import layout_text
from layoutdrill.process import load_process
process = load_process("metal-gate-sapphire")
sys.stdout.write(layout_text(drawing(Request(cell("latch_static", process), process, 7, difficulty=0.8)).layout))
"""


def test_the_same_seed_gives_the_same_text_in_every_interpreter():
    """Hash seeds differ from run to run; the layout does not."""
    mine = layout_text(drawing(Request(cell("latch_static", SAPPHIRE), SAPPHIRE, 7, difficulty=0.8)).layout)
    for hash_seed in some(("1", "2")):
        environment = {**os.environ, "PYTHONHASHSEED": hash_seed}
        run = subprocess.run(
            [sys.executable, "-c", _ELSEWHERE], env=environment, capture_output=True, check=True, text=True
        )
        assert run.stdout == mine


@pytest.mark.parametrize(
    ("name", "least", "process"),
    covering(
        (*case, process)
        for case in (("inverter", 20), ("transmission_gate", 20), ("nand2", 28), ("aoi22", 29))
        for process in (SILICON, SAPPHIRE)
    ),
)
def test_seeds_give_many_structures(name, least, process):
    """Mirrors, widths and spacing undone, few drawings are alike: so many among thirty differ, or that share."""
    netlist = cell(name, process)
    found = set()
    seeds = 30 if WHOLE else 15
    for seed in range(seeds):
        made = drawing(Request(netlist, process, seed))
        assert made is not None
        found.add(fingerprint(made.grid, made.trees))
    assert len(found) * 30 >= least * seeds


@pytest.mark.parametrize("process", [SILICON, SAPPHIRE], ids=lambda p: p.name)
def test_the_same_seed_gives_the_same_file(process):
    """Drawn twice, a cell gives the same bytes of GDSII; another seed gives others."""
    netlist = cell("xor2_tg", process)
    files = [write_gdsii(drawing(Request(netlist, process, seed)).layout, process) for seed in (11, 11, 12)]
    assert files[0] == files[1] != files[2]


def test_all_eight_orientations_occur():
    """Rails run level or upright, and either supply may be first."""
    seen = set()
    for seed in range(60):  # until all have occurred
        if len(seen) == 8:
            break
        made = drawing(Request(cell("inverter", SILICON), SILICON, seed))
        assert made is not None
        seen.add((made.choices.turns, made.choices.mirrored))
    assert len(seen) == 8


def test_rails_and_crossunders_vary():
    """Rails are of five widths, tidy ones always of the least; crossunders are n+ in one drawing and p+ in another."""
    netlist = cell("nor2", SAPPHIRE)
    chosen = [made.choices for seed in range(40) if (made := drawing(Request(netlist, SAPPHIRE, seed)))]
    assert {one.rail_extra for one in chosen} == {0, 2, 4, 8, 12}
    assert {one.under for one in chosen} == {0, 1}
    tidy = drawing(Request(netlist, SAPPHIRE, 1, difficulty=0))
    assert tidy is not None
    assert tidy.choices.rail_extra == 0


def test_difficulty_runs_from_tidy_to_crowded():
    """A tidy drawing has nothing foreign in it; crowded ones have wires that pass through, and neighbours."""
    netlist = cell("nand2", SILICON)
    tidy = [drawing(Request(netlist, SILICON, seed, difficulty=0)) for seed in range(10)]
    crowded = [drawing(Request(netlist, SILICON, seed, difficulty=1)) for seed in range(10)]
    assert all(made is not None and not made.choices.foreign and not made.choices.neighbours for made in tidy)
    assert sum(made.choices.foreign > 0 for made in crowded if made) > 5
    assert sum(made.choices.neighbours != () for made in crowded if made) > 2


def test_every_port_is_named_once():
    """Rails and ports carry one label each; nothing else does."""
    netlist = cell("aoi22", SAPPHIRE)
    for seed in range(5):
        layout = drawing(Request(netlist, SAPPHIRE, seed, difficulty=1)).layout
        assert sorted(label.text for label in layout.labels) == sorted(netlist.ports)
