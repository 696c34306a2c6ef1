"""
Sixels, read back as a terminal would.

Source: DEC, VT330/VT340 Programmer Reference Manual, volume 2 (EK-VT3XX-GP), chapter 14: ESC P … q, raster attributes,
colours in percent, `!` repeats, `$` to the left edge, `-` to the next band, `?` to `~` six pixels from the top.
"""

import re

from PIL import Image, ImageChops

from layoutdrill.picture.halfblocks import reduced
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.sixel import sixels
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from tests.picture.lookalikes import look_alikes

_TOKEN = re.compile(r'"([\d;]*)|#(\d+)(?:;2;(\d+);(\d+);(\d+))?|!(\d+)([?-~])|([?-~])|([$-])')


def shown(text):
    """What a terminal shows of a control string: an image in RGB."""
    whole = re.fullmatch(r"\x1bP[\d;]*q(.*)\x1b\\", text, re.DOTALL)
    assert whole is not None
    colours, ink, column, band, image, at = {}, 0, 0, 0, None, 0
    for token in _TOKEN.finditer(whole[1]):
        assert token.start() == at, f"unknown data at {at}"
        at = token.end()
        raster, number, red, green, blue, times, repeated, single, control = token.groups()
        if raster is not None:
            _, _, wide, high = map(int, raster.split(";"))
            image = Image.new("RGB", (wide, high), (255, 0, 255))
        elif number is not None:
            ink = int(number)
            if red is not None:
                colours[ink] = tuple(round(255 * int(v) / 100) for v in (red, green, blue))
        elif control is not None:
            column, band = 0, band + (control == "-")
        else:
            bits = ord(repeated or single) - 63
            end = column + int(times or 1)
            for row in (row for row in range(6) if bits >> row & 1):
                image.paste(colours[ink], (column, 6 * band + row, end, 6 * band + row + 1))
            column = end
    assert at == len(whole[1])
    return image


def test_a_terminal_shows_the_picture_that_was_sent():
    """Every pixel is drawn, and differs from the picture in 64 colours by no more than a percent of a channel is."""
    process = load_process("silicon-gate-nmos")
    layout = look_alikes(process).layout
    image = render(
        layout, process, Shot(load_look("reflected-light"), View.whole(layout, process, 3), seed=2, wear=0.5)
    )
    wanted = reduced(image, 64).convert("RGB")
    difference = ImageChops.difference(shown(sixels(image)), wanted)
    assert max(high for _, high in difference.getextrema()) <= 2


def test_heights_that_are_no_whole_bands():
    """From one to thirteen rows, and runs of every length around the shortest that is worth a repeat."""
    for high in range(1, 14):
        image = Image.new("RGB", (9, high), (255, 255, 255))
        for y in range(high):
            for x in range(y % 9):
                image.putpixel((x, y), (0, 0, 0))
        assert shown(sixels(image, 4)).tobytes() == image.tobytes()
