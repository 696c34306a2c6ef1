"""Random drawings: against the slow reference on unit squares, and unchanged by what must not change them."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.extract import FindingKind, extract
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.compare import Merge, compare
from tests.extract.raster import Reference, cells_of
from tests.extract.sketch import CMOS, inverter
from tests.sampling import examples

LAYERS = {"nwell": 1, "active": 4, "nselect": 1, "pselect": 1, "poly": 4, "contact": 4, "metal": 4}


SIDES = {"active": (14, 6), "poly": (3, 16), "contact": (3, 3)}
"""The longest sides of a rectangle on a layer, one way or the other; 14 elsewhere."""


def drawing(seed):
    """Return a random drawing of up to 24 rectangles, mostly n below and p in a well above, so that gates come out."""
    rng = random.Random(seed)
    shapes = {"nwell": [Rect(-1, 8, 20, 19)], "pselect": [Rect(-1, 8, 20, 19)], "nselect": [Rect(-1, -1, 20, 8)]}
    for layer, most in LAYERS.items():
        here = shapes.setdefault(layer, [])
        if layer in ("nwell", "nselect", "pselect") and rng.random() < 0.2:
            here.clear()
        for _ in range(rng.randint(0, most)):
            x, y = rng.randint(0, 12), rng.randint(0, 12)
            across, up = SIDES.get(layer, (14, 14))
            if rng.random() < 0.3:
                across, up = up, across
            here.append(Rect(x, y, min(19, x + rng.randint(1, across)), min(18, y + rng.randint(1, up))))
    return Layout("random", {layer: tuple(rects) for layer, rects in shapes.items()})


SEEDS = st.integers(0, 10**9)


def squares(extraction, net):
    return frozenset(
        (name, c)
        for name, rects in extraction.net_shapes(net).items()
        if name in CMOS.conductors
        for c in cells_of(rects)
    )


@given(SEEDS)
@settings(max_examples=examples(500), deadline=None)
def test_nets_and_transistors_are_those_of_the_reference(number):
    """Nets, channels, their ends, W and area: as found square by square with networkx."""
    layout = drawing(number)
    found, reference = extract(layout, CMOS), Reference(layout, CMOS)
    names = set(found.names.values())
    nets = {name: squares(found, name) for name in names}
    assert {n for n in nets.values() if n} == reference.nets()

    def flat(net):
        return frozenset((name, c) for name, part in (m for m in net if m != "substrate") for c in part)

    told = {f.kind for f in found.findings}
    ours = {frozenset(cells_of(found.channel(t.name))): t for t in found.netlist.transistors}
    assert set(ours) <= set(reference.channels)
    for channel, (rule, gate, sides) in reference.channels.items():
        device = ours.get(channel)
        kinds = {name for name, _ in sides}
        if len(sides) != 2 or kinds != {rule.ends}:
            assert device is None or len(sides) != 2
            if device is None:
                told_here = {FindingKind.PARTIAL_GATE, FindingKind.BRANCHED_GATE, FindingKind.MIXED_CHANNEL}
                assert told & told_here
            continue
        assert device is not None
        assert nets[device.gate] == flat(gate)
        assert {nets[device.source], nets[device.drain]} == {
            flat(reference.net[next(iter(piece))]) for _, piece in sides
        }
        width = sum(sides.values()) / 2
        assert device.width == round(width * CMOS.grid_nm)
        assert abs(device.length - len(channel) / width * CMOS.grid_nm) <= 1 or len(set(sides.values())) == 2


def shuffled(layout, rng):
    """Return the layout with shapes and labels in another order."""
    shapes = {layer: tuple(rng.sample(rects, len(rects))) for layer, rects in layout.shapes.items()}
    return Layout(layout.name, dict(rng.sample(list(shapes.items()), len(shapes))), layout.labels[::-1])


def cut_up(layout, rng):
    """Return the layout with each rectangle split in two, crosswise or lengthwise, where it is wide enough."""
    shapes = {}
    for layer, rects in layout.shapes.items():
        here = []
        for r in rects:
            if layer == "contact":
                here.append(r)
            elif rng.random() < 0.5 and r.width > 1:
                x = rng.randrange(r.x0 + 1, r.x1)
                here += [Rect(r.x0, r.y0, x, r.y1), Rect(x, r.y0, r.x1, r.y1)]
            elif r.height > 1:
                y = rng.randrange(r.y0 + 1, r.y1)
                here += [Rect(r.x0, r.y0, r.x1, y), Rect(r.x0, y, r.x1, r.y1)]
            else:
                here.append(r)
        shapes[layer] = tuple(here)
    return Layout(layout.name, shapes, layout.labels)


def told(extraction):
    """Return the findings without their places, which may be those of one piece or another."""
    return sorted((f.kind, f.text) for f in extraction.findings)


@given(SEEDS, st.integers(0, 1000))
@settings(max_examples=examples(400), deadline=None)
def test_order_shift_and_splitting_change_nothing(number, seed):
    """Another order of shapes, a shift, rectangles split in two: the same text, names and all."""
    layout, rng = drawing(number), random.Random(seed)
    text = extract(layout, CMOS).netlist.text()
    assert extract(shuffled(layout, rng), CMOS).netlist.text() == text
    assert extract(layout.transformed(Transform(1234, -567)), CMOS).netlist.text() == text
    assert extract(cut_up(layout, rng), CMOS).netlist.text() == text


@given(SEEDS, st.integers(0, 3), st.booleans())
@settings(max_examples=examples(300), deadline=None)
def test_turning_and_mirroring_keep_the_circuit(number, turns, mirrored):
    """The eight orientations: the same devices with the same sizes, joined alike."""
    layout = drawing(number)
    before = extract(layout, CMOS)
    after = extract(layout.transformed(Transform(3, 4, turns, mirrored)), CMOS)
    same = compare(before.netlist, after.netlist, sizes=True, bodies=True, merge=Merge.NONE)
    assert same.equal, same.text()
    assert sorted(k for k, _ in told(before)) == sorted(k for k, _ in told(after))


@pytest.mark.parametrize("seed", range(5))
def test_a_labelled_cell_keeps_everything(seed):
    """With labels: names, ports and findings stay through shuffling, shifting and splitting."""
    layout = inverter().put("metal", (60, 0, 70, 4)).label("Y", 65, 2).layout()
    rng = random.Random(seed)
    plain = extract(layout, CMOS)
    for other in (shuffled(layout, rng), cut_up(layout, rng)):
        again = extract(other, CMOS)
        assert again.netlist.text() == plain.netlist.text()
        assert again.findings == plain.findings
    assert Label("Y", "metal", 65, 2) in layout.labels
