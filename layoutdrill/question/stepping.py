"""Step through a circuit after a verdict: inputs are changed one at a time, and the level of every net is told."""

from collections.abc import Mapping
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.face.materials import Material
from layoutdrill.face.scene import Scene, Wire
from layoutdrill.netlist.model import Netlist
from layoutdrill.question.circuit import LETTERS, values_of
from layoutdrill.question.model import Specimen
from layoutdrill.question.places import places_on, visible
from layoutdrill.simulate.settle import State, settle
from layoutdrill.value import value

Place = tuple[int, int]


@value
class Stepping:
    """
    What can be stepped through: the inputs in their order, those that always get the opposite of another, which of the
    inputs are clocks, the output that was asked about, and the row to begin with; with a `script` the rows that follow,
    as they were asked about.
    """

    inputs: tuple[str, ...]
    output: str
    opposite: Mapping[str, str]
    clocks: tuple[str, ...]
    row: Mapping[str, int]
    script: tuple[Mapping[str, int], ...] = ()


@value
class Walk:
    """A circuit at rest in one row of its inputs, and how it came there: `state` holds what is stored."""

    specimen: Specimen
    stepping: Stepping
    row: Mapping[str, int]
    state: State
    steps: int = 0
    played: int = 0

    @property
    def levels(self) -> dict[str, str]:
        """The level of every net as a character: 0, 1, z where it floats, x in a fight, ? where nobody can know it."""
        known = {**values_of(self.specimen.process, self.specimen.netlist), **_given(self.stepping, self.row)}
        return {
            net: str(known[net]) if net in known else LETTERS[self.state.level(net)]
            for net in self.specimen.netlist.nets
        }

    def turned(self, name: str) -> "Walk":
        """Return where the circuit comes to when one input changes, with what was stored before."""
        return _settled(self, {**self.row, name: 1 - self.row[name]})

    def onward(self) -> "Walk":
        """
        Return the next step: that of the script while it lasts; then the next edge, of several clocks in turn; without
        a clock the next row of inputs.
        """
        if self.played < len(self.stepping.script):
            return replace(_settled(self, dict(self.stepping.script[self.played])), played=self.played + 1)
        clocks = self.stepping.clocks
        if clocks:
            high = next((name for name in clocks if self.row[name]), None)
            return self.turned(high if high is not None else clocks[self.steps // 2 % len(clocks)])
        names = self.stepping.inputs
        number = int("".join(str(self.row[name]) for name in names), 2) + 1
        bits = f"{number % (1 << len(names)):0{len(names)}b}"
        return _settled(self, dict(zip(names, map(int, bits), strict=True)))


def begun(specimen: Specimen, stepping: Stepping) -> Walk:
    """Return the circuit in its first row, with nothing stored before."""
    given = _given(stepping, stepping.row)
    state = settle(specimen.netlist, given, supplies=values_of(specimen.process, specimen.netlist))
    return Walk(specimen, stepping, dict(stepping.row), state)


def net_places(scene: Scene, netlist: Netlist) -> dict[str, Place]:
    """Return a place on the picture for the level of each net: where its name stands, else on its largest wire."""
    labels: dict[str, Place] = {}
    for label in scene.labels:
        labels.setdefault(label.text, (label.x, label.y))
    by: dict[str, list[Wire]] = {}
    for wire in scene.wires:
        if visible(wire):
            by.setdefault(wire.net, []).append(wire)
    places: dict[str, Place] = {}
    for net in netlist.nets:
        if net in labels:
            places[net] = labels[net]
        elif by.get(net):
            order = sorted(by[net], key=lambda w: (w.material is not Material.METAL, -w.rect.area, w.rect))
            places[net] = next(places_on(scene, order, Dice(0)), order[0].rect.centre)
    return places


def levelled(netlist: Netlist, levels: Mapping[str, str]) -> Netlist:
    """Return a netlist whose nets carry their levels in their names, such as “a=1”, for a schematic to be drawn of."""

    def name(net: str) -> str:
        return f"{net}={levels[net]}" if net in levels else net

    devices = tuple(
        replace(t, gate=name(t.gate), source=name(t.source), drain=name(t.drain)) for t in netlist.transistors
    )
    others = tuple(replace(e, nodes=tuple(name(node) for node in e.nodes)) for e in netlist.elements)
    return replace(netlist, ports=tuple(map(name, netlist.ports)), transistors=devices, elements=others)


def _given(stepping: Stepping, row: Mapping[str, int]) -> dict[str, int]:
    return {**row, **{a: 1 - row[b] for a, b in stepping.opposite.items() if b in row}}


def _settled(walk: Walk, row: Mapping[str, int]) -> Walk:
    state = settle(walk.state.circuit, _given(walk.stepping, row), before=walk.state)
    return replace(walk, row=row, state=state, steps=walk.steps + 1)
