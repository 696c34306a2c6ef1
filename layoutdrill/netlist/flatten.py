"""Build one flat netlist from circuits read out of SPICE text."""

from layoutdrill.errors import LayoutdrillError, Where, did_you_mean, plural
from layoutdrill.netlist.lines import Line
from layoutdrill.netlist.model import Element, Netlist, Transistor
from layoutdrill.netlist.models import Channel, channel, other_device
from layoutdrill.netlist.number import micrometres, nanometres, number
from layoutdrill.netlist.statements import Circuit, Circuits

NO_BODY = "no_body"
GROUND = "0"
_MOST_COPIES = 10_000
_DEEPEST = 200
_MOST = 200_000
"""Devices and instances that a circuit may open into; a bigger file is a mistake, or means harm."""
_LETTERS = {"R": "resistor", "C": "capacitor", "D": "diode"}


def flatten(circuits: Circuits, wanted: str | None) -> Netlist:
    """Return the wanted circuit (None: the one at the top), its instances opened. Raises LayoutdrillError."""
    top = _top(circuits, wanted)
    builder = _Builder(circuits)
    if builder.weight(top, {}) > _MOST:
        todo = "take a smaller part of it"
        where = Where(circuits.file, 1) if top.start is None else top.start.where()
        raise LayoutdrillError(f'"{top.name}" opens into more than {_MOST:,} devices', where=where, todo=todo)
    if top.start is not None:
        builder.given.update(top.start.values)
    builder.open(top, "", {port.lower(): builder.net(port) for port in top.ports}, ())
    return builder.netlist(top)


def _top(circuits: Circuits, wanted: str | None) -> Circuit:
    if wanted is not None:
        circuit = circuits.named.get(wanted.lower())
        if circuit is None:
            known = did_you_mean(wanted, (c.name for c in circuits.named.values()))
            raise LayoutdrillError(f'no .subckt "{wanted}"', where=Where(circuits.file), todo=known)
        return circuit
    if circuits.outside.lines:
        return circuits.outside
    used = {_cell(line).lower() for c in circuits.named.values() for line in c.lines if line.words[0][0] in "xX"}
    tops = [c for key, c in circuits.named.items() if key not in used]
    if len(tops) == 1:
        return tops[0]
    if not tops:
        first = next(iter(circuits.named.values()))
        assert first.start is not None
        raise first.start.error("every subcircuit is used by another one, in a ring", "take one instance out")
    names = ", ".join(c.name for c in tops)
    raise LayoutdrillError(
        f"{len(tops)} circuits stand here: {names}", where=Where(circuits.file), todo="name the one meant (--cell)"
    )


def _cell(line: Line) -> str:
    return line.words[-1]


class _Builder:
    """The flat netlist under construction; net names without case, and nets that a `short` has joined."""

    def __init__(self, circuits: Circuits) -> None:
        self.circuits = circuits
        self.transistors: list[Transistor] = []
        self.elements: list[Element] = []
        self.spelling: dict[str, str] = {}
        self.joined: dict[str, str] = {}
        self.devices: dict[str, Line] = {}
        self.given: dict[str, str] = dict(circuits.parameters)
        # Node 0 is ground everywhere (SPICE), and so is a name that ends in ! one net throughout (CDL).
        self.shared = {GROUND} | {name.lower() for name in circuits.globals}
        self.ports = {p.lower() for c in (*circuits.named.values(), circuits.outside) for p in c.ports}

    def net(self, name: str) -> str:
        return self.spelling.setdefault(name.lower(), name)

    def weight(self, circuit: Circuit, known: dict[str, int], depth: int = 0) -> int:
        """Return how many devices and instances a circuit opens into; `known` holds 0 for those being opened."""
        key = circuit.name.lower()
        if depth > _DEEPEST:
            assert circuit.start is not None
            raise circuit.start.error(f"subcircuits lie deeper than {_DEEPEST} in each other", "take a lower one")
        if key not in known:
            known[key] = 0
            for line in circuit.lines:
                inner = self.circuits.named.get(_cell(line).lower()) if line.words[0][0] in "xX" else None
                known[key] += (1 + self.weight(inner, known, depth + 1)) * self.whole(line, "m") if inner else 1
        return known[key]

    def open(self, circuit: Circuit, prefix: str, nets: dict[str, str], within: tuple[str, ...]) -> None:
        """Add the circuit's devices; `nets` knows its ports by lower-case name, and learns its other nets."""
        if circuit.name.lower() in within:
            assert circuit.start is not None
            raise circuit.start.error(f'subcircuit "{circuit.name}" contains itself', "take that instance out")
        for line in circuit.lines:
            name = prefix + line.words[0]
            twin = self.devices.setdefault(name.lower(), line)
            if twin is not line:
                raise line.error(
                    f'a second device "{line.words[0]}" (the first in line {twin.pieces[0][0]})', "rename one of them"
                )
            letter = line.words[0][0].upper()
            if letter == "M":
                self.transistor(line, name, prefix, nets)
            elif letter == "X":
                self.instance(line, name, prefix, nets, (*within, circuit.name.lower()))
            else:
                self.element(line, name, prefix, nets, _LETTERS[letter])

    def nodes(self, words: tuple[str, ...], prefix: str, nets: dict[str, str]) -> list[str]:
        joined = []
        for word in words:
            key = word.lower()
            if key not in nets:
                nets[key] = self.net(word if key in self.shared or word.endswith("!") else prefix + word)
            joined.append(nets[key])
        return joined

    def model(self, name: str) -> Channel | None:
        return self.circuits.models.get(name.lower()) or channel(name)

    def transistor(self, line: Line, name: str, prefix: str, nets: dict[str, str]) -> None:
        count = len(line.words) - 2
        if count not in {3, 4}:
            nodes = plural(max(count, 0), "node")
            raise line.error(
                f'transistor "{line.words[0]}" has {nodes}',
                "write its name, drain, gate, source, body if known, and model: M1 out in gnd nmos",
            )
        channel = self.model(line.words[-1])
        if channel is None:
            raise line.error(
                f'"{line.words[-1]}" is no transistor model',
                "end the nodes with nmos or pmos (nmosd or pmosd for depletion)",
                line.words[-1],
            )
        drain, gate, source, *body = self.nodes(line.words[1:-1], prefix, nets)
        length, width = self.size(line, "l"), self.size(line, "w")
        copies = self.whole(line, "m") * self.whole(line, "mult")
        self.transistors.append(
            Transistor(
                name, channel.kind, gate, source, drain,
                body="" if not body or body[0].rpartition(".")[2].lower() == NO_BODY else body[0],
                length=length, width=width * copies, mode=channel.mode, fingers=copies * self.whole(line, "nf"),
            )
        )  # fmt: skip

    def meant(self, text: str) -> str:
        """Return what a value's name stands for here, and anything else as it is."""
        name = text.strip("'\"{}")
        return self.given.get(name.lower(), name if number(name) is not None else text)

    def size(self, line: Line, key: str) -> int:
        text = line.value(key)
        if text is None:
            return 0
        nm = nanometres(self.meant(text), self.circuits.scale)
        if nm is None or nm <= 0:
            raise line.error(f'{key.upper()} of "{line.words[0]}" is "{text}"', "write µm, such as 0.65u", text)
        return nm

    def whole(self, line: Line, key: str) -> int:
        text = line.value(key)
        if text is None:
            return 1
        value = number(self.meant(text))
        if value is None or not 1 <= value <= _MOST_COPIES or value != int(value):
            todo = f"write a whole number from 1 to {_MOST_COPIES:,}"
            raise line.error(f'{key} of "{line.words[0]}" is "{text}"', todo, text)
        return int(value)

    def instance(self, line: Line, name: str, prefix: str, nets: dict[str, str], within: tuple[str, ...]) -> None:
        if len(line.words) < 2:
            raise line.error(f'instance "{line.words[0]}" names no subcircuit', "write its nodes, then its subcircuit")
        cell = _cell(line)
        words = tuple(w for w in line.words[1:-1] if w != "/")
        inner = self.circuits.named.get(cell.lower())
        if inner is not None:
            if len(words) != len(inner.ports):
                nodes = plural(len(words), "node")
                raise line.error(
                    f'"{line.words[0]}" gives {nodes} to "{inner.name}", which has {plural(len(inner.ports), "port")}',
                    f"give them in this order: {' '.join(inner.ports)}",
                )
            given = self.nodes(words, prefix, nets)
            outside = self.given
            own = dict(inner.start.values) if inner.start is not None else {}
            own |= {key: self.meant(text) for key, text in line.values if key != "m"}
            self.given = {**outside, **own}
            copies = self.whole(line, "m")
            for copy in range(copies):
                mark = f"#{copy + 1}" if copies > 1 else ""
                ports = {port.lower(): net for port, net in zip(inner.ports, given, strict=True)}
                self.open(inner, f"{name}{mark}.", ports, within)
            self.given = outside
        elif self.model(cell) is not None:
            self.transistor(line, name, prefix, nets)
        elif (kind := other_device(cell)) is not None:
            self.element(line, name, prefix, nets, kind)
        else:
            names = [c.name for c in self.circuits.named.values()]
            todo = did_you_mean(cell, names) if names else "write it in this file: .subckt NAME PORTS, devices, .ends"
            raise line.error(f'no .subckt "{cell}"', todo, cell)

    def element(self, line: Line, name: str, prefix: str, nets: dict[str, str], kind: str) -> None:
        words = tuple(w for w in line.words[1:] if w != "/")
        if len(words) < 2:
            had = plural(len(words), "node")
            raise line.error(f'"{line.words[0]}" has {had}', f"a {kind} has two, and then its value or model")
        nodes = self.nodes(words[:2], prefix, nets)
        letter = line.words[0][0].upper()
        rest = [self.meant(word) for word in words[2:]]
        model = next((w for w in rest if number(w) is None), "")
        if (kind == "resistor") and self.is_metal(model) and self.join(*nodes):
            return
        values = [(letter, w) for w in rest if number(w) is not None][:1]
        for key, said in line.values:
            text = self.meant(said)
            nm = nanometres(text, self.circuits.scale) if key in {"l", "w"} else None
            values.append((key.upper(), micrometres(nm) if nm else text))
        self.elements.append(Element(name, kind, "" if model.lower() == kind else model, tuple(nodes), tuple(values)))

    @staticmethod
    def is_metal(model: str) -> bool:
        """Tell a drawn wire that CDL calls a resistor: `short`, or a resistor of metal (res_generic_m5)."""
        name = model.lower().rpartition("__")[2]
        return name == "short" or (name.startswith("res_generic_m") and name[-1].isdigit())

    def join(self, one: str, other: str) -> bool:
        """Make one net of two; False when that would lose a port."""
        one, other = self.final(one), self.final(other)
        keep, lose = (other, one) if other.lower() in self.ports else (one, other)
        if keep == lose:
            return True
        if lose.lower() in self.ports:
            return False
        self.joined[lose] = keep
        return True

    def netlist(self, top: Circuit) -> Netlist:
        ports = tuple(self.spelling[p.lower()] for p in top.ports)
        if not self.joined:
            return Netlist(top.name, ports, tuple(self.transistors), tuple(self.elements))
        final = {net: self.final(net) for net in tuple(self.joined)}
        elements = tuple(
            Element(e.name, e.kind, e.model, tuple(final.get(n, n) for n in e.nodes), e.values) for e in self.elements
        )
        return Netlist(top.name, ports, tuple(t.renamed(final) for t in self.transistors), elements)

    def final(self, net: str) -> str:
        """Return the net that a joined one is part of, and shorten the way to it."""
        passed = []
        while net in self.joined:
            passed.append(net)
            net = self.joined[net]
        for name in passed:
            self.joined[name] = net
        return net
