"""Nets: what joins and what does not, their names, and where they lie."""

import gc

from layoutdrill.extract import extract
from layoutdrill.geometry.polygon import polygon_rects
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.gdsii import read_gdsii, write_gdsii
from layoutdrill.layout.model import Layout, Placement
from layoutdrill.process.load import load_process
from tests.extract.sketch import CMOS, METAL_GATE, Sketch, device_lines, inverter, kinds, nmos


def names_at(found, *points):
    return [dict(found.nets_at(*point))["metal"] for point in points]


def test_edges_join_and_corners_do_not():
    """Two pieces of metal that share an edge are one net, two that share a corner are not."""
    found = Sketch().put("metal", (0, 0, 4, 4), (4, 0, 8, 4), (8, 4, 12, 8)).read()
    assert names_at(found, (1, 1), (7, 1), (10, 6)) == ["n1", "n1", "n2"]


def test_unlabelled_nets_are_numbered_from_left_to_right():
    """n1 is the leftmost; a label that looks like such a name is passed over."""
    found = Sketch().put("metal", (20, 0, 24, 4), (0, 0, 4, 4), (40, 0, 44, 4)).label("n1", 42, 2).read()
    assert names_at(found, (1, 1), (21, 1), (41, 1)) == ["n2", "n3", "n1"]


def test_a_crossing_without_a_cut_joins_nothing():
    """Metal over poly and over diffusion: nets of their own."""
    sketch = nmos([(0, 0, 20, 8)], [(8, -4, 12, 12)], (10, -2)).put("metal", (-5, 2, 25, 5)).label("M", -4, 3)
    found = sketch.read()
    assert found.nets_at(10, 4) == (("metal", "M"), ("poly", "G"))
    assert found.nets_at(3, 4) == (("metal", "M"), ("ndiff", "n1"))
    assert found.netlist.nets == ("G", "M", "VSS", "n1", "n2")


def test_a_contact_over_poly_and_diffusion_joins_both():
    """A butting contact: one cut over the end of a poly line and the diffusion beside it."""
    sketch = Sketch().put("active", (0, 0, 8, 8)).put("nselect", (-2, -2, 12, 10)).put("poly", (8, 2, 16, 6))
    found = sketch.put("contact", (6, 3, 10, 5)).put("metal", (5, 2, 11, 6)).label("X", 7, 4).read()
    assert found.net_shapes("X") == {
        "metal": (Rect(5, 2, 11, 6),),
        "poly": (Rect(8, 2, 16, 6),),
        "ndiff": (Rect(0, 0, 8, 8),),
        "contact": (Rect(6, 3, 10, 5),),
    }


def test_places_can_be_asked_for():
    """A device and a net remember their shapes; a point finds them again."""
    found = inverter().read()
    assert found.transistor_at(10, 4) == "M1"
    assert found.transistor_at(10, 40) == "M2"
    assert found.transistor_at(3, 4) is None
    shapes = found.net_shapes("A")
    assert shapes == {
        "metal": (Rect(-10, 20, 12, 24),),
        "poly": (Rect(8, -4, 12, 56),),
        "contact": (Rect(8, 20, 12, 24),),
    }
    assert found.net_shapes("no such net") == {}


def test_every_net_of_the_netlist_has_shapes():
    """Names in the netlist and names on the drawing are the same names."""
    found = inverter().read()
    for net in found.netlist.nets:
        assert found.net_shapes(net)


def test_bodies():
    """A tied well is its rail's net; untied wells and substrate are ports of their own, each well its own."""
    sketch = inverter()
    assert "body=VDD" in device_lines(sketch.read())[1]
    for layer in ("active", "contact"):
        sketch.shapes[layer] = [r for r in sketch.shapes[layer] if r.x0 != 26]
    found = sketch.read()
    assert [line.split()[4] for line in device_lines(found)] == ["body=substrate", "body=nwell"]
    assert found.netlist.ports == ("A", "VDD", "VSS", "Y", "nwell", "substrate")
    flat = Layout("two", {}, (), (Placement(sketch.layout()), Placement(sketch.layout(), Transform(100, 0))))
    two = extract(flat, CMOS)
    assert two.netlist.ports == ("nwell", "nwell#2", "substrate")


def test_sapphire_has_no_body():
    """A metal gate between doped parts of an island: kind by its neighbours, no body node."""
    sketch = Sketch("pair")
    sketch.put("silicon", (0, 0, 20, 8), (0, 20, 20, 28)).put("nplus", (0, 0, 8, 8), (12, 0, 20, 8))
    sketch.put("pplus", (0, 20, 8, 28), (12, 20, 20, 28)).put("window", (7, -1, 13, 9), (7, 19, 13, 29))
    sketch.put("metal", (7, -2, 13, 30), (0, -6, 5, 7), (15, 1, 20, 27), (0, 21, 5, 36))
    sketch.put("contact", (1, 2, 4, 6), (16, 2, 19, 6), (1, 22, 4, 26), (16, 22, 19, 26))
    sketch.label("A", 10, 15).label("Y", 17, 15).label("VSS", 2, -3).label("VDD", 2, 34)
    assert (
        sketch.read(METAL_GATE).netlist.text()
        == """\
netlist pair
ports A VDD VSS Y
nmos M1 gate=A ends=VSS,Y L=6000 W=12000
pmos M2 gate=A ends=VDD,Y L=6000 W=12000
"""
    )


def test_metal_over_thick_oxide_is_a_crossing():
    """On sapphire, metal over doped silicon with no window makes no device, as in a crossunder (common practice)."""
    sketch = Sketch().put("silicon", (0, 0, 20, 8)).put("nplus", (0, 0, 20, 8)).put("metal", (8, -4, 12, 12))
    found = sketch.label("M", 10, -2).read(METAL_GATE)
    assert found.netlist.transistors == ()
    assert kinds(found) == []


def test_labels_of_placed_cells_are_not_this_cells_nets():
    """A placed inverter twice over: its labels say nothing, the rails' own labels do."""
    cell = inverter().layout()
    both = Layout("two", {}, (), (Placement(cell), Placement(cell, Transform(100, 0))))
    found = extract(both, CMOS)
    assert found.netlist.ports == ()
    assert len(found.netlist.transistors) == 4


def test_a_drawing_survives_gdsii():
    """Written to a GDSII stream and read back, the same netlist comes out."""
    layout = inverter().layout()
    assert extract(read_gdsii(write_gdsii(layout, CMOS), CMOS), CMOS).netlist == extract(layout, CMOS).netlist


def test_keyholed_diffusion():
    """A ring of diffusion drawn as one keyholed polygon, a gate across one arm: the hole is no channel."""
    outline = [
        (0, 0),
        (30, 0),
        (30, 30),
        (0, 30),
        (0, 15),
        (8, 15),
        (8, 22),
        (22, 22),
        (22, 8),
        (8, 8),
        (8, 15),
        (0, 15),
    ]
    frame = polygon_rects(outline)
    found = nmos(frame, [(12, -4, 16, 12)], (14, -2)).pin("S", 4, 12).read()
    assert found.channel("M1") == (Rect(12, 0, 16, 8),)
    assert found.net_shapes("S")["ndiff"]
    assert sum(r.area for r in found.net_shapes("S")["ndiff"]) == 900 - 14 * 14 - 4 * 8


def test_the_cycle_collector_is_left_as_it_was():
    """Extraction pauses it for speed and then restores what it found, on or off."""
    for on in (True, False):
        (gc.enable if on else gc.disable)()
        extract(inverter().layout(), CMOS)
        assert gc.isenabled() is on
    gc.enable()


def test_an_empty_drawing():
    """Nothing drawn, nothing found."""
    found = extract(Layout("empty", {}), CMOS)
    assert found.netlist.text() == "netlist empty\nports \n"
    assert found.findings == ()


ODD_PROCESS = """\
name: odd
title: an invented process for tests
about: one diffusion, depletion loads, two metals that are one conductor
grid: {nm: 1000, per_lambda: 2}
layers:
  diff: {title: diffusion, role: active}
  poly: {title: poly, role: poly}
  implant: {title: depletion implant, role: implant}
  buried: {title: buried contact, role: buried-contact}
  cut: {title: contact, role: contact}
  metal: {title: metal, role: metal}
  pad: {title: pad, role: metal-2}
regions:
  channel: diff & poly - buried - implant
  load: diff & poly & implant - buried
  wire: diff - (poly - buried)
  top: metal | pad
conductors:
  top: [metal, pad]
  poly: [poly]
  wire:
  substrate:
cuts:
  - {layer: cut, upper: top, lower: [poly, wire]}
  - {upper: poly, lower: [wire]}
transistors:
  - {kind: n, channel: channel, gate: poly, ends: wire, body: substrate}
  - {kind: n, mode: depletion, channel: load, gate: poly, ends: wire, body: substrate}
"""


def test_a_process_of_another_sort(tmp_path):
    """Depletion loads, buried contacts, and a conductor that is one layer or another with no layer in common."""
    path = tmp_path / "odd.yaml"
    path.write_text(ODD_PROCESS)
    process = load_process(str(path))
    sketch = Sketch("inverter").put("diff", (0, 0, 8, 60)).put("poly", (-4, 12, 12, 16), (-4, 36, 12, 46))
    sketch.put("implant", (-2, 34, 10, 48)).put("buried", (0, 30, 8, 36)).put("poly", (0, 32, 8, 36))
    sketch.put("cut", (2, 2, 6, 6), (2, 54, 6, 58), (2, 22, 6, 26))
    sketch.put("metal", (-9, 0, 8, 8), (-9, 52, 8, 60), (0, 20, 12, 28)).put("pad", (12, 20, 30, 28), (10, 27, 12, 30))
    sketch.label("VSS", -5, 4).label("VDD", -5, 56).label("Y", 25, 24, layer="pad").label("A", -3, 14, layer="poly")
    found = sketch.read(process)
    assert (
        found.netlist.text()
        == """\
netlist inverter
ports A VDD VSS Y substrate
nmos M1 gate=A ends=VSS,Y body=substrate L=4000 W=8000
nmosd M2 gate=Y ends=VDD,Y body=substrate L=10000 W=8000
"""
    )
    assert found.findings == ()
