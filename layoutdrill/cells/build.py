"""Turn a cell's stages or compact lines into a flat netlist for one process."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace

from layoutdrill.cells.compact import HIGH, LOW, PASSIVES, Device, Line, Passive, Use
from layoutdrill.cells.entry import Entry, Style, style_of
from layoutdrill.cells.sizing import is_load, load_of, sized
from layoutdrill.cells.stages import Stage
from layoutdrill.cells.static import dual, literals, plan
from layoutdrill.cells.tiling import Tiling
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Element, Netlist, Transistor
from layoutdrill.netlist.number import micrometres
from layoutdrill.process import Process
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.simulate.expression import And, Expression, Not, Or, Var

_DEEPEST = 8
Lookup = Callable[[str], Entry]


def build(cell: Entry, process: Process, lookup: Lookup) -> Netlist:
    """
    Return the cell's netlist: rails first, then the ports as listed; bodies on the rails where the process has
    something to tie, else none. `lookup` finds the cells that this one uses.

    Raises LayoutdrillError where the cell does not fit the process.
    """
    if not cell.fits(process):
        if process.gate_supply and cell.tilings:
            todo = f"its tiles have no loads whose gates {process.gate_supply} could feed"
        elif cell.only:
            todo = "it is made for " + ", ".join(cell.only)
        else:
            todo = f"it has no form for {style_of(process)} logic"
        raise LayoutdrillError(f"{cell.name} makes no sense in {process.name}", todo=todo)
    style = style_of(process)
    made = _opened(cell, style, lookup)
    devices = list(made.devices)
    if style is not Style.COMPLEMENTARY:
        devices = sized(devices, style, frozenset(port.name for port in cell.ports), process)
        if process.gate_supply:
            devices = [replace(d, gate=process.gate_supply) if is_load(d, style) else d for d in devices]
    low, high = process.supplies
    ties = {Kind.N: low, Kind.P: high}
    bodies = {rule.kind: ties[rule.kind] if rule.body is not None else "" for rule in process.transistors}
    rails = {LOW: low, HIGH: high}
    transistors = tuple(
        Transistor(
            name=f"M{number}",
            kind=device.kind,
            mode=device.mode,
            gate=rails.get(device.gate, device.gate),
            source=rails.get(device.ends[0], device.ends[0]),
            drain=rails.get(device.ends[1], device.ends[1]),
            body=bodies[device.kind],
            length=round(device.length * process.lambda_nm),
            width=round(device.width * process.lambda_nm),
            fingers=device.fingers,
        )
        for number, device in enumerate(devices, start=1)
    )
    elements = _elements(made.passives, rails, process)
    used = {net for t in transistors for net in t.terminals} | {net for e in elements for net in e.nodes}
    supplies = tuple(rail for rail in process.rails if rail in used)
    return Netlist(cell.name, (*supplies, *(port.name for port in cell.ports)), transistors, elements)


def _elements(passives: list[Passive], rails: Mapping[str, str], process: Process) -> tuple[Element, ...]:
    """Return resistors, capacitors and diodes, named R1, C1, D1 and so on, with the sizes that the cell gives."""
    numbers: Counter[str] = Counter()
    elements = []
    for passive in passives:
        letter = next(letter for letter, kind in PASSIVES.items() if kind == passive.kind).upper()
        numbers[letter] += 1
        sizes = {"L": passive.length, "W": passive.width}
        values = tuple((key, micrometres(round(size * process.lambda_nm))) for key, size in sizes.items() if size)
        first, second = (rails.get(end, end) for end in passive.ends)
        elements.append(Element(f"{letter}{numbers[letter]}", passive.kind, passive.made, (first, second), values))
    return tuple(elements)


def tile_netlist(tiling: Tiling, name: str, whole: Netlist, process: Process) -> Netlist:
    """
    Return one tile of an array as a netlist over its own net names, to be drawn once; `whole` is the array's netlist.

    Rails that it touches come first, then its ports; sizes are those of the first place where it stands. A tile
    without transistors has a netlist of ports alone.
    """
    tile = tiling.tiles[name]
    place = next(place for place in tiling.places if place.tile == name)
    sizes = {t.name: t for t in whole.transistors}
    rails = dict(zip((LOW, HIGH), process.supplies, strict=True))
    transistors = tuple(
        replace(
            sizes[own],
            gate=rails.get(device.gate, device.gate),
            source=rails.get(device.ends[0], device.ends[0]),
            drain=rails.get(device.ends[1], device.ends[1]),
        )
        for own, device in zip(place.transistors, tile.devices, strict=True)
    )
    used = {net for t in transistors for net in t.terminals}
    used |= {rails.get(port, port) for port in tile.ports}
    ports = tuple(port for port in tile.ports if port not in rails)
    return Netlist(name, (*(rail for rail in process.supplies if rail in used), *ports), transistors)


def flat(cell: Entry, style: Style, lookup: Lookup) -> tuple[Device, ...]:
    """Return a cell's transistors in one logic style, over the names of its ports, LOW and HIGH."""
    return tuple(_opened(cell, style, lookup).devices)


def _opened(cell: Entry, style: Style, lookup: Lookup) -> "_Builder":
    builder = _Builder(style, lookup)
    builder.cell(cell, {name: name for name in (LOW, HIGH, *(port.name for port in cell.ports))}, 0)
    return builder


class _Builder:
    """Collects transistors and other devices, and hands out names for inner nets."""

    def __init__(self, style: Style, lookup: Lookup) -> None:
        self.style = style
        self.lookup = lookup
        self.devices: list[Device] = []
        self.passives: list[Passive] = []
        self.taken: set[str] = set()

    def fresh(self, wanted: str = "x") -> str:
        """Return a net name not used yet: the wanted one, with a number where it is taken."""
        name, number = (wanted, 1) if wanted != "x" else ("x1", 1)
        while name in self.taken:
            number += 1
            name = f"{wanted}{number}"
        self.taken.add(name)
        return name

    def cell(self, cell: Entry, nets: dict[str, str], depth: int) -> None:
        """Add a cell whose ports and rails are joined to `nets`."""
        self.taken.update(nets.values())
        lines = cell.netlists.get(self.style)
        if lines is not None:
            self.lines(lines, nets, depth)
        else:
            self.stages(cell.stages, nets)

    def net(self, name: str, nets: dict[str, str]) -> str:
        if name not in nets:
            nets[name] = self.fresh(name)
        return nets[name]

    def lines(self, lines: tuple[Line, ...], nets: dict[str, str], depth: int) -> None:
        for line in lines:
            if isinstance(line, Device):
                first, second = (self.net(end, nets) for end in line.ends)
                self.devices.append(replace(line, gate=self.net(line.gate, nets), ends=(first, second)))
            elif isinstance(line, Passive):
                first, second = (self.net(end, nets) for end in line.ends)
                self.passives.append(replace(line, ends=(first, second)))
            else:
                self.use(line, nets, depth)

    def use(self, line: Use, nets: dict[str, str], depth: int) -> None:
        if depth >= _DEEPEST:
            raise LayoutdrillError("cells use each other in a circle", where=line.where, todo="remove one use")
        cell = self.lookup(line.cell)
        inner = {LOW: nets[LOW], HIGH: nets[HIGH]}
        inner.update((port, self.net(net, nets)) for port, net in line.joined)
        self.cell(cell, inner, depth + 1)

    def stages(self, stages: tuple[Stage, ...], nets: dict[str, str]) -> None:
        """Add static gates; a complement is made once and shared by all stages."""
        complements: dict[str, str] = {}
        for stage in stages:
            built = plan(stage.value, stage.where)
            output = self.net(stage.output, nets)
            gates = {literal: self.gate(literal, nets, complements) for literal in literals(built.pull_down)}
            driven = self.fresh() if built.inverted_output else output
            self.gate_of(built.pull_down, driven, gates)
            if built.inverted_output:
                self.inverter(driven, output)

    def gate(self, literal: Expression, nets: dict[str, str], complements: dict[str, str]) -> str:
        """Return the net that carries a literal, making its inverter where there is none yet."""
        if isinstance(literal, Var):
            return self.net(literal.name, nets)
        assert isinstance(literal, Not)
        assert isinstance(literal.term, Var)
        name = literal.term.name
        if name not in complements:
            complements[name] = self.fresh(f"{name}_n")
            self.inverter(self.net(name, nets), complements[name])
        return complements[name]

    def inverter(self, a: str, y: str) -> None:
        self.gate_of(Var(a), y, {Var(a): a})

    def gate_of(self, pull_down: Expression, y: str, gates: Mapping[Expression, str]) -> None:
        """Add one static gate: two networks, or in logic of one kind the network of that kind and a load."""
        if self.style is not Style.ENHANCEMENT_LOAD:
            self.network(Kind.N, pull_down, (y, LOW), gates)
        if not self.style.pulls_down:
            self.network(Kind.P, dual(pull_down), (HIGH, y), gates)
        if self.style is not Style.COMPLEMENTARY:
            self.devices.append(load_of(self.style, y))

    def network(self, kind: Kind, form: Expression, ends: tuple[str, str], gates: Mapping[Expression, str]) -> None:
        """Add the devices of a series-parallel form between two nets, the first written nearest the first net."""
        at, bottom = ends
        if isinstance(form, And):
            for number, term in enumerate(form.terms, start=1):
                below = bottom if number == len(form.terms) else self.fresh()
                self.network(kind, term, (at, below), gates)
                at = below
        elif isinstance(form, Or):
            for term in form.terms:
                self.network(kind, term, ends, gates)
        else:
            self.devices.append(Device(kind, Mode.ENHANCEMENT, gates[form], ends))
