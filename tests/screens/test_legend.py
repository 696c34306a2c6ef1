"""The legend is cut from the very picture it explains."""

import re

import pytest

from layoutdrill.deck import lesson_names, load_deck
from layoutdrill.deck.save import cell_meant
from layoutdrill.deck.specimen import SpecimenMaker, drawn
from layoutdrill.face import DrawnFace
from layoutdrill.face.drawn import layout_of
from layoutdrill.face.section import SectionFace
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.drill_screen import DrillScreen
from layoutdrill.screens.legend import COLUMNS, ROWS, gone, sights, swatch, swatch_region
from layoutdrill.screens.legend_screen import LegendScreen
from layoutdrill.screens.subject import Subject, look_for_process, paint
from tests.sampling import spread
from tests.screens.fakes import FakeSitting


@pytest.fixture(scope="module")
def specimen():
    return drawn(cell_meant("nand2"), "silicon-gate-cmos", 3, 0.3)


def test_each_thing_of_a_gate_is_there_with_its_places(specimen):
    """Four transistors of a NAND2 (Weste & Harris: two for each input), its contacts, its wires."""
    found = {sight.name: sight for sight in sights(specimen.face)}
    assert {"metal", "poly", "diffusion", "contact", "gate", "crossing"} <= set(found)
    assert len(found["gate"].places) == len(specimen.extraction.netlist.transistors)
    for sight in found.values():
        assert sight.about
        assert all(place.common(specimen.face.box) for place in sight.places)


def test_both_dopings_and_the_edge_of_a_well_have_their_swatches(specimen):
    """n and p side of a CMOS gate look unlike, so each is shown; which is which is not said."""
    found = {sight.name: sight for sight in sights(specimen.face, wells=True)}
    one, other = found["diffusion"].places[0], found["other diffusion"].places[0]
    netlist = specimen.extraction.netlist
    kinds = {t.name: t.kind for t in netlist.transistors}
    near = [
        min(kinds, key=lambda name: abs(specimen.extraction.channel(name)[0].centre[1] - place.centre[1]))
        for place in (one, other)
    ]
    assert kinds[near[0]] != kinds[near[1]]
    (well,) = specimen.face.scene.wells[1]
    for place in found["edge of a well"].places:
        x, y = place.centre
        assert x in (well.x0, well.x1) or y in (well.y0, well.y1)
        assert not any(place.overlaps(wire.rect) for wire in specimen.face.scene.wires)
    assert "edge of a well" not in {sight.name for sight in sights(specimen.face)}
    assert not any(re.search(r"\b[np]\b", sight.name) for sight in found.values())


def first_kind(face):
    """The kind of the transistors whose diffusion is the legend's first."""
    place = next(sight for sight in sights(face) if sight.name == "diffusion").places[0]

    def apart(transistor):
        channel = face.extraction.channel(transistor.name)[0]
        return sum(abs(a - b) for a, b in zip(channel.centre, place.centre, strict=True))

    return min(face.extraction.netlist.transistors, key=apart).kind


def test_the_order_of_the_legend_does_not_tell_which_doping_is_n():
    """
    Whatever the process calls its layers, the first is the diffusion that lies uppermost, or further left: of every
    drawing turned by half it is the other one.
    """
    firsts = []
    for cell, process in (
        ("nand2", "silicon-gate-cmos"),
        ("nor2", "metal-gate-cmos"),
        ("inverter", "silicon-gate-cmos"),
    ):
        specimen = drawn(cell_meant(cell), process, 3, 0.3)
        turned = specimen.face.layout.flattened().transformed(Transform(turns=2))
        straight, round_about = (first_kind(face) for face in (specimen.face, DrawnFace.of(turned, specimen.process)))
        assert straight is not round_about
        firsts.append(straight)
    assert len(set(firsts)) == 2


def test_what_is_asked_is_never_an_example(specimen):
    """A place under a question's letter is left out; a thing that is nowhere else, too."""
    contacts = next(sight for sight in sights(specimen.face) if sight.name == "contact")
    asked = contacts.places[0]
    left = next(sight for sight in sights(specimen.face, shunned=(asked,)) if sight.name == "contact")
    assert asked not in left.places
    assert len(left.places) == len(contacts.places) - 1
    everywhere = Rect(-9999, -9999, 9999, 9999)
    assert sights(specimen.face, shunned=(everywhere,)) == ()


def test_layers_lifted_off_are_not_explained(specimen):
    """With the metal gone there is no metal to be seen."""
    names = {sight.name for sight in sights(specimen.face, specimen.face.metal)}
    assert "metal" not in names
    assert "poly" in names


@pytest.mark.parametrize("look", ["stick-colours", "high-contrast"])
def test_a_swatch_has_the_colours_of_its_picture(specimen, look):
    """The middle of a swatch of metal is the colour of that very place."""
    subject = Subject(specimen.face, look=look, seed=3)
    metal = next(sight for sight in sights(specimen.face) if sight.name == "metal").places[0]
    piece = swatch(subject, metal)
    assert piece.image.size == (COLUMNS, ROWS * 2)
    x, y = metal.centre
    here = Rect(x - 2, y - 2, x + 2, y + 2)
    seen = paint(subject, here, 2).convert("RGB").getpixel((2, 2))
    middle = piece.colours[piece.image.getpixel((COLUMNS // 2, ROWS))]
    assert max(abs(a - b) for a, b in zip(seen, middle, strict=True)) < 40


async def test_a_row_of_the_legend_rings_a_place_in_the_picture():
    """e opens it, Enter rings; e and Enter again ring another place of the same thing."""
    app = BenchApp(StartRequest(sitting=FakeSitting()))
    async with app.run_test(size=(120, 40)) as pilot:
        for _ in range(200):
            await app.workers.wait_for_complete()
            await pilot.pause(0.05)
            if isinstance(app.screen, DrillScreen) and app.screen.phase == "asking" and app.screen.picture.stands:
                break
        rings = []
        for _ in range(2):
            app.screen.act_legend()
            await pilot.pause()
            assert isinstance(app.screen, LegendScreen)
            for _ in range(200):
                await app.workers.wait_for_complete()
                await pilot.pause()
                if app.screen.found:
                    break
            await pilot.press("enter")
            for _ in range(200):
                await pilot.pause()
                if isinstance(app.screen, DrillScreen) and len(app.screen.picture.subject.overlay.spots) == 1:
                    break
            rings.append(app.screen.picture.subject.overlay.spots)
        assert len(rings[0]) == len(rings[1]) == 1


METALS = {"metal", "metal-2", "upper-metal", "local-metal"}
DRAWN = {
    "metal": METALS,
    "poly": {"poly"},
    "contact": {"contact", "buried-contact"},
    "via": {"via", "contact"},
    "diffusion": {"active", "n-doping", "p-doping"},
}
"""Roles of the layers one of which is drawn at the middle of each swatch."""


def misplaced(deck, picture):
    """Return the swatches of a page's picture that do not lie on their layer in the layout as it is seen."""
    made = SpecimenMaker(deck).picture(picture)
    if isinstance(made.face, SectionFace):
        return [sight.name for sight in sights(made.face)]
    lifted = frozenset(made.process.layers) - set(picture.layers) if picture.layers else frozenset()
    look = look_for_process(picture.look or deck.look, made.process)
    subject = Subject(made.face, look=look, seed=picture.seed, wear=picture.wear, stage=picture.stage, hidden=lifted)
    away, layout = gone(subject), layout_of(made.face).flattened()
    wrong = []
    for sight in sights(made.face, away):
        x, y = swatch_region(subject, sight.places[0]).centre
        roles = {
            made.process.layers[name].role
            for name, rects in layout.shapes.items()
            if name not in away and any(rect.contains(x, y) for rect in rects)
        }
        covered = sight.name == "poly" and roles & METALS
        if covered or not roles & DRAWN.get(sight.name, roles):
            wrong.append((sight.name, x, y, sorted(roles)))
    return wrong


def test_every_swatch_is_cut_where_the_page_shows_its_layer():
    """Pages of all lessons, each with a seam or a stage among them: no swatch lies beside its layer."""
    cases = [
        (deck, page.title, picture)
        for deck in map(load_deck, lesson_names())
        for page in deck.pages
        for picture in page.pictures
        if picture.cell != "message_buffer"  # a whole die takes long to draw
    ]
    apart = [case for case in cases if case[2].seam or case[2].stage]
    assert apart
    for deck, title, picture in (*apart, *spread(cases, 10)):
        assert misplaced(deck, picture) == [], f"{deck.title}: {title}: {picture.cell}"
