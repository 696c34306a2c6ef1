"""Pads: an opening in the glass over metal, on the net that is bonded; the proof of the cell holds with it."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.drawing.pads import PORT
from layoutdrill.drawing.shared import RIM
from layoutdrill.process import load_process, process_names
from layoutdrill.prove.proof import proved
from tests.sampling import some


@pytest.mark.parametrize(
    ("name", "seed"), [("silicon-gate-nmos", 4), ("metal-gate-cmos", 3), ("silicon-gate-cmos-2m", 4)]
)
def test_a_protected_input_ends_in_a_pad(name, seed):
    """
    The opening lies within one square of metal that is the widest of the drawing; that metal is the net of the port, as
    the extractor reads it; nothing but the pad is open (common practice: glass covers all but pads).
    """
    process = load_process(name)
    found = proved(load_cell("input_protection").netlist(process), process, seed, difficulty=0.3)
    (opening,) = found.layout.shapes["glass"]
    pad = opening.grown(RIM * process.grid_per_lambda)
    metal = next(name for name, layer in process.layers.items() if layer.role == "metal")
    assert pad in found.layout.shapes[metal]
    assert PORT in [net.casefold() for _, net in found.extraction.nets_at(*opening.centre)]
    assert (found.layout.box.x0, found.layout.box.y0) == (0, 0)


def test_other_cells_have_none():
    """A cell without a bonded port has no opening."""
    process = load_process("silicon-gate-cmos")
    assert "glass" not in proved(load_cell("nand2").netlist(process), process, 3).layout.shapes


PADS = ("pad_out", "pad_tristate", "pad_open_drain", "pad_both_ways", "driver_lamp", "driver_high_voltage", "pad_in")


@pytest.mark.parametrize("number", range(len(PADS)), ids=PADS)
def test_every_cell_of_a_pad_shows_it(number):
    """However crowded: that and the processes go round."""
    cell = load_cell(PADS[number])
    drawn = [process for process in map(load_process, process_names()) if process.drawing is not None]
    fitting = [process for process in drawn if cell.fits(process)]
    ways = tuple(enumerate((0, 0.5, 1)))
    for turn, difficulty in some(ways[number % 3 :] + ways[: number % 3]):
        process = fitting[(number + turn) % len(fitting)]
        found = proved(cell.netlist(process), process, number + turn, difficulty=difficulty, neighbours=True)
        assert len(found.layout.shapes["glass"]) == 1, (process.name, difficulty)
