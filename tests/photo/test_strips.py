"""Large pictures read strip by strip are those that the imaging library reads whole; damage is told as it is there."""

import io

import pytest
from PIL import Image

from layoutdrill.errors import LayoutdrillError
from layoutdrill.photo import tiles
from layoutdrill.photo.files import as_rgb
from layoutdrill.photo.strips import streams, strips
from layoutdrill.photo.tiles import TiledPixels, cut_tiles

WIDE, HIGH = 131, 203


def picture(mode):
    """Return a picture whose rows differ from their neighbours, so that every filter of PNG is used."""
    noise = Image.effect_noise((WIDE, HIGH), 70)
    slope = Image.linear_gradient("L").resize((WIDE, HIGH))
    return Image.merge("RGB", (noise, slope, slope.rotate(180))).convert(mode)


def whole(path):
    with Image.open(path) as image:
        return as_rgb(image)


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "L", "LA", "P"])
@pytest.mark.parametrize("rows", [1, 64, 512])
def test_strips_of_a_png_are_the_picture(tmp_path, mode, rows):
    """Independent: Pillow's own reading of the whole file."""
    path = tmp_path / "a.png"
    picture(mode).save(path)
    assert streams(path)
    found = list(strips(path, rows))
    assert [strip.height for strip in found] == [min(rows, HIGH - y) for y in range(0, HIGH, rows)]
    joined = Image.new("RGB", (WIDE, HIGH))
    for at, strip in enumerate(found):
        joined.paste(strip, (0, at * rows))
    assert joined.tobytes() == whole(path).tobytes()


@pytest.mark.parametrize("mode", ["RGB", "L"])
def test_strips_of_a_plain_tiff_are_the_picture(tmp_path, mode):
    path = tmp_path / "a.tif"
    picture(mode).save(path)
    assert streams(path)
    assert b"".join(strip.tobytes() for strip in strips(path, 50)) == whole(path).tobytes()


def test_what_cannot_be_read_in_strips_is_read_whole(tmp_path):
    """Packed TIFF, sixteen bits, JPEG."""
    picture("RGB").save(tmp_path / "a.tif", compression="tiff_lzw")
    Image.new("I;16", (9, 9)).save(tmp_path / "b.png")
    picture("RGB").save(tmp_path / "c.jpg")
    assert not any(streams(tmp_path / name) for name in ("a.tif", "b.png", "c.jpg"))


@pytest.mark.parametrize("part", [0.2, 0.6, 0.95])
def test_a_cut_or_broken_png_is_told(tmp_path, part):
    data = io.BytesIO()
    picture("RGB").save(data, "PNG")
    whole_file = data.getvalue()
    at = int(len(whole_file) * part)
    for damaged in (whole_file[:at], whole_file[:at] + b"\0\xff\0" + whole_file[at + 3 :]):
        path = tmp_path / "a.png"
        path.write_bytes(damaged)
        with pytest.raises(LayoutdrillError, match="the picture is damaged"):
            list(strips(path, 64))


@pytest.mark.parametrize("name", ["a.png", "a.jpg"])
def test_every_level_is_half_of_the_one_above(tmp_path, monkeypatch, name):
    """Written as the strips come, and yet what halving the whole picture gives, as far as JPEG lets it be."""
    monkeypatch.setenv("LAYOUTDRILL_CACHE", str(tmp_path / "cache"))
    path = tmp_path / name
    image = picture("RGB").resize((1300, 1111))
    image.save(path)
    pixels = TiledPixels(cut_tiles(path))
    assert [pixels.size(level) for level in range(pixels.levels)] == [(1300, 1111), (650, 556), (325, 278)]
    wanted = whole(path)
    for level in range(pixels.levels):
        part = pixels.part(level, 0, 0, *pixels.size(level))
        difference = [abs(a - b) for a, b in zip(part.tobytes()[::97], wanted.tobytes()[::97], strict=True)]
        assert sum(difference) / len(difference) < 12
        wanted = wanted.reduce(2)
    assert tiles.SIDE == 512
