"""Decoys of arrays: one crossing changed, drawn as the array is drawn."""

from layoutdrill.cells import load_cell
from layoutdrill.cells.arrays.changed import changed_crossings
from layoutdrill.cells.decoys import decoys
from layoutdrill.deck.specimen import drawn
from layoutdrill.dice import Dice
from layoutdrill.netlist.compare import compare
from layoutdrill.process import load_process, process_names
from tests.each import each
from tests.sampling import covering

DRAWN = [load_process(name) for name in process_names() if load_process(name).rules]
PLANES = ("decoder2_nor", "decoder2_nand", "rom_scan", "rom_scan_p", "pla_scan", "rom_scan_decoded")
FITTING = [(name, process) for name in PLANES for process in DRAWN if load_cell(name).fits(process)]


@each(("name", "process"), covering(FITTING), ids=lambda value: getattr(value, "name", value))
def test_a_changed_crossing_is_drawn_like_the_array(name, process):
    """One transistor more, less, or on another line; proved, and not equal to the array itself."""
    cell = load_cell(name)
    own = cell.netlist(process)
    found = [decoy for decoy in decoys(cell, process, Dice(3)) if decoy.tiling is not None]
    assert found
    for decoy in found[:3]:
        change = {"input moved": 0, "transistor missing": -1, "transistor added": 1}[decoy.edit]
        assert decoy.netlist.count() == own.count() + change
        specimen = drawn(cell, process.name, 2, 0.2, decoy)
        assert compare(decoy.netlist, specimen.netlist).equal
        assert not compare(own, specimen.netlist).equal
        assert specimen.about == f"{decoy.says[:1].upper()}{decoy.says[1:]}."


# Source: a decoder of n lines has n crossings with a transistor on each of 2ⁿ outputs (textbook count); computed here.
def test_every_crossing_is_changed_in_every_way():
    """3 addresses × 8 lines: each transistor on the other line, and each missing; a ROM bit is either one or none."""
    process = load_process("silicon-gate-nmos")
    changes = list(changed_crossings(load_cell("decoder3_nor"), process))
    assert len(changes) == 2 * 3 * 8
    assert len(list(changed_crossings(load_cell("rom_flash"), process))) == 8 * 4
    assert list(changed_crossings(load_cell("ram_array_2x2"), process)) == []
    assert list(changed_crossings(load_cell("nand2"), process)) == []
