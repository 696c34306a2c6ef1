"""Colours as three bytes, and what text says about them."""

import re

from layoutdrill.yamldoc import Node

RGB = tuple[int, int, int]

_HEX = re.compile(r"#[0-9a-fA-F]{6}\Z")


def parse_colour(node: Node) -> RGB:
    """Read "#rrggbb"; raises LayoutdrillError with the node's place."""
    text = node.text() if isinstance(node.value, str) else ""
    if not _HEX.match(text):
        node.fail("a colour expected", 'write it in quotes as "#rrggbb", two hexadecimal digits each')
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)


def hex_text(colour: RGB) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)


def multiplied(colour: RGB, tint: RGB) -> RGB:
    """Lay a clear tint over a colour, as coloured film over paper."""
    return (
        round(colour[0] * tint[0] / 255),
        round(colour[1] * tint[1] / 255),
        round(colour[2] * tint[2] / 255),
    )
