"""Crosspoint planes are drawn as regular geometry, and proved whole."""

from collections import Counter
from dataclasses import replace

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.arrays.planes import pla, rom_decoded, rom_plane
from layoutdrill.cells.tiling import Part
from layoutdrill.dice import Dice
from layoutdrill.drawing.arrays import draw_array
from layoutdrill.drawing.shared import Request
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.layout.text import layout_text
from layoutdrill.netlist.compare import compare
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import load_process
from layoutdrill.prove import proved
from layoutdrill.prove.proof import faults_of
from layoutdrill.rules import check
from tests.each import each
from tests.sampling import WHOLE, covering, some, spread

NAMES = ("silicon-gate-cmos", "silicon-gate-cmos-2m", "silicon-gate-nmos")
METAL = ("metal-gate-cmos", "metal-gate-sapphire", "metal-gate-pmos")
PROCESSES = {name: load_process(name) for name in (*NAMES, *METAL)}
by_process = pytest.mark.parametrize("process", PROCESSES.values(), ids=PROCESSES.keys())


def side_by_side(process):
    """Return the form of decoder whose lines have their transistors side by side: NAND where all are p."""
    return "nand" if process.name == "metal-gate-pmos" else "nor"


def rom(name, process):
    return f"{name}_p" if process.name == "metal-gate-pmos" else name


def planes_of(process):
    form = side_by_side(process)
    decoders = [f"decoder{n}_{form}{own}" for n in (2, 3, 4) for own in ("", "_own")]
    whole = ["rom_flash_decoded", "rom_scan_decoded", "pla_flash", "pla_scan"]
    return [*decoders, rom("rom_flash", process), rom("rom_scan", process), *whole]


def drawn(cell, process, seed, difficulty=0.3):
    return proved(cell.netlist(process), process, seed, difficulty=difficulty, tiling=cell.tiling(process))


def made_of(cell, process, seed):
    """Return the cell's netlist and an unproved drawing, with what is read in it."""
    netlist = cell.netlist(process)
    made = draw_array(Request(netlist, process, seed), cell.tiling(process))
    assert made is not None
    return netlist, made, extract(made.layout, process)


def changed(layout, mask, rects):
    return Layout(layout.name, {**layout.shapes, mask: tuple(rects)}, layout.labels)


def faults(netlist, process, layout, made):
    return faults_of(netlist, process, layout, extract(layout, process), made)


PLANES = [(number, process) for process in PROCESSES.values() for number, _ in enumerate(planes_of(process))]


@each(("number", "process"), covering(PLANES, 2), ids=str)
def test_planes_are_proved_from_tidy_to_crowded(number, process):
    """The drawing breaks no rule and is read back as the whole array, by the blind extractor and the comparison."""
    cell = load_cell(planes_of(process)[number])
    assert Part.CROSSING in cell.tiling(process).parts
    for seed in some((number % 3, (number + 1) % 3, (number + 2) % 3)):
        found = drawn(cell, process, seed, seed / 2)
        assert check(found.layout, process) == ()
        assert found.extraction.findings == ()
        assert found.attempts == 1
        assert compare(cell.netlist(process), found.cell, bodies=True).equal
        assert sorted(label.text for label in found.layout.labels) == sorted(cell.netlist(process).ports)


# Source: computed, n·2ⁿ transistors of the lines, 2ⁿ loads, and 2n of the inverters (the NMOS NOR array of a decoder).
@pytest.mark.parametrize(
    ("lines", "process"),
    covering([(lines, process) for lines in (2, 3, 4, 5, 6) for process in PROCESSES.values()]),
    ids=str,
)
def test_decoders_have_the_counts_of_their_sums(lines, process):
    """What is read in the drawing of a decoder of n lines is n·2ⁿ + 2ⁿ transistors, and 2n more with its inverters."""
    form, words = side_by_side(process), 1 << lines
    alone = drawn(load_cell(f"decoder{lines}_{form}"), process, lines)
    own = drawn(load_cell(f"decoder{lines}_{form}_own"), process, lines)
    assert alone.cell.count() == lines * words + words
    assert own.cell.count() == lines * words + words + 2 * lines
    gates = Counter(t.gate for t in own.cell.transistors)
    for bit in range(lines):
        inverter = 1 if side_by_side(process) == "nand" or process.name == "silicon-gate-nmos" else 2
        assert gates[f"a{bit}"] == words // 2 + inverter


# Source: a ratioed PLA has its AND-plane literals, its OR-plane connections, a load for each term and each output and
# its inverters (Mead & Conway 1980, from memory); pla_scan has 4 terms of 9 literals, 6 connections, 3 sums.
@by_process
def test_a_pla_has_literals_connections_loads_and_inverters(process):
    """The three inputs are all inverted; with n transistors an inverter stands behind each sum too."""
    found = drawn(load_cell("pla_scan"), process, 11).cell
    p_kind = process.name == "metal-gate-pmos"
    inverted = 3 + (0 if p_kind else 3)
    assert found.count() == 9 + 6 + (4 + 3) + 2 * inverted


@by_process
def test_a_rom_has_a_transistor_where_its_table_says_so(process):
    """Words of a ROM plane, read off the drawing's netlist: a transistor at every 0, with p transistors at every 1."""
    words = ("1001", "0110", "1010", "0101", "1100", "0001")
    p_kind = process.name == "metal-gate-pmos"
    found = drawn(rom_plane("rom_own", "own", words, p_kind=p_kind), process, 5).cell
    rails = set(process.supplies)
    crossings = {(t.gate, *(set(t.ends) - rails)) for t in found.transistors if t.gate.startswith("w")}
    present = "1" if p_kind else "0"
    assert crossings == {
        (f"w{r}", f"b{c}") for r, word in enumerate(words) for c, bit in enumerate(word) if bit == present
    }


@by_process
def test_a_seed_gives_one_drawing_and_seeds_differ(process):
    """The same seed gives the same text of the layout; turned back, all but one give their own drawing."""
    cell = load_cell(f"decoder2_{side_by_side(process)}_own")
    seeds = 10 if WHOLE else 5
    layouts = [made_of(cell, process, seed)[1].layout for seed in range(seeds)]
    assert layout_text(made_of(cell, process, 0)[1].layout) == layout_text(layouts[0])
    assert len({min(turned(layout)) for layout in layouts}) >= seeds - 1


def turned(layout):
    """Yield the text of a layout in all eight orientations."""
    for turn in range(8):
        found = layout.transformed(Transform(turns=turn % 4, mirrored=turn >= 4))
        corner = found.box
        moved = found.transformed(Transform(-corner.x0, -corner.y0))
        yield layout_text(Layout("", {mask: tuple(sorted(set(r))) for mask, r in moved.shapes.items()}))


@by_process
def test_transistors_of_a_plane_stand_in_rows_and_columns(process):
    """All channels of a decoder's lines are of one size; there are 2n columns, or 2ⁿ rows, of places that they take."""
    cell = load_cell(f"decoder4_{side_by_side(process)}")
    _, _, extraction = made_of(cell, process, 9)
    crossings = [t for t in extraction.netlist.transistors if not loaded(t, process)]
    own = [r for t in crossings for r in extraction.channel(t.name)]
    assert len(own) == 4 * 16
    assert len({(r.width, r.height) for r in own}) == 1
    columns, rows = {r.x0 for r in own}, {r.y0 for r in own}
    assert sorted((len(columns), len(rows))) == [8, 16]


@by_process
def test_taking_any_one_crossing_away_is_noticed(process):
    """Without one finger of diffusion, or one gate window, the drawing no longer passes, whichever one it is."""
    cell = load_cell(f"decoder2_{side_by_side(process)}_own")
    netlist, made, extraction = made_of(cell, process, 4)
    assert faults_of(netlist, process, made.layout, extraction, made) == ()
    mask = "window" if process.name in METAL else "active"
    channels = [r for t in extraction.netlist.transistors for r in extraction.channel(t.name)]
    fingers = [r for r in made.layout.shapes[mask] if any(r.overlaps(c) for c in channels)]
    assert len(fingers) >= 8 + 2 + 2
    for finger in spread(fingers, 3):
        rest = [r for r in made.layout.shapes[mask] if r != finger]
        assert faults(netlist, process, changed(made.layout, mask, rest), made), finger


@by_process
def test_taking_any_contact_of_a_signal_away_is_noticed(process):
    """Without any one contact that is not of a supply, a line is cut: the drawing no longer passes."""
    cell = load_cell("rom_scan_decoded")
    netlist, made, extraction = made_of(cell, process, 3)
    contacts = made.layout.shapes["contact"]
    signals = [r for r in contacts if {net for _, net in extraction.nets_at(*r.centre)}.isdisjoint(process.supplies)]
    assert len(signals) >= 4 + 6
    for contact in spread(signals, 3):
        rest = [r for r in contacts if r != contact]
        assert faults(netlist, process, changed(made.layout, "contact", rest), made), contact


@by_process
def test_moving_a_crossing_to_another_gate_line_is_noticed(process):
    """A finger turned over about its drain contact, or a window moved by one column, makes another circuit."""
    cell = load_cell(f"decoder2_{side_by_side(process)}")
    netlist, made, extraction = made_of(cell, process, 2)
    loads = {r for t in extraction.netlist.transistors if loaded(t, process) for r in extraction.channel(t.name)}
    channels = {r for t in extraction.netlist.transistors for r in extraction.channel(t.name)} - loads
    tried = 0
    for layout in spread(moves(process, made.layout, sorted(channels)), 4):
        tried += 1
        assert faults(netlist, process, layout, made)
    assert tried >= 4


def loaded(t, process):
    return t.gate in process.supplies or t.gate in t.ends


def moves(process, layout, channels):
    """Yield the layout with one crossing after another at the gate line beside its own, where that has none."""
    if process.name in METAL:
        along = len({r.x0 for r in channels}) == 4
        places = sorted({r.x0 if along else r.y0 for r in channels})
        for channel in channels:
            at = channel.x0 if along else channel.y0
            step = next(place for place in places if place != at) - at
            dx, dy = (step, 0) if along else (0, step)
            if channel.moved(dx, dy) in channels:
                continue
            shapes = dict(layout.shapes)
            for mask in ("window", "silicon"):
                shapes[mask] = tuple(r.moved(dx, dy) if r.overlaps(channel) else r for r in layout.shapes.get(mask, ()))
            yield replace(layout, shapes=shapes)
        return
    active, contacts = layout.shapes["active"], layout.shapes["contact"]
    for channel in channels:
        finger = next(r for r in active if r.overlaps(channel))
        drain = next(c for c in contacts if c.overlaps(finger))
        x, y = drain.centre
        over = (
            Rect(2 * x - finger.x1, finger.y0, 2 * x - finger.x0, finger.y1)
            if finger.width > finger.height
            else Rect(finger.x0, 2 * y - finger.y1, finger.x1, 2 * y - finger.y0)
        )
        if over not in active:
            yield changed(layout, "active", [over if r == finger else r for r in active])


@by_process
def test_a_drawing_of_another_table_does_not_pass(process):
    """The drawing of a ROM is not that of the ROM with one bit the other way."""
    p_kind = process.name == "metal-gate-pmos"
    cell = rom_plane("rom_own", "own", ("1001", "0110", "1010"), p_kind=p_kind)
    other = rom_plane("rom_own", "own", ("1001", "0110", "1011"), p_kind=p_kind)
    _, made, extraction = made_of(cell, process, 1)
    wanted = other.netlist(process)
    sizes = dict(made.sizes) | dict.fromkeys((t.name for t in wanted.transistors), next(iter(made.sizes.values())))
    assert faults_of(wanted, process, made.layout, extraction, replace(made, sizes=sizes))


def random_arrays(seed, count):
    """Yield ROMs and PLAs with contents of all kinds: single lines, inputs that nothing reads, empty words."""
    dice = Dice(seed)
    for _ in range(count):
        width, depth = dice.between(1, 7), dice.pick((1, 2, 3, 5, 9))
        words = ["".join(dice.pick("01") for _ in range(width)) for _ in range(depth)]
        coded = ["".join(dice.pick("01") for _ in range(width)) for _ in range(dice.pick((4, 8)))]
        inputs = [f"i{n}" for n in range(dice.between(1, 6))]
        sums = []
        for o in range(dice.between(1, 4)):
            terms = [dice.sample(inputs, dice.between(1, len(inputs))) for _ in range(dice.between(1, 3))]
            sums.append(f"o{o} = " + " + ".join("*".join(dice.pick(("", "!")) + i for i in term) for term in terms))
        for make in (
            lambda words=words: rom_plane("rom_any", "any", words),
            lambda words=words: rom_plane("rom_any", "any", words, p_kind=True),
            lambda coded=coded: rom_decoded("rom_any", "any", coded),
            lambda inputs=inputs, sums=sums: pla("pla_any", "any", inputs, sums),
        ):
            try:
                yield make()
            except LayoutdrillError:  # a column without a transistor, or one that is the same in every word
                continue


@by_process
def test_planes_of_any_contents_are_proved(process):
    """Whatever a table or equations say: the first drawing of it passes."""
    fitting = [(seed, cell) for seed, cell in enumerate(random_arrays(7, 10)) if cell.fits(process)]
    assert len(fitting) >= 15
    for seed, cell in spread(fitting, 3):
        assert drawn(cell, process, seed, seed % 5 / 4).attempts == 1


def test_transistors_that_differ_within_a_plane_are_refused():
    """Rows and columns are of one size: a crossing wider than the others is refused, with what to do."""
    process = PROCESSES["silicon-gate-nmos"]
    cell = load_cell("decoder2_nor")
    netlist = cell.netlist(process)
    wide = replace(netlist.transistors[1], width=2 * netlist.transistors[1].width)
    others = (netlist.transistors[0], wide, *netlist.transistors[2:])
    odd = Netlist(netlist.name, netlist.ports, others)
    with pytest.raises(LayoutdrillError, match="not all alike"):
        draw_array(Request(odd, process, 1), cell.tiling(process))
