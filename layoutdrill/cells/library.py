"""Read the cell library from its YAML files, checking every name against what it must refer to."""

from collections.abc import Callable
from functools import cache, partial
from pathlib import Path

from layoutdrill.cells.compact import HIGH, KINDS, LOW, PASSIVES, Line, Use, parse_lines
from layoutdrill.cells.entry import EVERYTHING
from layoutdrill.cells.model import Cell, Lookalike, Port, Role, Style
from layoutdrill.cells.sizing import without_implant
from layoutdrill.cells.stages import Stage, parse_stages
from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.netlist.roles import PORT_ROLES
from layoutdrill.process import process_names
from layoutdrill.yamldoc import Node, load

DATA = Path(__file__).parent / "data"

_REQUIRED = ("name", "title", "structure", "ports", "look for")
_OPTIONAL = ("aliases", "function", "does", "stages", "netlist", "spice", "boundary", "mistaken for", "processes")


@cache
def _entries() -> dict[str, tuple[Node, str]]:
    """Return every cell's entry and family by the cell's name; a sitting reads only the few cells that it asks for."""
    entries: dict[str, tuple[Node, str]] = {}
    for path in sorted(DATA.glob("*.yaml")):
        fields = load(path, name=f"layoutdrill/cells/data/{path.name}").root.fields(("family", "cells"))
        family = fields["family"].text()
        for node in fields["cells"]:
            entry = node.mapping()
            name = entry["name"].text() if "name" in entry else ""  # what is missing is told when the entry is read
            if name in entries:
                first = entries[name][0].where
                raise LayoutdrillError(f'there are two cells "{name}"', where=node.where, todo=f"see {first}")
            entries[name] = node, family
    return entries


@cache
def library() -> dict[str, Cell]:
    """Return every cell by name, in the order of the files and of the entries in them."""
    return {name: _cell(name) for name in _entries()}


@cache
def _cell(name: str) -> Cell:
    return read_cell(*_entries()[name], lookup=library_cell)


def cell_names() -> tuple[str, ...]:
    return tuple(_entries())


FAMILIES_AS_MET = (
    "gates",
    "complex gates",
    "switches and selectors",
    "stores",
    "loads, switches and stores of one kind",
    "counters",
    "arithmetic and decoding",
    "precharged gates",
    "clocks",
    "pads and drivers",
)
"""The families in the order in which the lessons meet them, then those that they do not."""


def cells_as_met() -> tuple[str, ...]:
    """Return the names of all cells, those that a learner meets first before the others."""
    rank = {family: at for at, family in enumerate(FAMILIES_AS_MET)}
    return tuple(sorted(_entries(), key=lambda name: rank.get(_entries()[name][1], len(rank))))


def titles_as_met() -> tuple[tuple[str, str, str], ...]:
    """Return name, title and family of all cells, as a learner meets them; the cells themselves are not read."""
    entries = ((name, *_entries()[name]) for name in cells_as_met())
    return tuple((name, node.mapping()["title"].text(), family) for name, node, family in entries)


def library_cell(name: str) -> Cell:
    """Return a cell of the library; raises LayoutdrillError for a name it does not have."""
    if name not in _entries():
        raise LayoutdrillError(f'no cell "{name}"', todo=did_you_mean(name, cell_names()))
    return _cell(name)


def read_cells(root: Node) -> tuple[Cell, ...]:
    """Read one file of cells; raises LayoutdrillError with the place of the first thing wrong."""
    fields = root.fields(("family", "cells"))
    family = fields["family"].text()
    return tuple(read_cell(node, family) for node in fields["cells"])


def read_cell(node: Node, family: str, *, lookup: Callable[[str], Cell] = library_cell) -> Cell:
    """Read one cell's entry; `lookup` finds the cells that it uses."""
    fields = node.fields(_REQUIRED, _OPTIONAL)
    name = fields["name"].text()
    if not name.replace("_", "").isalnum() or not name[0].isalpha() or name in {*KINDS, *PASSIVES}:
        fields["name"].fail(f"“{name}” is no name for a cell", "use letters, digits and _, starting with a letter")
    ports = _ports(fields["ports"])
    outputs = tuple(port.name for port in ports if port.role is Role.OUTPUT)
    inputs = tuple(port.name for port in ports if port.role is not Role.OUTPUT)
    function = parse_stages(fields["function"], inputs, chained=False) if "function" in fields else ()
    if not function and "does" not in fields:
        node.fail("neither a function nor what it does is given", "add “function: y = …” or “does: …”")
    stages: tuple[Stage, ...] = ()
    netlists: dict[Style, tuple[Line, ...]] = {}
    given = [key for key in ("netlist", "spice", "stages") if key in fields]
    if len(given) > 1:
        fields[given[1]].fail("a cell is built in one way", f"leave “{given[0]}” or “{given[1]}” out")
    if "netlist" in fields:
        netlists = _netlists(fields["netlist"])
    elif "spice" in fields:
        netlists = _subcircuit(fields["spice"], ports)
    elif "stages" in fields:
        stages = parse_stages(fields["stages"], inputs, chained=True)
    else:
        stages = function
    if not stages and not netlists:
        node.fail("nothing says how it is built", "add “function”, “stages”, “netlist” or “spice”")
    for built in (function, stages):
        missing = [out for out in outputs if built and out not in {stage.output for stage in built}]
        if missing:
            node.fail(f"output {missing[0]} is given no value", f"add “{missing[0]} = …”")
    return Cell(
        name=name,
        title=fields["title"].text(),
        family=family,
        structure=fields["structure"].text(),
        aliases=tuple(item.text() for item in fields["aliases"]) if "aliases" in fields else (),
        ports=ports,
        function=function,
        does=fields["does"].text().strip() if "does" in fields else "",
        stages=stages,
        netlists=netlists,
        boundary=fields["boundary"].text().strip() if "boundary" in fields else EVERYTHING,
        look_for=fields["look for"].text().strip(),
        mistaken_for=tuple(Lookalike(cell, tell.text()) for cell, tell in fields["mistaken for"].mapping().items())
        if "mistaken for" in fields
        else (),
        only=tuple(item.word(process_names(), "process") for item in fields["processes"])
        if "processes" in fields
        else (),
        where=node.where,
        lookup=lookup,
    )


def _ports(node: Node) -> tuple[Port, ...]:
    ports: list[Port] = []
    roles = [role.value for role in PORT_ROLES]
    for name, given in node.mapping().items():
        if name in (LOW, HIGH):
            given.fail(f"{name} is a supply, not a port", "leave it out: the supplies are always there")
        text = given.text()
        head, complement, of = text.partition("complement of ")
        if complement and not head:
            partner = next((port for port in ports if port.name == of), None)
            if partner is None:
                given.fail(f'no port "{of}" before this one', did_you_mean(of, [port.name for port in ports]))
            ports.append(Port(name, partner.role, of))
        else:
            ports.append(Port(name, Role(given.word(roles, "role"))))
    if not ports:
        node.fail("a cell has ports", "list them as “a: input”")
    return tuple(ports)


def _subcircuit(node: Node, ports: tuple[Port, ...]) -> dict[Style, tuple[Line, ...]]:
    """Read a SPICE subcircuit whose ports are those of the entry, and supplies."""
    from layoutdrill.cells.author import cell_of_netlist  # noqa: PLC0415 - few decks bring SPICE
    from layoutdrill.netlist.spice import place_in, read_spice  # noqa: PLC0415 - the same

    text = ""
    for line in node.lines():  # set where it stands in the file, so that an error in it is told with its place
        at = line.where
        text += "\n" * ((at.line or 1) - 1 - text.count("\n")) + " " * ((at.column or 1) - 1) + line.text()
    file = node.where.file
    cell = cell_of_netlist(read_spice(text, file), node.where, partial(place_in, text, file))
    own, listed = {port.name for port in cell.ports}, {port.name for port in ports}
    if own != listed:
        odd = min(own ^ listed)
        what = "is a port of the subcircuit, and not of the cell" if odd in own else "is no port of the subcircuit"
        node.fail(f"{odd} {what}", "list the same ports in both; supplies are ports of the subcircuit only")
    return dict(cell.netlists)


def _netlists(node: Node) -> dict[Style, tuple[Line, ...]]:
    """Read one netlist for complementary logic, or one for each logic style by name; “any” stands for all styles."""
    if isinstance(node.value, dict):
        known = [style.value for style in Style]
        for keys, where in node.key_places:
            for key in keys.split(" and "):
                if key not in (*known, "any"):
                    raise LayoutdrillError(f'no logic style "{key}"', where=where, todo=did_you_mean(key, known))
        netlists = {}
        for keys, inner in node.mapping().items():
            lines = parse_lines(inner)
            netlists.update(
                dict.fromkeys((Style(key) for key in (known if keys == "any" else keys.split(" and "))), lines)
            )
        if Style.DEPLETION_LOAD in netlists and Style.ENHANCEMENT_LOAD_N not in netlists:
            turned = without_implant(netlists[Style.DEPLETION_LOAD])
            if turned is not None:
                netlists[Style.ENHANCEMENT_LOAD_N] = turned
        return netlists
    return {Style.COMPLEMENTARY: parse_lines(node)}


def check_library() -> None:
    """
    Check what one entry cannot know: the cells that are used and mistaken exist, uses join every port, and no circle.

    Raises LayoutdrillError for the first thing wrong.
    """
    cells = library()
    for cell in cells.values():
        for other in cell.mistaken_for:
            if other.cell not in cells:
                raise LayoutdrillError(
                    f'“mistaken for” names no cell "{other.cell}"',
                    where=cell.where,
                    todo=did_you_mean(other.cell, cells),
                )
        for lines in cell.netlists.values():
            for line in lines:
                if isinstance(line, Use):
                    _check_use(line, cells)


def _check_use(line: Use, cells: dict[str, Cell]) -> None:
    if line.cell not in cells:
        raise LayoutdrillError(f'no cell "{line.cell}"', where=line.where, todo=did_you_mean(line.cell, cells))
    wanted = {port.name for port in cells[line.cell].ports}
    given = {port for port, _ in line.joined}
    if wanted != given:
        odd = min(wanted ^ given)
        what = "is not joined" if odd in wanted else "is no port"
        raise LayoutdrillError(
            f"port {odd} of {line.cell} {what}", where=line.where, todo="ports: " + ", ".join(sorted(wanted))
        )
