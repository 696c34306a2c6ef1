"""Cells show the pixels they were cut from."""

from random import Random

from PIL import Image

from layoutdrill.picture.halfblocks import reduced, to_cells
from tests.each import each


def unfolded(rows, width):
    """Turn runs back into pixel rows."""
    pixels = []
    for row in rows:
        top, low = [], []
        for run in row:
            for mark in run.text:
                top.append(run.fg if mark in "▀█" else run.bg)
                low.append(run.fg if mark in "▄█" else run.bg)
        assert len(top) == width
        pixels += [top, low]
    return pixels


@each("size", [(1, 2), (7, 6), (40, 31)])
@each("shades", [2, 3, 9])
def test_runs_hold_exactly_the_pixels(size, shades):
    """Unfolding the runs gives back the picture, reduced to its palette; an odd last row is doubled."""
    rng = Random(shades)
    image = Image.new("RGB", size)
    for y in range(size[1]):
        for x in range(size[0]):
            image.putpixel((x, y), (rng.randrange(shades) * 20, 90, 250 - 7 * rng.randrange(shades)))
    wanted = reduced(image, 64).convert("RGB")
    found = unfolded(to_cells(image), size[0])
    for y in range(size[1]):
        assert found[y] == [wanted.getpixel((x, y)) for x in range(size[0])]


def test_a_row_of_two_colours_is_one_run():
    """However two colours are arranged in a row, one run holds them: frames stay small."""
    image = Image.new("RGB", (30, 2), (10, 10, 10))
    for x in range(0, 30, 3):
        image.putpixel((x, x % 2), (240, 240, 240))
    rows = to_cells(image)
    assert len(rows) == 1
    assert len(rows[0]) == 1


def test_the_number_of_colours_is_kept():
    """No more than the asked number of colours is used, and rare dark pixels keep a dark colour."""
    image = Image.effect_mandelbrot((80, 60), (-2, -1.5, 1, 1.5), 90).convert("RGB")
    image.putpixel((5, 5), (0, 0, 0))
    image.paste((255, 0, 0), (20, 20, 22, 22))
    colours = {c for row in to_cells(image, 16) for run in row for c in (run.fg, run.bg)}
    assert len(colours) <= 16
    assert min(abs(c[0] - 255) + c[1] + c[2] for c in colours) < 40
