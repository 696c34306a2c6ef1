"""Write the output as an expression of the inputs, in any of the trade's notations."""

from itertools import combinations

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.circuit import (
    MOST_EXPRESSED,
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
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Answer, Question, Specimen, Verdict
from layoutdrill.question.ratioed_words import levels_told
from layoutdrill.question.stepping import Stepping
from layoutdrill.simulate import expression as expressions
from layoutdrill.simulate.minimal import minimal
from layoutdrill.value import value

NOTATION = "Not: !a, a', ~a, /a, NOT a. And: a*b, a b, a & b. Or: a + b, a | b. Exclusive or: a ^ b."
"""The fact that tells how an expression may be written."""
_LONGEST = 1000
"""Characters of an answer: a sum of all products of six inputs is shorter."""
COMPLEMENT_CREDIT = 0.5
"""The complement: the network was read, the inversion missed."""
EXCHANGED_CREDIT = 0.5
"""Two inputs exchanged."""
DUAL_CREDIT = 0.25
"""The dual: series for parallel, or read by the other logic convention."""
ONE_INPUT_CREDIT = 0.25
"""One input taken for its complement."""


@value
class FunctionKey(Key):
    """The inputs, the output, and its truth table as text of 0 and 1, the first input most significant."""

    shown = ("inputs", "output")
    inputs: tuple[str, ...]
    output: str
    levels: str
    opposite: dict[str, str]


class Function(QuestionKind):
    """
    Write the function.

    Full credit for any expression that has the same value in every row. Half for the complement, and where two inputs
    are exchanged; a quarter for the dual (which is what the other logic convention reads), and where one input is taken
    for its complement. Each is named, with a row that shows the difference.
    """

    name = "function"
    title = "Write the function"
    key_type = FunctionKey
    untold = frozenset({Fact.CONTACT, Fact.GATE})
    partly = (
        (COMPLEMENT_CREDIT, "one exchange makes it right"),
        (DUAL_CREDIT, "with 1 and 0 exchanged at some of its pins it is right"),
    )

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        pins = pins_of(specimen) if readable(specimen) else None
        if pins is None or not 1 <= len(pins.free) <= MOST_EXPRESSED or pins.clocks:
            return None
        output = dice.pick(pins.outputs)
        marks = marks_of(specimen, (*pins.inputs, output))
        if marks is None:
            return None
        levels = "".join(str(level) for _, level in rows_of(specimen, pins, output))
        if set(levels) != {"0", "1"}:
            return None
        tied = tuple(f"Input {a} gets the opposite of {b}." for a, b in pins.opposite.items())
        return Question(
            kind=self.name,
            prompt=f"Write {output} as a function of {', '.join(pins.free)}.",
            specimen=specimen,
            choices=(),
            facts=(NOTATION, *tied,
                   *levels_told(specimen.process)),
            marks=marks,
            key=FunctionKey(pins.free, output, levels, dict(pins.opposite)),
            typed=True,
            hints=READ_HINTS,
        )  # fmt: skip

    def needs(self, question: Question) -> frozenset[Fact]:
        return facts_needed(question)

    def stepping(self, question: Question) -> Stepping:
        key = FunctionKey.of(question)
        return Stepping(key.inputs, key.output, key.opposite, (), dict.fromkeys(key.inputs, 0))

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        return any(
            set(column) == {"0", "1"} for column in worked_columns(Undrawn(netlist, process, ports), MOST_EXPRESSED)
        )

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        key = FunctionKey.of(question)
        read_expression(words, key.inputs, key.output)
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        key = FunctionKey.of(question)
        return Answer(simplest(key.levels, key.inputs))

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = FunctionKey.of(question)
        given = levels_of(read_expression(answer.text, key.inputs, key.output), key.inputs)
        full = f"{key.output} = {simplest(key.levels, key.inputs)}"
        wrong = [r for r, (mine, right) in enumerate(zip(given, key.levels, strict=True)) if mine != right]
        row = row_of(key.inputs, wrong[0] if wrong else telling(key.levels))
        decides, names = why(question.specimen, row, key.opposite, key.output)
        if not wrong:
            return Verdict(1.0, f"Right: {full}.", full, decides, names, (key.output,))
        credit, what = near_miss(given, key.levels, key.inputs)
        shown = f"with {row_text(row)} yours gives {given[wrong[0]]}, and it is {key.levels[wrong[0]]}"
        return Verdict(credit, f"{what}: {shown}.", full, decides, names, (key.output,))

    def instead(self, question: Question, answer: Answer) -> str:
        key = FunctionKey.of(question)
        given = levels_of(read_expression(answer.text, key.inputs, key.output), key.inputs)
        row = next(r for r, (mine, right) in enumerate(zip(given, key.levels, strict=True)) if mine != right)
        when = f"with {row_text(row_of(key.inputs, row))}"
        return were(key.output, given[row], key.levels[row], when, question.specimen.process)


def near_miss(given: str, right: str, inputs: tuple[str, ...]) -> tuple[float, str]:
    """Return what a wrong answer earns, and what it is."""
    turned = right.translate(str.maketrans("01", "10"))
    if given == turned:
        return COMPLEMENT_CREDIT, "That is the complement"
    if len(set(given)) == 1:
        return 0.0, "That is always the same"
    for i, j in combinations(range(len(inputs)), 2):
        if given == permuted(right, len(inputs), {i: j, j: i}):
            return EXCHANGED_CREDIT, f"Right, were {inputs[i]} and {inputs[j]} exchanged"
    if given == turned[::-1]:
        return DUAL_CREDIT, "That is the dual, as the other logic convention reads it, or series taken for parallel"
    if given == right[::-1]:
        return DUAL_CREDIT, "Every input is taken for its complement"
    for at, name in enumerate(inputs):
        bit = 1 << (len(inputs) - 1 - at)
        if given == "".join(right[r ^ bit] for r in range(len(right))):
            return ONE_INPUT_CREDIT, f"Right, were {name} its complement"
    return 0.0, "Not so"


def permuted(levels: str, count: int, to: dict[int, int]) -> str:
    """Return the levels with inputs taken for others; inputs count from the most significant."""
    places = [to.get(at, at) for at in range(count)]
    return "".join(
        levels[sum((r >> (count - 1 - places[at]) & 1) << (count - 1 - at) for at in range(count))]
        for r in range(len(levels))
    )


def row_of(inputs: tuple[str, ...], number: int) -> dict[str, int]:
    """Return the levels of the inputs in a row of a table."""
    return {name: number >> (len(inputs) - 1 - at) & 1 for at, name in enumerate(inputs)}


def telling(levels: str) -> int:
    """Return the row that says most: the first with the rarer level."""
    return levels.index(min("01", key=levels.count))


def simplest(levels: str, inputs: tuple[str, ...]) -> str:
    """Return a shortest sum of products that has these levels."""
    ones = sum((level == "1") << r for r, level in enumerate(levels))
    return expressions.text(minimal(ones, inputs))


def levels_of(expression: expressions.Expression, inputs: tuple[str, ...]) -> str:
    """Return an expression's truth table, counting up, the first input most significant."""
    mask = expressions.truth(expression, inputs)
    return "".join(str(mask >> r & 1) for r in range(1 << len(inputs)))


def read_expression(text: str, inputs: tuple[str, ...], output: str) -> expressions.Expression:
    """
    Read an expression, with or without the output before it; a stroke before a name or parenthesis is a not. Raises
    LayoutdrillError, with the column, for what is none.
    """
    if len(text) > _LONGEST:
        raise LayoutdrillError(f"an expression of {len(text)} characters", todo=f"write it in at most {_LONGEST}")
    equation = expressions.parse_equation(text.replace("/", "!"), inputs)
    if equation.name and equation.name.lower() != output.lower():
        raise LayoutdrillError(f"{equation.name} is not asked", todo=f"write {output} = …, or the expression alone")
    return equation.expression
