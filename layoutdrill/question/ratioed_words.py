"""
Say what to look for where a process has transistors of one kind only: drivers against loads, and what levels mean.

The library's words speak of an n side and a p side; where one of them is missing they would mislead. How drivers are
arranged in each gate follows from the gate's function and from the rail they hang from: those of n transistors pull
towards the low rail when their inputs are high, those of p transistors towards the high rail when theirs are low.
"""

import re

from layoutdrill.netlist.model import Kind
from layoutdrill.process import Process
from layoutdrill.question.naming import canonical_structure

ANY_LOAD = "every load marks an output; the drivers against it say what the stage does"
"""Said where nothing nearer is known."""
_NUMBERS = {"2": "two", "3": "three", "4": "four"}
_GATE = re.compile(r"(NAND|NOR|AOI|OAI)([1-9]+)\Z")
_IN_ALL = {"inverter": "one driver, and one load"}


def only_kind(process: Process) -> Kind | None:
    """Return the kind of all transistors of a process, None where it has both."""
    kinds = {rule.kind for rule in process.transistors}
    return kinds.pop() if len(kinds) == 1 else None


def levels_told(process: Process) -> tuple[str, ...]:
    """Return the fact that tells what the levels mean, where p transistors alone leave it open; NAND and NOR swap."""
    if only_kind(process) is not Kind.P:
        return ()
    low, high = process.supplies
    return (f"Levels are by voltage: 1 is the level near {high}, the more positive rail; 0 is the level near {low}.",)


def in_words(text: str, structure: str, process: Process) -> str:
    """
    Return what is said of a structure, put into words that hold in the process: the text itself where it names no
    transistor that the process lacks; for gates how their drivers stand; else "".
    """
    kind = only_kind(process)
    lacking = Kind.P if kind is Kind.N else Kind.N
    if kind is None or not re.search(rf"\b{lacking.value}\b", text):
        return text
    return drivers(structure, kind)


def drivers(structure: str, kind: Kind) -> str:
    """Say how the drivers of a gate stand, "" for what is no gate of one stage."""
    name = canonical_structure(structure)
    if name in _IN_ALL:
        return _IN_ALL[name]
    match = _GATE.match(name)
    if match is None:
        return ""
    family, digits = match.groups()
    pulled_low = kind is Kind.N
    if family in ("NAND", "NOR"):
        number = _NUMBERS.get(digits, digits)
        in_series = (family == "NAND") is pulled_low
        return f"{number} drivers {'in series' if in_series else 'in parallel'} between a rail and the output, one load"
    parts = ", ".join(_NUMBERS.get(digit, "a single one" if digit == "1" else digit) for digit in digits)
    if (family == "AOI") is pulled_low:
        return f"drivers in branches in parallel, those of a branch in series: {parts}; one load"
    return f"drivers in groups one after another, those of a group in parallel: {parts}; one load"
