"""Put defects into a layout and see what each does: read it anew, simulate it, set it beside the sound die."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.extract.model import Extraction
from layoutdrill.face import DrawnFace
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.prove.faults import UNSEEN, Defect, DefectKind, defects
from layoutdrill.question.circuit import Pins, Undrawn, pins_of, rows_of, values_of
from layoutdrill.question.model import Specimen
from layoutdrill.question.ways import hard_to_call
from layoutdrill.simulate.settle import settle
from layoutdrill.value import value

MOST_INPUTS = 3
"""More inputs make columns that nobody reads at a glance."""
_TRIED = 3
"""Defects of each kind that are looked at for a question."""
GAP = 10
"""λ between two dies side by side."""


@value
class Tried:
    """A defect with what is read in its layout, and the output's level in each row of inputs."""

    defect: Defect
    extraction: Extraction
    column: str


def pins_known(specimen: Specimen) -> Pins | None:
    """Return the pins of a small circuit without clock or memory, whose levels are all known."""
    pins = pins_of(specimen)
    if pins is None or pins.clocks or not 1 <= len(pins.free) <= MOST_INPUTS or not pins.outputs:
        return None
    _, sound = rows_and_sound(specimen, pins)
    return pins if set(sound) <= {"0", "1"} and len(set(sound)) == 2 else None


def rows_and_sound(specimen: Specimen, pins: Pins) -> tuple[list[Mapping[str, int]], str]:
    rows = rows_of(specimen, pins, pins.outputs[0])
    return [row for row, _ in rows], "".join(str(level) for _, level in rows)


def tried_defects(
    specimen: Specimen, pins: Pins | None, among: Sequence[DefectKind], dice: Dice, most: int = _TRIED
) -> Iterator[Tried]:
    """Yield defects of some kinds, in their order, that make another circuit of it; with `pins` what each does."""
    face = specimen.face
    assert isinstance(face, DrawnFace)
    for kind in among:
        for number, defect in enumerate(defects(face.layout, face.process, face.extraction, kind, dice)):
            if number >= most:
                break
            read = extract(defect.layout, face.process)
            column = column_of(read, specimen, pins) if pins is not None else ""
            if column is None:
                continue
            same = compare(specimen.netlist, read.netlist, ports=False, merge=Merge.FINGERS).equal
            if not same:
                yield Tried(defect, read, column)


def column_of(read: Extraction, specimen: Specimen, pins: Pins) -> str | None:
    """
    Return the levels of the output, row by row; None where an input pin is joined to another pin or a rail, or where
    a level hangs on which of two open ways is the stronger.
    """
    netlist, process = read.netlist, specimen.process
    nets = set(netlist.nets)
    output = pins.outputs[0]
    if any(name not in nets for name in pins.inputs):
        return None
    if output not in nets:
        label = next((t for t in specimen.face.scene.labels if t.text == output), None)
        here = [net for _, net in read.nets_at(label.x, label.y)] if label is not None else []
        levels = [process.rail_levels[net] for net in here if net in process.rail_levels]
        return str(levels[0]) * 2 ** len(pins.free) if len(set(levels)) == 1 else None
    circuit = Undrawn(netlist, process, specimen.ports)
    try:
        rows = rows_of(circuit, pins, output)
    except LayoutdrillError:
        return None
    if any(level.known and _contested(circuit, pins, row, output) for row, level in rows):
        return None
    return "".join(str(level) for _, level in rows)


def _contested(circuit: Undrawn, pins: Pins, row: Mapping[str, int], output: str) -> bool:
    """Tell whether the output, or a net on which it hangs, has its level because one of two ways is the stronger."""
    netlist, supplies = circuit.netlist, values_of(circuit.process, circuit.netlist)
    given = {**row, **{a: 1 - row[b] for a, b in pins.opposite.items()}}
    state = settle(netlist, given, supplies=supplies)
    levels = {net: state.stored(net) for net in netlist.nets}
    sources = {**supplies, **given}
    before = {output, *(t.gate for t in netlist.transistors)}
    return any(hard_to_call(netlist, circuit.process, levels, sources, net, state.level(net)) for net in sorted(before))


def faulty_die(specimen: Specimen, tried: Tried) -> Specimen:
    """Return the faulty die; what no picture shows of it is not drawn."""
    layout = specimen.face.scene.layout if tried.defect.kind in UNSEEN else tried.defect.layout
    face = DrawnFace(layout, specimen.process, tried.extraction)
    return replace(specimen, face=face, netlist=tried.extraction.netlist, boundary="", about="", aliases=())


def beside(left: Layout, right: Layout, shift: int) -> Layout:
    """Return two layouts in one; only the left one keeps its names, as one name on both would be one net in pieces."""
    names = dict.fromkeys((*left.shapes, *right.shapes))
    shapes = {
        name: (*left.shapes.get(name, ()), *(r.moved(shift, 0) for r in right.shapes.get(name, ()))) for name in names
    }
    return Layout(left.name, shapes, left.labels)
