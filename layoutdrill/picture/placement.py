"""
An image for terminals that keep images and show parts of them: sent once, then placed by a rectangle of it.

The protocol is kitty's terminal graphics protocol (sw.kovidgoyal.net/kitty/graphics-protocol), which other terminals
speak too: an application program command holds keys and, in base64 of at most 4096 characters a piece, the data. No
answer is ever asked for (`q=2`), so none can come late.
"""

import zlib
from base64 import standard_b64encode

from PIL import Image

from layoutdrill.value import value

PIECE = 4096


@value
class Part:
    """A part of an image: left, upper edge, width and height in its pixels; and columns and rows of cells to fill."""

    x: int
    y: int
    width: int
    height: int
    columns: int
    rows: int


def sent(image: Image.Image, number: int) -> str:
    """Return the commands that hand an image over under a number; nothing is shown yet."""
    rgb = image.convert("RGB")
    data = standard_b64encode(zlib.compress(rgb.tobytes(), 1)).decode("ascii")
    keys = f"a=t,q=2,f=24,o=z,t=d,i={number},s={rgb.width},v={rgb.height}"
    pieces = [data[at : at + PIECE] for at in range(0, len(data), PIECE)]
    last = len(pieces) - 1
    return "".join(
        f"\x1b_G{keys + ',' if i == 0 else 'q=2,'}m={int(i < last)};{piece}\x1b\\" for i, piece in enumerate(pieces)
    )


def placed(number: int, place: int, part: Part) -> str:
    """Return the command that shows a part from the cursor on, in the stead of what `place` showed before."""
    where = f"x={part.x},y={part.y},w={part.width},h={part.height},c={part.columns},r={part.rows}"
    return f"\x1b_Ga=p,q=2,i={number},p={place},{where},C=1\x1b\\"


def lifted(number: int, place: int) -> str:
    """Return the command that takes one place of an image off the screen; the terminal keeps the image."""
    return f"\x1b_Ga=d,q=2,d=i,i={number},p={place}\x1b\\"


def forgotten(number: int) -> str:
    """Return the command that takes an image off the screen and has the terminal forget it."""
    return f"\x1b_Ga=d,q=2,d=I,i={number}\x1b\\"
