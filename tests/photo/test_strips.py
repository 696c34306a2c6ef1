"""Large pictures read strip by strip are those that the imaging library reads whole; damage is told as it is there."""

import io
import struct
import zlib

import pytest
from PIL import Image, ImageChops, ImageStat

from layoutdrill.errors import LayoutdrillError
from layoutdrill.photo import cutter, tiles
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


@pytest.mark.parametrize("packing", ["tiff_lzw", "tiff_adobe_deflate", "packbits", "jpeg"])
@pytest.mark.parametrize("mode", ["RGB", "L", "RGBA"])
def test_strips_of_a_packed_tiff_are_the_picture(tmp_path, mode, packing):
    """Independent: Pillow's own reading of the whole file."""
    path = tmp_path / "a.tif"
    predictor = {317: 2} if packing in ("tiff_lzw", "tiff_adobe_deflate") else {}
    picture(mode).save(path, compression=packing, tiffinfo={**predictor, 278: 16})
    assert streams(path)
    assert b"".join(strip.tobytes() for strip in strips(path, 50)) == whole(path).tobytes()


@pytest.mark.parametrize("packed", [False, True])
@pytest.mark.parametrize("sign", ["<", ">"])
def test_strips_of_a_tiled_tiff_are_the_picture(tmp_path, sign, packed):
    """A file written here by TIFF 6.0, section 15 (Adobe 1992): tiles of 64 × 32, those at the edges filled up."""
    wide, high = 64, 32
    image = picture("RGB")
    tiles_of = [
        image.crop((x, y, x + wide, y + high)).tobytes() for y in range(0, HIGH, high) for x in range(0, WIDE, wide)
    ]
    data = [zlib.compress(tile) if packed else tile for tile in tiles_of]
    offsets = [8 + sum(map(len, data[:i])) for i in range(len(data))]
    values = {256: (4, [WIDE]), 257: (4, [HIGH]), 258: (3, [8, 8, 8]), 259: (3, [8 if packed else 1]), 262: (3, [2]),
              277: (3, [3]), 322: (3, [wide]), 323: (3, [high]), 324: (4, offsets),
              325: (4, list(map(len, data)))}  # fmt: skip
    at = 8 + sum(map(len, data))
    beyond, directory, longer = at + 2 + 12 * len(values) + 4, struct.pack(f"{sign}H", len(values)), b""
    for tag, (sort, numbers) in sorted(values.items()):
        told = struct.pack(f"{sign}{len(numbers)}{'HL'[sort - 3]}", *numbers)
        place = told.ljust(4, b"\0") if len(told) <= 4 else struct.pack(f"{sign}L", beyond + len(longer))
        longer += told if len(told) > 4 else b""
        directory += struct.pack(f"{sign}HHL", tag, sort, len(numbers)) + place
    head = (b"II" if sign == "<" else b"MM") + struct.pack(f"{sign}HL", 42, at)
    path = tmp_path / "a.tif"
    path.write_bytes(head + b"".join(data) + directory + bytes(4) + longer)
    assert streams(path)
    assert b"".join(strip.tobytes() for strip in strips(path, 50)) == image.tobytes() == whole(path).tobytes()


def test_a_cut_packed_tiff_is_told(tmp_path):
    path = tmp_path / "a.tif"
    picture("RGB").save(path, compression="tiff_lzw", tiffinfo={278: 16})
    with Image.open(path) as image:
        first = image.tag_v2[273][0]
    data = path.read_bytes()
    path.write_bytes(data[: first + 40] + bytes(60) + data[first + 100 :])
    with pytest.raises(LayoutdrillError, match="the picture is damaged"):
        list(strips(path, 64))


def test_what_cannot_be_read_in_strips_is_read_whole(tmp_path):
    """Sixteen bits a colour, a PNG woven of seven, JPEG."""
    Image.new("I;16", (9, 9)).save(tmp_path / "b.png")
    picture("RGB").save(tmp_path / "c.jpg")
    assert not any(streams(tmp_path / name) for name in ("b.png", "c.jpg"))


@pytest.mark.parametrize("how", [{}, {"progressive": True}, {"subsampling": 0}, {"mode": "L"}])
def test_brightness_and_colour_of_a_jpeg_are_read_apart(tmp_path, how):
    """As Pillow reads it whole: brightness to 2 levels of 255 on average; colour as far as half the scale lets it."""
    options = {**how}
    image = picture("RGB").resize((1300, 1111)).convert(options.pop("mode", "RGB"))
    path = tmp_path / "a.jpg"
    image.save(path, quality=92, **options)
    size, found = cutter._read(path, half=False)
    assert size == image.size
    at = 0
    for strip in found:
        wanted = whole(path).crop((0, at, size[0], at + strip.height))
        apart = ImageStat.Stat(ImageChops.difference(strip.convert("L"), wanted.convert("L"))).mean[0]
        assert apart < 2
        assert max(ImageStat.Stat(ImageChops.difference(strip, wanted)).mean) < 8
        at += strip.height
    assert at == size[1]


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
