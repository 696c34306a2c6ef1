"""
Read a mark file: a list of marks in the order in which they were made, some of which take earlier ones back.

Every error is told with its place. The tool writes these files by appending, one mark a line.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from math import isfinite
from pathlib import Path
from typing import Any

from layoutdrill.errors import LayoutdrillError, Where, did_you_mean
from layoutdrill.netlist.roles import PORT_ROLES, Role
from layoutdrill.photo.model import (
    At,
    Contact,
    JoinPoint,
    Layer,
    Lighting,
    MarkedTransistor,
    Marks,
    Picture,
    Point,
    Port,
    Region,
    Repeat,
    Sort,
    Stage,
    Wire,
)
from layoutdrill.process import process_names
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.value import value
from layoutdrill.yamldoc import MACHINE_WRITTEN, Document, Node, load, loads
from layoutdrill.yamldoc.collect import Collector

SUFFIX = ".marks.yaml"
FORMAT = 1
FIRST_WORD = "photograph"
"""Begins the canonical text of a photograph."""
MOST_PICTURES = 12
MOST_POINTS = 1000
"""Places in one mark."""
MOST_REPEATED = 20_000
"""Marks that repeats may make of those that stand in the file."""
FARTHEST = 100_000
"""Pixels from the corner; no picture that is opened is wider."""
LARGEST_LAMBDA = 400
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_.\[\]#+/-]{0,63}\Z")
_FILE = re.compile(r"[^/\\\x00-\x1f:]{1,200}\Z")
_HASH = re.compile(r"[0-9a-f]{64}\Z")
PICTURE_FILES = (".png", ".jpg", ".jpeg", ".tif", ".tiff")

Mark = Picture | JoinPoint | Wire | Point | Contact | MarkedTransistor | Port | Region | Repeat


def marks_name(path: Path) -> str:
    """Return the name by which a mark file is known: its file's, without the ending."""
    return path.name.removesuffix(SUFFIX)


def load_marks(path: Path) -> Marks:
    """Read a mark file. Raises LayoutdrillError: the first thing wrong, and how many more there are."""
    marks, errors = read_file(path)
    if errors:
        first, more = errors[0], len(errors) - 1
        also = f"; {more} more" if more else ""
        raise LayoutdrillError(first.what, where=first.where or Where(str(path)), todo=first.todo + also)
    return marks


def read_file(path: Path) -> tuple[Marks, list[LayoutdrillError]]:
    """Return what a mark file says as far as it can be read, and every error in it."""
    try:
        document = load(path, bounds=MACHINE_WRITTEN)
    except LayoutdrillError as error:
        return _nothing(marks_name(path), str(path)), [error]
    return read_marks(document, marks_name(path))


def marks_of_text(text: str, file: str) -> Marks:
    """Read what `marks_text` wrote; raises LayoutdrillError for the first thing wrong."""
    marks, errors = read_marks(loads(text, file, bounds=MACHINE_WRITTEN), "")
    if errors:
        raise errors[0]
    return marks


def read_marks(document: Document, name: str) -> tuple[Marks, list[LayoutdrillError]]:
    """Return the marks of a document as far as they can be read, and every error, in the order of the lines."""
    reader = _Reader()
    marks = reader.marks(document, name)
    errors = sorted(
        reader.take.errors, key=lambda e: ((e.where or Where("")).line or 0, (e.where or Where("")).column or 0)
    )
    return marks, errors


def _nothing(name: str, file: str) -> Marks:
    return Marks(name, file, "", 1, 0.0, ())


@value
class _Setting:
    """What one entry says of the whole: fields of Marks."""

    fields: tuple[tuple[str, Any], ...]


class _Reader:
    def __init__(self) -> None:
        self.take = Collector()

    def marks(self, document: Document, name: str) -> Marks:
        live: list[tuple[int, Mark | _Setting]] = []
        root = document.root
        if not isinstance(root.value, tuple):
            self._error("a list of marks is expected", root.where, "let the tool write this file")
            return _nothing(name, document.file)
        for number, node in enumerate(root.items(), 1):
            try:
                self._entry(number, node, live)
            except LayoutdrillError as error:
                self.take.errors.append(error)
        return self._whole(document, name, [mark for _, mark in live], len(root.items()))

    def _entry(self, number: int, node: Node, live: list[tuple[int, Mark | _Setting]]) -> None:
        fields = node.mapping()
        if len(fields) != 1:
            node.fail("one mark is expected", "write one mark an entry, such as “- point: {…}”")
        ((word, where),) = node.key_places
        inner = fields[word]
        if number == 1 and word != FIRST_WORD:
            node.fail(f"a mark file begins with “- {FIRST_WORD}: {FORMAT}”", "let the tool write this file")
        if word == "undo":
            count = inner.integer(1, max(1, len(live) - 1))
            del live[len(live) - count :]
        elif word == "remove":
            at = inner.integer(2, max(2, number - 1))
            kept = [one for one in live if one[0] != at]
            if len(kept) == len(live):
                inner.fail(f"mark {at} has been taken back already", "name a mark that is there")
            live[:] = kept
        elif word == "rename":
            given = inner.fields(("net", "to"))
            old, new = net_of(given["net"]), net_of(given["to"])
            live[:] = [(at, _renamed(mark, old, new)) for at, mark in live]
        elif word in READERS:
            live.append((number, READERS[word](inner)))
        else:
            known = (*READERS, "undo", "remove", "rename")
            raise LayoutdrillError(f'no mark "{word}"', where=where, todo=lambda: did_you_mean(word, known))

    def _whole(self, document: Document, name: str, live: list[Mark | _Setting], entries: int) -> Marks:
        settings: dict[str, Any] = {}
        for mark in live:
            if isinstance(mark, _Setting):
                settings.update(mark.fields)

        def of(sort: type[Any]) -> tuple[Any, ...]:
            return tuple(mark for mark in live if isinstance(mark, sort))

        marks = Marks(
            name=settings.get("name", name),
            file=document.file,
            process=settings.get("process", ""),
            per_lambda=settings.get("per_lambda", 0),
            nm=settings.get("nm", 0.0),
            pictures=of(Picture),
            joins=of(JoinPoint),
            wires=of(Wire),
            points=of(Point),
            contacts=of(Contact),
            transistors=_named(of(MarkedTransistor)),
            ports=of(Port),
            regions=of(Region),
            repeats=of(Repeat),
            turn=settings.get("turn", 0),
            mirror=settings.get("mirror", False),
            shows=settings.get("shows", ()),
            entries=entries,
        )
        self._consistent(marks, document)
        return marks

    def _consistent(self, marks: Marks, document: Document) -> None:
        """Tell what one mark cannot know: names twice, references to what is not there."""
        start = document.root.where
        if not marks.pictures:
            self._error("no picture is named", start, "add “- picture: {file: …}”")
        if not marks.process:
            self._error("no process is named", start, "add “- process: NAME”")
        if not marks.per_lambda:
            self._error("no scale is given", start, "add “- scale: {pixels per lambda: N}”")
        if len(marks.pictures) > MOST_PICTURES:
            self._error(f"more than {MOST_PICTURES} pictures", marks.pictures[MOST_PICTURES].where, "split the file")
        for what, named in (
            ("picture", [(p.file, p.where) for p in marks.pictures]),
            ("transistor", [(t.name, t.where) for t in marks.transistors]),
            ("region", [(r.name, r.where) for r in marks.regions]),
        ):
            seen: set[str] = set()
            for one, where in named:
                if one in seen:
                    self._error(f'there are two {what}s "{one}"', where, "give one of them another name")
                seen.add(one)
        later = [picture.file for picture in marks.pictures[1:]]
        for join in marks.joins:
            if join.picture not in later:
                self._error(f'no picture "{join.picture}" to join', join.where, did_you_mean(join.picture, later))
        names = [region.name for region in marks.regions]
        made = 0
        for repeat in marks.repeats:
            if repeat.region not in names:
                self._error(f'no region "{repeat.region}"', repeat.where, did_you_mean(repeat.region, names))
                continue
            made += repeat.columns * repeat.rows * max(1, len(marks.transistors) + len(marks.wires))
        if made > MOST_REPEATED * 20:
            self._error("too many marks would be made by repeats", marks.repeats[0].where, "repeat a smaller region")
        nets = marks.nets
        for port in marks.ports:
            if port.complement_of and port.complement_of not in {p.net for p in marks.ports}:
                self._error(f'no port "{port.complement_of}"', port.where, did_you_mean(port.complement_of, nets))

    def _error(self, what: str, where: Where, todo: str) -> None:
        self.take.errors.append(LayoutdrillError(what, where=where, todo=todo))


def _named(transistors: tuple[MarkedTransistor, ...]) -> tuple[MarkedTransistor, ...]:
    """Give transistors without a name the next free one: T1, T2, …"""
    taken = {t.name for t in transistors}
    number, found = 0, []
    for t in transistors:
        name = t.name
        while not name:
            number += 1
            name = f"T{number}" if f"T{number}" not in taken else ""
        found.append(replace(t, name=name))
    return tuple(found)


def _renamed(mark: Mark | _Setting, old: str, new: str) -> Mark | _Setting:
    if isinstance(mark, MarkedTransistor):
        gate, a, b = (new if net == old else net for net in (mark.gate, *mark.ends))
        return replace(mark, gate=gate, ends=(a, b))
    if isinstance(mark, Port):
        other = new if mark.complement_of == old else mark.complement_of
        return replace(mark, net=new if mark.net == old else mark.net, complement_of=other)
    if isinstance(mark, (Wire, Point, Contact)) and mark.net == old:
        return replace(mark, net=new)
    if isinstance(mark, Repeat):
        shared, rows, columns = (
            tuple(new if net == old else net for net in nets) for nets in (mark.shared, mark.by_row, mark.by_column)
        )
        return replace(mark, shared=shared, by_row=rows, by_column=columns)
    return mark


def net_of(node: Node) -> str:
    """Read the name of a net, transistor or region."""
    name = node.text()
    if not _NAME.match(name):
        node.fail(f"“{name}” is no name", "use letters, figures, _ . - [ ], starting with a letter; at most 64")
    return name


def number_of(node: Node, low: float, high: float) -> float:
    found = node.number(low, high)
    if not isfinite(found):
        node.fail("a number is expected", f"give one from {low:g} to {high:g}")
    return found


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


def _format(node: Node) -> _Setting:
    if node.value != FORMAT:
        node.fail(f"format {node.raw} of mark files is not known here", f"this version reads format {FORMAT}")
    return _Setting(())


def _process(node: Node) -> _Setting:
    return _Setting((("process", node.word(process_names(), "process")),))


def _scale(node: Node) -> _Setting:
    fields = node.fields(("pixels per lambda",), ("nm per pixel",))
    nm = number_of(fields["nm per pixel"], 0.01, 100_000) if "nm per pixel" in fields else 0.0
    return _Setting((("per_lambda", fields["pixels per lambda"].integer(1, LARGEST_LAMBDA)), ("nm", nm)))


def _shown(node: Node) -> _Setting:
    fields = node.fields((), ("turn", "mirror"))
    turn = fields["turn"].integer(0, 270) if "turn" in fields else 0
    if turn % 90:
        fields["turn"].fail(f"a picture is not turned by {turn}", "give 0, 90, 180 or 270, anticlockwise")
    mirror = fields["mirror"].boolean() if "mirror" in fields else False
    return _Setting((("turn", turn // 90), ("mirror", mirror)))


def _shows(node: Node) -> _Setting:
    return _Setting((("shows", tuple(item.word(TOLD_FACTS, "fact") for item in node.items())),))


TOLD_FACTS = ("kind", "kinds apart", "well", "rails", "depletion")
"""Facts that pictures of a die seldom show; an author who can see them says so."""


def _title(node: Node) -> _Setting:
    return _Setting((("name", net_of(node)),))


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


READERS: dict[str, Callable[[Node], Mark | _Setting]] = {
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
