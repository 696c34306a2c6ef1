"""Arrays are drawn as tiles that abut, and proved whole."""

from collections import Counter
from dataclasses import replace

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import drawn
from layoutdrill.drawing.arrays import draw_array
from layoutdrill.drawing.shared import Request
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.layout.model import Layout
from layoutdrill.layout.text import layout_text
from layoutdrill.netlist.compare import compare
from layoutdrill.process import load_process
from layoutdrill.prove import proved
from layoutdrill.prove.proof import faults_of
from layoutdrill.rules import check
from tests.each import each
from tests.sampling import WHOLE, covering, some, spread

RATIOED = [load_process(n) for n in ("silicon-gate-nmos", "metal-gate-pmos")]
COMPLEMENTARY = ("silicon-gate-cmos", "metal-gate-sapphire", "silicon-gate-cmos-2m", "metal-gate-cmos")
PROCESSES = [load_process(n) for n in COMPLEMENTARY] + RATIOED
ARRAYS = ["ram_array_2x2", "ram_array_4x2", "memory_array_2x4", "register_row_2", "load_row_2", "shift_register_3",
          "shift_register_dynamic_3", "shift_register_two_phase_4", "fifo_2x2"]  # fmt: skip
EARLY = [load_process(n) for n in ("silicon-gate-nmos-enhancement", "metal-gate-pmos-vgg")]
PAIRS = [(name, process) for name in ARRAYS for process in (*PROCESSES, *EARLY)]
FITTING = [(name, process) for name, process in PAIRS if load_cell(name).fits(process)]
TAKEN = covering(FITTING)
MANY = 40
by_some = pytest.mark.parametrize("process", some(PROCESSES, 2), ids=lambda p: p.name)


def array(name, process, seed, difficulty=0.3):
    cell = load_cell(name)
    return proved(cell.netlist(process), process, seed, difficulty=difficulty, tiling=cell.tiling(process))


@each("number", range(len(TAKEN)), ids=lambda n: f"{TAKEN[n][0]}-{TAKEN[n][1].name}")
def test_arrays_are_proved_from_tidy_to_crowded(number):
    """The drawing breaks no rule and is read back as the whole array, by the blind extractor and the comparison."""
    name, process = TAKEN[number]
    netlist = load_cell(name).netlist(process)
    seeds = range(2) if netlist.count() > MANY else range(3)
    for seed in seeds if WHOLE else (number % 2,):
        found = array(name, process, seed, seed / seeds[-1] if WHOLE else seed)
        assert check(found.layout, process) == ()
        assert found.extraction.findings == ()
        assert compare(netlist, found.cell, bodies=True).equal
        assert {label.text for label in found.layout.labels} == set(netlist.ports)


def test_the_supply_of_the_loads_gates_runs_through_every_row():
    """Both rows of a RAM hang on it, and each has it as one straight line of metal, joined beside them."""
    process = load_process("metal-gate-pmos-vgg")
    found = array("ram_array_2x2", process, 2)
    assert sum(t.gate == "VGG" for t in found.cell.transistors) == 8
    with pytest.raises(LayoutdrillError, match="its tiles have no loads whose gates VGG could feed"):
        load_cell("rom_scan_p").netlist(process)


@each(("name", "process"), [pair for pair in PAIRS if pair not in FITTING], ids=str)
def test_an_array_that_makes_no_sense_in_a_process_is_refused(name, process):
    """It is said so before anything is drawn."""
    with pytest.raises(LayoutdrillError, match="makes no sense"):
        array(name, process, 1)


# Source: a static RAM cell has six transistors (an encyclopedia's article on static memory); 4 × 4 × 6 computed.
@by_some
def test_a_ram_of_16_bits_is_read_as_a_ram_wherever_one_looks(process):
    """There are 96 transistors; each word line drives 8 gates, each bit line meets 4 access transistors."""
    found = array("ram_array_4x4", process, 7).cell
    assert found.count() == 96
    gates = Counter(t.gate for t in found.transistors)
    ends = Counter(end for t in found.transistors for end in t.ends)
    for number in range(4):
        assert gates[f"w{number}"] == 8
        assert ends[f"b{number}"] == ends[f"b{number}n"] == 4


@by_some
def test_tiles_are_copies_that_abut(process):
    """Moved along the rows by one tile, three of four columns of contacts fall on contacts again."""
    cell = load_cell("ram_array_4x4")
    netlist, tiling = cell.netlist(process), cell.tiling(process)
    found = draw_array(Request(netlist, process, 3), tiling)
    assert found is not None
    contacts = on_transistors(found.layout, extract(found.layout, process))
    places = {(r.x0, r.y0) for r in contacts}
    repeated = [
        (dx, dy)
        for dx, dy in {(x - min(places)[0], y - min(places)[1]) for x, y in places}
        if (dx or dy) and len(places & {(x + dx, y + dy) for x, y in places}) * 4 >= len(places) * 3
    ]
    assert repeated


@by_some
def test_a_seed_gives_one_drawing_and_seeds_differ(process):
    """The same seed gives the same text of the layout; of several seeds all but one at most give different ones."""
    cell = load_cell("ram_array_4x4")
    netlist, tiling = cell.netlist(process), cell.tiling(process)
    seeds = 5 if WHOLE else 3
    texts = [layout_text(draw_array(Request(netlist, process, seed), tiling).layout) for seed in (*range(seeds), 0)]
    assert texts.pop() == texts[0]
    assert len(set(texts)) >= seeds - 1


def passing(name, process, seed):
    """Return an array's netlist, its drawing, and what is read in it, which has no fault as it stands."""
    cell = load_cell(name)
    netlist = cell.netlist(process)
    made = draw_array(Request(netlist, process, seed), cell.tiling(process))
    assert made is not None
    extraction = extract(made.layout, process)
    assert faults_of(netlist, process, made.layout, extraction, made) == ()
    return netlist, made, extraction


def on_transistors(layout, extraction):
    """Return the contacts on diffusions that belong to transistors, and not to a line's tail or a crossing."""
    mask = next((mask for mask in ("active", "silicon") if mask in layout.shapes), "")
    active = layout.shapes[mask] if mask else layout.shapes.get("nplus", ()) + layout.shapes["pplus"]
    near = [r for t in extraction.netlist.transistors for r in extraction.channel(t.name)]
    island = set()
    while grown := {r for r in active if r not in island and any(r.grown(1).overlaps(other) for other in near)}:
        island |= grown
        near = list(grown)
    return [r for r in layout.shapes["contact"] if any(r.overlaps(one) for one in island)]


@by_some
def test_the_proof_bites_in_arrays_too(process):
    """Take any one gate window, or contact on a source or drain, out of the array: the drawing no longer passes."""
    netlist, made, extraction = passing("ram_array_2x2", process, 5)
    contacts = on_transistors(made.layout, extraction)
    assert len(contacts) >= 16
    windows = made.layout.shapes.get("window", ())
    for mask, rect in [("contact", r) for r in spread(contacts, 4)] + [("window", r) for r in spread(windows, 4)]:
        rest = tuple(r for r in made.layout.shapes[mask] if r != rect)
        layout = Layout(made.layout.name, {**made.layout.shapes, mask: rest}, made.layout.labels)
        assert faults_of(netlist, process, layout, extract(layout, process), made), (mask, rect)


@by_some
def test_a_drawing_of_another_array_does_not_pass(process):
    """An array in which one bit's access transistor meets the wrong word line is not what was drawn."""
    netlist, made, extraction = passing("ram_array_2x2", process, 1)
    at = next(i for i, t in enumerate(netlist.transistors) if t.gate == "w0")
    wrong = list(netlist.transistors)
    wrong[at] = replace(wrong[at], gate="w1")
    other = replace(netlist, transistors=tuple(wrong))
    assert faults_of(other, process, made.layout, extraction, made)


def test_a_deck_shows_an_array_too_large_for_one_row_pair():
    """The specimen of a 4 × 4 array is the whole array, also where pictures are crowded."""
    for difficulty in some((0.9, 0.0)):
        found = drawn(load_cell("ram_array_4x4"), "silicon-gate-cmos", 1, difficulty)
        assert found.netlist.count() == 96


def test_a_fifo_of_four_stages_is_proved():
    """Its rows of markers and latches stand one above the other, 240 transistors in all."""
    for process in some(("silicon-gate-cmos", "metal-gate-cmos")):
        assert array("fifo_4x4", load_process(process), 2).cell.count() == 240


# Source: common practice (control lines of a row run straight along all its bits).
@by_some
def test_clock_lines_run_straight_along_a_register(process):
    """At some height one wire of metal runs from the first bit to the last, for each of the two clock lines."""
    found = array("register_row_4", process, 4)
    box = found.layout.box
    for clock in ("clk", "clkn"):
        rects = found.extraction.net_shapes(clock)["metal"]
        straight = max(_longest([(r.x0, r.x1, r.y0, r.y1) for r in rects]),
                       _longest([(r.y0, r.y1, r.x0, r.x1) for r in rects]))  # fmt: skip
        assert straight * 10 >= max(box.x1 - box.x0, box.y1 - box.y0) * 8


def _longest(spans):
    """Return the longest straight way inside rectangles (along, along, across, across)."""
    most = 0
    for middle in {(c + d) // 2 for _, _, c, d in spans}:
        start = end = None
        for a, b, c, d in sorted(spans):
            if c <= middle < d:
                if end is None or a > end:
                    start, end = a, b
                end = max(end, b)
                most = max(most, end - start)
    return most


# Source: common practice (US patent 4426766 shows channel stops round whole wells; a ring serves its group).
def test_rows_that_share_a_rail_share_its_ring():
    """In a 4 × 4 RAM four rows stand about five rails; the three low ones each have one well, tied to its ring."""
    process = load_process("metal-gate-cmos")
    found = array("ram_array_4x4", process, 3)
    assert len(joined(found.layout.shapes["pwell"])) == 3


def joined(rects):
    """Return groups of rectangles that overlap or touch."""
    groups = []
    for rect in rects:
        near = [g for g in groups if any(rect.grown(1).overlaps(other) for other in g)]
        groups = [g for g in groups if g not in near] + [[rect, *(r for g in near for r in g)]]
    return groups


@by_some
def test_a_fifo_with_bits_interchanged_does_not_pass(process):
    """A FIFO in which one transistor of a stage meets the bit beside its own is not what was drawn."""
    netlist, made, extraction = passing("fifo_2x2", process, 3)
    wrong = list(netlist.transistors)
    at = next(i for i, t in enumerate(wrong) if "s0_1" in t.ends)
    wrong[at] = replace(wrong[at], **{end: "s0_0" for end in ("source", "drain") if getattr(wrong[at], end) == "s0_1"})
    assert faults_of(replace(netlist, transistors=tuple(wrong)), process, made.layout, extraction, made)
