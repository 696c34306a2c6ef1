"""Clock it through: which level has the output of a circuit with memory after each step?"""

import re
from dataclasses import field

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.circuit import (
    LETTERS,
    MOST_DRIVEN,
    MOST_READ,
    READ_HINTS,
    Pins,
    Undrawn,
    facts_needed,
    marks_of,
    pins_of,
    readable,
    remembers,
    values_of,
    were,
)
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Answer, Grid, Question, Specimen, Verdict
from layoutdrill.question.ratioed_words import levels_told
from layoutdrill.question.stepping import Stepping
from layoutdrill.simulate.sequence import sequence
from layoutdrill.value import value

STEPS = 9
_TRIES = 24
_MOST_UNKNOWN = 4
"""At most so many steps at the start may leave the output unknown."""
_MOST_NAMED = 3

Rows = tuple[tuple[int, ...], ...]


@value
class SequenceKey(Key):
    """
    The inputs, their levels at each step (as text of 0 and 1), the output, and its level after each step: 0, 1, z, or ?
    while nobody can know it. `mistakes` are the levels that known mistakes give, by what they are.
    """

    shown = ("inputs", "steps", "output")
    inputs: tuple[str, ...]
    steps: tuple[str, ...]
    output: str
    levels: str
    mistakes: dict[str, str]
    clocks: tuple[str, ...] = ()
    opposite: dict[str, str] = field(default_factory=dict)


class Sequence(QuestionKind):
    """
    Give the output for a drawn sequence of inputs.

    Credit: the share of the steps that are right, less the share that are wrong, never below 0; steps before anything
    can be known do not count. What the same circuit would do with its clock the other way round, or as a mere wire, is
    named.
    """

    name = "sequence"
    title = "Clock it through"
    key_type = SequenceKey
    untold = frozenset({Fact.CONTACT, Fact.GATE})

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        pins = pins_of(specimen) if readable(specimen) else None
        if pins is None or not 2 <= len(pins.free) <= MOST_DRIVEN:
            return None
        output = dice.pick(pins.outputs)
        marks = marks_of(specimen, (*pins.inputs, output))
        if marks is None:
            return None
        if not remembers(specimen, pins, (output,)):
            return None
        for _ in range(_TRIES):
            rows = _stimulus(len(pins.free), dice)
            levels = _levels(specimen, pins, rows, output)
            if _telling(rows, levels):
                return self._question(specimen, pins, rows, output, levels)
        return None

    def _question(self, specimen: Specimen, pins: Pins, rows: Rows, output: str, levels: str) -> Question:
        marks = marks_of(specimen, (*pins.inputs, output))
        assert marks is not None
        steps = tuple("".join(map(str, row)) for row in rows)
        tied = tuple(f"Input {a} always has the opposite of {b}." for a, b in pins.opposite.items())
        return Question(
            kind=self.name,
            prompt=f"Clock it through: which level has {output} after each step? ? while it is not known.",
            specimen=specimen,
            choices=(),
            facts=(f"Steps {' '.join(pins.free)}: {' '.join(steps)}. At the start nothing is stored.", *tied,
                   *levels_told(specimen.process)),
            marks=marks,
            key=SequenceKey(pins.free, steps, output, levels, _mistakes(specimen, pins, rows, output, levels),
                            pins.clocks, dict(pins.opposite)),
            hints=READ_HINTS,
            grid=Grid((*pins.free, output), tuple(tuple(step) for step in steps), "01zx?"),
        )  # fmt: skip

    def needs(self, question: Question) -> frozenset[Fact]:
        return facts_needed(question)

    def stepping(self, question: Question) -> Stepping:
        key = SequenceKey.of(question)
        first, *rest = (dict(zip(key.inputs, map(int, step), strict=True)) for step in key.steps)
        return Stepping(key.inputs, key.output, key.opposite, key.clocks, first, tuple(rest))

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        circuit = Undrawn(netlist, process, ports)
        pins = pins_of(circuit)
        if pins is None or not 1 <= netlist.count() <= MOST_READ or not 2 <= len(pins.free) <= MOST_DRIVEN:
            return False
        return any(remembers(circuit, pins, (output,)) for output in pins.outputs)

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        _read(words, SequenceKey.of(question))
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        return Answer(SequenceKey.of(question).levels)

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = SequenceKey.of(question)
        given = _read(answer.text, key)
        counted = [at for at, level in enumerate(key.levels) if level != "?"]
        hits = [at for at in counted if given[at] == key.levels[at]]
        early = [at for at, level in enumerate(key.levels) if level == "?" and given[at] != "?"]
        wrong = [at for at in counted if given[at] not in (key.levels[at], "?")]
        full = f"{key.output} = {key.levels}"
        decides = _decides(key)
        nets = (key.output,)
        if len(hits) == len(counted) and not early:
            return Verdict(1.0, f"Right: {full}.", full, decides, (), nets)
        share = (len(hits) - len(wrong)) / len(counted)
        credit = max(0.0, min(0.95, round(share, 3)))
        named = next((what for what, levels in key.mistakes.items() if levels == given), "")
        parts = [f"{len(hits)} of {plural(len(counted), 'step')} right"]
        parts += [f"after step {at + 1} ({_step(key, at)}) {key.output} is {key.levels[at]}, not {given[at]}"
                  for at in wrong[:_MOST_NAMED]]  # fmt: skip
        if early:
            parts.append(f"before step {counted[0] + 1} nothing is stored, and {key.output} cannot be known")
        return Verdict(credit, f"{named or 'Not quite'}: {'; '.join(parts)}.", full, decides, (), nets)

    def instead(self, question: Question, answer: Answer) -> str:
        key = SequenceKey.of(question)
        given = _read(answer.text, key)
        wrong = [at for at, (mine, right) in enumerate(zip(given, key.levels, strict=True)) if mine != right]
        at = next((at for at in wrong if given[at] != "?"), wrong[0])
        if given[at] == "?":
            return f"Were {key.output} not known after step {at + 1}, no way to the store would have conducted yet."
        if key.levels[at] == "?":
            return (
                f"Were {key.output} {given[at]} after step {at + 1}, a way to the store would have conducted by then."
            )
        before = key.levels[at - 1] if at else "?"
        if given[at] == before:
            return f"Were {key.output} still {before} after step {at + 1}, no way would have conducted in that step."
        when = f"after step {at + 1} ({_step(key, at)})"
        return were(key.output, given[at], key.levels[at], when, question.specimen.process)


def _stimulus(count: int, dice: Dice) -> Rows:
    """Return steps of which each changes one input."""
    row = [dice.below(2) for _ in range(count)]
    rows = [tuple(row)]
    last = -1
    while len(rows) < STEPS:
        at = dice.below(count)
        if at == last and dice.chance(60):
            continue
        row[at] = 1 - row[at]
        last = at
        rows.append(tuple(row))
    return tuple(rows)


def _levels(specimen: Specimen, pins: Pins, rows: Rows, output: str) -> str:
    """Return the level of the output after each step, from a start at which nothing is stored."""
    netlist = specimen.netlist
    given = [dict(zip(pins.free, row, strict=True)) for row in rows]
    steps = [step | {a: 1 - step[b] for a, b in pins.opposite.items()} for step in given]
    states = sequence(netlist, steps, values_of(specimen.process, netlist))
    return "".join(LETTERS[state.level(output)] for state in states)


def _telling(rows: Rows, levels: str) -> bool:
    """
    Tell whether the output shows memory: the same inputs with both levels, all known but at the start, and something
    happening.
    """
    known = levels.lstrip("?")
    if len(levels) - len(known) > _MOST_UNKNOWN or set(known) - {"0", "1"} or len(set(known)) < 2:
        return False
    seen: dict[tuple[int, ...], set[str]] = {}
    for row, level in zip(rows, levels, strict=True):
        seen.setdefault(row, set()).add(level)
    return any({"0", "1"} <= kept for kept in seen.values())


def _mistakes(specimen: Specimen, pins: Pins, rows: Rows, output: str, right: str) -> dict[str, str]:
    """Return the levels that known mistakes give: each control the other way round, a wire, the opposite."""
    mistakes: dict[str, str] = {}
    for at, name in enumerate(pins.free):
        turned = tuple((*row[:at], 1 - row[at], *row[at + 1 :]) for row in rows)
        mistakes[f"Right, were {name} the other way round"] = _levels(specimen, pins, turned, output)
        if name not in pins.clocks:
            through = "".join(str(row[at]) for row in rows)
            mistakes[f"That is {name} itself: a store keeps it"] = through
    mistakes["Every level the other way round"] = right.translate(str.maketrans("01", "10"))
    return {what: levels for what, levels in mistakes.items() if levels != right}


def _decides(key: SequenceKey) -> str:
    """Say at which steps the output changes, and what changed there."""
    changes = []
    for at in range(1, len(key.levels)):
        if key.levels[at - 1 : at + 1] in ("01", "10"):
            moved = next(i for i in range(len(key.inputs)) if key.steps[at][i] != key.steps[at - 1][i])
            what = "rises" if key.steps[at][moved] == "1" else "falls"
            changes.append(f"when {key.inputs[moved]} {what} (step {at + 1}) it becomes {key.levels[at]}")
    return f"The store keeps its level until a way to it conducts: {'; '.join(changes)}."


def _step(key: SequenceKey, at: int) -> str:
    return " ".join(f"{name}={level}" for name, level in zip(key.inputs, key.steps[at], strict=True))


def _read(text: str, key: SequenceKey) -> str:
    """Read a level for each step; those that are left out at the end are open."""
    plain = re.sub(r"[\s,;|/]+", "", text.lower().replace("!", "x").replace("-", "?"))
    if not re.fullmatch(r"[01zx?]+", plain):
        raise LayoutdrillError(f'"{text}" is no column of levels', todo="type 0, 1, z, x or ? for each step")
    if len(plain) > len(key.steps):
        what = f"{len(plain)} levels for {plural(len(key.steps), 'step')}"
        raise LayoutdrillError(what, todo="type one for each step")
    if set(plain) == {"?"}:
        raise LayoutdrillError("no step is filled in", todo="type 0 or 1 for at least one step")
    return plain.ljust(len(key.steps), "?")
