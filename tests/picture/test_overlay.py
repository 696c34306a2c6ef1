"""Overlays: outlines, strokes, letters and scale are seen in colour, in grey and in half-blocks."""

import math
from dataclasses import replace
from itertools import product

import pytest
from PIL import ImageChops

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.overlay import (
    LETTERS_FROM,
    Overlay,
    Part,
    Tag,
    devices_overlay,
    draw_overlay,
    mark_letters,
    nets_overlay,
    overlay_letters,
    overlay_texts,
    scale_bar,
    stroke_of,
)
from layoutdrill.picture.overlay_ink import ring_radius
from layoutdrill.picture.perception import lightness, seen
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from tests.each import each
from tests.sampling import covering

PROCESS = load_process("silicon-gate-cmos")
LAYOUT = Layout(
    "two gates",
    {
        "active": (Rect(8, 20, 60, 36),),
        "nselect": (Rect(4, 16, 64, 40),),
        "poly": (Rect(20, 14, 24, 42), Rect(40, 14, 44, 42)),
        "metal": (Rect(0, 50, 70, 58), Rect(0, 0, 70, 8)),
    },
    (Label("VSS", "metal", 4, 4), Label("VDD", "metal", 4, 54), Label("a", "poly", 22, 16), Label("a", "poly", 22, 40)),
)
PORTS = (Tag("a", 22, 16),)
RAILS = (Tag("VSS", 4, 4), Tag("VDD", 4, 54))


class TwoGates:
    """An extraction made by hand of LAYOUT."""

    findings = ()
    netlist = Netlist(
        "two gates",
        ("VSS", "VDD", "a"),
        (
            Transistor("right", Kind.N, "n1", "n2", "n3"),
            Transistor("left", Kind.N, "a", "n2", "n4"),
        ),
    )

    def channel(self, transistor):
        return (Rect(20, 20, 24, 36),) if transistor == "left" else (Rect(40, 20, 44, 36),)

    def net_shapes(self, net):
        return {
            "VSS": {"metal": (Rect(0, 0, 70, 8),)},
            "VDD": {"metal": (Rect(0, 50, 70, 58),)},
            "a": {"poly": (Rect(20, 14, 24, 42),)},
        }.get(net, {"ndiff": (Rect(24, 20, 40, 36),)})

    def nets_at(self, x, y):
        return ()

    def transistor_at(self, x, y):
        return None


FOUND = TwoGates()
LOOKS = ("reflected-light", "stick-colours", "ink", "high-contrast")


def contrasts(look, zoom, overlay, sight, place):
    """The largest L* difference that the overlay makes near a place, seen by an eye."""
    view = View.whole(LAYOUT, PROCESS, zoom)
    plain = render(LAYOUT, PROCESS, Shot(load_look(look), view))
    marked = draw_overlay(plain, FOUND, PROCESS, view, overlay)
    column, row = view.to_pixel(PROCESS, *place)
    reach = max(3, 2 * zoom)
    box = (round(column) - reach, round(row) - reach, round(column) + reach + 1, round(row) + reach + 1)
    before, after = seen(plain.crop(box), sight), seen(marked.crop(box), sight)
    width, height = before.size
    return max(
        abs(lightness(before.getpixel((x, y))) - lightness(after.getpixel((x, y))))
        for x in range(width)
        for y in range(height)
    )


@each(("look", "zoom", "sight"), covering(product(LOOKS, (1, 2, 8), ("colour", "grey", "256")), 2))
def test_outlines_stand_out(look, zoom, sight):
    """Round a device, a net, a spot and at the crosshair some pixel changes by 25 L* or more."""
    devices = Overlay(transistors=(("left", "1"),))
    assert contrasts(look, zoom, devices, sight, (22, 36)) >= 25
    assert contrasts(look, zoom, Overlay(nets=(("VDD", "1"),)), sight, (35, 54)) >= 25
    assert contrasts(look, zoom, Overlay(spots=((50, 28),)), sight, (50, 28)) >= 25
    assert contrasts(look, zoom, Overlay(crosshair=(50, 28)), sight, (46, 28)) >= 25
    assert contrasts(look, zoom, Overlay(parts=(Part("x", (Rect(20, 20, 44, 36),)),)), sight, (32, 36)) >= 25


def test_devices_are_numbered_in_reading_order():
    """Numbers run from the upper left, whatever the netlist's order; nets are numbered in the netlist's."""
    assert devices_overlay(FOUND).transistors == (("left", "1"), ("right", "2"))
    assert nets_overlay(FOUND, ["VDD", "a"]).nets == (("VDD", "1"), ("a", "2"))
    assert [text for _, text in nets_overlay(FOUND).nets] == [str(i) for i in range(1, 8)]


def test_a_rail_has_one_stroke_wherever_it_is_shown():
    """First or second, alone or among other nets: VDD is told from VSS by its stroke, which is no other net's."""
    view = View.whole(LAYOUT, PROCESS, 8)
    plain = render(LAYOUT, PROCESS, Shot(load_look("ink"), view))
    first = draw_overlay(plain, FOUND, PROCESS, view, Overlay(nets=(("VDD", ""), ("VSS", ""))))
    second = draw_overlay(plain, FOUND, PROCESS, view, Overlay(nets=(("VSS", ""), ("VDD", ""))))
    assert ImageChops.difference(first, second).getbbox() is None
    strokes = [stroke_of(PROCESS, net, place) for place, net in enumerate(("VSS", "a", "b", "VDD", "c", "d", "e"))]
    assert strokes[0] != strokes[3]
    assert not {strokes[0], strokes[3]} & {strokes[at] for at in (1, 2, 4, 5, 6)}


def test_neighbouring_nets_differ_in_stroke_not_only_in_hue():
    """In grey, two nets drawn over the same wire as number 1 and as number 2 give different pictures."""
    view = View.whole(LAYOUT, PROCESS, 8)
    plain = render(LAYOUT, PROCESS, Shot(load_look("ink"), view))
    first = draw_overlay(plain, FOUND, PROCESS, view, Overlay(nets=(("n1", ""),)))
    second = draw_overlay(plain, FOUND, PROCESS, view, Overlay(nets=(("a", ""), ("n1", ""))))
    left, top = view.to_pixel(PROCESS, 28, 32)
    right, low = view.to_pixel(PROCESS, 38, 22)
    box = (round(left), round(top), round(right), round(low))
    one, two = (seen(picture.crop(box), "grey") for picture in (first, second))
    _, high = ImageChops.difference(one, two).convert("L").getextrema()
    assert high > 60


@pytest.mark.parametrize("zoom", [1, 2, 4])
def test_letters_of_small_pictures_are_cells(zoom):
    """On half-blocks every text has free cells of its own inside the picture, near its place."""
    view = View.whole(LAYOUT, PROCESS, zoom)
    overlay = Overlay(
        transistors=(("left", "1"), ("right", "2")),
        marks=(Tag("A", 32, 28), Tag("B", 33, 28)),
        ports=PORTS,
        rails=RAILS,
        scale_bar=True,
    )
    letters = overlay_letters(FOUND, PROCESS, view, overlay)
    columns, rows = view.size(PROCESS)
    assert {text for _, _, text in letters} >= {"1", "2", "A", "B"}
    taken = [(column + i, row) for column, row, text in letters for i in range(len(text))]
    assert len(taken) == len(set(taken))
    assert all(0 <= column < columns and 0 <= row < math.ceil(rows / 2) for column, row in taken)
    for column, row, text in letters:
        if text in "AB":
            x, y = view.to_pixel(PROCESS, 32, 28)
            assert abs(column - x) <= 5
            assert abs(row - y / 2) <= 3


@each("zoom", [1, 2, 3, 4])
@each("place", [(22, 28), (2, 54), (68, 4), (58, 30)])
def test_no_letter_lies_in_a_ring(zoom, place):
    """On half-blocks the ringed place and 2 λ round it stay free, at the edge too; the mark's letter is there."""
    view = View.whole(LAYOUT, PROCESS, zoom)
    near = tuple(Tag(text, place[0] + dx, place[1]) for text, dx in (("in", -4), ("out", 4)))
    overlay = Overlay(
        transistors=(("left", "1"), ("right", "2")),
        nets=(("VDD", "VDD"), ("VSS", "VSS")),
        marks=(Tag("X", *place, ring=True),),
        ports=(*PORTS, *near),
        rails=RAILS,
    )
    letters = overlay_letters(FOUND, PROCESS, view, overlay)
    assert {"X", "1", "2"} <= {text for _, _, text in letters}
    column, row = view.to_pixel(PROCESS, *place)
    for c, r, text in letters:
        across = min(abs(c + i + 0.5 - column) for i in range(len(text)))
        down = min(abs(2 * r + half + 0.5 - row) for half in (0, 1))
        assert max(across, down) > 2 * zoom, text


@pytest.mark.parametrize("zoom", [1, 2, 8])
def test_what_is_ringed_is_left_as_it_is(zoom):
    """Within 1 λ of a ringed place no pixel changes, and the letter is beside it; on every look the ring shows."""
    view = View.whole(LAYOUT, PROCESS, zoom)
    plain = render(LAYOUT, PROCESS, Shot(load_look("reflected-light"), view))
    marked = draw_overlay(plain, FOUND, PROCESS, view, Overlay(marks=(Tag("X", 22, 28, ring=True),)))
    column, row = (round(v) for v in view.to_pixel(PROCESS, 22, 28))
    box = (column - zoom, row - zoom, column + zoom, row + zoom)
    assert plain.crop(box).tobytes() == marked.crop(box).tobytes()
    assert ImageChops.difference(plain, marked).getbbox() is not None


@pytest.mark.parametrize("zoom", [1, 2, 4, 8])
def test_the_letter_of_a_ring_stands_on_nothing_it_could_name(zoom):
    """The first free side is taken: with a contact to the right of the ring the letter goes elsewhere."""
    view = View.whole(LAYOUT, PROCESS, zoom, margin=20)
    ring = Tag("X", 22, 28, ring=True)
    (side,) = mark_letters(PROCESS, view, Overlay(marks=(ring,)))
    at = view.region.x0 + side[0] / view.scale(PROCESS), view.region.y1 - side[1] / view.scale(PROCESS)
    contact = Rect(round(at[0]) - 2, round(at[1]) - 2, round(at[0]) + 2, round(at[1]) + 2)
    (moved,) = mark_letters(PROCESS, view, Overlay(marks=(ring,), shunned=(contact,)))
    assert moved != side
    x0, y0 = view.to_pixel(PROCESS, contact.x0, contact.y1)
    x1, y1 = view.to_pixel(PROCESS, contact.x1, contact.y0)
    assert not (x0 <= moved[0] <= x1 and y0 <= moved[1] <= y1)


@pytest.mark.parametrize("zoom", [1, 2, 8])
@pytest.mark.parametrize("aside", [(3, 0), (5, 1), (0, 4), (4, -4)])
def test_letters_of_rings_that_overlap_are_plainly_each_its_own(zoom, aside):
    """Nearer to its own ring than to the other, off both rings and off the other letter, on whatever side they meet."""
    view = View.whole(LAYOUT, PROCESS, zoom, margin=24)
    first = Tag("S", 22, 28, ring=True)
    second = Tag("U", 22 + 2 * aside[0], 28 + 2 * aside[1], ring=True)
    third = Tag("Q", -6, 44, ring=True)
    letters = mark_letters(PROCESS, view, Overlay(marks=(first, second, third)))[:2]
    at = [view.to_pixel(PROCESS, tag.x, tag.y) for tag in (first, second)]
    for own, other in ((0, 1), (1, 0)):
        assert math.dist(letters[own], at[own]) < math.dist(letters[own], at[other])
        assert all(math.dist(letters[own], ring) > ring_radius(zoom) for ring in at)
    assert math.dist(*letters) > 2


def test_the_name_of_a_net_stands_on_no_contact_where_its_wire_has_room():
    """A rail with a contact in its middle: the name stands beside it, on the rail; on one full of them, there."""
    rail = Rect(-8, -4, 32, 4)

    class Railed(type(FOUND)):
        def net_shapes(self, net):
            return {"metal": (rail,)}

    view = View.whole(LAYOUT, PROCESS, 1, margin=20)
    overlay = Overlay(nets=(("VSS", "VSS"),))
    ((x, y, *_),) = overlay_texts(Railed(), PROCESS, view, overlay)
    contact = Rect(rail.centre[0] - 2, -2, rail.centre[0] + 2, 2)
    ((moved, level, *_),) = overlay_texts(Railed(), PROCESS, view, replace(overlay, shunned=(contact,)))
    right = view.to_pixel(PROCESS, contact.x1, 0)[0]
    left = view.to_pixel(PROCESS, contact.x0, 0)[0]
    assert level == y
    assert moved - 1.5 >= right or moved + 1.5 <= left
    assert view.to_pixel(PROCESS, rail.x0, 0)[0] < moved - 1.5 < moved + 1.5 < view.to_pixel(PROCESS, rail.x1, 0)[0]
    ((still, *_),) = overlay_texts(Railed(), PROCESS, view, replace(overlay, shunned=(rail,)))
    assert still == x
    pad = Rect(40, -5, 50, 5)

    class WithPad(Railed):
        def net_shapes(self, net):
            return {"metal": (rail, pad)}

    ((aside, *_),) = overlay_texts(WithPad(), PROCESS, view, replace(overlay, shunned=(pad,)))
    assert aside == x  # the widest piece is full of contacts, so the name stands on the next
    asked = Overlay(nets=overlay.nets, marks=(Tag("X", 26, 12, ring=True),))
    texts = {text: column for column, _, text, _ in overlay_texts(Railed(), PROCESS, view, asked)}
    assert texts["VSS"] > x  # beside what is asked, which is in sight


def test_a_mark_out_of_view_has_no_letter():
    """A letter at the border for a place beyond it would point at the wrong thing."""
    view = View.whole(LAYOUT, PROCESS, 2)
    view = View(view.region.moved(30 * PROCESS.grid_per_lambda, 0), 2)
    overlay = Overlay(marks=(Tag("X", 4, 28, ring=True), Tag("P", 5, 28)))
    assert overlay_letters(FOUND, PROCESS, view, overlay) == []


def test_large_pictures_carry_their_text():
    """From LETTERS_FROM pixels per λ the text is in the image, so a mark changes it at its place."""
    view = View.whole(LAYOUT, PROCESS, LETTERS_FROM)
    plain = render(LAYOUT, PROCESS, Shot(load_look("reflected-light"), view))
    marked = draw_overlay(plain, FOUND, PROCESS, view, Overlay(marks=(Tag("A", 32, 28),)))
    changed = ImageChops.difference(plain, marked)
    box = changed.getbbox()
    column, row = view.to_pixel(PROCESS, 32, 28)
    assert box is not None
    assert box[0] <= column <= box[2]
    assert box[1] <= row <= box[3]
    assert changed.getpixel((int(column), int(row))) == (0, 0, 0)  # a letter must not cover what it marks


@pytest.mark.parametrize("zoom", [1, 2, 4, 8, 16])
def test_the_scale_bar_tells_the_truth(zoom):
    """The bar's length is its text: pixels = µm × pixels per λ / (λ in µm), a round figure, at most a quarter wide."""
    view = View.whole(LAYOUT, PROCESS, zoom)
    length, text = scale_bar(PROCESS, view)
    number, unit = text.split()
    assert unit == "µm"
    assert length == max(2, round(float(number) * zoom / (PROCESS.lambda_nm / 1000)))
    assert length <= view.size(PROCESS)[0] / 4
    assert number.strip("0.")[0] in "125"


def test_the_picture_below_is_left_alone():
    """Drawing an overlay does not change the image it is given."""
    view = View.whole(LAYOUT, PROCESS, 4)
    plain = render(LAYOUT, PROCESS, Shot(load_look("ink"), view))
    before = plain.tobytes()
    draw_overlay(plain, FOUND, PROCESS, view, devices_overlay(FOUND))
    assert plain.tobytes() == before
