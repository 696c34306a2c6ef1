"""Which address selects this line; and what is read from this word, or these inputs?"""

import re
from collections.abc import Mapping
from dataclasses import field

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.circuit import (
    MOST_READ,
    AtWork,
    Pins,
    Undrawn,
    facts_needed,
    marks_of,
    pins_of,
    remembers,
    row_text,
    values_of,
    were,
    why,
)
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Answer, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.ratioed_words import levels_told
from layoutdrill.question.selector import MOST_ADDRESSES, MOST_TRANSISTORS, Selector, selector_of
from layoutdrill.question.word_line import bits_of_line
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.table import table
from layoutdrill.value import value

_MOST_TRIED = 3
"""Inputs of which every level is tried to see whether a plane remembers."""
_STEPS = (HintStep.RAILS, HintStep.LIFT_METAL, HintStep.DEVICES, HintStep.NETS)
REVERSED_CREDIT = 0.5
"""All bits, but read from the other end."""


@value
class AddressKey(Key):
    """
    What is asked (`select` for an address, `word` for what is stored, `read` for what comes out), the names of the bits
    in their order, the bits, and the inputs that are set when the answer can be seen; `opposite` are further inputs,
    each of which has the opposite of one of them.
    """

    shown = ("what", "names")
    what: str
    names: tuple[str, ...]
    bits: str
    row: dict[str, int]
    output: str
    opposite: dict[str, str] = field(default_factory=dict)


class Address(QuestionKind):
    """
    Read an address or a word.

    Credit: the share of the bits that are right, less the share that are wrong. Half for all bits read from the other
    end.
    """

    name = "address"
    title = "Read an address or a word"
    key_type = AddressKey
    untold = frozenset({Fact.CONTACT, Fact.GATE})

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        if specimen.frame is not None:
            return None
        selector = selector_of(specimen)
        if selector is not None:
            return _select(specimen, selector, dice)
        pins = _plane(specimen)
        if pins is None:
            return None
        return _word(specimen, pins, dice) if _word_lines(specimen, pins) else _read_out(specimen, pins, dice)

    def needs(self, question: Question) -> frozenset[Fact]:
        return facts_needed(question)

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        circuit = Undrawn(netlist, process, ports)
        selector = selector_of(circuit)
        if selector is not None:
            return any(selector.address_of(circuit, output) is not None for output in selector.outputs)
        pins = _plane(circuit)
        return pins is not None and (_word_lines(circuit, pins) or not _stores(circuit, pins))

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        _bits(words, AddressKey.of(question))
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        return Answer(AddressKey.of(question).bits)

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = AddressKey.of(question)
        given = _bits(answer.text, key)
        full = f"{' '.join(key.names)} = {key.bits}"
        shown = key.output if key.what == "select" else key.names[_first_wrong(given, key.bits)]
        decides, names = _decides(question.specimen, key, shown)
        nets = (shown,) if shown in question.specimen.netlist.nets else ()
        if given == key.bits:
            return Verdict(1.0, f"Right: {full}.", full, decides, names, nets)
        hits = sum(mine == right for mine, right in zip(given, key.bits, strict=True))
        if given == key.bits[::-1]:
            summary = f"Read from the other end: {full}."
            return Verdict(REVERSED_CREDIT, summary, full, decides, names, nets)
        if hits == 0:
            return Verdict(0.0, f"Every bit is the other way round: {full}.", full, decides, names, nets)
        credit = max(0.0, round((2 * hits - len(key.bits)) / len(key.bits), 3))
        wrong = [name for name, mine, right in zip(key.names, given, key.bits, strict=True) if mine != right]
        summary = f"Not quite: {hits} of {len(key.bits)} bits right; {', '.join(wrong)} the other way round."
        return Verdict(credit, summary, full, decides, names, nets)

    def part_told(self, question: Question, answer: Answer, credit: float) -> str:
        key = AddressKey.of(question)
        if not 0 < credit < 1:
            return ""
        given = _bits(answer.text, key)
        if given == key.bits[::-1]:
            return "every bit is read right, from the wrong end"
        hits = sum(mine == right for mine, right in zip(given, key.bits, strict=True))
        return f"{hits} bits right, less {len(key.bits) - hits} wrong, of {len(key.bits)}"

    def instead(self, question: Question, answer: Answer) -> str:
        key, specimen = AddressKey.of(question), question.specimen
        given = _bits(answer.text, key)
        if key.what != "select":
            at = _first_wrong(given, key.bits)
            when = f"with {row_text(key.row)}"
            return were(key.names[at], given[at], key.bits[at], when, specimen.process)
        row = {name: int(bit) for name, bit in zip(key.names, given, strict=True)}
        every = {**key.row, **row, **{a: 1 - row[b] for a, b in key.opposite.items()}}
        level = settle(specimen.netlist, every, supplies=values_of(specimen.process, specimen.netlist)).level(
            key.output
        )
        there = "floating" if level is Level.FLOATING else level
        return f"Were it {given}, the line at X would stand out there; with {row_text(row)} it is {there}, as at most."


def _decides(specimen: Specimen, key: AddressKey, shown: str) -> tuple[str, tuple[str, ...]]:
    """Say what decides, all bits of a word line or how one output gets its level; return the transistors’ names."""
    read = bits_of_line(specimen, key.row, dict(zip(key.names, key.bits, strict=True))) if key.what == "word" else None
    return read or why(specimen, key.row, key.opposite, shown)


def _first_wrong(given: str, bits: str) -> int:
    return next((at for at, (mine, right) in enumerate(zip(given, bits, strict=True)) if mine != right), 0)


def _question(
    specimen: Specimen, key: AddressKey, prompt: str, facts: tuple[str, ...], marks: tuple[Mark, ...] | None
) -> Question | None:
    if marks is None or len(key.bits) < 2:
        return None
    return Question(
        kind=Address.name,
        prompt=prompt,
        specimen=specimen,
        choices=(),
        facts=(*facts, *levels_told(specimen.process)),
        marks=marks,
        key=key,
        typed=True,
        hints=hints(_STEPS),
    )


def _select(specimen: Specimen, selector: Selector, dice: Dice) -> Question | None:
    """Ask for the address at which one output, marked X and not by its name, stands out from all other addresses."""
    for output in dice.shuffled(selector.outputs):
        row = selector.address_of(specimen, output)
        if row is None:
            continue
        named, lettered = marks_of(specimen, (*selector.led, *selector.addresses)), marks_of(specimen, (output,))
        if named is None or lettered is None:
            return None
        bits = "".join(str(row[name]) for name in selector.addresses)
        opposite = dict(selector.opposite)
        key = AddressKey("select", selector.addresses, bits, {**selector.led, **row}, output, opposite)
        marks = (*named, Mark("X", lettered[0].x, lettered[0].y))
        does = f"leads {selector.data} to" if selector.data else "selects"
        opposites = (_opposites_told(opposite),) if opposite else ()
        prompt = f"Which address {does} the line at X? Type {' '.join(selector.addresses)}, as 0 and 1."
        return _question(specimen, key, prompt, opposites, marks)
    return None


def _opposites_told(opposite: Mapping[str, str]) -> str:
    have = "has" if len(opposite) == 1 else "each have"
    return f"{' '.join(opposite)} {have} the opposite of {' '.join(opposite.values())}."


def _word(specimen: Specimen, pins: Pins, dice: Dice) -> Question | None:
    """Ask what is stored at a word line, marked X; the others are not selected."""
    selects = _selecting_level(specimen, pins.inputs)
    chosen = dice.pick(pins.inputs)
    row = {name: selects if name == chosen else 1 - selects for name in pins.inputs}
    netlist = specimen.netlist
    state = settle(netlist, row, supplies=values_of(specimen.process, netlist))
    levels = [state.level(name) for name in pins.outputs]
    lettered, named = marks_of(specimen, (chosen,)), marks_of(specimen, pins.outputs)
    if lettered is None or named is None or not all(level.known for level in levels):
        return None
    key = AddressKey("word", pins.outputs, "".join(levels), row, pins.outputs[0])
    lines_said = f"The word line at X is at {selects}, all others are at {1 - selects}."
    order = " ".join(pins.outputs)
    marks = (Mark("X", lettered[0].x, lettered[0].y), *named)
    return _question(specimen, key, f"What is read from the word at X? Type {order}, as 0 and 1.", (lines_said,), marks)


def _read_out(specimen: Specimen, pins: Pins, dice: Dice) -> Question | None:
    """Ask what comes out of a plane for one row of its inputs; not of what remembers, whose past no row tells."""
    if _stores(specimen, pins):
        return None
    row = {name: dice.below(2) for name in pins.inputs}
    netlist = specimen.netlist
    state = settle(netlist, row, supplies=values_of(specimen.process, netlist))
    levels = [state.level(name) for name in pins.outputs]
    if not all(level.known for level in levels):
        return None
    key = AddressKey("read", pins.outputs, "".join(levels), row, pins.outputs[0])
    prompt = f"With {row_text(row)}: what comes out? Type {' '.join(pins.outputs)}, as 0 and 1."
    return _question(specimen, key, prompt, (), marks_of(specimen, (*pins.inputs, *pins.outputs)))


def _plane(circuit: AtWork) -> Pins | None:
    """Return the pins of what may hold words or products; None where it has too few or too many."""
    pins = pins_of(circuit) if 4 <= circuit.netlist.count() <= MOST_TRANSISTORS else None
    if pins is None or pins.opposite or pins.clocks or len(pins.inputs) < 2 or len(pins.outputs) < 2:
        return None
    return pins if len(pins.inputs) <= MOST_ADDRESSES or _word_lines(circuit, pins) else None


def _word_lines(circuit: AtWork, pins: Pins) -> bool:
    """Tell whether the inputs are word lines, one of which is selected at a time."""
    lines = {port.name for port in circuit.ports if port.role is Role.WORD_LINE}
    return lines >= set(pins.inputs)


def _stores(circuit: AtWork, pins: Pins) -> bool:
    """Tell whether an output remembers; of large planes a few rows tell, for they store at every address or at none."""
    if circuit.netlist.count() <= MOST_READ:
        return remembers(circuit, pins, pins.outputs)
    tried, rest = pins.inputs[:_MOST_TRIED], pins.inputs[_MOST_TRIED:]
    supplies = values_of(circuit.process, circuit.netlist)
    rows = table(circuit.netlist, tried, pins.outputs, supplies, dict.fromkeys(rest, 0)).rows
    return any(Level.UNKNOWN in row.outputs for row in rows)


def _selecting_level(specimen: Specimen, words: tuple[str, ...]) -> int:
    """
    Return the level of a word line that is selected: it opens its transistors, or shuts them where they stand in series
    with those of all other lines.
    """
    own = [t for t in specimen.netlist.transistors if t.gate in words]
    opens = 0 if own and all(t.kind is Kind.P for t in own) else 1
    series = any(not {*t.ends} & {*specimen.process.rails} for t in own)
    return 1 - opens if series else opens


def _bits(text: str, key: AddressKey) -> str:
    """Read “0110”, “0 1 1 0”, “a1=1 a0=0”, or for an address its number."""
    pairs = dict(re.findall(r"([A-Za-z_]\w*)\s*[=:]\s*([01])\b", text))
    if pairs:
        if set(pairs) != set(key.names):
            todo = f"give each of {', '.join(key.names)}"
            raise LayoutdrillError(f'"{text}" does not name the bits that are asked', todo=todo)
        return "".join(pairs[name] for name in key.names)
    plain = re.sub(r"[\s,;]+", "", text)
    if re.fullmatch(rf"[01]{{{len(key.names)}}}", plain):
        return plain
    if key.what == "select" and re.fullmatch(r"\d{1,3}", plain) and int(plain) < 1 << len(key.names):
        return f"{int(plain):0{len(key.names)}b}"
    todo = f"type {len(key.names)} of 0 and 1: {' '.join(key.names)}"
    raise LayoutdrillError(f'"{text}" is not what is asked', todo=todo)
