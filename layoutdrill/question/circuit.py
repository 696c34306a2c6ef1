"""What a specimen's circuit does at its ports, by simulation of the transistors that were read from its face."""

from collections.abc import Iterable, Mapping
from typing import Protocol

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.face.scene import Scene, Wire
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.process import Process
from layoutdrill.question import targets
from layoutdrill.question.hints import hints
from layoutdrill.question.model import Hint, HintStep, Mark, Question, Specimen
from layoutdrill.question.needed import tracing
from layoutdrill.question.places import places_on, visible
from layoutdrill.question.ways import lead, parts_told, transistors_of, way_to
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.table import table
from layoutdrill.value import value

LETTERS: Mapping[Level, str] = {
    Level.LOW: "0", Level.HIGH: "1", Level.FLOATING: "z", Level.FIGHT: "x", Level.UNKNOWN: "?",
}  # fmt: skip
"""How levels are typed and told: floating is z, fighting x, what cannot be known ?."""
READ_HINTS: tuple[Hint, ...] = hints(
    (HintStep.RAILS, HintStep.DEVICES, HintStep.NETS, HintStep.LIFT_METAL, HintStep.NETLIST)
)
"""The steps of help where a circuit is read whole."""
MOST_READ = 24
"""More transistors than this are too many to follow for one answer."""
MOST_TABULATED, MOST_DRIVEN, MOST_EXPRESSED = 4, 5, 6
"""Inputs of a circuit whose table is filled in, that is put into a state or clocked, whose function is written."""


@value
class Pins:
    """The ports of a circuit by what they are for; `opposite` leads from an input to the one whose opposite it gets."""

    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    opposite: Mapping[str, str]
    clocks: tuple[str, ...] = ()

    @property
    def free(self) -> tuple[str, ...]:
        """The inputs whose levels can be chosen."""
        return tuple(name for name in self.inputs if name not in self.opposite)


class AtWork(Protocol):
    """What it takes to say what a circuit does: a specimen has it, and a cell before it is drawn."""

    @property
    def netlist(self) -> Netlist: ...

    @property
    def process(self) -> Process: ...

    @property
    def ports(self) -> tuple[Port, ...]: ...


@value
class Undrawn:
    """A circuit that has not been drawn."""

    netlist: Netlist
    process: Process
    ports: tuple[Port, ...]


def pins_of(specimen: AtWork) -> Pins | None:
    """
    Return what a specimen's ports are for: as its cell says, else by what they join; None where nothing comes out.

    Of two ends of a switch that lead either way, the first is taken as the input.
    """
    supplies = specimen.process.supplies
    if not specimen.ports:
        outputs = targets.outputs(specimen.netlist, supplies)
        inputs = targets.inputs(specimen.netlist, specimen.process.rails)
        return Pins(inputs, outputs, {}) if inputs and outputs else None
    used = set(specimen.netlist.nets)
    ports = [port for port in specimen.ports if port.name in used]
    outputs = tuple(port.name for port in ports if port.role is Role.OUTPUT)
    signals = [port.name for port in ports if port.role is Role.SIGNAL]
    if not outputs:
        outputs, signals = tuple(signals[1:2]), signals[:1]
    if not outputs or any(port.role is Role.BIT_LINE for port in ports):
        return None
    inputs = tuple(port.name for port in ports if port.name in signals or port.role not in (Role.OUTPUT, Role.SIGNAL))
    opposite = {port.name: port.complement_of for port in ports if port.name in inputs and port.complement_of in inputs}
    clocks = tuple(port.name for port in ports if port.role is Role.CLOCK)
    return Pins(inputs, outputs, {a: b for a, b in opposite.items() if b}, clocks)


def marks_of(specimen: Specimen, names: Iterable[str]) -> tuple[Mark, ...] | None:
    """
    Return a mark for each named port: where it is labelled, or where its net is not covered by another's wire if its
    label is; None where one has no place of its own.
    """
    scene = specimen.face.scene
    places: dict[str, Mark] = {}
    for label in scene.labels:
        places.setdefault(label.text, Mark(label.text, label.x, label.y))
    marks = []
    for name in names:
        mark = places.get(name)
        if mark is None:
            return None
        if _covered(scene, mark):
            wires = [(_far(wire, mark), wire.rect, wire) for wire in scene.wires if wire.net == name and visible(wire)]
            near = [wire for _, _, wire in sorted(wires, key=lambda far: far[:2])]
            bare = next(places_on(scene, near, Dice(0)), None)
            mark = mark if bare is None else Mark(name, *bare)
        marks.append(mark)
    return tuple(marks)


def _covered(scene: Scene, mark: Mark) -> bool:
    """Tell whether a wire of another net lies over or under a port's mark, so that it would be taken for that one."""
    return any(wire.net != mark.letter and wire.rect.contains(mark.x, mark.y) for wire in scene.wires)


def _far(wire: Wire, mark: Mark) -> int:
    x, y = wire.rect.centre
    return abs(x - mark.x) + abs(y - mark.y)


def readable(specimen: Specimen) -> bool:
    """Tell whether a circuit is small enough to be read whole, and stands alone."""
    return 1 <= specimen.netlist.count() <= MOST_READ and specimen.frame is None


def facts_needed(question: Question) -> frozenset[Fact]:
    """
    Return what it takes to say what a circuit does: its nets, its gates, which of its transistors are n, and which are
    closed for good by an implant; that loads are in depletion their gates tell.
    """
    process, netlist = question.specimen.process, question.specimen.netlist
    needed = tracing(question.specimen.face.scene) | {Fact.GATE}
    if len({rule.kind for rule in process.transistors}) > 1:
        needed |= {Fact.KIND}
    if any(t.is_closed_by_implant(process.rails, process.supplies[1:]) for t in netlist.transistors):
        needed |= {Fact.DEPLETION}
    return needed


def values_of(process: Process, netlist: Netlist) -> dict[str, int]:
    """Return the levels of the supplies that a netlist has."""
    nets = set(netlist.nets)
    return {net: level for net, level in process.rail_levels.items() if net in nets}


def rows_of(specimen: AtWork, pins: Pins, output: str) -> tuple[tuple[dict[str, int], Level], ...]:
    """Return the levels of an output for every row of the free inputs, counting up, the first the most significant."""
    netlist = specimen.netlist
    truth = table(netlist, pins.free, (output,), values_of(specimen.process, netlist), opposite=pins.opposite)
    return tuple((dict(zip(pins.free, row.inputs, strict=True)), row.outputs[0]) for row in truth.rows)


def remembers(specimen: AtWork, pins: Pins, outputs: tuple[str, ...]) -> bool:
    """Tell whether some row of the inputs, with nothing stored before, leaves an output that nobody can know."""
    netlist = specimen.netlist
    truth = table(netlist, pins.free, outputs, values_of(specimen.process, netlist), opposite=pins.opposite)
    return any(Level.UNKNOWN in row.outputs for row in truth.rows)


def worked_columns(circuit: AtWork, most_inputs: int) -> tuple[str, ...]:
    """Return the settled columns of a circuit without a clock, of few transistors and inputs, else none."""
    pins = pins_of(circuit)
    if (
        pins is None
        or not 1 <= circuit.netlist.count() <= MOST_READ
        or not 1 <= len(pins.free) <= most_inputs
        or pins.clocks
    ):
        return ()
    return tuple(settled_levels(circuit, pins))


def settled_levels(circuit: AtWork, pins: Pins) -> list[str]:
    """Return the column of levels of each output whose rows are all known, floating or a fight, more than one level."""
    columns = ["".join(LETTERS[level] for _, level in rows_of(circuit, pins, output)) for output in pins.outputs]
    return [column for column in columns if "?" not in column and len(set(column)) > 1]


def row_text(row: Mapping[str, int]) -> str:
    """Write a row of inputs, such as “a=1 b=0”."""
    return " ".join(f"{name}={level}" for name, level in row.items())


def why(
    specimen: Specimen, row: Mapping[str, int], opposite: Mapping[str, str], output: str
) -> tuple[str, tuple[str, ...]]:
    """
    Say by which transistors an output gets its level in a row, with the numbers that they have on the picture; and
    return their names.
    """
    netlist, process = specimen.netlist, specimen.process
    given = {**row, **{a: 1 - row[b] for a, b in opposite.items() if b in row}}
    supplies = values_of(process, netlist)
    state = settle(netlist, given, supplies=supplies)
    numbers = dict(devices_overlay(specimen.extraction, netlist).transistors)
    sources = {**supplies, **{name: level for name, level in given.items() if name in set(netlist.nets)}}
    levels = {net: state.stored(net) for net in netlist.nets}
    parts: list[str] = []
    names: list[str] = []
    ends: dict[str, str] = {}
    for rail in (Level.HIGH, Level.LOW):
        path = way_to(netlist, levels, output, sources, int(rail))
        if path is None:
            continue
        way, ends[rail] = path
        names += transistors_of(way)
        parts.append(f"{parts_told(way, numbers)} {lead(way)} {output} to {ends[rail]}")
    if not parts:
        return f"With {row_text(row)} nothing that conducts leads {output} anywhere.", ()
    level = state.level(output)
    wins = ""
    if len(ends) == 2:
        wins = f"; the way to {ends[level]} is the stronger" if level.known else "; neither is the stronger"
    return f"With {row_text(row)} {', and '.join(parts)}{wins}.", tuple(names)


def were(output: str, given: str, right: str, when: str, process: Process) -> str:
    """Say what would be seen `when` an output had the level given, and what is; levels are 0, 1, z or x."""
    low, high = process.supplies
    seen = {
        "0": f"transistors that conduct would lead {output} to {low}, and none that is stronger to {high}",
        "1": f"transistors that conduct would lead {output} to {high}, and none that is stronger to {low}",
        "z": f"no transistor that conducts would lead {output} anywhere",
        "x": f"ways as strong as each other would lead {output} to both rails",
    }[given]
    is_so = {
        "0": f"those outlined lead it to {low}",
        "1": f"those outlined lead it to {high}",
        "z": "here none does",
        "x": "here they lead to both",
    }.get(right, "here nothing is sure")
    named = {"z": "floating", "x": "in a fight"}.get(given, given)
    return f"Were {output} {named} {when}, {seen}; {is_so}."
