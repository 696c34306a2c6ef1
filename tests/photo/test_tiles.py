"""Large pictures are cut once by a process of their own; whatever is no picture, or too large, is refused in a line."""

import struct
import zlib

import pytest
from PIL import Image, ImageChops, ImageDraw

from layoutdrill.errors import LayoutdrillError
from layoutdrill.photo import files, tiles
from layoutdrill.photo.tiles import HeldPixels, TiledPixels, cut_tiles, pixels_of, tile_file


@pytest.fixture
def picture(tmp_path, monkeypatch):
    """A picture of 1500 × 1100 pixels in which every place looks different, and a cache of its own."""
    monkeypatch.setenv("LAYOUTDRILL_CACHE", str(tmp_path / "cache"))
    image = Image.merge("RGB", [Image.linear_gradient("L").resize((1500, 1100)).rotate(a) for a in (0, 90, 180)])
    draw = ImageDraw.Draw(image)
    for x in range(0, 1500, 100):
        draw.line((x, 0, x, 1100), fill=(255, 255, 255), width=4)
    path = tmp_path / "large.png"
    image.save(path)
    return path


def test_tiles_show_what_the_picture_shows(picture):
    """Any part, at any level, is that of the picture, as far as JPEG lets it be."""
    told = []
    cut = TiledPixels(cut_tiles(picture, lambda done, total: told.append((done, total))))
    with Image.open(picture) as image:
        held = HeldPixels(image.convert("RGB"))
    assert told[-1][0] == told[-1][1] == 3 * 3 + 2 * 2 + 1
    assert (cut.width, cut.height) == (1500, 1100)
    for level in range(cut.levels):
        shrink = 2**level
        box = 200 // shrink, 300 // shrink, 1300 // shrink, 900 // shrink
        one, other = cut.part(level, *box), held.part(level, *box)
        difference = ImageChops.difference(one, other).convert("L")
        assert sum(i * n for i, n in enumerate(difference.histogram())) / (difference.width * difference.height) < 4


def test_a_picture_is_cut_once(picture):
    first = cut_tiles(picture)
    time = first.stat().st_ino
    assert cut_tiles(picture).stat().st_ino == time
    picture.touch()
    assert tile_file(picture) != first


def test_small_pictures_are_held_large_ones_tiled(picture, monkeypatch):
    assert isinstance(pixels_of(picture), HeldPixels)
    monkeypatch.setattr(tiles, "SMALL", 1000)
    assert isinstance(pixels_of(picture), TiledPixels)


def test_damaged_tiles_are_made_anew(picture, monkeypatch):
    monkeypatch.setattr(tiles, "SMALL", 1000)
    path = cut_tiles(picture)
    path.write_bytes(path.read_bytes()[:-40])
    with pytest.raises(LayoutdrillError, match="the tiles are damaged"):
        pixels_of(picture)
    assert isinstance(pixels_of(picture), TiledPixels)


def test_beyond_the_edge_lies_ground(picture):
    part = pixels_of(picture).part(0, -10, -10, 5, 5)
    assert part.getpixel((0, 0)) == part.getpixel((9, 9))
    assert part.size == (15, 15)


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png_of(width, height):
    """A header that promises so many pixels, with nothing behind it."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 64)) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "no PNG, JPEG or TIFF picture"),
        (b"GIF89a" + b"\0" * 40, "no PNG, JPEG or TIFF picture"),
        (png_of(60_000, 60_000), "60000 × 60000 pixels, and at most 400 million are opened"),
        (png_of(200_000, 1), "at most 400 million"),
        (png_of(400, 400), "the picture is damaged"),
    ],
)
def test_what_cannot_be_opened_is_refused_in_a_line(tmp_path, data, said):
    path = tmp_path / "bad.png"
    path.write_bytes(data)
    with pytest.raises(LayoutdrillError) as told:
        pixels_of(path)
    assert said in str(told.value)
    assert "\n" not in str(told.value)


def test_the_bound_is_the_header_s(tmp_path, monkeypatch):
    """The library's own check of bombs stands as it was."""
    kept = Image.MAX_IMAGE_PIXELS
    path = tmp_path / "a.png"
    Image.new("L", (9, 9)).save(path)
    files.header(path)
    assert kept == Image.MAX_IMAGE_PIXELS


def test_sixteen_bits_of_grey_are_kept_as_their_upper_byte(tmp_path):
    path = tmp_path / "deep.png"
    Image.new("I;16", (8, 8), 200 * 256).save(path)
    assert pixels_of(path).part(0, 0, 0, 8, 8).getpixel((3, 3)) == (200, 200, 200)
