"""Answers that are some of the letters on the picture: reading, crediting and telling them."""

import re

from layoutdrill.errors import LayoutdrillError

NONE = ("none", "no", "-", "0", "nothing")


def letters_of(text: str, known: tuple[str, ...], start: str = "") -> set[str]:
    """Read letters with anything between, or none; raises LayoutdrillError for others. `start` may be named too."""
    if text.strip().lower() in NONE:
        return set()
    letters = set(re.findall(r"[A-Z]", text.upper().replace("AND", " ")))
    if letters - set(known) - {start} or not letters:
        what = f'"{text}" is no list of the letters {known[0]} to {known[-1]}'
        raise LayoutdrillError(what, todo="type letters with spaces between, or none")
    return letters - {start}


def lettered_credit(given: set[str], right: set[str]) -> float:
    """Return the share of the right letters that were given, less that share for each wrong one, never below 0."""
    hits, wrong = len(given & right), len(given - right)
    share = round((hits - wrong) / max(1, len(right)), 3)
    return max(0.0, share if right else 1.0 - wrong)


def letters_told(given: set[str], right: set[str], wrong_is: str) -> str:
    """Say which letters were right, which were not (and what they are), and which were missed."""
    parts = []
    for what, letters in (("right", given & right), (wrong_is, given - right), ("missed", right - given)):
        if letters:
            parts.append(f"{what}: {', '.join(sorted(letters))}")
    return "; ".join(parts)
