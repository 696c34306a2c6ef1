"""Say why a netlist cannot be drawn, before any time is spent on it."""

from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process

MOST = 64
"""Fingers that one pair of rows may hold; up to 40 are quick."""


def refuse(netlist: Netlist, process: Process, most: int = MOST, where: str = "one pair of rows") -> None:
    """Raise LayoutdrillError for more than `most` fingers `where`, and for devices that the process does not have."""
    count = sum(t.fingers for t in netlist.transistors)
    if not count:
        raise LayoutdrillError(f"{netlist.name} has no transistors, so there is nothing to draw")
    if count > most:
        raise LayoutdrillError(
            f"{netlist.name} has {count} transistors, fingers counted, too many for {where}",
            todo=f"draw it in parts of {most} or fewer",
        )
    if netlist.elements:
        first = netlist.elements[0]
        raise LayoutdrillError(
            f"{first.name} is a {first.kind}, and {where} holds only transistors",
            todo="draw it with a part of the circuit that one pair of rows holds",
        )
    known = {(rule.kind, rule.mode) for rule in process.transistors}
    for t in netlist.transistors:
        if (t.kind, t.mode) not in known:
            raise LayoutdrillError(
                f"{t.name} is a {t.kind} {t.mode} transistor, which {process.name} does not have",
                todo="choose another process",
            )
