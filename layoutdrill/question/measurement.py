"""What does a probe read at this place in this state: a full level, a poor one, floating, or a fight?"""

import re
from collections.abc import Mapping
from enum import StrEnum
from itertools import product

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.scene import Wire
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.process import Process
from layoutdrill.question.choices import LETTERS, blank, letter_of, nonempty, shuffled, unanswered
from layoutdrill.question.circuit import (
    MOST_DRIVEN,
    MOST_READ,
    READ_HINTS,
    Pins,
    Undrawn,
    facts_needed,
    marks_of,
    pins_of,
    readable,
    row_text,
    values_of,
)
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Answer, Mark, Question, Specimen, Verdict
from layoutdrill.question.places import places_on, visible
from layoutdrill.question.stepping import Stepping
from layoutdrill.question.ways import Part, hard_to_call, lead, parts_told, passes_fully, transistors_of, way_to
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.settle import State, settle
from layoutdrill.value import value

STRENGTH_CREDIT = 0.5
"""The right side, but a full level taken for a poor one or the other way round."""
DRIVEN_CREDIT = 0.25
"""A fight taken for the level of one of its sides, or a won contest for a fight; nothing taken for a poor level."""


class Reading(StrEnum):
    """What a probe may read; the values are the words of the choices."""

    HIGH = "high, the full level"
    LOW = "low, the full level"
    POOR_HIGH = "a poor high, a threshold below the rail"
    POOR_LOW = "a poor low, a threshold above the rail"
    FLOATING = "nothing: it floats"
    FIGHT = "two drivers fighting"


_SIDE = {Reading.HIGH: 1, Reading.POOR_HIGH: 1, Reading.LOW: 0, Reading.POOR_LOW: 0}
_POOR = {Reading.HIGH: Reading.POOR_HIGH, Reading.LOW: Reading.POOR_LOW}
_NEAREST = {
    Reading.HIGH: (Reading.POOR_HIGH, Reading.FIGHT, Reading.LOW, Reading.FLOATING),
    Reading.LOW: (Reading.POOR_LOW, Reading.FIGHT, Reading.HIGH, Reading.FLOATING),
    Reading.POOR_HIGH: (Reading.HIGH, Reading.FLOATING, Reading.LOW, Reading.FIGHT),
    Reading.POOR_LOW: (Reading.LOW, Reading.FLOATING, Reading.HIGH, Reading.FIGHT),
    Reading.FLOATING: (Reading.POOR_HIGH, Reading.HIGH, Reading.LOW, Reading.POOR_LOW),
    Reading.FIGHT: (Reading.HIGH, Reading.LOW, Reading.FLOATING, Reading.POOR_HIGH),
}
_WORDS = {
    "high": Reading.HIGH, "h": Reading.HIGH, "1": Reading.HIGH, "low": Reading.LOW, "l": Reading.LOW, "0": Reading.LOW,
    "floating": Reading.FLOATING, "floats": Reading.FLOATING, "z": Reading.FLOATING, "nothing": Reading.FLOATING,
    "fighting": Reading.FIGHT, "fight": Reading.FIGHT, "x": Reading.FIGHT, "contention": Reading.FIGHT,
}  # fmt: skip
_MEANS = {
    Reading.HIGH: "a way that conducts would lead to a high level without a loss",
    Reading.LOW: "a way that conducts would lead to a low level without a loss",
    Reading.POOR_HIGH: "each way that conducts to a high level would lead through an n transistor",
    Reading.POOR_LOW: "each way that conducts to a low level would lead through a p transistor",
    Reading.FLOATING: "no way from there would conduct",
    Reading.FIGHT: "ways to both levels would conduct, neither the stronger",
}
"""What one would find on the way from the probe."""
_POOR_WORDS = re.compile(r"\b(poor|weak|degraded|bad)\b")


@value
class MeasurementKey(Key):
    """The net at X, the levels of the inputs, what a probe reads there, and the choices."""

    shown = ("row", "choices")
    net: str
    row: dict[str, int]
    right: str
    choices: tuple[str, ...]
    opposite: dict[str, str]


class Measurement(QuestionKind):
    """
    Say what a probe reads.

    Full credit by simulation: a level is poor where every way to its rail leads through a transistor that loses a
    threshold (an n transistor passing high, a p transistor passing low; textbook rule, from memory). Half for a full
    level taken for a poor one of the same side, or the reverse; a quarter for a fight taken for one of its sides, a
    won contest for a fight, or nothing at all for a poor level.
    """

    name = "measurement"
    title = "Say what a probe reads"
    key_type = MeasurementKey
    untold = frozenset({Fact.CONTACT, Fact.GATE})
    partly = (
        (STRENGTH_CREDIT, "the side is right, how full it is is not"),
        (DRIVEN_CREDIT, "a way that conducts is seen"),
    )

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        pins = pins_of(specimen) if readable(specimen) else None
        if pins is None or not 1 <= len(pins.free) <= MOST_DRIVEN:
            return None
        named = marks_of(specimen, pins.inputs)
        if named is None:
            return None
        states = _states(specimen, pins)
        nets = _probed(specimen, pins)
        for reading in dice.shuffled(sorted(set(states) & set(Reading))):
            for row, net in dice.shuffled([(row, net) for row, net in states[reading] if net in nets])[:6]:
                place = next(places_on(specimen.face.scene, nets[net], dice), None)
                if place is not None:
                    choices = shuffled(reading, _NEAREST[reading][:3], dice)
                    key = MeasurementKey(net, row, reading, choices, dict(pins.opposite))
                    return self._question(specimen, key, (*named, Mark("X", *place, ring=True)))
        return None

    def _question(self, specimen: Specimen, key: MeasurementKey, marks: tuple[Mark, ...]) -> Question:
        where = specimen.face.unit.at(marks[-1].x, marks[-1].y)
        tied = tuple(f"Input {a} gets the opposite of {b}." for a, b in key.opposite.items())
        low, high = specimen.process.supplies
        levels = (
            f"1 is the level of {high}, 0 that of {low}. Inputs are driven at full levels; nothing was stored before."
        )
        return Question(
            kind=self.name,
            prompt=f"With {row_text(key.row)}: what does a probe read at X ({where})?",
            specimen=specimen,
            choices=key.choices,
            facts=(levels, *tied),
            marks=marks,
            key=key,
            hints=READ_HINTS,
        )

    def needs(self, question: Question) -> frozenset[Fact]:
        return facts_needed(question)

    def stepping(self, question: Question) -> Stepping:
        key = MeasurementKey.of(question)
        return Stepping(tuple(key.row), key.net, key.opposite, (), key.row)

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        circuit = Undrawn(netlist, process, ports)
        pins = pins_of(circuit)
        return pins is not None and 1 <= netlist.count() <= MOST_READ and 1 <= len(pins.free) <= MOST_DRIVEN

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        _said(words, MeasurementKey.of(question).choices)
        return Answer(words)

    def instead(self, question: Question, answer: Answer) -> str:
        key = MeasurementKey.of(question)
        said, right = _said(answer.text, key.choices), Reading(key.right)
        here = _MEANS[right].replace("would lead", "leads").replace("would be", "are")
        return f"Were it {said.partition(',')[0]}, {_MEANS[said]}; here {here}."

    def solution(self, question: Question) -> Answer:
        key = MeasurementKey.of(question)
        return Answer(LETTERS[key.choices.index(key.right)])

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key, specimen = MeasurementKey.of(question), question.specimen
        right, said = Reading(key.right), _said(answer.text, key.choices)
        state, sources = _settled(specimen, key.row, key.opposite)
        decides, names = _why(specimen, state, sources, key.net, right)
        places = tuple((m.x, m.y) for m in question.marks if m.ring)
        full = str(right)
        if said is right:
            return Verdict(1.0, f"Right: {full}.", full, decides, names, (key.net,), places)
        return Verdict(*_near(said, right), full, decides, names, (key.net,), places)


def reading_of(specimen: Specimen, state: State, sources: Mapping[str, int], net: str) -> Reading | None:
    """Return what a probe reads at a net in a settled state, None where nobody can know it."""
    level = state.level(net)
    if level is Level.FLOATING:
        return Reading.FLOATING
    if level is Level.FIGHT:
        return Reading.FIGHT
    if not level.known:
        return None
    side = int(level)
    full = Reading.HIGH if side else Reading.LOW
    ways = _ways(specimen, state, sources, net, side, full_only=True)
    return full if ways is not None else _POOR[full]


def _ways(
    specimen: Specimen, state: State, sources: Mapping[str, int], start: str, side: int, *, full_only: bool
) -> tuple[Part, ...] | None:
    """Return a shortest way over open channels and resistors to a source of the level, None where there is none."""
    beyond = specimen.process.gate_supply
    passes = (lambda t: passes_fully(t, side, beyond)) if full_only else (lambda _: True)
    way = way_to(specimen.netlist, _stored(specimen, state), start, sources, side, passes)
    return way[0] if way is not None else None


def _stored(specimen: Specimen, state: State) -> dict[str, Level]:
    return {net: state.stored(net) for net in specimen.netlist.nets}


def _settled(specimen: Specimen, row: Mapping[str, int], opposite: Mapping[str, str]) -> tuple[State, dict[str, int]]:
    """Return the state that a row of inputs leads to, and the level of each net that is driven from outside."""
    netlist = specimen.netlist
    given = {**row, **{a: 1 - row[b] for a, b in opposite.items() if b in row}}
    supplies = values_of(specimen.process, netlist)
    return settle(netlist, given, supplies=supplies), {**supplies, **given}


def _states(specimen: Specimen, pins: Pins) -> dict[Reading, list[tuple[dict[str, int], str]]]:
    """Return, for each reading, the rows and nets that have it."""
    states: dict[Reading, list[tuple[dict[str, int], str]]] = {}
    for bits in product((0, 1), repeat=len(pins.free)):
        row = dict(zip(pins.free, bits, strict=True))
        state, sources = _settled(specimen, row, pins.opposite)
        levels = _stored(specimen, state)
        for net in specimen.netlist.nets:
            reading = None if net in sources else reading_of(specimen, state, sources, net)
            if reading is not None and not hard_to_call(
                specimen.netlist, specimen.process, levels, sources, net, state.level(net)
            ):
                states.setdefault(reading, []).append((row, net))
    return states


def _probed(specimen: Specimen, pins: Pins) -> dict[str, list[Wire]]:
    """Return the wires of each net on which a probe can stand."""
    outside = {*pins.inputs, *specimen.process.rails}
    known = set(specimen.netlist.nets) - outside
    wires: dict[str, list[Wire]] = {}
    for wire in specimen.face.scene.wires:
        if wire.net in known and visible(wire):
            wires.setdefault(wire.net, []).append(wire)
    return wires


def _why(
    specimen: Specimen, state: State, sources: Mapping[str, int], net: str, right: Reading
) -> tuple[str, tuple[str, ...]]:
    """Say by which transistors the place gets its level, with their numbers; and return their names."""
    netlist = specimen.netlist
    numbers = dict(devices_overlay(specimen.extraction, netlist).transistors)
    if right is Reading.FLOATING:
        around = [t for t in netlist.transistors if net in t.ends]
        closed = f"{parts_told(around, numbers)} close{'s' * (len(around) == 1)} it off"
        return f"No way that conducts leads from there to a rail or an input: {closed}.", transistors_of(around)
    sides = (1, 0) if right is Reading.FIGHT else (_SIDE[right],)
    names: list[str] = []
    parts = []
    for side in sides:
        full = _ways(specimen, state, sources, net, side, full_only=True)
        way = full or _ways(specimen, state, sources, net, side, full_only=False) or ()
        names += transistors_of(way)
        parts.append(f"{parts_told(way, numbers)} {lead(way)} to {'high' if side else 'low'}")
    if right is Reading.FIGHT:
        return f"Both ways conduct at once, neither the stronger: {', and '.join(parts)}.", tuple(names)
    if right in (Reading.HIGH, Reading.LOW):
        return f"There is a way that conducts and loses nothing: {parts[0]}.", tuple(names)
    loses = (
        "n transistors lose a threshold on a high level" if _SIDE[right] else "p transistors lose one on a low level"
    )
    return f"The only way loses a threshold: {parts[0]}, and {loses}.", tuple(names)


def _near(said: Reading, right: Reading) -> tuple[float, str]:
    """Return what a wrong answer earns, and what it is."""
    if said in _SIDE and right in _SIDE:
        if _SIDE[said] == _SIDE[right]:
            poor = "a threshold is lost on the way" if right in _POOR.values() else "a way without loss conducts too"
            return STRENGTH_CREDIT, f"The right side, but {poor}: {right}."
        return 0.0, f"The other way round: {right}."
    if right is Reading.FIGHT and said in _SIDE:
        return DRIVEN_CREDIT, f"That is one of the two sides, and the other is as strong: {right}."
    if said is Reading.FIGHT and right in _SIDE:
        return DRIVEN_CREDIT, f"If two ways conduct, one is the stronger: {right}."
    if said is Reading.FLOATING and right in _POOR.values():
        return DRIVEN_CREDIT, f"There is a way, though it loses a threshold: {right}."
    return 0.0, f"Not so: {right}."


def _said(text: str, choices: tuple[str, ...]) -> Reading:
    """Read a letter of a choice, or a level in words."""
    at = letter_of(text, choices)
    if at is not None:
        return Reading(choices[at])
    lower = text.lower().strip(" .")
    if lower in set(Reading):
        return Reading(lower)
    poor = _POOR_WORDS.search(lower) is not None
    for word in re.findall(r"[a-z]+|[01]", lower):
        reading = _WORDS.get(word)
        if reading is not None:
            return _POOR.get(reading, reading) if poor else reading
    todo = "say high, low, poor high, poor low, floating or fighting; or choose a letter"
    raise LayoutdrillError(f'"{text}" is no reading of a probe', todo=todo)
