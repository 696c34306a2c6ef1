"""The netlist: transistors joined by named nets, with one canonical text."""

from collections.abc import Collection, Iterator
from dataclasses import replace

from layoutdrill.netlist.number import number
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.value import value

__all__ = ["Element", "Kind", "Mode", "Netlist", "Transistor"]


@value
class Transistor:
    """
    One MOS transistor. Source and drain are interchangeable; `gate`, `source`, `drain`, `body` are net names.

    `length` and `width` of the channel in nm; 0 where they are not known. `body` is "" where the netlist gives
    none. `fingers` counts parallel fingers merged into this one (`width` is then their sum).
    """

    name: str
    kind: Kind
    gate: str
    source: str
    drain: str
    body: str = ""
    length: int = 0
    width: int = 0
    mode: Mode = Mode.ENHANCEMENT
    fingers: int = 1

    @property
    def model(self) -> str:
        """The device model's name in SPICE text: nmos, pmos, nmosd, pmosd."""
        return f"{self.kind}mos" + ("d" if self.mode is Mode.DEPLETION else "")

    @property
    def ends(self) -> tuple[str, str]:
        """Source and drain in sorted order."""
        return (self.source, self.drain) if self.source <= self.drain else (self.drain, self.source)

    def is_closed_by_implant(self, rails: Collection[str], far: Collection[str]) -> bool:
        """
        Tell whether a depletion transistor only stands in a series, conducting whatever its gate says: a signal gates
        it, and it does not lead to a supply of its loads (`far`), as a load does.
        """
        depletion = self.mode is Mode.DEPLETION
        return depletion and self.gate not in (*self.ends, *rails) and not set(self.ends) & set(far)

    @property
    def terminals(self) -> tuple[str, ...]:
        return (self.drain, self.gate, self.source) + ((self.body,) if self.body else ())

    def renamed(self, nets: dict[str, str]) -> "Transistor":
        """Return the transistor with each net that `nets` knows renamed."""
        return replace(
            self,
            gate=nets.get(self.gate, self.gate),
            source=nets.get(self.source, self.source),
            drain=nets.get(self.drain, self.drain),
            body=nets.get(self.body, self.body),
        )


@value
class Element:
    """
    Any other device: `kind` is resistor, diode or capacitor; a resistor's and a capacitor's two nodes are
    interchangeable, a diode's are (anode, cathode).

    `model` says what it is made of (diffused, well, poly, junction, or a kit's model) and never counts as a
    difference. `values` holds (name, text) pairs as SPICE writes them: ("R", "10k") or ("C", "2p") where a value is
    written, ("L", "20u") and ("W", "2u") where it is drawn.
    """

    name: str
    kind: str
    model: str
    nodes: tuple[str, ...]
    values: tuple[tuple[str, str], ...] = ()

    @property
    def value(self) -> float | None:
        """The written value: ohms of a resistor, farads of a capacitor; None where none is written."""
        return self._number({"resistor": "R", "capacitor": "C"}.get(self.kind, ""))

    @property
    def value_told(self) -> str:
        """The written value in base units, to six figures, "" where there is none: 10k and 10000 are one."""
        return "" if self.value is None else f"{self.value:.6g}"

    @property
    def squares(self) -> float | None:
        """Length over width, which a resistor's value is in proportion to; None where the drawing is not told."""
        length, width = self._number("L"), self._number("W")
        return length / width if length and width else None

    def _number(self, key: str) -> float | None:
        text = next((text for name, text in self.values if name == key), None)
        figure = number(text) if text else None
        return None if figure is None else float(figure)

    def renamed(self, nets: dict[str, str]) -> "Element":
        """Return the element with each net that `nets` knows renamed."""
        return replace(self, nodes=tuple(nets.get(node, node) for node in self.nodes))


@value
class Netlist:
    """A flat circuit: its ports in order, its transistors, and its resistors, capacitors and diodes."""

    name: str
    ports: tuple[str, ...]
    transistors: tuple[Transistor, ...]
    elements: tuple[Element, ...] = ()

    @property
    def nets(self) -> tuple[str, ...]:
        """All net names: ports first, in order, then the others sorted."""
        others = set(self._used()) - set(self.ports)
        return self.ports + tuple(sorted(others))

    def _used(self) -> Iterator[str]:
        for t in self.transistors:
            yield from t.terminals
        for e in self.elements:
            yield from e.nodes

    def count(self, kind: Kind | None = None) -> int:
        """Count transistors (of one kind), fingers merged into one counted once."""
        return sum(1 for t in self.transistors if kind is None or t.kind is kind)

    def text(self) -> str:
        """
        Return the canonical text: one line a device, sorted, source before drain by name.

        Two netlists with the same names have the same text, whatever order they were built in.
        """
        lines = [f"netlist {self.name}", "ports " + " ".join(self.ports)]
        devices = []
        for t in self.transistors:
            low, high = t.ends
            size = f" L={t.length} W={t.width}" if t.length or t.width else ""
            body = f" body={t.body}" if t.body else ""
            devices.append(f"{t.model} {t.name} gate={t.gate} ends={low},{high}{body}{size}")
        devices.extend(
            f"{e.kind} {e.name} {e.model} {','.join(e.nodes)}" + "".join(f" {k}={v}" for k, v in e.values)
            for e in self.elements
        )
        return "\n".join(lines + sorted(devices)) + "\n"
