"""Differences of colour as eyes and terminals see them, against published values."""

import pytest
from PIL import Image

from layoutdrill.picture.perception import as_seen, difference, lab, lightness, nearest_of_256, seen


@pytest.mark.parametrize(
    ("colour", "wanted"),
    [
        ((255, 0, 0), (53.24, 80.09, 67.20)),
        ((0, 255, 0), (87.73, -86.18, 83.18)),
        ((0, 0, 255), (32.30, 79.19, -107.86)),
        ((119, 119, 119), (50.03, 0.0, 0.0)),
    ],
)
def test_lab_of_the_primaries(colour, wanted):
    """CIELAB of the sRGB primaries (B. Lindbloom's calculator, D65)."""
    assert lab(colour) == pytest.approx(wanted, abs=0.05)


def test_greys_stay_grey_for_every_eye():
    """Viénot et al. 1999: the neutral axis does not change for dichromats."""
    for level in (0, 77, 128, 200, 255):
        for sight in ("grey", "protan", "deutan"):
            assert as_seen((level,) * 3, sight) == pytest.approx((level,) * 3, abs=1)


def test_dichromats_confuse_red_and_green_hues():
    """Viénot et al. 1999: red and green coincide in a dichromat's image, so hue between them is lost; blue is kept."""
    for sight in ("protan", "deutan"):
        for colour in ((200, 40, 60), (40, 160, 60), (90, 120, 200)):
            r, g, _ = as_seen(colour, sight)
            assert r == g
        near = difference(as_seen((180, 120, 60), sight), as_seen((120, 145, 60), sight))
        assert near < difference((180, 120, 60), (120, 145, 60)) / 2
    assert difference(as_seen((60, 60, 220), "protan"), as_seen((200, 200, 60), "protan")) > 80


def test_red_is_darker_to_a_protan():
    """Protans lack the long-wave cone, so pure red looks dark (textbook; Viénot et al. 1999)."""
    assert lightness(as_seen((255, 0, 0), "protan")) < lightness((255, 0, 0)) - 8


@pytest.mark.parametrize(
    ("colour", "wanted"), [((255, 255, 255), (255, 255, 255)), ((96, 0, 0), (95, 0, 0)), ((128, 128, 129), (128,) * 3)]
)
def test_256_colours_are_the_usual_ones(colour, wanted):
    """Cube levels 0, 95, 135, 175, 215, 255 and greys 8 to 238 by 10 (the xterm palette)."""
    assert nearest_of_256(colour) == wanted


def test_a_picture_is_seen_as_its_pixels_are():
    """`seen` maps each pixel by `as_seen`."""
    image = Image.new("RGB", (3, 2), (200, 40, 60))
    image.putpixel((1, 1), (10, 120, 60))
    for sight in ("colour", "grey", "protan", "deutan", "256"):
        found = seen(image, sight)
        assert found.getpixel((0, 0)) == as_seen((200, 40, 60), sight)
        assert found.getpixel((1, 1)) == as_seen((10, 120, 60), sight)
