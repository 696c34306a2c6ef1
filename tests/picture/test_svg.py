"""SVG pictures: well-formed, of the same colours as the pixels, with marks as shapes."""

import re
from xml.etree import ElementTree as ET

import pytest

from layoutdrill.picture.looks import load_look
from layoutdrill.picture.overlay import Overlay, Part, Tag
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.svg import svg
from layoutdrill.picture.view import View
from layoutdrill.process import load_process, process_names
from tests.each import each
from tests.picture.lookalikes import look_alikes

NS = "{http://www.w3.org/2000/svg}"
RECT = re.compile(r"M([-\d.]+) ([-\d.]+)h([-\d.]+)v([-\d.]+)h[-\d.]+z")


def top_colour(root, x, y):
    """The colour that an SVG viewer shows at a point: the last path over it, veils mixed in."""
    colour = (255.0, 255.0, 255.0)
    for path in root.iter(f"{NS}path"):
        fill = path.get("fill")
        if not fill or not fill.startswith("#"):
            continue
        for found in RECT.finditer(path.get("d")):
            left, top, width, height = (float(v) for v in found.groups())
            if left <= x <= left + width and top <= y <= top + height:
                new = [int(fill[i : i + 2], 16) for i in (1, 3, 5)]
                share = float(path.get("fill-opacity", 1))
                colour = tuple(old + share * (n - old) for old, n in zip(colour, new, strict=True))
                break
    return tuple(round(v) for v in colour)


@each("look", ["stick-colours", "high-contrast"])
@each("name", process_names())
def test_shapes_have_the_colours_of_the_pixels(name, look):
    """At gate, contact, crossing and metal the SVG shows the colour that the PNG has there."""
    process = load_process(name)
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, 8)
    root = ET.fromstring(svg(drawn.layout, process, Shot(load_look(look), view)))
    image = render(drawn.layout, process, Shot(load_look(look), view))
    for rect in (drawn.transistor, drawn.contact, drawn.crossing, drawn.between):
        column, row = view.to_pixel(process, *rect.centre)
        wanted = image.getpixel((int(column), int(row)))
        assert top_colour(root, int(column) + 0.5, int(row) + 0.5) == pytest.approx(wanted, abs=3)


def test_photographic_looks_embed_their_picture():
    """A photograph stays one: the SVG holds it as an image, and no file from outside."""
    process = load_process("silicon-gate-cmos")
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, 4)
    root = ET.fromstring(svg(drawn.layout, process, Shot(load_look("reflected-light"), view)))
    (image,) = root.iter(f"{NS}image")
    assert image.get("href").startswith("data:image/png;base64,")
    assert (image.get("width"), image.get("height")) == tuple(str(v) for v in view.size(process))


def test_marks_are_text_and_shapes():
    """Names, letters and parts are written as text, with what XML must escape escaped."""
    process = load_process("silicon-gate-cmos")
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, 8)
    overlay = Overlay(
        marks=(Tag("A", 20, 20),),
        parts=(Part("store & drive", (drawn.crossing,)),),
        spots=((30, 12),),
        scale_bar=True,
    )
    root = ET.fromstring(svg(drawn.layout, process, Shot(load_look("ink"), view), None, overlay))
    texts = [t.text for t in root.iter(f"{NS}text")]
    assert {"A", "store & drive"} <= set(texts)
    assert any(t.endswith("µm") for t in texts)
    assert len(list(root.iter(f"{NS}circle"))) == 4  # a spot and the dot of a mark, each bright on dark


@pytest.mark.parametrize("scale", [3, 5, 12])
def test_the_scale_is_written_within_the_picture(scale):
    """At any scale the bar's length stands whole above the bar."""
    process = load_process("silicon-gate-cmos")
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, scale)
    root = ET.fromstring(svg(drawn.layout, process, Shot(load_look("ink"), view), None, Overlay(scale_bar=True)))
    (text,) = (t for t in root.iter(f"{NS}text") if t.text.endswith("µm"))
    bars = [float(r.get("y")) for r in root.iter(f"{NS}rect") if r.get("height") in ("4", "8")]
    half = float(text.get("font-size")) / 2
    assert float(text.get("y")) - half > 0
    assert float(text.get("y")) + half < min(bars) < view.size(process)[1]
