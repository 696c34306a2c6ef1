"""Which address selects this line; and what is read from this word, or these inputs?"""

import re

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.circuit import (
    Pins,
    Undrawn,
    facts_needed,
    marks_of,
    pins_of,
    remembers,
    row_text,
    rows_of,
    settled_levels,
    values_of,
    were,
    why,
)
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Answer, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.ratioed_words import levels_told
from layoutdrill.simulate.settle import settle
from layoutdrill.value import value

MOST_TRANSISTORS = 150
MOST_INPUTS = 6
_STEPS = (HintStep.RAILS, HintStep.LIFT_METAL, HintStep.DEVICES, HintStep.NETS)
REVERSED_CREDIT = 0.5
"""All bits, but read from the other end."""


@value
class AddressKey(Key):
    """
    What is asked (`select` for an address, `word` for what is stored, `read` for what comes out), the names of the bits
    in their order, the bits, and the inputs that are set when the answer can be seen.
    """

    told = ("what", "names")
    what: str
    names: tuple[str, ...]
    bits: str
    row: dict[str, int]
    output: str


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
        if specimen.frame is not None or not 4 <= specimen.netlist.count() <= MOST_TRANSISTORS:
            return None
        pins = pins_of(specimen)
        if pins is None or pins.opposite or pins.clocks or len(pins.inputs) < 2:
            return None
        roles = {port.name: port.role for port in specimen.ports}
        if all(roles.get(name) is Role.WORD_LINE for name in pins.inputs):
            return _word(specimen, pins, dice)
        if len(pins.inputs) > MOST_INPUTS:
            return None
        addressed = all(roles.get(name) is Role.ADDRESS for name in pins.inputs)
        return _select(specimen, pins, dice) if addressed else _read_out(specimen, pins, dice)

    def needs(self, question: Question) -> frozenset[Fact]:
        return facts_needed(question)

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        circuit = Undrawn(netlist, process, ports)
        pins = pins_of(circuit) if 4 <= netlist.count() <= MOST_TRANSISTORS else None
        if pins is None or pins.opposite or pins.clocks or len(pins.inputs) < 2:
            return False
        roles = {port.name: port.role for port in ports}
        if all(roles.get(name) is Role.WORD_LINE for name in pins.inputs):
            return len(pins.outputs) > 1
        if len(pins.inputs) > MOST_INPUTS:
            return False
        if all(roles.get(name) is Role.ADDRESS for name in pins.inputs):
            columns = settled_levels(circuit, pins)
            return any(1 in (column.count("0"), column.count("1")) for column in columns)
        return len(pins.outputs) > 1 and not remembers(circuit, pins, pins.outputs)

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
        decides, names = why(question.specimen, key.row, {}, shown)
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

    def instead(self, question: Question, answer: Answer) -> str:
        key, specimen = AddressKey.of(question), question.specimen
        given = _bits(answer.text, key)
        if key.what != "select":
            at = _first_wrong(given, key.bits)
            when = f"with {row_text(key.row)}"
            return were(key.names[at], given[at], key.bits[at], when, specimen.process)
        row = {name: int(bit) for name, bit in zip(key.names, given, strict=True)}
        level = settle(specimen.netlist, row, supplies=values_of(specimen.process, specimen.netlist)).level(key.output)
        return f"Were it {given}, the line at X would stand out there; with {row_text(row)} it is {level}, as at most."


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


def _select(specimen: Specimen, pins: Pins, dice: Dice) -> Question | None:
    """Ask for the address at which one output, marked X and not by its name, stands out from all other addresses."""
    outputs = dice.shuffled(pins.outputs)
    for output in outputs:
        rows = rows_of(specimen, pins, output)
        alone = [row for row, level in rows if sum(level is other for _, other in rows) == 1]
        if len(alone) != 1 or not all(level.known for _, level in rows):
            continue
        named, lettered = marks_of(specimen, pins.inputs), marks_of(specimen, (output,))
        if named is None or lettered is None:
            return None
        bits = "".join(str(alone[0][name]) for name in pins.inputs)
        key = AddressKey("select", pins.inputs, bits, alone[0], output)
        marks = (*named, Mark("X", lettered[0].x, lettered[0].y))
        order = " ".join(pins.inputs)
        return _question(specimen, key, f"Which address selects the line at X? Type {order}, as 0 and 1.", (), marks)
    return None


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
    told = f"The word line at X is at {selects}, all others are at {1 - selects}."
    order = " ".join(pins.outputs)
    marks = (Mark("X", lettered[0].x, lettered[0].y), *named)
    return _question(specimen, key, f"What is read from the word at X? Type {order}, as 0 and 1.", (told,), marks)


def _read_out(specimen: Specimen, pins: Pins, dice: Dice) -> Question | None:
    """Ask what comes out of a plane for one row of its inputs; not of what remembers, whose past no row tells."""
    if len(pins.outputs) < 2 or remembers(specimen, pins, pins.outputs):
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


def _selecting_level(specimen: Specimen, words: tuple[str, ...]) -> int:
    """Return the level that opens the transistors of a word line."""
    kinds = [t.kind for t in specimen.netlist.transistors if t.gate in words]
    return 0 if kinds and all(kind is Kind.P for kind in kinds) else 1


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
