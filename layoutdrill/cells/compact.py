"""
Read a netlist in the library's compact text, one device or cell a line:

    n a   VSS y        kind, gate, and the two ends, which are interchangeable
    pd y  VDD y        kinds: n, p, and with a depletion implant nd, pd
    n a   VSS y L=2 W=40 fingers=4   the same with its channel, in λ; W is the sum of the fingers' widths
    r a b L=40 W=2     a resistor between two nets, with the size of its strip in λ; of=well or of=poly where it is
                       no diffusion
    c a b L=8 W=8      a capacitor between two nets
    d a k              a diode: anode, then cathode
    inverter a=d y=dn  another cell of the library, its ports joined to nets

Nets are named as they are used; VSS and VDD are the supplies.
"""

import re

from layoutdrill.errors import Where
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.value import value
from layoutdrill.yamldoc import Node

LOW, HIGH = "VSS", "VDD"
"""How the library writes the two supplies, the more negative one first; a process gives them its own names."""

_NET = re.compile(r"[A-Za-z_][A-Za-z0-9_#]*\Z")
KINDS = {
    "n": (Kind.N, Mode.ENHANCEMENT),
    "p": (Kind.P, Mode.ENHANCEMENT),
    "nd": (Kind.N, Mode.DEPLETION),
    "pd": (Kind.P, Mode.DEPLETION),
}


@value
class Device:
    """One transistor; `length` and `width` of the channel in λ, 0 where it is left to whoever builds or draws it."""

    kind: Kind
    mode: Mode
    gate: str
    ends: tuple[str, str]
    length: int = 0
    width: int = 0
    fingers: int = 1


@value
class Passive:
    """
    A resistor, capacitor or diode; `ends` of a diode are (anode, cathode). `length` and `width` in λ, 0 where they are
    left to whoever draws it; `made` says of what ("" where the process has only one way).
    """

    kind: str
    ends: tuple[str, str]
    length: int = 0
    width: int = 0
    made: str = ""


@value
class Use:
    """Another cell, placed: `joined` holds (port, net) pairs."""

    cell: str
    joined: tuple[tuple[str, str], ...]
    where: Where


PASSIVES = {"r": "resistor", "c": "capacitor", "d": "diode"}
MATERIALS = ("diffused", "well", "poly")
Line = Device | Passive | Use


def parse_lines(node: Node) -> tuple[Line, ...]:
    """Read a block of compact netlist text; errors carry the line's place."""
    lines = tuple(_line(line) for line in node.lines())
    if not lines:
        node.fail("the netlist is empty", "write one device a line, such as “n a VSS y”")
    return lines


def written(line: Line) -> str:
    """Return one line of compact text, which reads back to the same."""
    if isinstance(line, Use):
        return f"{line.cell} " + " ".join(f"{port}={net}" for port, net in line.joined)
    sizes = [f"L={line.length}"] * bool(line.length) + [f"W={line.width}"] * bool(line.width)
    if isinstance(line, Passive):
        letter = next(letter for letter, kind in PASSIVES.items() if kind == line.kind)
        return " ".join([letter, *line.ends, *sizes, *([f"of={line.made}"] if line.made else [])])
    kind = next(letter for letter, sort in KINDS.items() if sort == (line.kind, line.mode))
    fingers = [f"fingers={line.fingers}"] * (line.fingers > 1)
    return " ".join([kind, line.gate, *line.ends, *sizes, *fingers])


def _line(node: Node) -> Line:
    words = node.text().split()
    first, rest = words[0], words[1:]
    if first in KINDS:
        sizes = [word for word in rest if "=" in word]
        rest = [word for word in rest if "=" not in word]
        if len(rest) != 3:
            node.fail(f"{len(rest)} nets after “{first}”, three expected", "write kind, gate and two ends: “n a VSS y”")
        for net in rest:
            _check_net(node, net)
        kind, mode = KINDS[first]
        length, width, fingers = _sizes(node, sizes)
        return Device(kind, mode, rest[0], (rest[1], rest[2]), length, width, fingers)
    if first in PASSIVES:
        return _passive(node, first, rest)
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


def _passive(node: Node, letter: str, words: list[str]) -> Passive:
    kind = PASSIVES[letter]
    ends = [word for word in words if "=" not in word]
    if len(ends) != 2:
        node.fail(f"{len(ends)} nets after “{letter}”, two expected", f"a {kind} lies between two: “{letter} a b”")
    for net in ends:
        _check_net(node, net)
    made = next((word[3:] for word in words if word.startswith("of=")), "")
    if made and made not in MATERIALS:
        node.fail(f"“of={made}” is no material", "write of= and one of " + ", ".join(MATERIALS))
    length, width, _ = _sizes(node, [word for word in words if "=" in word and not word.startswith("of=")])
    return Passive(kind, (ends[0], ends[1]), length, width, made)


def _sizes(node: Node, words: list[str]) -> tuple[int, int, int]:
    sizes = {"L": 0, "W": 0, "fingers": 1}
    for word in words:
        name, _, figure = word.partition("=")
        if name not in sizes or not figure.isdigit() or not int(figure):
            node.fail(f"“{word}” is no size", "write L=, W= (whole λ) or fingers= after the nets, such as “L=2 W=40”")
        sizes[name] = int(figure)
    return sizes["L"], sizes["W"], sizes["fingers"]


def _check_net(node: Node, net: str) -> None:
    if not _NET.match(net):
        node.fail(f"“{net}” is no net name", "use letters, digits and _, starting with a letter")
