"""Gates of every shape: sizes against hand arithmetic (W the mean of both edges, L the distance or area over W)."""

import pytest

from layoutdrill.geometry.rect import Rect
from tests.extract.sketch import GRID, inverter, kinds, nmos


def only(extraction):
    (device,) = extraction.netlist.transistors
    return device


def size(extraction):
    """Return (L, W) in grid units."""
    device = only(extraction)
    return device.length / GRID, device.width / GRID


def test_an_inverter():
    """The whole chain on a plain inverter, as one text."""
    assert (
        inverter().read().netlist.text()
        == """\
netlist inverter
ports A VDD VSS Y
nmos M1 gate=A ends=VSS,Y body=VSS L=3000 W=6000
pmos M2 gate=A ends=VDD,Y body=VDD L=3000 W=12000
"""
    )


def test_a_straight_gate():
    """Poly 4 wide over diffusion 8 high: L 4, W 8."""
    found = nmos([(0, 0, 20, 8)], [(8, -4, 12, 12)], (10, -2)).pin("S", 3, 4).pin("D", 17, 4).read()
    assert size(found) == (4, 8)
    assert found.netlist.ports == ("D", "G", "S", "VSS")
    assert only(found).ends == ("D", "S")
    assert found.channel("M1") == (Rect(8, 0, 12, 8),)
    assert not found.findings


def test_a_bent_gate():
    """An L of poly over a square: edges 8 + 8 inside and 12 + 12 outside, area 80; W 20, L 80/20 = 4."""
    found = nmos([(0, 0, 20, 20)], [(8, -4, 12, 12), (8, 8, 24, 12)], (10, -2)).pin("S", 16, 4).pin("D", 4, 16).read()
    assert size(found) == (4, 20)
    assert only(found).ends == ("D", "S")


def test_a_ring_gate():
    """A closed ring, outside 12 × 12, inside 4 × 4: edges 48 and 16, area 128; W 32, L 4."""
    ring = [(4, 4, 16, 8), (4, 12, 16, 16), (4, 8, 8, 12), (12, 8, 16, 12)]
    found = nmos([(0, 0, 20, 20)], ring, (10, 6)).pin("D", 10, 10).pin("S", 2, 2).read()
    assert size(found) == (4, 32)
    assert only(found).ends == ("D", "S")
    assert sum(r.area for r in found.channel("M1")) == 128


def test_diffusion_stepped_below_the_gate():
    """The step lies under the poly: edges 8 and 6, area 2·8 + 2·6 = 28; W 7, L 28/7 = 4."""
    found = nmos([(0, 0, 10, 8), (10, 0, 20, 6)], [(8, -4, 12, 12)], (10, -2)).read()
    assert size(found) == (4, 7)


def test_diffusion_stepped_at_the_gates_edge():
    """The channel is a rectangle of 4 × 8, the drain only 6 high: the distance stays 4, W is 7."""
    found = nmos([(0, 0, 12, 8), (12, 0, 20, 6)], [(8, -4, 12, 12)], (10, -2)).read()
    assert size(found) == (4, 7)
    wider = nmos([(0, 0, 8, 10), (8, 0, 20, 6)], [(8, -4, 12, 12)], (10, -2)).read()
    assert size(wider) == (4, 6)


def test_gates_side_by_side_share_a_diffusion():
    """Two gates over one strip: a stack of two with a private node between, left to right."""
    found = nmos([(0, 0, 32, 8)], [(8, -4, 12, 12), (20, -4, 24, 12)], (10, -2))
    found = found.label("H", 22, -2, layer="poly").pin("S", 3, 4).pin("D", 29, 4).read()
    assert found.netlist.text().splitlines()[2:] == [
        "nmos M1 gate=G ends=S,n1 body=VSS L=3000 W=6000",
        "nmos M2 gate=H ends=D,n1 body=VSS L=3000 W=6000",
    ]


def test_fingers_stay_apart():
    """One poly comb over one strip with both outer ends strapped: two fingers, two devices."""
    found = nmos([(0, 0, 32, 8)], [(8, -4, 12, 12), (20, -4, 24, 12), (8, 12, 24, 14)], (10, -2))
    found = found.pin("S", 3, 4).pin("S", 29, 4).pin("D", 16, 4)
    found = found.put("metal", (2, 5, 4, 9), (28, 5, 30, 9), (2, 7, 30, 9))
    assert [t.ends for t in found.read().netlist.transistors] == [("D", "S"), ("D", "S")]


def test_a_capacitor_is_a_transistor_with_both_ends_on_one_net():
    """Source and drain strapped by metal: still a transistor, and nothing odd."""
    found = nmos([(0, 0, 20, 8)], [(8, -4, 12, 12)], (10, -2)).pin("S", 3, 4).pin("S", 17, 4)
    found = found.put("metal", (2, 5, 18, 7)).read()
    assert only(found).ends == ("S", "S")
    assert not found.findings


def test_a_gate_across_one_arm_of_a_diffusion_ring():
    """The diffusion is one piece round the other way: a real channel, both ends on that piece."""
    frame = [(0, 0, 30, 8), (0, 22, 30, 30), (0, 8, 8, 22), (22, 8, 30, 22)]
    found = nmos(frame, [(12, -4, 16, 12)], (14, -2)).pin("S", 4, 15).read()
    assert only(found).ends == ("S", "S")
    assert size(found) == (4, 8)


@pytest.mark.parametrize(
    "poly",
    [(8, 4, 12, 12), (8, 2, 12, 6), (16, 4, 24, 12), (-4, 5, 24, 12), (-4, -4, 24, 12)],
    ids=["half way in", "an island", "over a corner", "along an edge", "over everything"],
)
def test_poly_that_does_not_cross_is_no_transistor(poly):
    """A gate that does not part the diffusion: a located finding, and no device with source = drain."""
    found = nmos([(0, 0, 20, 8)], [poly], (poly[2] - 1, poly[3] - 1)).read()
    assert found.netlist.transistors == ()
    assert kinds(found) == ["partial gate"]
    assert Rect(0, 0, 20, 8).covers(found.findings[0].place)


def test_poly_flush_with_the_diffusion_still_crosses():
    """No overhang at all: a broken design rule, but a transistor."""
    assert size(nmos([(0, 0, 20, 8)], [(8, 0, 12, 8)], (10, 4)).read()) == (4, 8)


def tee():
    return nmos([(0, 0, 20, 20)], [(8, -4, 12, 12), (-4, 8, 24, 12)], (10, -2)).pin("A", 4, 4).pin("B", 16, 4)


def test_a_branched_gate_on_three_nets_is_no_transistor():
    """A T of poly parts the diffusion in three, on three nets: told, not guessed."""
    found = tee().pin("C", 10, 16).read()
    assert found.netlist.transistors == ()
    assert kinds(found) == ["branched gate"]
    assert found.findings[0].place == Rect(0, 0, 20, 12)


def test_a_branched_gate_on_two_nets_is_one_transistor():
    """The same with two of the three strapped: one transistor, W = (8+8 … +20) summed by net, and still told."""
    found = tee().pin("A", 10, 16).put("metal", (3, 4, 5, 16), (5, 15, 10, 17)).read()
    assert kinds(found) == ["branched gate"]
    assert only(found).ends == ("A", "B")
    # A: 8 + 8 round its lower left piece and 20 along the top; B: 8 + 8. Area 4·12 + 8·4 + 8·4 = 112.
    assert size(found) == (round(112 / 26 * GRID) / GRID, 26)


def test_doping_or_well_that_does_not_fit():
    """Poly over active with p select and no well is neither channel: told, where a count alone would miss it."""
    found = nmos([(0, 0, 20, 8)], [(8, -4, 12, 12)], (10, -2))
    found.shapes["pselect"] += found.shapes.pop("nselect")
    found = found.read()
    assert found.netlist.transistors == ()
    assert kinds(found) == ["unread gate"]
    assert found.findings[0].place == Rect(8, 0, 12, 8)
