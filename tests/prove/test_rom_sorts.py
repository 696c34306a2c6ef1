"""
ROMs by what programs them: transistor, contact, metal, and in series by transistor or implant; drawn, proved, read.

Source of the sorts: textbooks of digital design list a ROM's programming by the diffusion or gate oxide, the contact,
the metal and the implant (common practice); the series form with an implant is that of US patent 4142176 (from memory).
"""

from functools import cache

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.tiling import Part
from layoutdrill.deck.specimen import drawn
from layoutdrill.dice import Dice
from layoutdrill.drawing.crosspoints.plan import plan_of
from layoutdrill.extract import extract
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.compare import compare
from layoutdrill.picture.looks import load_look
from layoutdrill.process import load_process
from layoutdrill.prove import proved
from layoutdrill.question import ask_in_look
from layoutdrill.question.registry import kinds
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.table import table
from tests.each import each
from tests.sampling import covering

WORDS = {"rom_scan": ("100110", "011001", "110100", "001011")}
POLY = ("silicon-gate-cmos", "silicon-gate-cmos-pwell", "silicon-gate-cmos-2m", "silicon-gate-nmos")
FITTING = [(f"rom_scan_{sort}", process) for sort in ("contact", "metal") for process in POLY]
FITTING += [("rom_scan_series", "silicon-gate-nmos"), ("rom_scan_series_p", "metal-gate-pmos"),
            ("rom_scan_implant", "silicon-gate-nmos")]  # fmt: skip


@cache
def rom(name, process_name, seed=2, difficulty=0.3):
    cell, process = load_cell(name), load_process(process_name)
    return proved(cell.netlist(process), process, seed, difficulty=difficulty, tiling=cell.tiling(process))


def words_read(netlist, process, *, selected):
    """Return the words that a netlist holds: of each word line, with it at `selected` and the others not, the bits."""
    lines, bits = [f"w{r}" for r in range(4)], [f"b{c}" for c in range(6)]
    rows = table(netlist, lines, bits).rows
    by_input = {row.inputs: row.outputs for row in rows}
    codes = [tuple(selected if r == k else 1 - selected for r in range(4)) for k in range(4)]
    return tuple("".join(str(bit) for bit in by_input[code]) for code in codes)


@each(("name", "process"), covering(FITTING, 2), ids=str)
def test_every_sort_is_proved_from_tidy_to_crowded_and_read_as_a_rom(name, process):
    """The netlist read back is that meant, is recognised, has no slip, and holds the words of the data file."""
    made = load_process(process)
    for seed, difficulty in ((1, 0.0), (2, 0.5), (3, 1.0)):
        found = rom(name, process, seed, difficulty)
        assert found.extraction.findings == ()
        assert compare(load_cell(name).netlist(made), found.cell, bodies=True).equal
    reading = recognise(found.cell)
    assert (reading.term, reading.leftover) == ("ROM plane", ())
    one = (0 if "series" in name or "implant" in name else 1) ^ name.endswith("_p")
    assert words_read(found.cell, made, selected=one) == WORDS["rom_scan"]


@pytest.mark.parametrize("sort", ["contact", "metal"])
def test_by_contact_or_metal_every_crossing_has_a_transistor(sort):
    """24 in the plane, and a load each; 12 of them joined: which is the count of ones or noughts of the words."""
    found = rom(f"rom_scan_{sort}", "silicon-gate-nmos")
    plane = [t for t in found.cell.transistors if t.gate.startswith("w")]
    joined = [t for t in plane if any(end.startswith("b") for end in t.ends)]
    assert (len(plane), len(joined)) == (24, "".join(WORDS["rom_scan"]).count("0"))
    cell, process = load_cell(f"rom_scan_{sort}"), load_process("silicon-gate-nmos")
    assert plan_of(cell.tiling(process)).spare is {"contact": Part.UNCUT, "metal": Part.UNJOINED}[sort]


def test_one_contact_more_or_less_is_another_rom():
    """A cut taken from a drain, and one put on a bare one, change one bit each: by the extractor alone."""
    process = load_process("silicon-gate-nmos")
    found = rom("rom_scan_contact", "silicon-gate-nmos")
    shapes = found.layout.shapes
    bit = next(t for t in found.cell.transistors if t.gate == "w1" and "b0" in t.ends)
    bare = next(t for t in found.cell.transistors if t.gate == "w0" and "b0" not in t.ends)
    drain = next(
        cut
        for cut in shapes["contact"]
        if any(cut.grown(3 * process.grid_per_lambda).overlaps(r) for r in found.extraction.channel(bit.name))
        and {net for _, net in found.extraction.nets_at(*cut.centre)} == {"b0"}
    )
    less = Layout("less", {**shapes, "contact": tuple(c for c in shapes["contact"] if c != drain)}, found.layout.labels)
    assert words_read(extract(less, process).netlist, process, selected=1)[1] == "1" + WORDS["rom_scan"][1][1:]
    assert bare is not bit


def test_what_an_implant_hides_is_not_asked_on_a_photograph():
    """Under the microscope no question needs the bits of an implanted ROM; in mask colours its word is asked."""
    specimen = drawn(load_cell("rom_scan_implant"), "silicon-gate-nmos", 3, 0.3)

    def asked(look):
        names = ("address", "table", "function", "measurement", "transcribe", "name", "count", "same net")
        return {n for n in names if ask_in_look(kinds()[n], specimen, Dice.from_text(n), load_look(look)) is not None}

    assert asked("reflected-light") == {"name", "count", "same net"}
    assert "address" in asked("stick-colours")
    extraction = specimen.face.scene.extraction
    closed = {t.name for t in extraction.netlist.transistors if t.is_closed_by_implant(("VSS", "VDD"), ("VDD",))}
    assert len(closed) == 12
    for turn in range(20):
        question = kinds()["polarity"].ask(specimen, Dice.from_text(f"polarity {turn}"))
        assert question is not None
        place = question.key.x, question.key.y
        assert not any(r.contains(*place) for name in closed for r in extraction.channel(name))


def test_a_series_is_broken_by_the_selected_line():
    """Each bit line holds as many transistors in series as its column has ones, and a load."""
    found = rom("rom_scan_series", "silicon-gate-nmos")
    for c in range(6):
        ones = sum(word[c] == "1" for word in WORDS["rom_scan"])
        load = [t for t in found.cell.transistors if t.gate == f"b{c}"]
        assert len(load) == 1
        assert len([t for t in found.cell.transistors if t.gate.startswith("w")]) == 12
        gate_of = {t.gate for t in found.cell.transistors if f"b{c}" in t.ends and t.gate.startswith("w")}
        assert len(gate_of) == 1
        assert ones == 2


@pytest.mark.parametrize(
    ("name", "process"),
    [("rom_scan_contact", "silicon-gate-nmos"), ("rom_scan_metal", "silicon-gate-cmos"),
     ("rom_scan_series", "silicon-gate-nmos"), ("rom_scan_series_p", "metal-gate-pmos")],
)  # fmt: skip
def test_a_word_is_asked_with_its_line_selected(name, process):
    """Whatever programs it, the word at the marked line is that of the data file; in series a selected line is shut."""
    specimen = drawn(load_cell(name), process, 3, 0.2)
    for turn in range(4):
        key = kinds()["address"].ask(specimen, Dice.from_text(f"word {turn}")).key
        levels = list(key.row.values())
        (chosen,) = (line for line, level in key.row.items() if levels.count(level) == 1)
        assert key.bits == WORDS["rom_scan"][int(chosen[1:])]
