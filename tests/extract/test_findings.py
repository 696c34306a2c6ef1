"""What is odd about a drawing is told, with its place, and the rest is read all the same."""

import pytest

from layoutdrill.extract import extract
from layoutdrill.extract.model import FindingKind
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.process import load_process
from tests.extract.sketch import METAL_GATE, Sketch, inverter, kinds, nmos


def test_one_name_on_two_nets_is_an_open():
    """The net with more devices keeps the name and the port; the other is internal, NAME#2."""
    sketch = inverter().put("metal", (60, 0, 70, 4)).label("Y", 65, 2)
    found = sketch.read()
    assert kinds(found) == ["open"]
    assert found.findings[0].place == Rect(65, 2, 66, 3)
    assert found.netlist.ports == ("A", "VDD", "VSS", "Y")
    assert found.net_shapes("Y#2") == {"metal": (Rect(60, 0, 70, 4),)}


def test_two_names_on_one_net_are_a_short():
    """Both are told; the net takes the first of them."""
    found = inverter().label("OUT", 15, 45).read()
    assert kinds(found) == ["short"]
    assert "OUT, Y" in found.findings[0].text
    assert found.netlist.ports == ("A", "OUT", "VDD", "VSS")


def test_a_real_short_swallows_a_net():
    """Metal from the output to the rail: one net with both names."""
    found = inverter().put("metal", (7, 0, 13, 4)).read()
    assert kinds(found) == ["short"]
    assert found.findings[0].text.startswith("names VSS, Y lie on one net")


def test_a_short_and_an_open_of_one_name():
    """Y is shorted to the rail, and lies on another piece too: both are told, and the other piece is the port Y."""
    found = inverter().put("metal", (7, 0, 13, 4), (60, 0, 70, 4)).label("Y", 65, 2).read()
    assert sorted(kinds(found)) == ["open", "short"]
    assert found.nets_at(65, 2) == (("metal", "Y"),)
    (told,) = [f.text for f in found.findings if f.kind.value == "open"]
    assert told == "name Y lies on 2 nets that nothing joins: an open; this one is VSS"


def test_internal_names_do_not_clash_with_labels():
    """A second net named Y is not called Y#2 when a label says that of a third."""
    sketch = inverter().put("metal", (60, 0, 70, 4), (80, 0, 90, 4)).label("Y", 65, 2).label("Y#2", 85, 2)
    assert sketch.read().nets_at(65, 2) == (("metal", "Y#3"),)


def test_labels_of_any_characters():
    """A label may hold digits of other scripts, spaces, anything."""
    sketch = Sketch().put("metal", (0, 0, 4, 4), (10, 0, 14, 4), (20, 0, 24, 4))
    found = sketch.label("x²", 2, 2).label("a b", 12, 2).label("٣", 22, 2).read()
    assert sorted(found.netlist.ports) == sorted(("x²", "a b", "٣"))


def test_a_floating_gate():
    """A gate with no label that reaches nothing but gates is told once a net."""
    sketch = nmos([(0, 0, 32, 8)], [(8, -4, 12, 12), (20, -4, 24, 12), (8, 12, 24, 14)], (10, -2))
    sketch.labels = [t for t in sketch.labels if t.text != "G"]
    found = sketch.read()
    assert kinds(found) == ["floating gate"]
    assert found.findings[0].place == Rect(8, 0, 12, 8)


def test_a_stray_label_and_a_stray_cut():
    """A name on nothing, and contacts with metal but nothing below, or silicon but no metal."""
    sketch = inverter().label("X", 200, 200).put("contact", (-8, 21, -6, 23), (9, 30, 11, 32))
    found = sketch.read()
    assert sorted((f.kind.value, f.place) for f in found.findings) == [
        ("stray cut", Rect(-8, 21, -6, 23)),
        ("stray cut", Rect(9, 30, 11, 32)),
        ("stray label", Rect(200, 200, 201, 201)),
    ]


def test_a_label_on_an_edge_counts_but_the_inside_wins():
    """A label on the corner where two nets meet goes to the one it lies in; on an edge alone, to that net."""
    sketch = Sketch().put("metal", (0, 0, 4, 4), (4, 6, 8, 8)).label("A", 4, 2).label("B", 5, 7)
    assert sketch.read().netlist.ports == ("A", "B")
    sketch = Sketch().put("metal", (0, 0, 9, 4)).put("poly", (3, 0, 6, 4)).label("P", 3, 0, layer="poly")
    found = sketch.label("M", 3, 0).read()
    assert found.nets_at(4, 2) == (("metal", "M"), ("poly", "P"))
    assert not found.findings


def test_n_against_p_without_a_strap():
    """n+ that abuts p+ is a diode unless metal over both makes them one net (a butted tap)."""
    sketch = Sketch().put("active", (0, 0, 20, 8)).put("nselect", (0, -2, 10, 10)).put("pselect", (10, -2, 22, 10))
    sketch.pin("S", 4, 4)
    found = sketch.read()
    assert kinds(found) == ["unstrapped junction"]
    assert found.findings[0].place == Rect(10, 0, 11, 8)
    assert kinds(sketch.pin("S", 16, 4).put("metal", (3, 3, 17, 5)).read()) == []


def test_n_and_p_at_one_channel():
    """On sapphire a gap between n+ and p+ is no transistor of either kind."""
    sketch = Sketch().put("silicon", (0, 0, 20, 8)).put("nplus", (0, 0, 8, 8)).put("pplus", (12, 0, 20, 8))
    sketch.put("window", (7, -1, 13, 9)).put("metal", (7, -2, 13, 10)).label("G", 10, 9)
    found = sketch.read(METAL_GATE)
    assert found.netlist.transistors == ()
    assert kinds(found) == ["mixed channel"]
    assert found.findings[0].place == Rect(8, 0, 12, 8)


def test_findings_are_in_the_order_of_their_places():
    """The same drawing tells the same list."""
    sketch = inverter().label("X", 200, 200).label("Z", -200, 0)
    assert [f.place.x0 for f in sketch.read().findings] == [-200, 200]
    assert sketch.read().findings == sketch.read().findings


@pytest.mark.parametrize("turns", range(4))
def test_an_area_with_both_dopings_is_told_in_every_orientation(turns):
    """One area under both selects is a junction however the drawing is turned (found by random drawings)."""
    layout = Layout(
        "both",
        {
            "nwell": (Rect(-10, -10, 40, 40),),
            "active": (Rect(0, 0, 20, 8),),
            "nselect": (Rect(10, -2, 30, 10),),
            "pselect": (Rect(-2, -2, 30, 10),),
        },
    )
    found = extract(layout.transformed(Transform(turns=turns)), load_process("silicon-gate-cmos"))
    assert FindingKind.JUNCTION in {finding.kind for finding in found.findings}
