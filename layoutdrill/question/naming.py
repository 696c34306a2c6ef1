"""
Read a typed name: aliases, word order, hyphens and small slips are forgiven; a different structure never is.

Digits are never guessed at: NAND2 and NAND3 are two structures.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from layoutdrill.question.vocabulary import TERMS

_NUMBERS = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8"}
_FILLERS = {"gate", "gates", "circuit", "a", "an", "the", "input", "inputs", "in", "it", "is", "to", "with", "way"}
_PIECE = re.compile(r"[a-z]+|[0-9]+")
SEVERAL = "several"


@dataclass(frozen=True, slots=True)
class Reading:
    """
    What a typed name was taken for.

    `term` is the canonical term or "". `family` is set when only the family was understood (“NAND” without its
    number of inputs, or with one that no term has). `near` lists the terms a misspelling could mean when there are
    several.
    """

    term: str = ""
    family: str = ""
    near: tuple[str, ...] = ()
    corrected: bool = False


def split(text: str) -> tuple[str, str]:
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


def vocabulary(extra: Mapping[str, Iterable[str]] | None = None) -> dict[tuple[str, str], str]:
    """Return spelling → canonical term; `extra` adds terms with their aliases, and never takes a known spelling."""
    found = dict(_known())
    for term, aliases in (extra or {}).items():
        for spelling in (term, *aliases):
            found.setdefault(split(spelling), term)
    return found


@cache
def _known() -> Mapping[tuple[str, str], str]:
    found: dict[tuple[str, str], str] = {}
    for term in TERMS:
        for spelling in (term.name, *term.aliases):
            found.setdefault(split(spelling), term.name)
    return found


def read_name(text: str, known: Mapping[tuple[str, str], str]) -> Reading:
    """Find what `text` names among the spellings `known` (from `vocabulary`)."""
    letters, digits = split(text)
    if (letters, digits) in known:
        return Reading(known[letters, digits])
    families = {other for other, number in known if number}
    if letters in families:
        return Reading(family=letters)
    allowed = 0 if len(letters) < 3 else 1 if len(letters) < 7 else 2
    near: dict[str, int] = {}
    for (other, number), term in known.items():
        if number == digits and abs(len(other) - len(letters)) <= allowed:
            slips = distance(letters, other)
            if slips <= allowed:
                near[term] = min(slips, near.get(term, slips))
    if not near:
        return Reading()
    best = min(near.values())
    nearest = tuple(sorted(term for term, slips in near.items() if slips == best))
    return Reading(nearest[0], corrected=True) if len(nearest) == 1 else Reading(near=nearest)


def same_name(a: str, b: str, known: Mapping[tuple[str, str], str]) -> bool:
    """Tell whether two names mean one structure."""
    one, other = split(a), split(b)
    return one == other or (one in known and known[one] == known.get(other))


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
