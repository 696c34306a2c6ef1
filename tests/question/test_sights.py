"""Sights on drawings made by hand, where every place is known; and nets against reference libraries."""

import networkx as nx
import pytest
from shapely.geometry import Point as Dot
from shapely.geometry import box
from shapely.ops import unary_union

from layoutdrill.dice import Dice
from layoutdrill.extract import extract
from layoutdrill.face import DrawnFace
from layoutdrill.face.scene import Scene, groups
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.process import load_process
from layoutdrill.question import Answer, Specimen, kinds
from layoutdrill.question.sight import Sight, sights_at
from tests.picture.lookalikes import look_alikes
from tests.question.conftest import drawn


def scene(process_name, **shapes):
    process = load_process(process_name)
    layout = Layout("hand", {name: tuple(Rect(*r) for r in rects) for name, rects in shapes.items()})
    return Scene(process, layout, extract(layout, process))


def specimen(process_name, **shapes):
    made = scene(process_name, **shapes)
    face = DrawnFace(made.layout, made.process, made.extraction)
    return Specimen("hand", "", (), face, made.extraction.netlist, "all that is drawn")


@pytest.mark.parametrize("process_name", ["metal-gate-sapphire", "silicon-gate-cmos"])
def test_the_trade_s_three_sights(process_name):
    """Transistor, contact and crossing of the published look-alike table are told apart by geometry alone."""
    process = load_process(process_name)
    drawing = look_alikes(process)
    made = Scene(process, drawing.layout, extract(drawing.layout, process))
    assert sights_at(made, *drawing.transistor.centre) == {Sight.TRANSISTOR}
    assert sights_at(made, *drawing.contact.centre) == {Sight.CONTACT}
    assert Sight.CROSSING in sights_at(made, *drawing.crossing.centre)
    assert Sight.TRANSISTOR not in sights_at(made, *drawing.crossing.centre)


def test_metal_over_poly_is_a_crossing_until_a_cut_joins_them():
    """In silicon gate metal over poly crosses by default and joins only at a cut (common practice)."""
    plain = {"poly": [(0, 8, 30, 12)], "metal": [(12, 0, 18, 20)]}
    crossed = scene("silicon-gate-cmos", **plain)
    joined = scene("silicon-gate-cmos", **plain, contact=[(13, 8, 17, 12)])
    assert sights_at(crossed, 15, 10) == {Sight.CROSSING}
    assert [c.clean for c in crossed.crossings] == [True]
    assert sights_at(joined, 15, 10) == {Sight.CONTACT}
    assert joined.crossings == ()


def test_a_strip_with_two_contacts_and_no_gate_is_a_crossunder():
    """Diffusion that joins two wires and borders no channel is a crossunder; with one contact it is only diffusion."""
    wires = {
        "silicon": [(0, 0, 60, 8)],
        "nplus": [(0, 0, 60, 8)],
        "metal": [(0, 0, 10, 8), (26, -20, 34, 28), (50, 0, 60, 8)],
    }
    both = scene("metal-gate-sapphire", **wires, contact=[(3, 2, 7, 6), (53, 2, 57, 6)])
    assert sights_at(both, 20, 4) == {Sight.CROSSUNDER}
    assert sights_at(both, 30, 4) == {Sight.CROSSUNDER, Sight.CROSSING}
    one = scene("metal-gate-sapphire", **wires, contact=[(3, 2, 7, 6)])
    assert sights_at(one, 20, 4) == {Sight.DIFFUSION}


def test_a_metal_gate_over_its_own_source_is_no_crossing():
    """A metal gate must overlap source and drain (encyclopedia article on self-aligned gates); that is no crossing."""
    made = scene(
        "metal-gate-sapphire",
        silicon=[(0, 0, 40, 12)],
        nplus=[(0, 0, 16, 12), (24, 0, 40, 12)],
        window=[(15, 0, 25, 12)],
        metal=[(14, -6, 26, 18)],
    )
    assert len(made.extraction.netlist.transistors) == 1
    assert made.crossings == ()
    assert sights_at(made, 20, 6) == {Sight.TRANSISTOR}


def test_a_tap_that_closes_round_a_group_is_a_guard_ring():
    """A ring of the substrate's own doping is a guard ring; with one side open it is a tap (common practice)."""
    sides = [(0, 0, 80, 8), (0, 60, 80, 68), (0, 8, 8, 60), (72, 8, 80, 60)]
    closed = scene("silicon-gate-cmos", active=sides, pselect=[(-4, -4, 84, 72)])
    opened = scene("silicon-gate-cmos", active=sides[:3], pselect=[(-4, -4, 84, 72)])
    assert sights_at(closed, 40, 4) == {Sight.RING}
    assert sights_at(opened, 40, 4) == {Sight.TAP}
    assert sights_at(closed, 40, 30) == {Sight.NOTHING}


def test_bare_field_is_nothing():
    made = scene("silicon-gate-cmos", metal=[(0, 0, 6, 6)], poly=[(40, 40, 60, 44)])
    assert sights_at(made, 30, 20) == {Sight.NOTHING}
    assert sights_at(made, 3, 3) == {Sight.METAL}
    assert sights_at(made, 50, 42) == {Sight.POLY}


def test_the_tolerance_is_one_lambda():
    """A channel is hit on it and up to 1 λ beside it, and missed at 2 λ (2 grid units are 1 λ here)."""
    made = specimen(
        "silicon-gate-cmos",
        active=[(0, 0, 40, 12), (0, 80, 40, 92)],
        nselect=[(-4, -4, 44, 16)],
        pselect=[(-4, 76, 44, 96)],
        nwell=[(-12, 68, 52, 104)],
        poly=[(18, -4, 22, 16), (18, 76, 22, 96)],
    )
    kind = kinds()["point"]
    questions = (kind.ask(made, Dice(seed)) for seed in range(200))
    question = next(q for q in questions if q.key.target == "n transistor")
    earned = {x: kind.grade(question, Answer("", (x, 6))).credit for x in (20, 22, 24, 25, 26)}
    assert earned == {20: 1, 22: 1, 24: 1, 25: 0, 26: 0}
    assert kind.grade(question, kind.accept(question, "10, 3")).credit == 1
    assert kind.grade(question, kind.accept(question, "10, 43")).credit == 0.5
    assert "poly" in kind.grade(question, Answer("", (20, -4))).summary


def test_groups_join_at_edges_not_corners():
    assert sorted(len(g) for g in groups([Rect(0, 0, 2, 2), Rect(2, 0, 4, 2), Rect(4, 2, 6, 4)])) == [1, 2]


@pytest.mark.parametrize(("process_name", "cell"), [("silicon-gate-cmos", "aoi21"), ("metal-gate-sapphire", "mux2_tg")])
def test_nets_agree_with_reference_libraries(drawn, process_name, cell):
    """
    The lettered points of a net are joined in a graph built by shapely and networkx from the masks alone.

    Polygons of each conductor are shapely unions, joined in a networkx graph where a cut touches both.
    """
    made = drawn(cell, process_name, 1)
    shapes = {name: unary_union([box(*r) for r in rects]) for name, rects in made.face.layout.shapes.items()}
    empty = box(0, 0, 0, 0)

    def value(expression):
        if hasattr(expression, "name"):
            return shapes.get(expression.name, empty)
        left, right = value(expression.left), value(expression.right)
        operation = {"&": left.intersection, "|": left.union, "-": left.difference}[expression.operator]
        return operation(right)

    for name, expression in made.process.regions.items():
        shapes[name] = value(expression)
    parts = {
        (name, i): polygon
        for name in made.process.conductors
        for i, polygon in enumerate(getattr(shapes.get(name, empty), "geoms", [shapes.get(name, empty)]))
        if not polygon.is_empty
    }
    graph = nx.Graph()
    graph.add_nodes_from(parts)
    for cut in made.process.cuts:
        if cut.layer is None:
            continue
        for hole in getattr(shapes[cut.layer], "geoms", [shapes[cut.layer]]):
            touched = [p for p, polygon in parts.items()
                       if p[0] in (cut.upper, *cut.lower) and polygon.intersection(hole).area > 0]  # fmt: skip
            nx.add_path(graph, touched)
    kind = kinds()["same net"]
    for seed in range(12):
        question = kind.ask(made, Dice(seed))
        where = {
            letter: {p for p, polygon in parts.items() if polygon.intersects(Dot(*at)) and "well" not in p[0]}
            for letter, at in question.key.places.items()
        }
        component = nx.node_connected_component(graph, next(iter(where["P"])))
        joined = [letter for letter in question.key.letters if where[letter] & component]
        assert tuple(joined) == question.key.right


@pytest.mark.parametrize("cell", ["oai21", "oai211"])
def test_metal_over_a_buried_contact_is_not_asked_for(cell):
    """A place that is a contact and a crossing at once leaves a reader in doubt (found by asking 20,000 questions)."""
    specimen = drawn.__wrapped__(cell, "silicon-gate-nmos", 0)
    kind = kinds()["spot"]
    for turn in range(40):
        question = kind.ask(specimen, Dice.from_text(f"spot 0 {turn}"))
        assert question is not None
        assert not {"contact", "crossing"} <= set(question.key.truths)


def test_a_crossing_is_asked_only_where_the_lower_wire_is_seen_to_run_on():
    """
    Metal across diffusion: asked where the diffusion comes out of the ring on both sides, never where it ends below
    it, as a stub does, and the picture would show an end (2 grid units to the λ).
    """
    kind = kinds()["spot"]
    for end, wanted in ((60, True), (25, False)):
        made = specimen("silicon-gate-cmos", active=[(20, 0, 28, end)], nselect=[(12, -8, 36, 68)],
                        metal=[(0, 14, 60, 22)])  # fmt: skip
        asked = (kind.ask(made, Dice(seed)) for seed in range(60))
        assert any(question is not None and question.key.right == "crossing" for question in asked) is wanted
