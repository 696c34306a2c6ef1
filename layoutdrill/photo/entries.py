"""Read one mark: each sort has its reader, by the word with which it begins; errors carry the place."""

import re
from collections.abc import Callable
from math import isfinite
from pathlib import Path
from typing import Any

from layoutdrill.brought import is_brought, name_of
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.roles import PORT_ROLES, Role
from layoutdrill.photo.model import (
    At,
    Contact,
    JoinPoint,
    Layer,
    Lighting,
    Mark,
    MarkedTransistor,
    Picture,
    Point,
    Port,
    Region,
    Repeat,
    Sort,
    Stage,
    Wire,
)
from layoutdrill.process import load_process, process_names
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.value import value
from layoutdrill.yamldoc import Node

FORMAT = 1
FIRST_WORD = "photograph"
"""Begins the canonical text of a photograph."""
MOST_POINTS = 1000
"""Places in one mark."""
FARTHEST = 100_000
"""Pixels from the corner; no picture that is opened is wider."""
LARGEST_LAMBDA = 400
PICTURE_FILES = (".png", ".jpg", ".jpeg", ".tif", ".tiff")
_PROCESS_FILES = (".yaml", ".yml")
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_.\[\]#+/-]{0,63}\Z")
_FILE = re.compile(r"[^/\\\x00-\x1f:]{1,200}\Z")
_HASH = re.compile(r"[0-9a-f]{64}\Z")


@value
class Setting:
    """What one entry says of the whole: fields of Marks."""

    fields: tuple[tuple[str, Any], ...]


def net_of(node: Node) -> str:
    """Read the name of a net, transistor or region."""
    name = node.text()
    if not _NAME.match(name):
        node.fail(f"“{name}” is no name", "use letters, figures, _ . - [ ], starting with a letter; at most 64")
    return name


def number_of(node: Node, low: float, high: float) -> float:
    number = node.number(low, high)
    if not isfinite(number):
        node.fail("a number is expected", f"give one from {low:g} to {high:g}")
    return number


def at_of(node: Node) -> At:
    """Read a place, [x, y]."""
    items = node.value
    if not isinstance(items, tuple) or len(items) != 2:
        node.fail("a place is expected", "write it as [x, y], in pixels from the upper left")
    return number_of(items[0], -FARTHEST, FARTHEST), number_of(items[1], -FARTHEST, FARTHEST)


def _places(node: Node, least: int, most: int) -> tuple[At, ...]:
    items = node.value
    if not isinstance(items, tuple) or not least <= len(items) <= most:
        bounds = f"{least}" if least == most else f"{least} to {most}"
        node.fail(f"{bounds} places are expected", "write them as [[x, y], [x, y]]")
    return tuple(at_of(item) for item in items)


def file_of(node: Node, endings: tuple[str, ...], what: str) -> str:
    """Read the name of a file that must lie beside the mark file."""
    name = node.text()
    if not _FILE.match(name) or name in (".", "..") or name.startswith("."):
        node.fail(f"“{name}” is no file beside this one", "put it beside, and give its name alone")
    if not name.lower().endswith(endings):
        node.fail(f"“{name}” is no {what}", f"its name ends in {', '.join(endings)}")
    return name


def _layer(node: Node) -> Layer:
    return Layer(node.word([layer.value for layer in Layer], "layer"))


def _format(node: Node) -> Setting:
    if node.value != FORMAT:
        node.fail(f"format {node.raw} of mark files is not known here", f"this version reads format {FORMAT}")
    return Setting(())


def _process(node: Node) -> Setting:
    return Setting((("process", process_of(node)),))


def process_of(node: Node) -> str:
    """
    Read the name of a process that ships, or of the file of one beside the marks; that goes by what it says, as with
    decks. Raises LayoutdrillError for what is neither, or cannot be read.
    """
    name = node.text()
    if not name.endswith(_PROCESS_FILES) and not is_brought(name):
        return node.word(process_names(), "process")
    try:
        if not is_brought(name):
            folder = Path(node.where.file).parent
            path = folder / file_of(node, _PROCESS_FILES, "process file")
            if not path.resolve().is_relative_to(folder.resolve()):
                node.fail(f"“{name}” leads out of this folder", "put the file itself beside the marks")
            if not path.is_file():
                node.fail(
                    f"no file {name} beside the marks", "put it there; “layoutdrill processes” lists those that ship"
                )
            name = name_of(path)
        return load_process(name).name
    except LayoutdrillError as error:
        raise LayoutdrillError(error.what, where=error.where or node.where, todo=error.todo) from None


def _scale(node: Node) -> Setting:
    fields = node.fields(("pixels per lambda",), ("nm per pixel",))
    nm = number_of(fields["nm per pixel"], 0.01, 100_000) if "nm per pixel" in fields else 0.0
    return Setting((("per_lambda", fields["pixels per lambda"].integer(1, LARGEST_LAMBDA)), ("nm", nm)))


def _shown(node: Node) -> Setting:
    fields = node.fields((), ("turn", "mirror"))
    turn = fields["turn"].integer(0, 270) if "turn" in fields else 0
    if turn % 90:
        fields["turn"].fail(f"a picture is not turned by {turn}", "give 0, 90, 180 or 270, anticlockwise")
    mirror = fields["mirror"].boolean() if "mirror" in fields else False
    return Setting((("turn", turn // 90), ("mirror", mirror)))


def _shows(node: Node) -> Setting:
    return Setting((("shows", tuple(item.word(TOLD_FACTS, "fact") for item in node.items())),))


TOLD_FACTS = ("kind", "kinds apart", "well", "rails", "depletion")
"""Facts that pictures of a die seldom show; an author who can see them says so."""


def _title(node: Node) -> Setting:
    return Setting((("name", net_of(node)),))


def _picture(node: Node) -> Picture:
    fields = node.fields(("file",), ("stage", "light", "size", "sha256"))
    size = fields["size"].items() if "size" in fields else ()
    if size and len(size) != 2:
        fields["size"].fail("two numbers are expected", "write [width, height]")
    digest = fields["sha256"].text() if "sha256" in fields else ""
    if digest and not _HASH.match(digest):
        fields["sha256"].fail("no SHA-256", "let the tool write it")
    return Picture(
        file_of(fields["file"], PICTURE_FILES, "picture"),
        Stage(fields["stage"].word([s.value for s in Stage], "stage")) if "stage" in fields else Stage.WHOLE,
        Lighting(fields["light"].word([s.value for s in Lighting], "light"))
        if "light" in fields
        else Lighting.REFLECTED,
        (size[0].integer(1, FARTHEST), size[1].integer(1, FARTHEST)) if size else (0, 0),
        digest,
        node.where,
    )


def _join(node: Node) -> JoinPoint:
    fields = node.fields(("picture", "at", "on"))
    return JoinPoint(fields["picture"].text(), at_of(fields["at"]), at_of(fields["on"]), node.where)


def _wire(node: Node) -> Wire:
    fields = node.fields(("net", "layer", "at"), ("width",))
    width = number_of(fields["width"], 1, 5000) if "width" in fields else 0.0
    places = _places(fields["at"], 2, MOST_POINTS)
    return Wire(net_of(fields["net"]), _layer(fields["layer"]), places, width, node.where)


def _point(node: Node) -> Point:
    fields = node.fields(("net", "layer", "at"))
    return Point(net_of(fields["net"]), _layer(fields["layer"]), at_of(fields["at"]), node.where)


_ORDER = (Layer.METAL_2, Layer.METAL, Layer.POLY, Layer.DIFFUSION, Layer.TAP)


def _contact(node: Node) -> Contact:
    fields = node.fields(("net", "joins", "at"), ("size",))
    joins = fields["joins"].items()
    if len(joins) != 2:
        fields["joins"].fail("a contact joins two layers", "write them as [metal, poly]")
    upper, lower = sorted((_layer(item) for item in joins), key=_ORDER.index)
    if upper is lower or (upper is Layer.DIFFUSION and lower is Layer.TAP):
        fields["joins"].fail(f"{upper} is not joined to {lower} by a contact", "name two different layers")
    size = number_of(fields["size"], 1, 5000) if "size" in fields else 0.0
    return Contact(net_of(fields["net"]), upper, lower, at_of(fields["at"]), size, node.where)


def _transistor(node: Node) -> MarkedTransistor:
    fields = node.fields(("kind", "gate", "ends", "at"), ("name", "mode", "channel"))
    ends = fields["ends"].items()
    if len(ends) != 2:
        fields["ends"].fail("a transistor has two ends", "write their nets as [VSS, y]")
    middle, first, second = _places(fields["at"], 3, 3)
    channel = fields["channel"].items() if "channel" in fields else ()
    if channel and len(channel) != 2:
        fields["channel"].fail("two numbers are expected", "write [length, width], in pixels")
    mode = fields["mode"].word([mode.value for mode in Mode], "mode") if "mode" in fields else Mode.ENHANCEMENT
    return MarkedTransistor(
        net_of(fields["name"]) if "name" in fields else "",
        Kind(fields["kind"].word([kind.value for kind in Kind], "kind of transistor")),
        Mode(mode),
        net_of(fields["gate"]),
        (net_of(ends[0]), net_of(ends[1])),
        (middle, first, second),
        (number_of(channel[0], 1, 5000), number_of(channel[1], 1, 20_000)) if channel else (0.0, 0.0),
        node.where,
    )


def _port(node: Node) -> Port:
    fields = node.fields(("net", "role", "at"), ("complement of",))
    role = Role(fields["role"].word([role.value for role in PORT_ROLES], "role"))
    other = net_of(fields["complement of"]) if "complement of" in fields else ""
    return Port(net_of(fields["net"]), role, at_of(fields["at"]), other, node.where)


def _region(node: Node) -> Region:
    fields = node.fields(
        ("name", "outline"), ("title", "structure", "aliases", "boundary", "look for", "complete", "netlist")
    )

    def text(key: str) -> str:
        return fields[key].text().strip() if key in fields else ""

    region = Region(
        net_of(fields["name"]),
        _places(fields["outline"], 2, MOST_POINTS),
        text("title"),
        text("structure"),
        tuple(item.text() for item in fields["aliases"].items()) if "aliases" in fields else (),
        text("boundary"),
        text("look for"),
        frozenset(Sort(item.word([s.value for s in Sort], "sort")) for item in fields["complete"].items())
        if "complete" in fields
        else frozenset(),
        file_of(fields["netlist"], (".sp", ".spi", ".spice", ".cir", ".net", ".ckt"), "netlist")
        if "netlist" in fields
        else "",
        node.where,
    )
    left, top, right, bottom = region.box
    if right - left < 1 or bottom - top < 1:
        fields["outline"].fail("the outline encloses nothing", "give two corners, or three places or more")
    return region


def _repeat(node: Node) -> Repeat:
    fields = node.fields(("region", "columns", "rows"), ("right", "down", "shared", "along rows", "along columns"))

    def names(key: str) -> tuple[str, ...]:
        return tuple(net_of(item) for item in fields[key].items()) if key in fields else ()

    columns, rows = fields["columns"].integer(1, 1024), fields["rows"].integer(1, 1024)
    for key, count in (("right", columns), ("down", rows)):
        if count > 1 and key not in fields:
            node.fail(f'field "{key}" is missing', f"add “{key}: [x, y]”, the pitch in pixels")
    right = at_of(fields["right"]) if "right" in fields else (0.0, 0.0)
    down = at_of(fields["down"]) if "down" in fields else (0.0, 0.0)
    for key, count, (x, y) in (("right", columns, right), ("down", rows, down)):
        if count > 1 and abs(x) + abs(y) < 1:
            fields[key].fail("the pitch is nothing", "measure it from one cell to the next")
    return Repeat(
        net_of(fields["region"]), columns, rows, right, down,
        names("shared"), names("along rows"), names("along columns"), node.where,
    )  # fmt: skip


READERS: dict[str, Callable[[Node], Mark | Setting]] = {
    FIRST_WORD: _format,
    "name": _title,
    "process": _process,
    "scale": _scale,
    "shown": _shown,
    "shows": _shows,
    "picture": _picture,
    "join": _join,
    "wire": _wire,
    "point": _point,
    "contact": _contact,
    "transistor": _transistor,
    "port": _port,
    "region": _region,
    "repeat": _repeat,
}
"""Every sort of mark, by its word."""
