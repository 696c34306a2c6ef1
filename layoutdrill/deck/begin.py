"""Begin a deck: a text with remarks that passes the check, of drawn cells, a photograph, or a folder of layouts."""

from collections.abc import Iterator
from pathlib import Path

from layoutdrill.cells import cell_names
from layoutdrill.deck.beside import inside
from layoutdrill.deck.write import scalar
from layoutdrill.errors import LayoutdrillError, Where, did_you_mean, plural
from layoutdrill.extract import extract
from layoutdrill.layout.files import read_layout
from layoutdrill.layout.gdsii import gdsii_cells
from layoutdrill.netlist.compare import compare
from layoutdrill.netlist.roles import PORT_ROLES, Role
from layoutdrill.netlist.spice import NETLIST_FILES, read_spice_file
from layoutdrill.process import load_process, process_names
from layoutdrill.question.naming import canonical_structure
from layoutdrill.reading.ports import with_ports
from layoutdrill.recognise.terms import UNKNOWN
from layoutdrill.recognise.whole import recognise

MOST_LAYOUTS = 200
LARGEST = 300
"""Transistors of a cell that is asked about as a whole."""
_LAYOUTS = (".gds", ".gdsii", ".gds2")

_HEAD = """\
# A deck of questions. Every field is explained in AUTHORING.md, and `layoutdrill check` tells what is to be mended.
format: 1
title: {title}
about: Say in a line what this deck is for.
author: your name
licence: CC0-1.0          # or another under which it may be passed on
# prerequisites: [first-gates]   # lessons that come before
"""
_DRAWN = """
processes: [silicon-gate-cmos, metal-gate-sapphire]   # `layoutdrill processes` lists them
difficulty: [0.1, 0.4]                                # from tidy to crowded

items:
  - cells: [nand2, nor2]        # `layoutdrill cells` lists them; nand2..nand4 is a row of them
    kinds: {name: 2, count: 1}  # how often each is asked; left out, any kind that fits
    hints: ["Which rail does the series row hang from?"]
  - cells: latch_static
    note: It keeps its level by itself.   # told with the verdict
"""


def begun_deck(file: Path, photo: Path | None, folder: Path | None, process: str | None) -> str:
    """Return the text of a deck that passes. Raises LayoutdrillError where what it is to ask about cannot be read."""
    head = _HEAD.format(title=scalar(file.stem.replace("-", " ").replace("_", " ")))
    if photo is not None:
        if not inside(file.parent, photo):
            where = Where(str(photo))
            raise LayoutdrillError("lies outside the deck's folder", where=where, todo="put both into one folder")
        return (
            f"{head}\nitems:\n  - photo: {scalar(_from(file, photo))}\n    # regions: […]   # left out, all of them\n"
        )
    if folder is not None:
        return head + "\n".join(_layouts(file, folder, process or "")) + "\n"
    return head + _DRAWN


def _layouts(file: Path, folder: Path, process: str) -> Iterator[str]:
    """Yield the lines of a deck of the cells in a folder's layouts; names come from what they are recognised as."""
    own = process.endswith((".yaml", ".yml"))
    if not own and process not in process_names():
        raise LayoutdrillError(f'no process "{process}"', todo=did_you_mean(process, process_names()))
    made = load_process(process)
    if own and not inside(file.parent, Path(process)):
        raise LayoutdrillError("lies outside the deck's folder", where=Where(process), todo="put it beside the deck")
    if not inside(file.parent, folder):
        raise LayoutdrillError("lies outside the deck's folder", where=Where(str(folder)), todo="put the deck above it")
    files = sorted(path for path in folder.rglob("*") if path.name.lower().endswith(_LAYOUTS))[:MOST_LAYOUTS]
    if not files:
        raise LayoutdrillError("no layout lies there", where=Where(str(folder)), todo="give a folder of .gds")
    entries: list[str] = []
    names: list[str] = []
    for path in files:
        for cell in gdsii_cells(path):
            lines = list(_entry(file, path, cell, process, names))
            entries += lines
    if not names:
        raise LayoutdrillError("nothing there is recognised", where=Where(str(folder)), todo="check --process")
    yield f"# {plural(len(names), 'cell')} of {made.title}: structures were recognised, look them over."
    yield "layouts:"
    yield from entries
    yield ""
    yield "items:"
    yield f"  - cells: [{', '.join(names)}]"


def _entry(file: Path, path: Path, cell: str, process: str, names: list[str]) -> Iterator[str]:
    """Yield the lines of one cell, none where it is not recognised, or drawn with faults."""
    made = load_process(process)
    try:
        extraction = extract(read_layout(path, made, cell), made)
    except LayoutdrillError as error:
        yield f"  # {cell} of {path.name} cannot be read: {error.what}"
        return
    netlist = with_ports(extraction.netlist)
    if extraction.findings or not 0 < netlist.count() <= LARGEST:
        reason = extraction.findings[0].text if extraction.findings else plural(netlist.count(), "transistor")
        yield f"  # {cell} of {path.name} is left out: {reason}"
        return
    seen = recognise(netlist)
    if seen.term == UNKNOWN:
        yield f"  # {cell} of {path.name} is left out: its structure is not known"
        return
    name = "".join(letter if letter.isalnum() else "_" for letter in cell) or "cell"
    taken = {*names, *cell_names()}
    names.append(name if name[0].isalpha() and name not in taken else f"own{len(names) + 1}_{name}")
    roles = {port.net: port.role for port in seen.ports}
    ports_seen = {p: roles.get(p, Role.SIGNAL) for p in netlist.ports}
    ports = ", ".join(f"{scalar(p)}: {role.value}" for p, role in ports_seen.items() if role in PORT_ROLES)
    yield f"  - name: {names[-1]}"
    yield f"    structure: {scalar(canonical_structure(seen.term))}"
    yield f"    process: {scalar(process if process in process_names() else _from(file, Path(process)))}"
    yield f"    file: {scalar(_from(file, path))}"
    yield f"    cell: {scalar(cell)}"
    yield f"    ports: {{{ports}}}"
    beside = next((other for e in NETLIST_FILES if (other := path.with_suffix(e)).is_file()), None)
    if beside is not None and compare(extraction.netlist, read_spice_file(beside, subckt=cell)).equal:
        yield f"    netlist: {scalar(_from(file, beside))}   # equal to the layout"
    elif beside is not None:
        yield f"    # {beside.name} differs from it: layoutdrill compare"


def _from(file: Path, path: Path) -> str:
    """Return how a deck names a file that lies beside it."""
    return path.resolve().relative_to(file.parent.resolve()).as_posix()
