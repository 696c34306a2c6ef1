"""What a structure is mistaken for, nearest first: the source of fair wrong choices."""

import re
from collections.abc import Iterable, Sequence
from functools import cache

from layoutdrill.cells import Cell, find_cell, load_cell
from layoutdrill.cells.library import library
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import Process, load_process
from layoutdrill.question.library_sizes import other_names, sizes
from layoutdrill.question.model import Specimen
from layoutdrill.question.naming import canonical_structure, needs_number, same_structure, senses, widened
from layoutdrill.question.ratioed_words import ANY_LOAD, drivers, in_words, only_kind
from layoutdrill.recognise import terms
from layoutdrill.recognise.terms import family

_DIGITS = re.compile(r"([A-Z]+)([1-9][0-9]*)\Z")
_GROUPS: tuple[tuple[str, ...], ...] = (
    (
        "latch",
        "SR latch",
        "dynamic latch",
        "static RAM cell",
        "memory bit",
        "shift-register bit",
        "register bit",
        "cross-coupled inverters",
    ),
    ("inverter", "buffer", "transmission gate", "pass transistor", "tri-state inverter", "level restorer"),
    ("Schmitt inverter", "tri-state inverter", "NAND3", "NOR3", "level restorer"),
    ("half adder", "full adder", "majority gate", "XOR2", "XNOR2"),
    ("XOR2", "XNOR2", "2:1 multiplexer", "inverting 2:1 multiplexer", "latch"),
)
"""Structures of one outline or one purpose (common practice)."""
_ODD = (
    "input protection",
    "output driver",
    "pull-up",
    "pull-down",
    "tie cell",
    "decoder column",
    "precharged gate",
    "marker",
)
"""What is taken for a gate least, whatever its size."""
_FALLBACK = ("inverter", "NAND2", "NOR2", "transmission gate", "latch", "2:1 multiplexer", "XOR2", "AOI21")


def look_alikes(
    structure: str, aliases: Iterable[str], cell: str, process: Process, transistors: int
) -> tuple[str, ...]:
    """
    Return other structures, the likeliest confusions first: what the library's entry for `cell` names, then what the
    trade's table names, then one input more or less, then structures that the process can build and of like size.

    No synonym, no alias, no wider word that would also be true, and no family without its number is among them.
    """
    own = canonical_structure(structure)
    also = tuple(aliases)
    names: list[str] = []
    entry = _entry(own, cell)
    if entry is not None:
        names += [other.structure for look in entry.mistaken_for if (other := find_cell(look.cell)) is not None]
    match = _DIGITS.match(own)
    digits = match.group(2) if match else ""
    for name in terms.lookalikes(own):
        names.append(f"{name}{digits}" if digits and terms.term(name).digits else name)
    if match and len(digits) == 1:
        names += [f"{match.group(1)}{int(digits) + 1}", f"{match.group(1)}{int(digits) - 1}"]
    with_arrays = entry is not None and entry.tilings
    transistors_in = _array_sizes(process.name) if with_arrays else sizes(process.name)
    for group in _GROUPS:
        if own in group:
            names += sorted(group, key=lambda name: abs(transistors_in.get(name, transistors) - transistors))
    built = sorted(transistors_in, key=lambda name: (name in _ODD, abs(transistors_in[name] - transistors), name))
    names += [name for name in built if abs(transistors_in[name] - transistors) <= 4]
    names += [*built[:6], *_FALLBACK]
    if transistors_in:
        names = [name for name in names if canonical_structure(name) in transistors_in] or names
    kept: list[str] = []
    for name in map(canonical_structure, names):
        if name not in kept and _is_wrong(name, own, also):
            kept.append(name)
    return tuple(kept)


def taught_first(pool: Sequence[str], own: str, specimen: Specimen) -> tuple[str, ...]:
    """
    Return the look-alikes that the lesson shows; where they are fewer than the choices want, other structures of the
    lesson that the process can build, and only then look-alikes that no page of it has named.
    """
    known = {canonical_structure(name) for name in specimen.taught}
    if not known:
        return tuple(pool)
    shown = [name for name in pool if name in known]
    also = look_alikes_among(sorted(known), own, specimen)
    ranked = dict.fromkeys((*shown, *also))
    return tuple(ranked) if len(ranked) >= WRONG else tuple(dict.fromkeys((*ranked, *pool)))[:WRONG]


def look_alikes_among(names: Sequence[str], own: str, specimen: Specimen) -> list[str]:
    """Return those of some structures that the process can build and that could not be true of this one too."""
    built = sizes(specimen.process.name)
    return [name for name in names if name in built and _is_wrong(name, own, specimen.aliases)]


def _is_wrong(name: str, own: str, also: Iterable[str]) -> bool:
    """Tell whether a structure is another than this: no synonym, no wider word, no family without its number."""
    too_wide = terms.family(name) in widened(own) or terms.family(own) in widened(name)
    bare = needs_number(name) or name in ("AND1", "OR1", "NAND1", "NOR1", "XOR1", "XNOR1")
    alike = any(same_structure(name, word) for word in (own, *also)) or own in _also_called(name)
    return not (too_wide or bare or alike)


WRONG = 3
"""Wrong choices of a question."""


@cache
def _also_called(structure: str) -> frozenset[str]:
    """Return the structures whose names the library's cells of this one bear as well (a decoder column is a NAND)."""
    return frozenset[str]().union(*(_bearers().get(meaning, ()) for meaning in senses(structure)))


@cache
def _bearers() -> dict[tuple[str, str], list[str]]:
    """Return the other names of the library's cells by what their structures mean."""
    bearers: dict[tuple[str, str], list[str]] = {}
    for called, names in other_names():
        for meaning in senses(called):
            bearers.setdefault(meaning, []).extend(names)
    return bearers


@cache
def _array_sizes(process: str) -> dict[str, int]:
    """Return the arrays that a process can build, by structure, each with its smallest transistor count."""
    from layoutdrill.cells.arrays import array_names  # noqa: PLC0415 - few questions are about arrays

    made = load_process(process)
    fitting = [cell for cell in map(load_cell, array_names()) if cell.fits(made)]
    found: dict[str, int] = {}
    for cell in fitting:
        count, name = cell.netlist(made).count(), canonical_structure(cell.structure)
        found[name] = min(count, found.get(name, count))
    return found


def transistors_of(structure: str, process: Process) -> int:
    """Return how many transistors a structure takes at least in a process, 0 where it is not built there."""
    return sizes(process.name).get(canonical_structure(structure), 0)


def would_show(structure: str, cell: str, given: str, process: Process) -> str:
    """Say what one would see were the structure shown the `given` one: the library's words, the trade's, or ""."""
    kind = only_kind(process)
    if kind is not None and drivers(given, kind):
        return drivers(given, kind)
    entry = _entry(structure, cell)
    for look in entry.mistaken_for if entry is not None else ():
        other = find_cell(look.cell)
        if other is not None and (same_structure(other.structure, given) or _of_one_family(other, given, structure)):
            return in_words(look.tell, given, process) or ""
    return look_for(given, "", process) or in_words(
        terms.confusion(canonical_structure(structure), given) or "", given, process
    )


def _of_one_family(other: Cell, given: str, structure: str) -> bool:
    """Tell whether what tells another cell holds of the given one too, however many inputs or words it has."""
    return family(other.structure) == family(given) != family(structure)


def _entry(structure: str, cell: str) -> Cell | None:
    """Return the library's entry for a cell, or else for the structure; a kit's cells have none of their own."""
    return known_cell(cell) or _first_cell(structure)


def known_cell(name: str) -> Cell | None:
    """Return the library's cell of a name; None for one of an author's own, or of a kit."""
    try:
        return find_cell(name)
    except LayoutdrillError:  # no size of an array that the library makes
        return None


@cache
def _first_cell(structure: str) -> Cell | None:
    return next((cell for cell in library().values() if same_structure(cell.structure, structure)), None)


def look_for(structure: str, cell: str, process: Process) -> str:
    """Say which feature decides, in the library's words or the trade's; "" for a structure that neither knows."""
    entry = _entry(structure, cell)
    try:
        text = entry.look_for if entry is not None else terms.term(canonical_structure(structure)).about
    except KeyError:
        return ""
    return in_words(text, structure, process) or ANY_LOAD


def cell_of(structure: str, process: Process) -> str | None:
    """Return a cell of the library that shows a structure in the process, for the side-by-side."""
    for cell in library().values():
        if same_structure(cell.structure, structure) and cell.fits(process):
            return cell.name
    return None
