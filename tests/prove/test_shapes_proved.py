"""Bent and folded channels are measured as hand arithmetic has it, and the proof bites when one is opened or cut."""

from functools import cache

import pytest

from layoutdrill.cells.load import load_cell
from layoutdrill.drawing.row_pairs.draw import drawing
from layoutdrill.drawing.row_pairs.placing.devices import Form
from layoutdrill.drawing.shared import Request
from layoutdrill.extract import extract
from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.process import load_process
from layoutdrill.prove import proved
from layoutdrill.prove.proof import faults_of
from tests.drawing.gates import cell
from tests.each import each
from tests.sampling import WHOLE, spread

SILICON, SAPPHIRE = load_process("silicon-gate-cmos"), load_process("metal-gate-sapphire")
BULK, NMOS, PMOS = load_process("metal-gate-cmos"), load_process("silicon-gate-nmos"), load_process("metal-gate-pmos")
UNIT = SILICON.grid_nm
"""Half a λ in nm."""


def n_transistor(active, poly):
    """Return what is read of one n transistor in the process, drawn by hand: L and W in grid units."""
    box = bounding_box(active)
    assert box is not None
    shapes = {"active": active, "poly": poly, "nselect": (box.grown(4),)}
    found = extract(Layout("one", shapes, (Label("g", "poly", *poly[0].centre),)), SILICON)
    (only,) = found.netlist.transistors
    return only.length / UNIT, only.width / UNIT


def test_a_ring_is_as_wide_as_the_mean_of_its_two_edges():
    """
    A ring of 2 λ round a drain of 6 λ square, its gate out to the right over 3 λ of source.

    By hand, in half λ: edges 4·12 inside; 4·20 − 4 outside, and 6 on either side of the stub; W = (48 + 76 + 12)/2.
    Channel: 20² − 12² and the stub's 4·6; L = area over W. Without a stub W is the centre line, 4·16 (common practice).
    """
    ring = (Rect(0, 0, 20, 4), Rect(0, 16, 20, 20), Rect(0, 4, 4, 16), Rect(16, 4, 20, 16))
    stub = Rect(20, 8, 30, 12)
    length, width = n_transistor((Rect(-6, -6, 26, 26),), (*ring, stub))
    assert width == pytest.approx(68)
    assert length == pytest.approx((400 - 144 + 24) / 68, abs=0.001)


def test_a_corner_counts_along_the_centre_line():
    """
    An elbow of 2 λ with inner edges of 5 λ and 7 λ has outer edges of 7 λ and 9 λ: W = 14 λ, the centre line, L = 2 λ.

    Common practice for bent gates; Mead & Conway 1980 (from memory) count the corner square as about half.
    """
    gate = (Rect(0, 0, 4, 18), Rect(0, 0, 22, 4))
    active = (Rect(-6, -6, 18, 14),)
    length, width = n_transistor(active, gate)
    assert (length, width) == (4, (10 + 14 + 14 + 18) / 2)


@cache
def drawn(name, process, form, seeds=160):
    """Return the first proved drawings of a cell that have a form."""
    netlist = cell(name, process)
    found = []
    for seed in range(seeds):
        made = drawing(Request(netlist, process, seed))
        if made is None:
            continue
        devices = [gate.device for strip in made.grid.floor.strips for gate in strip.gates]
        devices += [stand.device for stand in made.grid.floor.stands]
        names = {device.name for device in devices if device.form is form}
        if names:
            found.append((netlist, made, names))
        if len(found) == (4 if WHOLE else 2):
            return found
    raise AssertionError(f"only {len(found)} of {seeds} drawings have {form}")


def pixels(rects):
    return {(x, y) for r in rects for x in range(r.x0, r.x1) for y in range(r.y0, r.y1)}


@pytest.mark.parametrize("form", [Form.RING, Form.HOOK, Form.ELBOW, Form.STEP])
def test_what_is_meant_and_what_is_read_agree_with_counting_squares(form):
    """
    Count unit edges between poly over active and active beside it: W is half of them, L the squares over W.

    It shares no code with the drawing, which knows its own lines, nor with the extractor, which joins rectangles.
    """
    for netlist, made, names in drawn("nor2", SILICON, form):
        extraction = extract(made.layout, SILICON)
        active, poly = (pixels(made.layout.shapes[mask]) for mask in ("active", "poly"))
        gate, ends = active & poly, active - poly
        read = []
        while gate:
            edge = [gate.pop()]
            squares, sides = 0, 0
            while edge:
                x, y = edge.pop()
                squares += 1
                for near in ((x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)):
                    sides += near in ends
                    if near in gate:
                        gate.remove(near)
                        edge.append(near)
            read.append((round(UNIT * 2 * squares / sides), round(UNIT * sides / 2)))
        told = [(t.length, t.width) for t in extraction.netlist.transistors]
        assert sorted(read) == sorted(told)
        meant = [made.sizes[name] for name in names]
        assert all((round(UNIT * length), round(UNIT * width)) in told for _, length, width in meant)
        assert len(merge_fingers(extraction.netlist).transistors) == len(netlist.transistors)


FITTING = [
    (name, process)
    for process in (SILICON, SAPPHIRE, BULK, NMOS, PMOS)
    for name in ("inverter", "inverter_long_load", "inverter_pulled_up", "transmission_gate")
    if load_cell(name).fits(process)
]


@each(("name", "process"), FITTING)
def test_every_form_is_proved_at_the_first_attempt(name, process):
    """Rules clean, netlist equal, sizes as meant, whatever the seed chose, tidy or crowded."""
    netlist = cell(name, process)
    for seed in spread(range(12), 3):
        assert proved(netlist, process, seed, difficulty=(0.3, 0.9)[seed % 2]).attempts == 1


def without(layout, mask, gone):
    """Return the layout with an area taken out of a mask."""
    kept = []
    for r in layout.shapes[mask]:
        if not r.overlaps(gone):
            kept.append(r)
            continue
        y0, y1 = max(r.y0, gone.y0), min(r.y1, gone.y1)
        pieces = (
            Rect(r.x0, r.y0, r.x1, y0) if r.y0 < y0 else None,
            Rect(r.x0, y1, r.x1, r.y1) if y1 < r.y1 else None,
            Rect(r.x0, y0, gone.x0, y1) if r.x0 < gone.x0 else None,
            Rect(gone.x1, y0, r.x1, y1) if gone.x1 < r.x1 else None,
        )
        kept += [piece for piece in pieces if piece is not None]
    return Layout(layout.name, {**layout.shapes, mask: tuple(kept)}, layout.labels)


@each(
    ("name", "process", "form", "mask"),
    [
        ("inverter", SILICON, Form.RING, "poly"),
        ("inverter", SILICON, Form.HOOK, "poly"),
        ("inverter", SILICON, Form.ELBOW, "poly"),
        ("inverter", SILICON, Form.STEP, "poly"),
        ("inverter", SAPPHIRE, Form.HOOK, "metal"),
        ("inverter", BULK, Form.ELBOW, "window"),
        ("inverter_pulled_up", SILICON, Form.SNAKE, "active"),
        ("pull_up_long", NMOS, Form.SNAKE, "active"),
        ("pull_down_long", PMOS, Form.SNAKE, "window"),
    ],
    ids=lambda value: getattr(value, "name", value) if not isinstance(value, Form) else value.value,
)
def test_the_proof_bites_when_a_channel_is_opened_or_cut(name, process, form, mask):
    """Take a slot of 2 λ out of the layer that makes the channel, at either end of every piece of it."""
    tried = 0
    for netlist, made, _ in drawn(name, process, form)[: 2 if WHOLE else 1]:
        extraction = extract(made.layout, process)
        assert not faults_of(netlist, process, made.layout, extraction, made)
        bent = [t.name for t in extraction.netlist.transistors if len(extraction.channel(t.name)) > 1]
        assert bent
        for r in spread([rect for t in bent for rect in extraction.channel(t)], 3):
            for gone in (Rect(r.x0, r.y0, min(r.x1, r.x0 + 4), min(r.y1, r.y0 + 4)), r):
                harmed = without(made.layout, mask, gone)
                tried += 1
                assert faults_of(netlist, process, harmed, extract(harmed, process), made), gone
    assert tried >= 4


def test_a_bridge_across_a_fold_is_noticed():
    """Fill the notch of a folded load with active: the channel is short and wide, which sizes tell."""
    for netlist, made, _ in drawn("inverter_pulled_up", SILICON, Form.SNAKE):
        extraction = extract(made.layout, SILICON)
        (folded,) = [t for t in extraction.netlist.transistors if len(extraction.channel(t.name)) > 2]
        box = bounding_box(extraction.channel(folded.name))
        assert box is not None
        shapes = {**made.layout.shapes, "active": (*made.layout.shapes["active"], box)}
        harmed = Layout(made.layout.name, shapes, made.layout.labels)
        assert any("L is" in text for text in faults_of(netlist, SILICON, harmed, extract(harmed, SILICON), made))


def test_a_lost_cut_among_several_costs_nothing():
    """Of cuts side by side any one may go: the netlist stays, which is why they are doubled (common practice)."""
    side, spared = 4, 0
    netlist = cell("nand2", SILICON)
    for seed in range(20):
        made = drawing(Request(netlist, SILICON, seed))
        assert made is not None
        cuts = made.layout.shapes["contact"]
        places = {(r.x0, r.y0) for r in cuts}
        for r in cuts:
            if (r.x0, r.y0 + 2 * side) in places or (r.x0 + 2 * side, r.y0) in places:
                rest = tuple(other for other in cuts if other is not r)
                harmed = Layout(made.layout.name, {**made.layout.shapes, "contact": rest}, made.layout.labels)
                assert not faults_of(netlist, SILICON, harmed, extract(harmed, SILICON), made)
                spared += 1
    assert spared > 10


def test_a_click_on_a_ring_is_on_the_transistor_and_one_on_its_drain_is_not():
    """The channel is told piece by piece, so that what it goes round is no part of it."""
    for _, made, _ in drawn("inverter", SILICON, Form.RING):
        extraction = extract(made.layout, SILICON)
        rings = [t.name for t in extraction.netlist.transistors if len(extraction.channel(t.name)) > 3]
        assert rings
        for name in rings:
            rects = extraction.channel(name)
            assert all(extraction.transistor_at(*r.centre) == name for r in rects)
            inside = [r for r in made.layout.shapes["contact"]
                      if sum(c.y0 <= r.y0 and r.y1 <= c.y1 and c.x1 <= r.x0 for c in rects)
                      and sum(c.y0 <= r.y0 and r.y1 <= c.y1 and r.x1 <= c.x0 for c in rects)
                      and sum(c.x0 <= r.x0 and r.x1 <= c.x1 and c.y1 <= r.y0 for c in rects)
                      and sum(c.x0 <= r.x0 and r.x1 <= c.x1 and r.y1 <= c.y0 for c in rects)]  # fmt: skip
            assert len(inside) >= 1
            assert all(extraction.transistor_at(*r.centre) is None for r in inside)
