"""Read the same circuit with the senses of the supplies exchanged: what it does where 1 is the low level."""

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
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
from layoutdrill.question.function import (
    EXCHANGED_CREDIT,
    NOTATION,
    levels_of,
    near_miss,
    read_expression,
    row_of,
    simplest,
    telling,
)
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Answer, Question, Specimen, Verdict
from layoutdrill.question.stepping import Stepping
from layoutdrill.value import value

USUAL_CREDIT = 0.25
"""Read as ever, with 1 the high level: the circuit was read, the question was not."""
HALF_WAY_CREDIT = 0.5
"""The sense of the inputs exchanged and not that of the output, or the other way round."""


@value
class ConventionKey(Key):
    """
    The inputs, the output, and its truth table where 1 is the low level, the first input most significant; inputs that
    get the opposite of another.
    """

    shown = ("inputs", "output")
    inputs: tuple[str, ...]
    output: str
    levels: str
    opposite: dict[str, str]


class Convention(QuestionKind):
    """
    Write the function by the other logic convention.

    It is the dual of the usual one: NAND and NOR change places. Full credit by equivalence. Half where only inputs, or
    only the output, were exchanged, and where two inputs are taken for each other; a quarter for the usual reading.
    Each is named, with a row that shows the difference.
    """

    name = "other convention"
    title = "Read it by the other convention"
    key_type = ConventionKey
    untold = frozenset({Fact.CONTACT, Fact.GATE})
    partly = (
        (HALF_WAY_CREDIT, "one exchange makes it right"),
        (USUAL_CREDIT, "it is right by the usual convention"),
    )

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        pins = pins_of(specimen) if readable(specimen) else None
        if pins is None or not 1 <= len(pins.free) <= MOST_EXPRESSED or pins.clocks:
            return None
        output = dice.pick(pins.outputs)
        marks = marks_of(specimen, (*pins.inputs, output))
        if marks is None:
            return None
        usual = "".join(str(level) for _, level in rows_of(specimen, pins, output))
        if set(usual) != {"0", "1"} or dual(usual) == usual:
            return None
        low, high = specimen.process.supplies
        tied = tuple(f"Input {a} gets the opposite of {b}." for a, b in pins.opposite.items())
        sense = f"Here 1 is the level near {low}, and 0 that near {high}, for inputs and outputs alike."
        return Question(
            kind=self.name,
            prompt=f"By the other convention, with 1 for low: write {output} as a function of {', '.join(pins.free)}.",
            specimen=specimen,
            choices=(),
            facts=(sense, NOTATION, *tied),
            marks=marks,
            key=ConventionKey(pins.free, output, dual(usual), dict(pins.opposite)),
            typed=True,
            hints=READ_HINTS,
        )

    def needs(self, question: Question) -> frozenset[Fact]:
        return facts_needed(question)

    def stepping(self, question: Question) -> Stepping:
        key = ConventionKey.of(question)
        return Stepping(key.inputs, key.output, key.opposite, (), dict.fromkeys(key.inputs, 0))

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        columns = [
            column
            for column in worked_columns(Undrawn(netlist, process, ports), MOST_EXPRESSED)
            if set(column) == {"0", "1"}
        ]
        return any(dual(column) != column for column in columns)

    def accept(self, question: Question, text: str) -> Answer:
        words, key = nonempty(text), ConventionKey.of(question)
        read_expression(words, key.inputs, key.output)
        return Answer(words)

    def instead(self, question: Question, answer: Answer) -> str:
        key = ConventionKey.of(question)
        given = levels_of(read_expression(answer.text, key.inputs, key.output), key.inputs)
        row = next(r for r, (mine, right) in enumerate(zip(given, key.levels, strict=True)) if mine != right)
        volts = {name: 1 - bit for name, bit in row_of(key.inputs, row).items()}
        mine, right = (str(1 - int(levels[row])) for levels in (given, key.levels))
        return were(key.output, mine, right, f"by voltage, with {row_text(volts)}", question.specimen.process)

    def solution(self, question: Question) -> Answer:
        key = ConventionKey.of(question)
        return Answer(simplest(key.levels, key.inputs))

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = ConventionKey.of(question)
        given = levels_of(read_expression(answer.text, key.inputs, key.output), key.inputs)
        full = f"{key.output} = {simplest(key.levels, key.inputs)}"
        wrong = [r for r, (mine, right) in enumerate(zip(given, key.levels, strict=True)) if mine != right]
        row = row_of(key.inputs, wrong[0] if wrong else telling(key.levels))
        level = key.levels[wrong[0] if wrong else telling(key.levels)]
        volts = {name: 1 - bit for name, bit in row.items()}
        decides, names = why(question.specimen, volts, key.opposite, key.output)
        says = f"By voltage, 1 for high: {decides} By the other convention that row reads {row_text(row)}: {level}."
        if not wrong:
            return Verdict(1.0, f"Right: {full}.", full, says, names, (key.output,))
        credit, what = _near(given, key)
        shown = f"with {row_text(row)} yours gives {given[wrong[0]]}, and it is {level}"
        return Verdict(credit, f"{what}: {shown}.", full, says, names, (key.output,))


def dual(levels: str) -> str:
    """Return the levels of a function's dual: every input and the output the other way round."""
    return _turned(levels)[::-1]


def _turned(levels: str) -> str:
    return levels.translate(str.maketrans("01", "10"))


def _near(given: str, key: ConventionKey) -> tuple[float, str]:
    """Return what a wrong answer earns, and what it is."""
    usual = dual(key.levels)
    if given == usual:
        return USUAL_CREDIT, "That is the usual reading, with 1 for high"
    if given == _turned(usual):
        return HALF_WAY_CREDIT, "Only the output's sense is exchanged, not that of the inputs"
    if given == usual[::-1]:
        return HALF_WAY_CREDIT, "Only the inputs' senses are exchanged, not that of the output"
    credit, what = near_miss(given, key.levels, key.inputs)
    return (credit, what) if credit == EXCHANGED_CREDIT else (0.0, "Not so")
