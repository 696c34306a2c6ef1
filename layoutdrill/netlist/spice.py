"""
Read and write netlists as SPICE text, and the CDL dialect of it.

The convention of a netlist that tells no bodies: its transistors are written with the body node `no_body`, which
any simulator takes for a net of its own and which is read back as none.
"""

from pathlib import Path

from layoutdrill.errors import Where
from layoutdrill.intake import decoded, read_bytes
from layoutdrill.netlist.flatten import NO_BODY, flatten
from layoutdrill.netlist.lines import logical_lines
from layoutdrill.netlist.model import Netlist, Transistor
from layoutdrill.netlist.number import micrometres
from layoutdrill.netlist.statements import read_circuits

__all__ = ["NETLIST_FILES", "NO_BODY", "read_spice", "read_spice_file", "write_spice"]

NETLIST_FILES = (".sp", ".spi", ".spice", ".cir", ".cdl", ".net", ".ckt")
"""How the names of netlist files end."""

MAX_BYTES = 20_000_000
_LETTER = {"resistor": "R", "diode": "D", "capacitor": "C"}


def read_spice(text: str, file: str, *, subckt: str | None = None) -> Netlist:
    """
    Return the circuit in `text`, flat: the subcircuit named `subckt`, else the one that no other one uses.

    Names compare without case, as in SPICE, and keep the spelling first met. A transistor line may leave out body
    and sizes (`M1 out in gnd nmos`); a file may do without `.subckt`, and then has no ports. A device or net
    inside an instance X1 is named `X1.name`. `m=4` gives one transistor of four fingers, and four times the width.
    CDL's metal resistors and `short`s join their two nets. `file` names the text in error messages.

    Raises LayoutdrillError with file, line and column.
    """
    return flatten(read_circuits(text, file), subckt)


def read_spice_file(path: Path, *, subckt: str | None = None) -> Netlist:
    """Return the circuit in a file, as `read_spice` does. Raises LayoutdrillError for a file that cannot be read."""
    todo = "give a SPICE or CDL netlist"
    data = read_bytes(path, MAX_BYTES, todo=todo)
    text = decoded(data, str(path), what="this is no text", todo=todo)
    return read_spice(text, str(path), subckt=subckt)


def device_place(path: Path, device: str) -> Where:
    """Return where a device of a file that was read stands; of one within instances, the line of its subcircuit."""
    return place_in(decoded(read_bytes(path, MAX_BYTES), str(path)), str(path), device)


def place_in(text: str, file: str, device: str) -> Where:
    """Return where a device of a text that was read stands, the file alone where it does not."""
    name = device.rpartition(".")[2].lower()
    return next(
        (line.where() for line in logical_lines(text, file) if line.words and line.words[0].lower() == name),
        Where(file),
    )


def write_spice(netlist: Netlist) -> str:
    """
    Return one `.subckt`: sizes in µm (`L=0.15u W=0.65u`), four nodes drain gate source body, models nmos and pmos
    (nmosd and pmosd for depletion).

    What SPICE cannot spell (a space in a net's name, two names that differ only in case) is renamed, with a
    comment that says so.
    """
    names = _Names()
    ports = [names.net(port) for port in netlist.ports]
    lines = []
    for t in netlist.transistors:
        size = _size(t)
        body = names.net(t.body) if t.body else NO_BODY
        nodes = f"{names.net(t.drain)} {names.net(t.gate)} {names.net(t.source)} {body}"
        lines.append(f"{names.device('M', t.name)} {nodes} {t.model}{size}")
    for e in netlist.elements:
        letter = _LETTER.get(e.kind, "X")
        nodes = " ".join(names.net(n) for n in e.nodes)
        value = next((v for k, v in e.values if k == letter), "")
        model = e.model or ("" if value or letter == "R" else e.kind)
        rest = "".join(f" {k}={v}" for k, v in e.values if k != letter)
        lines.append(f"{names.device(letter, e.name)} {nodes}" + "".join(f" {w}" for w in (model, value) if w) + rest)
    head = f".subckt {_spelt(netlist.name) or 'circuit'}" + "".join(f" {p}" for p in ports)
    return "\n".join(
        [*names.remarks, *_wrapped(head), *(part for line in lines for part in _wrapped(line)), ".ends", ""]
    )


def _size(t: Transistor) -> str:
    parts = [f" L={micrometres(t.length)}"] if t.length else []
    if t.fingers > 1 and t.width % t.fingers == 0:
        parts += [f" W={micrometres(t.width // t.fingers)}"] if t.width else []
        parts.append(f" m={t.fingers}")
    else:
        parts += [f" W={micrometres(t.width)}"] if t.width else []
        parts += [f" nf={t.fingers}"] if t.fingers > 1 else []
    return "".join(parts)


class _Names:
    """Spellings that SPICE can read, each used once whatever its case."""

    def __init__(self) -> None:
        self.remarks: list[str] = []
        self._nets: dict[str, str] = {}
        self._taken = {NO_BODY}
        self._devices: set[str] = set()

    def net(self, name: str) -> str:
        written = self._nets.get(name)
        if written is None:
            written = self._nets[name] = _free(_spelt(name) or "net", self._taken)
            if written != name:
                self.remarks.append(f"* net {' '.join(name.split())!r} is written as {written}")
        return written

    def device(self, letter: str, name: str) -> str:
        spelt = _spelt(name)
        return _free(spelt if spelt[:1].upper() == letter else letter + spelt, self._devices)


def _spelt(name: str) -> str:
    """Replace what ends a word or starts a comment, an expression or a CDL cell reference."""
    kept = "".join("_" if c.isspace() or c in "=(),;'\"{}" or not c.isprintable() else c for c in name)
    return "_" + kept[1:] if kept[:1] in {"$", "*", "+"} or kept == "/" else kept


def _free(name: str, taken: set[str]) -> str:
    candidate, number = name, 2
    while candidate.lower() in taken:
        candidate, number = f"{name}_{number}", number + 1
    taken.add(candidate.lower())
    return candidate


def _wrapped(line: str, width: int = 110) -> list[str]:
    """Break a long line between words, the rest on `+` lines."""
    if len(line) <= width:
        return [line]
    lines, row = [], ""
    for word in line.split(" "):
        if row and len(row) + 1 + len(word) > width:
            lines.append(row)
            row = f"+ {word}"
        else:
            row = f"{row} {word}" if row else word
    return [*lines, row]
