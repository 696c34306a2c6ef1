"""Check what an author says of a cell against its transistors: the function, the structure, every net and port."""

from collections import Counter
from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from itertools import product
from pathlib import Path

from layoutdrill.cells import Cell, Role
from layoutdrill.cells.model import Style, style_of
from layoutdrill.deck.known import drawn_processes
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process, load_process
from layoutdrill.question.naming import canonical_structure, same_structure, widened, with_article
from layoutdrill.recognise.terms import UNKNOWN, canonical, family
from layoutdrill.simulate.expression import evaluate
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.table import table
from layoutdrill.yamldoc import Node, load

MOST_ROWS = 8
"""Cells with more free inputs than this, and large ones, are tried at some rows only."""
SOME_ROWS = 48
LARGE = 120
LARGEST = 500
"""Cells of more transistors than this are not named as a whole: that would take too long."""

_BY_USE = {"delay", "clock gate", "output driver", "level restorer", "super buffer", "decoder column", "decoder",
           "input protection", "marker", "pull-up", "pull-down"}  # fmt: skip
"""Structures named by what they serve for, or by sizes: the same transistors may go by another name elsewhere."""

_STORES = {"register bit", "shift-register bit", "latch", "SR latch", "memory bit", "static RAM cell", "dynamic latch",
           "cross-coupled inverters"}  # fmt: skip

_ALWAYS_TOLD = ("AOI", "OAI", "majority gate", "minority gate")
"""Complex gates that recognition always names in full: what it calls a complex gate and no more is none of them."""
_MISSPELT = 0.8
"""Likeness, 0 to 1, from which a word is taken for the name that the transistors have, misspelt."""

_BUILT_BY = ("netlist", "spice", "stages", "function")


def check_own_cells(cells: Mapping[str, Cell], path: Path) -> Iterator[LayoutdrillError]:
    """
    Yield what is wrong with a deck's own cells, each thing once, at the place of its field in the deck's file; where
    that is no more (a sitting that was left), at the cell's.
    """
    entries: dict[str, Node] | None = None
    for cell in cells.values():
        already: set[str] = set()
        for field, name, what, todo in cell_slips(cell):
            if what in already:
                continue
            already.add(what)
            if entries is None:  # most decks have no slip, and are read once
                entries = _entries(path) if path.is_file() else {}
            yield LayoutdrillError(what, where=_place(cell, entries, field, name), todo=todo)


def cell_slips(cell: Cell) -> Iterator[tuple[str, str, str, str]]:
    """
    Yield (field, name in it, what is wrong, what to do) for a cell: in one process of each logic style it is given in.

    Nets that hang and ports without transistors are told alone, for they upset what the cell does and is.
    """
    for process in _processes(cell):
        try:
            netlist = cell.netlist(process)
        except LayoutdrillError:
            continue  # told where an item or page asks for the cell
        loose = [*_nets(cell, netlist), *_ports(cell, netlist)]
        if loose:
            yield from loose
            continue
        yield from _function(cell, netlist, process)
        yield from _structure(cell, netlist, process)


def _processes(cell: Cell) -> Iterator[Process]:
    """Yield a process to try the cell in; where its netlists differ by logic style, one for each."""
    styles: set[Style] = set()
    for name in drawn_processes():
        process = load_process(name)
        if cell.fits(process) and style_of(process) not in styles:
            styles.add(style_of(process))
            yield process
            if not cell.netlists:
                return


def _nets(cell: Cell, netlist: Netlist) -> Iterator[tuple[str, str, str, str]]:
    beside = [node for element in netlist.elements for node in element.nodes]
    ends = {*beside, *(end for t in netlist.transistors for end in t.ends)}
    touched = Counter([*beside, *(net for t in netlist.transistors for net in (t.gate, *t.ends))])
    for net, times in touched.items():
        if net in netlist.ports:
            continue
        if net not in ends:
            yield "built", net, f"net {net} is driven by nothing", "join it to what drives it, or mend its name"
        elif times == 1 and not cell.tilings:  # a plane programmed by contacts has transistors that lead nowhere
            yield "built", net, f"net {net} ends nowhere", "join it to what it leads to, or mend its name"


def _ports(cell: Cell, netlist: Netlist) -> Iterator[tuple[str, str, str, str]]:
    driven = {net for t in netlist.transistors for net in t.ends}
    driven |= {node for element in netlist.elements for node in element.nodes}
    touched = driven | {t.gate for t in netlist.transistors}
    for port in cell.ports:
        if port.name not in touched:
            yield "ports", port.name, f"no device touches port {port.name}", "join it, or take it out of the ports"
        elif port.role is Role.OUTPUT and port.name not in driven:
            yield "ports", port.name, f"nothing drives output {port.name}", "mend its role, or what leads to it"


def _supplies(netlist: Netlist, process: Process) -> dict[str, int]:
    used = set(netlist.nets)
    return {rail: level for rail, level in process.rail_levels.items() if rail in used}


def _function(cell: Cell, netlist: Netlist, process: Process) -> Iterator[tuple[str, str, str, str]]:
    """Yield for each output the first row at which the transistors do not do what the function says."""
    if cell.function == cell.stages:
        return  # built from the function itself
    outputs = cell.of_role(Role.OUTPUT)
    said = {stage.output: stage for stage in cell.function if stage.output in outputs}
    supplies = _supplies(netlist, process)
    for given in _rows(cell, len(netlist.transistors)):
        if not said:
            return
        seen = table(netlist, (), tuple(said), supplies, fixed=given).rows[0].outputs
        for out, level in zip(tuple(said), seen, strict=True):
            stage = said[out]
            value = int(evaluate(stage.value, {name: bool(bit) for name, bit in given.items()}))
            if str(level) != str(value):
                row = " ".join(f"{name}={bit}" for name, bit in given.items())
                what = f"{out} {_now(level)} at {row}, where “{stage.text}” says {value}"
                yield "function", out, what, "mend the transistors or the function"
                del said[out]


def _now(level: Level) -> str:
    words = {
        Level.FLOATING: "is not driven",
        Level.UNKNOWN: "has no certain level",
        Level.FIGHT: "is driven both ways",
    }
    return words.get(level, f"is {level}")


def _rows(cell: Cell, size: int) -> Iterator[dict[str, int]]:
    """Yield values for the inputs, complements of ports following them: all rows, or some by a fixed generator."""
    free = [p.name for p in cell.ports if p.role is not Role.OUTPUT and not p.complement_of]
    opposites = {p.name: p.complement_of for p in cell.ports if p.complement_of}
    few = len(free) <= MOST_ROWS and (size <= LARGE or 1 << len(free) <= SOME_ROWS)
    dice = Dice(1)
    some = (tuple(dice.below(2) for _ in free) for _ in range(SOME_ROWS))
    for values in product((0, 1), repeat=len(free)) if few else some:
        given = dict(zip(free, values, strict=True))
        for name, base in opposites.items():
            if base in given:
                given[name] = 1 - given[base]
        yield {port.name: given[port.name] for port in cell.ports if port.name in given}


def _structure(cell: Cell, netlist: Netlist, process: Process) -> Iterator[tuple[str, str, str, str]]:
    """Yield a slip where the transistors are known to be something that the cell's name does not cover."""
    what = misnamed(cell.structure, cell.aliases, netlist, process)
    if what:
        yield "structure", "", what, "mend the transistors or the structure"


def misnamed(structure: str, aliases: tuple[str, ...], netlist: Netlist, process: Process) -> str:
    """Say what the transistors are known to be where a name does not cover it, else ""."""
    right = canonical(structure)
    if (right is not None and family(right) in _BY_USE) or len(netlist.transistors) > LARGEST:
        return ""
    from layoutdrill.recognise.whole import recognise  # noqa: PLC0415 - few decks have cells of their own

    seen = recognise(netlist, _supplies(netlist, process))
    known = canonical(seen.term)
    if known is None or seen.leftover or UNKNOWN in seen.names:
        return ""
    if len(seen.structures) > 1 and known in _STORES:
        return ""  # named by the store in it; the author may name the whole
    if right is None:  # a name of the author's own, unless it is the trade's, misspelt
        near = get_close_matches(structure.lower(), [name.lower() for name in seen.names], 1, _MISSPELT)
        return (
            f"structure “{structure}” is no term of the trade; these transistors are {with_article(known)}"
            if near
            else ""
        )
    for name in seen.names:
        if any(_covers(word, canonical_structure(name)) for word in (right, *aliases)):
            return ""
    return f"structure {right}, but these transistors are {with_article(known)}"


def _covers(said: str, built: str) -> bool:
    """Tell whether a name is that found, its family, a wider word, or a special form that the eye may see."""
    said = canonical_structure(said)
    if same_structure(said, built) or said in (family(built), *widened(built)):
        return True
    return built in widened(said) and family(said) not in _ALWAYS_TOLD


def _entries(path: Path) -> dict[str, Node]:
    """Return the nodes of a deck's own cells by name; the deck has been read without an error before."""
    node = load(path).root.mapping().get("cells")
    entries = [] if node is None else [entry for entry in node if isinstance(entry.value, dict)]
    return {entry.mapping()["name"].text(): entry for entry in entries}


def _place(cell: Cell, entries: Mapping[str, Node], field: str, name: str) -> Where:
    """Return where a slip is: the equation of an output, the line of a net, the port, else the field or the cell."""
    if field == "function":
        return next(stage.where for stage in cell.function if stage.output == name)
    if cell.name not in entries:
        return cell.where
    fields = entries[cell.name].mapping()
    key = next((key for key in _BUILT_BY if key in fields), "") if field == "built" else field
    if key not in fields:
        return cell.where
    node = fields[key]
    if key == "ports":
        return node.mapping()[name].where
    if field == "built" and isinstance(node.value, str):
        for line in node.lines():
            if name in line.text().replace("=", " ").split():
                return line.where
    return node.where
