"""
Read a typed name: aliases, word order, hyphens and small slips are forgiven; a different structure never is.

Digits are never guessed at: NAND2 and NAND3 are two structures.
"""

import re
from collections.abc import Iterable
from functools import cache, lru_cache

from layoutdrill.cells.library import library
from layoutdrill.recognise.terms import TERMS, canonical, family, term
from layoutdrill.value import value

_PIECE = re.compile(r"[a-z]+|[0-9]+")
_NUMBERS = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8"}
_FILLERS = {"gate", "gates", "circuit", "a", "an", "the", "input", "inputs", "it", "is", "to", "way"}

_BARE_MEANS_TWO = {"XOR": "XOR2", "XNOR": "XNOR2", "multiplexer": "2:1 multiplexer",
                   "inverting multiplexer": "inverting 2:1 multiplexer"}  # fmt: skip
"""Said without a number, these mean the two-input form (common practice)."""

_GROUPED = ("AOI", "OAI", "AO", "OA")
"""Families whose digits are group sizes, not one number of inputs."""

_GENERAL: dict[str, tuple[str, ...]] = {
    "dynamic latch": ("latch",),
    "SR latch": ("latch", "cross-coupled inverters"),
    "inverting multiplexer": ("multiplexer",),
    "AOI": ("complex gate",),
    "OAI": ("complex gate",),
    "tri-state inverter": ("inverter",),
    "Schmitt inverter": ("inverter",),
    "level restorer": ("inverter",),
    "tri-state buffer": ("buffer",),
    "super buffer": ("buffer",),
    "output driver": ("inverter", "buffer"),
    "domino gate": ("precharged gate",),
    "static RAM cell": ("cross-coupled inverters",),
    "memory bit": ("static RAM cell", "latch"),
    "shift-register bit": ("register bit", "dynamic latch"),
    "decoder column": ("decoder",),
    "FIFO slice": ("FIFO",),
    "majority gate": ("complex gate",),
    "minority gate": ("complex gate", "majority gate"),
}
"""By family: wider words that are not false, only too wide. They earn part credit and are never a wrong choice."""


@value
class Reading:
    """
    What a typed name was taken for.

    `term` is the canonical term or ""; it is a bare family (“NAND”) when no number of inputs was given. `near` lists
    what a misspelling could mean when that is several terms. `corrected` tells that a slip was forgiven.
    """

    term: str = ""
    near: tuple[str, ...] = ()
    corrected: bool = False


@lru_cache(maxsize=4096)
def canonical_structure(structure: str) -> str:
    """Return a structure's canonical term, or its own name where the trade's table has none."""
    return canonical(structure) or structure


def widened(structure: str) -> tuple[str, ...]:
    """Return the families that `structure` is a special case of."""
    head, with_, _ = structure.partition(" with ")
    return (*_GENERAL.get(family(structure), ()), *((head,) if with_ else ()))


def needs_number(structure: str) -> bool:
    """Tell whether a name is a bare family that says too little (“NAND”, “AOI”, “decoder”)."""
    if structure in _BARE_MEANS_TWO:
        return False
    try:
        entry = term(structure)
    except KeyError:
        return False
    return entry.digits and structure == entry.name


def read_name(text: str, structure: str = "", aliases: Iterable[str] = ()) -> Reading:
    """
    Find what `text` names; a full name among `aliases` (those of the cell shown) means its `structure`.

    A bare family or a wider word among the aliases (“NAND”, “complex gate”) keeps its own, wider meaning.
    """
    structure_said = canonical(text)
    own = {_squeezed(spelling) for spelling in (structure, *aliases) if spelling}
    wide = structure_said is not None and (needs_number(structure_said) or structure_said in widened(structure))
    if structure and _squeezed(text) in own and not wide:
        return Reading(canonical_structure(structure))
    if structure_said:
        return Reading(_BARE_MEANS_TWO.get(structure_said, structure_said))
    if _squeezed(text) in _library_words():
        return Reading(_library_words()[_squeezed(text)])
    letters, digits = _split(text)
    allowed = 0 if len(letters) < 3 else 1 if len(letters) < 7 else 2
    near: dict[str, int] = {}
    meanings = [(spelling, _with_digits(name, digits)) for spelling, name in _spellings()]
    for word in filter(None, (structure, *aliases)):
        spelling, number = _split(word)
        if number == digits and not (canonical(word) and canonical(word) != structure):
            meanings.append((spelling, canonical_structure(structure)))
    for spelling, meant in meanings:
        if meant and abs(len(spelling) - len(letters)) <= allowed:
            slips = distance(letters, spelling)
            if slips <= allowed:
                near[meant] = min(slips, near.get(meant, slips))
    if not near:
        return Reading()
    best = min(near.values())
    nearest = tuple(sorted(name for name, slips in near.items() if slips == best))
    return Reading(nearest[0], corrected=True) if len(nearest) == 1 else Reading(near=nearest)


def with_article(term_: str) -> str:
    """Return a structure's name with its article: an inverter, a NAND2, an XOR2; a pair, where the name is a plural."""
    if term_.endswith("inverters"):
        return f"a pair of {term_}"
    sounded = term_[:1].lower() in "aeio" or term_.startswith(("X", "SR ", "S-R ")) or term_[:1] == "8"
    return f"{'an' if sounded else 'a'} {term_}"


def sentence(text: str) -> str:
    """Return the text with a capital at its head and a full stop at its end; n and p, the kinds, stay small."""
    whole = text.strip().rstrip(".")
    if not whole:
        return ""
    small = whole[0] in "np" and not whole[1:2].isalnum()
    return f"{whole[0] if small else whole[0].upper()}{whole[1:]}."


def _with_digits(name: str, digits: str) -> str | None:
    """Join a family with typed digits; None where the two do not go together."""
    if not digits:
        return _BARE_MEANS_TWO.get(name, name)
    try:
        takes = term(name).digits
    except KeyError:
        takes = False
    if not takes:
        return name if _split(name)[1] == digits else None
    if len(digits) == 2 and "multiplexer" in name:
        digits = f"{digits[0]}:{digits[1]}"
        return canonical(f"{digits} {name}")
    if len(digits) > 1 and name not in _GROUPED:
        return None
    return canonical(f"{name}{digits}") or canonical(f"{name} {digits}")


def same_structure(one: str, other: str) -> bool:
    """Tell whether two names mean one structure."""
    return not senses(one).isdisjoint(senses(other))


@lru_cache(maxsize=4096)
def senses(structure: str) -> frozenset[tuple[str, str]]:
    """Return what two names of one structure have at least one of in common: the term, or the bare letters."""
    return frozenset({("term", canonical_structure(structure)), ("letters", _squeezed(structure))})


def _split(text: str) -> tuple[str, str]:
    """Return the letters and the digits of a name in a form that spelling variants share: ("nand", "2")."""
    letters: list[str] = []
    digits: list[str] = []
    for piece in _PIECE.findall(text.lower()):
        word = _NUMBERS.get(piece, piece)
        if word.isdigit():
            digits.append(word)
        elif word not in _FILLERS:
            letters.append(word)
    return "".join(letters), "".join(digits)


@lru_cache(maxsize=4096)
def _squeezed(text: str) -> str:
    return "".join(_split(text))


@cache
def _library_words() -> dict[str, str]:
    """Return what the library's cells are called beyond the trade's table, where it names one structure only."""
    meanings: dict[str, set[str]] = {}
    for cell in library().values():
        for word in (cell.structure, *cell.aliases):
            if canonical(word) is None:
                meanings.setdefault(_squeezed(word), set()).add(canonical_structure(cell.structure))
    return {word: names.pop() for word, names in meanings.items() if len(names) == 1}


@cache
def _spellings() -> tuple[tuple[str, str], ...]:
    spellings: dict[str, str] = {}
    for entry in TERMS:
        for word in (entry.name, *entry.aliases):
            letters, digits = _split(word)
            if not digits:
                spellings.setdefault(letters, entry.name)
    return tuple(spellings.items())


def distance(a: str, b: str) -> int:
    """Count the slips between two words: a letter lost, added, changed, or two neighbours swapped."""
    before: list[int] = []
    row = list(range(len(b) + 1))
    for i, letter in enumerate(a, 1):
        older, before, row = before, row, [i]
        for j, other in enumerate(b, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != other))
            if i > 1 and j > 1 and letter == b[j - 2] and a[i - 2] == other:
                cost = min(cost, older[j - 2] + 1)
            row.append(cost)
    return row[-1]
