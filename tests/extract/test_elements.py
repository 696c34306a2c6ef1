"""Devices that are not transistors, in the layers of the open 130 nm kit; numbers by hand."""

import pytest

from layoutdrill.extract import extract
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.model import Element
from layoutdrill.process import load_process

KIT = load_process("open-130nm")


def resistor_strip(*marks):
    """Return a strip of poly 2.0 × 0.3 µm with marks along it, and a named contact at each end."""
    shapes = {
        "poly": (Rect(0, 0, 2000, 300),),
        "resistor_mark": tuple(Rect(x0, -50, x1, 350) for x0, x1 in marks),
        "licon": (Rect(50, 65, 220, 235), Rect(1780, 65, 1950, 235)),
        "li1": (Rect(20, 20, 250, 280), Rect(1750, 20, 1980, 280)),
    }
    return Layout("strip", shapes, (Label("A", "li1", 100, 100), Label("B", "li1", 1800, 100)))


def test_a_poly_resistor():
    """Between two pieces of the strip: length along the mark, width of the poly."""
    found = extract(resistor_strip((600, 1400)), KIT)
    assert found.netlist.elements == (
        Element("R1", "resistor", "res_generic_po", ("A", "B"), (("L", "0.8u"), ("W", "0.3u"))),
    )
    assert found.channel("R1") == (Rect(600, 0, 1400, 300),)
    assert not found.findings


def test_two_resistors_in_a_row():
    """The piece between two marks is a net of its own."""
    found = extract(resistor_strip((600, 800), (1000, 1400)), KIT)
    assert [(e.nodes, dict(e.values)["L"]) for e in found.netlist.elements] == [
        (("A", "n1"), "0.2u"),
        (("n1", "B"), "0.4u"),
    ]


def test_a_mark_over_the_strips_end_is_told():
    """A resistor needs two ends."""
    found = extract(resistor_strip((1400, 2100)), KIT)
    assert found.netlist.elements == ()
    (told,) = [f for f in found.findings if f.kind.value == "unread element"]
    assert told.place == Rect(1400, 0, 2000, 300)
    assert told.text == "an area marked as a resistor has 1 ends on wire_poly, not 2: not read as one"


def test_a_diode():
    """n+ on the substrate: anode below, cathode above; 0.5 × 0.8 µm give 0.4 pm² and 2.6 µm round it."""
    shapes = {
        "diffusion": (Rect(0, 0, 500, 800),),
        "nplus": (Rect(-100, -100, 600, 900),),
        "diode_mark": (Rect(-50, -50, 550, 850),),
        "licon": (Rect(100, 100, 270, 270),),
        "li1": (Rect(80, 80, 290, 290),),
    }
    labels = (Label("A", "li1", 100, 100), Label("GND", "substrate_name", 0, 0))
    found = extract(Layout("diode", shapes, labels), KIT)
    assert found.netlist.elements == (
        Element("D1", "diode", "diode_pw2nd_05v5", ("GND", "A"), (("AREA", "0.4p"), ("PERIM", "2.6u"))),
    )
    assert found.netlist.ports == ("A", "GND")
    shapes["diffusion"] = (Rect(0, 0, 250, 800), Rect(250, 0, 500, 800))
    assert extract(Layout("diode", shapes, labels), KIT).netlist == found.netlist


PLATES = """\
name: plates
title: an invented process for tests
about: plate capacitors of metal over poly
grid: {nm: 1000, per_lambda: 2}
layers:
  active: {title: active, role: active}
  poly: {title: poly, role: poly}
  mark: {title: capacitor, role: marker}
  metal: {title: metal, role: metal}
regions:
  plate: mark & metal
  gate: active & poly
  diff: active - poly
conductors:
  metal: [metal]
  poly: [poly]
  diff:
cuts: []
transistors:
  - {kind: n, channel: gate, gate: poly, ends: diff}
elements:
  - {kind: capacitor, model: plate, body: plate, ends: metal, under: poly}
"""


@pytest.mark.parametrize("under", [True, False])
def test_a_plate_capacitor(tmp_path, under):
    """Metal over poly where it is marked: 8 × 5 µm; with no poly below it is told."""
    path = tmp_path / "plates.yaml"
    path.write_text(PLATES)
    shapes = {"metal": (Rect(0, 0, 8, 5),), "mark": (Rect(0, 0, 8, 5),), "poly": (Rect(-4, 0, 8, 5),) if under else ()}
    labels = (Label("T", "metal", 1, 1), *((Label("B", "poly", -2, 2),) if under else ()))
    found = extract(Layout("plates", shapes, labels), load_process(str(path)))
    values = (("AREA", "40p"), ("PERIM", "26u"))
    expected = (Element("C1", "capacitor", "plate", ("T", "B"), values),) if under else ()
    assert found.netlist.elements == expected
    assert [f.kind.value for f in found.findings] == ([] if under else ["unread element"])
