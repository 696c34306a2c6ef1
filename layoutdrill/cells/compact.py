"""
Read a netlist in the library's compact text, one device or cell a line:

    n a   VSS y        kind, gate, and the two ends, which are interchangeable
    pd y  VDD y        kinds: n, p, and with a depletion implant nd, pd
    inverter a=d y=dn  another cell of the library, its ports joined to nets

Nets are named as they are used; VSS and VDD are the supplies.
"""

import re
from dataclasses import dataclass

from layoutdrill.errors import Where
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.yamldoc import Node

_NET = re.compile(r"[A-Za-z_][A-Za-z0-9_#]*\Z")
KINDS = {
    "n": (Kind.N, Mode.ENHANCEMENT),
    "p": (Kind.P, Mode.ENHANCEMENT),
    "nd": (Kind.N, Mode.DEPLETION),
    "pd": (Kind.P, Mode.DEPLETION),
}


@dataclass(frozen=True, slots=True)
class Device:
    """One transistor."""

    kind: Kind
    mode: Mode
    gate: str
    ends: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Use:
    """Another cell, placed: `joined` holds (port, net) pairs."""

    cell: str
    joined: tuple[tuple[str, str], ...]
    where: Where


Line = Device | Use


def parse_lines(node: Node) -> tuple[Line, ...]:
    """Read a block of compact netlist text; errors carry the line's place."""
    found = tuple(_line(line) for line in node.lines())
    if not found:
        node.fail("the netlist is empty", "write one device a line, such as “n a VSS y”")
    return found


def _line(node: Node) -> Line:
    words = node.text().split()
    first, rest = words[0], words[1:]
    if first in KINDS:
        if len(rest) != 3:
            node.fail(f"{len(rest)} nets after “{first}”, three expected", "write kind, gate and two ends: “n a VSS y”")
        for net in rest:
            _check_net(node, net)
        kind, mode = KINDS[first]
        return Device(kind, mode, rest[0], (rest[1], rest[2]))
    joined = []
    for word in rest:
        port, equals, net = word.partition("=")
        if not equals:
            node.fail(
                f"“{word}” joins nothing in “{first}”",
                "write “port=net” after a cell's name; a transistor's line starts with n, p, nd or pd",
            )
        _check_net(node, net)
        joined.append((port, net))
    return Use(first, tuple(joined), node.where)


def _check_net(node: Node, net: str) -> None:
    if not _NET.match(net):
        node.fail(f"“{net}” is no net name", "use letters, digits and _, starting with a letter")
