"""Read a chip from its file, checking every name against what it must refer to."""

from functools import cache
from pathlib import Path

from layoutdrill.cells.arrays import array_cell
from layoutdrill.cells.chips.model import SIDES, Chip, Pad, Part
from layoutdrill.cells.compact import HIGH, LOW, Use, parse_lines
from layoutdrill.cells.entry import Port, Style
from layoutdrill.cells.library import library_cell
from layoutdrill.cells.model import Cell
from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.netlist.roles import Role
from layoutdrill.yamldoc import Node, load

DATA = Path(__file__).parent.parent / "data" / "chips"
_SORTS = ("inputs", "outputs")


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
    fields = root.fields(("name", "title", "about", "transistors", "pads", "parts", "inputs", "outputs"))
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
    )


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
        boundary="everything that is drawn",
        look_for="",
        mistaken_for=(),
        only=(),
        where=node.where,
        lookup=library_cell,
    )
    return Part(name, title, cell, {net: net for net in nets}, array=False)
