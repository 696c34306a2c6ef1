"""Read the statements of SPICE text into circuits: subcircuits with their ports, device lines and instances."""

from dataclasses import field
from decimal import Decimal

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.netlist.lines import Line, logical_lines
from layoutdrill.netlist.models import Channel, card, channel
from layoutdrill.netlist.number import number
from layoutdrill.value import mutable

_SILENT = {
    ".ac", ".backanno", ".dc", ".end", ".four", ".ic", ".measure", ".meas", ".nodeset", ".noise", ".op",
    ".plot", ".print", ".probe", ".save", ".temp", ".tf", ".title", ".tran", ".width",
}  # fmt: skip
_PARAMETERS = {"params:", "param:"}  # what follows are pairs name=value, which are no ports
_ELSEWHERE = {".include", ".inc", ".lib"}
_DEVICES = "MXRCD"
_NO_LAYOUT = {
    "B": "a behavioural source", "E": "a controlled source", "F": "a controlled source", "G": "a controlled source",
    "H": "a controlled source", "J": "a junction field-effect transistor", "K": "a coupled inductor",
    "L": "an inductor", "Q": "a bipolar transistor", "S": "a switch", "T": "a transmission line", "W": "a switch",
    "Z": "a field-effect transistor of another kind",
}  # fmt: skip


@mutable
class Circuit:
    """A subcircuit, or the lines that stand outside any; `lines` are its devices and instances."""

    name: str
    ports: tuple[str, ...]
    start: Line | None
    lines: list[Line] = field(default_factory=list)


@mutable
class Circuits:
    """What a file says: its circuits by lower-case name, the lines outside any, models, and the scale of lengths."""

    file: str
    named: dict[str, Circuit]
    outside: Circuit
    models: dict[str, Channel]
    globals: tuple[str, ...]
    scale: Decimal | None
    parameters: tuple[tuple[str, str], ...] = ()


def read_circuits(text: str, file: str) -> Circuits:
    """Read all statements. Raises LayoutdrillError, with the place, for one that cannot be read."""
    stem = file.replace("\\", "/").rpartition("/")[2].partition(".")[0]
    circuits = Circuits(file, {}, Circuit(stem or "circuit", (), None), {}, (), None)
    current: Circuit | None = None
    control: Line | None = None
    first = True
    for line in logical_lines(text, file):
        if not line.words:
            raise line.error("this line names no device", "start it with one, such as: M1 drain gate source nmos")
        word = line.words[0].lower()
        if control is not None or word == ".control":
            control = None if word == ".endc" else line
        elif word[0] == ".":
            current = _directive(circuits, word, line, current)
            if word == ".end":
                break
        elif first and _is_title(line):
            pass
        else:
            _device(circuits, line, current)
        first = False
    if current is not None:
        assert current.start is not None
        raise current.start.error(f'.subckt "{current.name}" has no end', "write .ends after its last device")
    if not circuits.named and not circuits.outside.lines:
        raise LayoutdrillError(
            "there is no circuit here", where=Where(file), todo="write a transistor a line: M1 drain gate source nmos"
        )
    return circuits


def _is_title(line: Line) -> bool:
    """Tell whether the first statement is a deck's title ("Counter stage") rather than a device."""
    word = line.words[0]
    numbered = any(c.isdigit() for c in word)
    if word[0].upper() in _NO_LAYOUT and numbered and line.pieces[0][0] > 1:
        return False  # below the first line, which alone is a title, it is a device that is refused
    if word[0].upper() not in _DEVICES:
        return True
    named = numbered or (word[0] in "mM" and channel(line.words[-1]) is not None)
    return not named and not line.values


def _device(circuits: Circuits, line: Line, current: Circuit | None) -> None:
    letter = line.words[0][0].upper()
    if letter in _DEVICES:
        (current or circuits.outside).lines.append(line)
    elif letter in "VI":
        if current is not None:
            raise line.error(
                f'a source, "{line.words[0]}", stands inside .subckt "{current.name}"',
                "take it out: a layout has no sources",
            )
    elif letter in _NO_LAYOUT:
        raise line.error(
            f'"{line.words[0]}" is {_NO_LAYOUT[letter]}', "leave it out: only lines M, X, R, C and D can be read"
        )
    else:
        raise line.error(
            f'no device starts with "{line.words[0][0]}"', "start a transistor's name with M, a comment with *"
        )


def _directive(circuits: Circuits, word: str, line: Line, current: Circuit | None) -> Circuit | None:
    if word == ".subckt":
        return _start(circuits, line, current)
    if word in {".ends", ".eom"}:
        if current is None:
            raise line.error(f"{line.words[0]} ends nothing", "write .subckt NAME PORTS before the devices")
        if len(line.words) > 1 and line.words[1].lower() != current.name.lower():
            raise line.error(
                f'{line.words[0]} names "{line.words[1]}", but the subcircuit is "{current.name}"',
                "write the same name, or none",
                line.words[1],
            )
        return None
    if word == ".model":
        if len(line.words) < 3:
            raise line.error("a .model line needs a name and a type", "write .model NAME NMOS or .model NAME PMOS")
        channel = card(line.words[1], line.words[2], line.values)
        if channel is not None:
            circuits.models[line.words[1].lower()] = channel
    elif word == ".param":
        circuits.parameters += line.values
    elif word == ".global":
        circuits.globals += line.words[1:]
    elif word in {".option", ".options"}:
        _scale(circuits, line)
    elif word in _ELSEWHERE:
        raise line.error(
            f"{line.words[0]} asks for another file", "paste what it holds here: one file is read at a time"
        )
    elif word not in _SILENT:
        raise line.error(
            f'unknown statement "{line.words[0]}"', "known: .subckt, .ends, .model, .global, .option, .end"
        )
    return current


def _start(circuits: Circuits, line: Line, current: Circuit | None) -> Circuit:
    if current is not None:
        raise line.error(f'.subckt inside .subckt "{current.name}"', "write .ends before it")
    if len(line.words) < 2:
        raise line.error("this .subckt has no name", "write .subckt NAME PORTS")
    name, ports = line.words[1], tuple(word for word in line.words[2:] if word.lower() not in _PARAMETERS)
    if name.lower() in circuits.named:
        raise line.error(f'a second .subckt "{name}"', "rename one of them", name)
    seen: set[str] = set()
    for port in ports:
        if port.lower() in seen:
            raise line.error(f'port "{port}" stands twice', "keep one of them", port)
        seen.add(port.lower())
    circuit = circuits.named[name.lower()] = Circuit(name, ports, line)
    return circuit


def _scale(circuits: Circuits, line: Line) -> None:
    text = line.value("scale")
    if text is None:
        return
    circuits.scale = number(text)
    if circuits.scale is None or circuits.scale <= 0:
        raise line.error(f'"{text}" is no scale', "write a number, such as scale=1e-6", text)
