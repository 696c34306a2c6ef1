"""Read a chip from its file, checking every name against what it must refer to."""

import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path

from layoutdrill.cells.arrays import array_cell
from layoutdrill.cells.chips.model import SIDES, Chip, Pad, Part, Story
from layoutdrill.cells.compact import HIGH, LOW, Line, Use, parse_lines
from layoutdrill.cells.entry import EVERYTHING, Port, Style
from layoutdrill.cells.library import library_cell
from layoutdrill.cells.model import Cell
from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.netlist.roles import Role
from layoutdrill.yamldoc import Node, load

DATA = Path(__file__).parent.parent / "data" / "chips"
_SORTS = ("inputs", "outputs")
_MOST_CLOCKS = 64
"""Clocks that one row of a log may take."""


@cache
def _files() -> dict[str, Path]:
    return {path.stem.replace("-", "_"): path for path in sorted(DATA.glob("*.yaml"))}


def chip_names() -> tuple[str, ...]:
    return tuple(_files())


@cache
def load_chip(name: str) -> Chip:
    """Return a chip by name; raises LayoutdrillError for a name that there is not, or with the place of an error."""
    if name not in _files():
        raise LayoutdrillError(f'no chip "{name}"', todo=did_you_mean(name, chip_names()))
    path = _files()[name]
    return read_chip(load(path, name=f"layoutdrill/cells/data/chips/{path.name}").root)


def read_chip(root: Node) -> Chip:
    """Read one file; raises LayoutdrillError with the place of the first thing wrong."""
    fields = root.fields(("name", "title", "about", "transistors", "pads", "parts", "inputs", "outputs"), ("log",))
    at: dict[str, tuple[str, str]] = {}
    made: dict[str, Part] = {}
    for sort in _SORTS:
        own = fields[sort].fields(("title", "gates", "at"))
        made[sort] = _gates(sort.removesuffix("s"), own["title"].text(), own["gates"])
        at |= {pin: (sort.removesuffix("s"), net.text()) for pin, net in own["at"].mapping().items()}
    pads: list[Pad] = []
    for side, given in fields["pads"].fields(SIDES).items():
        for faces, listed in given.mapping().items():
            for pin in listed:
                name = pin.text()
                if name not in at and name not in (LOW, HIGH):
                    pin.fail(f"nothing stands at the pad {name}", "list it under inputs or outputs")
                sort, net = at.get(name, ("supply", name))
                pads.append(Pad(name, side, sort, net, faces))
    counts = fields["transistors"].mapping()
    return Chip(
        fields["name"].text(),
        fields["title"].text(),
        fields["about"].text(),
        {Style(style): count.integer(1) for style, count in counts.items()},
        tuple(pads),
        tuple(_part(node) for node in fields["parts"]),
        made["inputs"],
        made["outputs"],
        root.where,
        _story(fields["log"], [pad.name for pad in pads if pad.sort == "input"]) if "log" in fields else None,
    )


def _story(node: Node, pins: Sequence[str]) -> Story:
    """
    Read what the board does: rows such as “RES=0 A1..A0=01”, the upper pin of a bus first; “clocks=8” in a row has the
    clock run so often.
    """
    fields = node.fields(("rows",), ("clock", "strobe"))
    rows: list[dict[str, int]] = []
    pulses: list[int] = []
    for row in fields["rows"]:
        levels: dict[str, int] = {}
        pulses.append(1)
        for word in row.text().split():
            name, _, bits = word.partition("=")
            if name == "clocks" and bits.isdigit() and 0 <= int(bits) <= _MOST_CLOCKS:
                pulses[-1] = int(bits)
                continue
            names = _bus(name)
            if not set(names) <= set(pins):
                row.fail(f"“{name}” is no input", "inputs: " + ", ".join(pins))
            if len(bits) != len(names) or set(bits) - {"0", "1"}:
                row.fail(f"“{word}” does not give a level to each pin", "write 0 or 1 for each")
            levels |= {pin: int(bit) for pin, bit in zip(names, bits, strict=True)}
        rows.append(levels)
    named = {key: fields[key].text() if key in fields else "" for key in ("clock", "strobe")}
    return Story(tuple(rows), tuple(pulses), named["clock"], named["strobe"])


def _bus(name: str) -> tuple[str, ...]:
    """Return the pins of a bus such as D3..D0, or the one pin."""
    match = re.fullmatch(r"([A-Za-z]+)(\d{1,2})\.\.\1(\d{1,2})", name)
    if match is None:
        return (name,)
    first, last = int(match[2]), int(match[3])
    step = -1 if first > last else 1
    return tuple(f"{match[1]}{n}" for n in range(first, last + step, step))


def _part(node: Node) -> Part:
    fields = node.fields(("name", "title"), ("array", "gates"))
    name, title = fields["name"].text(), fields["title"].text()
    if "gates" in fields:
        return _gates(name, title, fields["gates"])
    if "array" not in fields:
        node.fail("neither an array nor gates are given", "add “array: fifo_4x4 d0=d0 …” or “gates: |”")
    kind, *words = fields["array"].text().split()
    cell = array_cell(kind)
    if cell is None:
        fields["array"].fail(f"“{kind}” is no array", "see layoutdrill arrays")
    joined = dict(word.split("=", 1) for word in words)
    known = {port.name for port in cell.ports}
    for port in joined:
        if port not in known:
            fields["array"].fail(f"{kind} has no port {port}", "ports: " + ", ".join(sorted(known)))
    return Part(name, title, cell, joined, array=True)


def _gates(name: str, title: str, node: Node) -> Part:
    """Return gates as a part of which every named net may be joined."""
    lines = parse_lines(node)
    for line in lines:
        _check_ports(line, node)
    nets = dict.fromkeys(
        net
        for line in lines
        for net in ([n for _, n in line.joined] if isinstance(line, Use) else (getattr(line, "gate", ""), *line.ends))
        if net not in ("", LOW, HIGH)
    )
    cell = Cell(
        name=name,
        title=title,
        family="chips",
        structure="",
        aliases=(),
        ports=tuple(Port(net, Role.SIGNAL) for net in nets),
        function=(),
        does="",
        stages=(),
        netlists=dict.fromkeys(Style, lines),
        boundary=EVERYTHING,
        look_for="",
        mistaken_for=(),
        only=(),
        where=node.where,
        lookup=library_cell,
    )
    return Part(name, title, cell, {net: net for net in nets}, array=False)


def _check_ports(line: Line, node: Node) -> None:
    """Refuse a joined port that the cell does not have: its net would hang on nothing."""
    if not isinstance(line, Use):
        return
    known = [port.name for port in library_cell(line.cell).ports]
    for port, _ in line.joined:
        if port not in known:
            node.fail(f"{line.cell} has no port {port}", "ports: " + ", ".join(known))
