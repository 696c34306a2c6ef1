"""Resistors and diodes known by their form alone: what a die shows, with nothing that marks them; numbers by hand."""

import pytest

from layoutdrill.extract import extract
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.process import load_process
from tests.drawings import drawing_of
from tests.extract.sketch import CMOS, Sketch, kinds

WIDE, GAP, HIGH = 8, 6, 100
PITCH = WIDE + GAP


def folded(runs, layer="poly"):
    """Return upright runs of a strip, joined at the top and at the bottom in turn, and a named contact at each end."""
    sketch = Sketch("folded")
    for k in range(runs):
        sketch.put(layer, (k * PITCH, 0, k * PITCH + WIDE, HIGH))
    for k in range(runs - 1):
        y = HIGH - WIDE if k % 2 == 0 else 0
        sketch.put(layer, (k * PITCH, y, (k + 1) * PITCH + WIDE, y + WIDE))
    sketch.pin("A", WIDE // 2, WIDE // 2)
    return sketch.pin("B", (runs - 1) * PITCH + WIDE // 2, WIDE // 2 if runs % 2 == 0 else HIGH - WIDE // 2)


def diffused(sketch):
    return sketch.put("nselect", (-10, -10, 200, 200))


def read(sketch, process=CMOS):
    return extract(sketch.layout(), process)


def test_a_folded_strip_is_a_resistor_between_its_ends():
    """
    Four runs of 100 units, 8 wide: along the middle 4 * 92 up and down, 3 * 14 across, 8 for the ends: 418 by 8, in
    units of 750 nm.
    """
    found = read(folded(4))
    (resistor,) = found.netlist.elements
    assert (resistor.kind, resistor.model, sorted(resistor.nodes)) == ("resistor", "poly", ["A", "B"])
    assert dict(resistor.values) == {"L": "313.5u", "W": "6u"}
    assert resistor.squares == pytest.approx(418 / 8)
    assert not found.findings
    body = found.channel("R1")
    assert {(r.x0, r.y0) for r in body} >= {(0, 0)}
    assert found.nets_at(WIDE // 2, HIGH // 2) == ()


def test_what_it_is_made_of_is_told():
    """n+ in the substrate is diffused."""
    (resistor,) = read(diffused(folded(4, "active"))).netlist.elements
    assert (resistor.model, resistor.squares) == ("diffused", pytest.approx(418 / 8))


@pytest.mark.parametrize("turn", [Transform(turns=1), Transform(mirrored=True), Transform(-37, 11, 3)])
def test_it_is_the_same_turned_and_cut_in_pieces(turn):
    """The form counts, not how it is drawn."""
    layout = folded(4).layout()
    pieces = [
        half
        for r in layout.shapes["poly"]
        for half in (Rect(r.x0, r.y0, r.x1, r.y0 + 3), Rect(r.x0, r.y0 + 3, r.x1, r.y1))
    ]
    other = Layout(layout.name, {**layout.shapes, "poly": tuple(pieces)}, layout.labels).transformed(turn)
    (one,), (two,) = extract(layout, CMOS).netlist.elements, extract(other, CMOS).netlist.elements
    assert (one.values, sorted(one.nodes)) == (two.values, sorted(two.nodes))


def test_a_long_wire_is_a_wire():
    """However long: only what is folded was made for its length."""
    straight = Sketch("wire").put("poly", (0, 0, 900, WIDE)).pin("A", 4, 4).pin("B", 896, 4)
    found = read(straight)
    assert found.netlist.elements == ()
    assert kinds(found) == ["short"]


def test_a_short_strip_is_a_wire():
    """Folds as low as they can be leave fewer than 20 squares."""
    sketch = Sketch("low")
    for k in range(3):
        sketch.put("poly", (k * PITCH, 0, k * PITCH + WIDE, 40))
    sketch.put("poly", (0, 32, PITCH + WIDE, 40), (PITCH, 0, 2 * PITCH + WIDE, WIDE))
    sketch.pin("A", 4, 4).pin("B", 2 * PITCH + 4, 36)
    assert read(sketch).netlist.elements == ()


def test_a_strip_with_metal_from_end_to_end_is_a_wire():
    """Its ends are one net."""
    found = read(
        folded(4).put("metal", (0, -20, 3 * PITCH + WIDE, -10), (0, -12, 8, 6), (3 * PITCH, -12, 3 * PITCH + 8, 6))
    )
    assert found.netlist.elements == ()


def test_a_folded_gate_is_no_resistor():
    """Folded poly with a diffusion under it is the gate of a long transistor."""
    found = read(folded(4).put("active", (-20, 40, 4 * PITCH + 20, 60)).put("nselect", (-30, 30, 100, 70)))
    assert found.netlist.elements == ()
    assert len(found.netlist.transistors) == 4


def test_three_ends_are_told():
    """A tap in the middle makes it two resistors or none: it is read as a wire, and said."""
    found = read(folded(4).pin("C", PITCH + 4, 50))
    assert found.netlist.elements == ()
    assert "unread element" in kinds(found)


def strip_of_well(process):
    """Return a strip of well 20 units wide with a tap at each end, which contacts join to nets A and B."""
    well = next(layer for layer, mask in process.layers.items() if mask.role == "well")
    doping = {"nwell": "nselect", "pwell": "pselect"}[well]
    sketch = Sketch("well").put(well, (0, 0, 20, 200))
    for text, y in (("A", 10), ("B", 190)):
        sketch.put("active", (6, y - 4, 14, y + 4)).put(doping, (2, y - 8, 18, y + 8)).pin(text, 10, y)
    return sketch


@pytest.mark.parametrize("name", ["silicon-gate-cmos", "silicon-gate-cmos-pwell"])
def test_a_strip_of_well_is_a_resistor(name):
    """A well is no wire, so it need not be folded: 200 by 20 are ten squares."""
    (resistor,) = read(strip_of_well(load_process(name)), load_process(name)).netlist.elements
    assert (resistor.model, resistor.squares, sorted(resistor.nodes)) == ("well", pytest.approx(10), ["A", "B"])


def patch(side, process=CMOS):
    """Return a square of n+ with a contact on net A, and a tap of the substrate on VSS."""
    sketch = Sketch("patch").put("active", (0, 0, side, side), (-60, 0, -52, 8))
    sketch.put("nselect", (-4, -4, side + 4, side + 4)).put("pselect", (-64, -4, -48, 12))
    return sketch.pin("A", side // 2, side // 2).pin("VSS", -56, 4)


def test_a_broad_patch_is_a_diode():
    """n+ in the p substrate: anode VSS, cathode A; 16 by 16 units of 0.75 µm are 144 pm² with 48 µm round it."""
    found = read(patch(16))
    (diode,) = found.netlist.elements
    assert (diode.kind, diode.nodes, dict(diode.values)) == ("diode", ("VSS", "A"), {"AREA": "144p", "PERIM": "48u"})


def test_a_landing_is_no_diode():
    """A small one only holds a contact, as at the end of a crossunder (common practice)."""
    assert read(patch(10)).netlist.elements == ()


def test_a_source_is_no_diode():
    """Where a gate stands at it, it is one side of a transistor."""
    found = read(
        patch(16).put("poly", (12, -4, 16, 20)).put("active", (16, 0, 32, 16)).put("nselect", (16, -4, 36, 20))
    )
    assert [e.kind for e in found.netlist.elements] == []
    assert len(found.netlist.transistors) == 1


def test_metal_over_a_patch_changes_nothing():
    """In metal gate the metal cuts the pieces below it, and the patch stays one."""
    process = load_process("metal-gate-cmos")
    sketch = Sketch("patch").put("pwell", (-60, -60, 80, 80)).put("nplus", (0, 0, 16, 16))
    sketch.put("pplus", (-40, 0, -32, 8)).pin("A", 8, 8).pin("VSS", -36, 4).put("metal", (-20, 3, 60, 6))
    assert [(e.kind, e.nodes) for e in read(sketch, process).netlist.elements] == [("diode", ("VSS", "A"))]


def test_a_junction_at_a_resistor_s_strip_is_told():
    """The strip is no net, so it has no name to be told by: it is told as what it is."""
    drawing, process = drawing_of("pad_in", "metal-gate-cmos", 1, 0.3), load_process("metal-gate-cmos")
    name = next(e.name for e in drawing.extraction.netlist.elements if e.kind == "resistor")
    x0, _, x1, y1 = drawing.extraction.channel(name)[0]
    shapes = drawing.layout.shapes
    beside = {**shapes, "nplus": (*shapes["nplus"], Rect(x0, y1, x1, y1 + 8))}
    found = extract(Layout("pad_in", beside, drawing.layout.labels), process).findings
    assert any("meets p+ of a resistor's strip" in finding.text for finding in found)
