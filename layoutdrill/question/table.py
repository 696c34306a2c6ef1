"""Fill in the truth table of the circuit shown, with floating and fighting levels as entries."""

import re

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.circuit import (
    LETTERS,
    MOST_TABULATED,
    READ_HINTS,
    Undrawn,
    facts_needed,
    marks_of,
    pins_of,
    readable,
    row_text,
    rows_of,
    were,
    why,
    worked_columns,
)
from layoutdrill.question.function import permuted, row_of
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Answer, Grid, Question, Specimen, Verdict
from layoutdrill.question.ratioed_words import levels_told
from layoutdrill.question.stepping import Stepping
from layoutdrill.value import value

_MOST_NAMED = 3
"""More wrong rows than this are counted, not listed."""
_ROW = re.compile(r"([01]+)\s*[:=]\s*([01zx?!f-])")


@value
class TableKey(Key):
    """
    The free inputs in the order of the rows, inputs that get the opposite of another, the output, and its level in each
    row, counting up: 0, 1, z (floating) or x (fighting).
    """

    shown = ("inputs", "output")
    inputs: tuple[str, ...]
    output: str
    levels: str
    opposite: dict[str, str]


class Table(QuestionKind):
    """
    Fill in a truth table.

    Credit: the share of the rows that are right, less the share that are wrong, never below 0; a row left open or
    marked ? counts neither way. An answer that is right for a known mistake (every row the other way, two inputs
    exchanged, the dual) is told so.
    """

    name = "table"
    title = "Fill in the truth table"
    key_type = TableKey
    untold = frozenset({Fact.CONTACT, Fact.GATE})

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        pins = pins_of(specimen) if readable(specimen) else None
        if pins is None or not 1 <= len(pins.free) <= MOST_TABULATED or pins.clocks:
            return None
        output = dice.pick(pins.outputs)
        marks = marks_of(specimen, (*pins.inputs, output))
        if marks is None:
            return None
        rows = rows_of(specimen, pins, output)
        levels = "".join(LETTERS[level] for _, level in rows)
        if "?" in levels or len(set(levels)) == 1:
            return None
        tied = tuple(f"Input {a} gets the opposite of {b}." for a, b in pins.opposite.items())
        grid = Grid((*pins.free, output), tuple(tuple(str(v) for v in row.values()) for row, _ in rows), "01zx?")
        return Question(
            kind=self.name,
            prompt=f"Which level has {output} in each row? Fill in the table, or type the levels in its order.",
            specimen=specimen,
            choices=(),
            facts=(f"Rows count up, {' '.join(pins.free)}. z: floating; x: fighting; ?: not known.", *tied,
                   *levels_told(specimen.process)),
            marks=marks,
            key=TableKey(pins.free, output, levels, dict(pins.opposite)),
            hints=READ_HINTS,
            grid=grid,
        )  # fmt: skip

    def needs(self, question: Question) -> frozenset[Fact]:
        return facts_needed(question)

    def stepping(self, question: Question) -> Stepping:
        key = TableKey.of(question)
        return Stepping(key.inputs, key.output, key.opposite, (), dict.fromkeys(key.inputs, 0))

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        return bool(worked_columns(Undrawn(netlist, process, ports), MOST_TABULATED))

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        _read(words, TableKey.of(question))
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        return Answer(TableKey.of(question).levels)

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key, specimen = TableKey.of(question), question.specimen
        given = _read(answer.text, key)
        wrong = [r for r, (mine, right) in enumerate(zip(given, key.levels, strict=True)) if mine not in (right, "?")]
        hits = sum(mine == right for mine, right in zip(given, key.levels, strict=True))
        total = len(key.levels)
        full = f"{key.output} = {key.levels}"
        shown = wrong[0] if wrong else next((r for r, level in enumerate(given) if level == "?"), _telling(key.levels))
        decides, names = why(specimen, row_of(key.inputs, shown), key.opposite, key.output)
        if hits == total:
            return Verdict(1.0, f"Right: {full}.", full, decides, names, (key.output,))
        credit = max(0.0, round((hits - len(wrong)) / total, 3))
        rows = [f"{row_text(row_of(key.inputs, r))} gives {_word(key.levels[r])}, not {_word(given[r])}" for r in wrong]
        more = f"; and {len(rows) - _MOST_NAMED} more" if len(rows) > _MOST_NAMED else ""
        mistake = known_mistake(given, key.levels, key.inputs)
        said = f"{hits} of {total} rows right"
        if rows:
            said += f"; {'; '.join(rows[:_MOST_NAMED])}{more}"
        return Verdict(credit, f"{mistake or 'Not quite'}: {said}.", full, decides, names, (key.output,))

    def instead(self, question: Question, answer: Answer) -> str:
        key = TableKey.of(question)
        given = _read(answer.text, key)
        wrong = [r for r, (mine, right) in enumerate(zip(given, key.levels, strict=True)) if mine not in (right, "?")]
        if not wrong:
            return f"Rows left open are not known only where no way is sure; here each row gives {key.output} a level."
        row = wrong[0]
        when = f"with {row_text(row_of(key.inputs, row))}"
        return were(key.output, given[row], key.levels[row], when, question.specimen.process)


def _telling(levels: str) -> int:
    """Return the row that says most: the first with the rarer level."""
    rarest = min(set(levels), key=lambda level: (levels.count(level), level))
    return levels.index(rarest)


def _word(level: str) -> str:
    return {"z": "floating", "x": "a fight"}.get(level, level)


def _read(text: str, key: TableKey) -> str:
    """Read “0 1 1 1”, “0111” or “00:0 01:1” into a level for each row, ? for those that are left open."""
    total = 1 << len(key.inputs)
    lower = text.lower().replace("!", "x").replace("f", "z").replace("-", "?")
    pairs = _ROW.findall(lower)
    if pairs:
        levels = ["?"] * total
        for row, level in pairs:
            if len(row) != len(key.inputs):
                todo = f"write {len(key.inputs)} of 0 and 1 before the colon"
                raise LayoutdrillError(f'"{row}" is no row of {" ".join(key.inputs)}', todo=todo)
            levels[int(row, 2)] = level
        return "".join(levels)
    plain = re.sub(r"[\s,;|/]+", "", lower)
    if not re.fullmatch(r"[01zx?]+", plain):
        raise LayoutdrillError(f'"{text}" is no column of a table', todo="type 0, 1, z, x or ? for each row")
    if len(plain) > total:
        raise LayoutdrillError(f"{len(plain)} levels for {total} rows", todo="type one for each row")
    if set(plain) == {"?"}:
        raise LayoutdrillError("no row is filled in", todo="type 0, 1, z or x for at least one row")
    return plain.ljust(total, "?")


def known_mistake(given: str, right: str, inputs: tuple[str, ...]) -> str:
    """Name what an answer would be right for, "" where it is no known mistake."""
    if "?" in given:
        return ""
    turned = right.translate(str.maketrans("01", "10"))
    if given == turned:
        return "Every row the other way round"
    if given == turned[::-1]:
        return "That is the dual, with series and parallel (or the rails) exchanged"
    for i in range(len(inputs)):
        for j in range(i):
            if given == permuted(right, len(inputs), {i: j, j: i}):
                return f"Right, were {inputs[j]} and {inputs[i]} exchanged"
    return ""
