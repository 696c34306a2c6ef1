"""Hold a log of the board against the die: say what it gives, find where a log differs, and which fault explains it."""

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from layoutdrill.cells.chips import Story
from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.block.kind import LEAST
from layoutdrill.question.board_log.run import UNKNOWN, first_difference, log_of, row_lines, story_of, without
from layoutdrill.question.choices import LETTERS, blank, letter_of, nonempty, unanswered
from layoutdrill.question.die_plan import DiePlan, die_plan
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, Grid, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.recognise.model import Structure
from layoutdrill.value import value

MARKS = "PQRS"
ROW_CREDIT = 0.5
"""The first row that differs, with another pin or none."""
_TRIED = 60
"""Transistors that are taken away one after another until enough of them show in the log."""
_HINTS = hints((HintStep.RAILS, HintStep.DEVICES), {HintStep.RAILS: 0.1, HintStep.DEVICES: 0.1})

Log = tuple[dict[str, str], ...]


@value
class BoardLogKey(Key):
    """
    What is asked (column, row, cause); the right letter or text; `levels` are those of `pin` after each row, `row` the
    first row that differs and `pins` where; `would` says of each wrong choice what its log would show.
    """

    shown = ("what", "choices")
    what: str
    right: str
    decides: str
    pin: str = ""
    levels: str = ""
    row: int = 0
    pins: tuple[str, ...] = ()
    known: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()
    places: tuple[tuple[int, int], ...] = ()
    would: dict[str, str] | None = None


@value
class _Run:
    """A die with what its board does, its pins, and its log."""

    specimen: Specimen
    plan: DiePlan
    story: Story
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    sound: Log

    def log(self, dead: Sequence[str]) -> Log:
        netlist = without(self.specimen.netlist, dead)
        return log_of(netlist, self.specimen.process, self.story, self.inputs, self.outputs)


@value
class _Fault:
    """A transistor that never opens: its fingers, the part that it stands in, and what the log then shows."""

    names: tuple[str, ...]
    term: str
    log: Log
    row: int
    pins: tuple[str, ...]


class BoardLog(QuestionKind):
    """
    Hold a log of the board against the die.

    Levels and faults come from the die's own transistors, simulated. A column earns the share of the rows that are
    right, less that of those that are wrong; the first row that differs earns half, with a pin at which it does all; of
    four transistors one is right.
    """

    name = "board log"
    title = "Hold a log against the die"
    group = Group.WORK
    key_type = BoardLogKey
    partly = ((ROW_CREDIT, "the row is right, the pin is not"),)
    whole_die = True

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        run = _run(specimen)
        for what in dice.shuffled(list(_ASKS)) if run is not None else ():
            assert run is not None
            question = _ASKS[what](self, run, dice)
            if question is not None:
                return question
        return None

    def ask_for(self, what: str, specimen: Specimen, dice: Dice) -> Question | None:
        run = _run(specimen) if what in _ASKS else None
        return None if run is None else _ASKS[what](self, run, dice)

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        glass = any(layer.role == "glass-opening" for layer in process.layers.values())
        return glass and len(netlist.transistors) >= LEAST

    def subject(self, question: Question) -> str:
        return "logs"

    def needs(self, question: Question) -> frozenset[Fact]:
        return frozenset({Fact.CONTACT, Fact.GATE, Fact.UNDER_METAL})

    def in_sight(self, question: Question) -> tuple[Rect, ...]:
        return (question.specimen.face.box,)

    def accept(self, question: Question, text: str) -> Answer:
        key, words = BoardLogKey.of(question), nonempty(text)
        if key.what == "column":
            _column(words, key)
        elif key.what == "row":
            _row_and_pin(words, key)
        elif _chosen(words, key.choices) is None:
            raise LayoutdrillError(f'"{words}" is none of the choices', todo="type a, b, c or d")
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        key = BoardLogKey.of(question)
        return Answer(LETTERS[key.choices.index(key.right)] if key.choices else key.right)

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = BoardLogKey.of(question)
        if key.what == "column":
            credit, said = _column_credit(key, _column(answer.text, key))
        elif key.what == "row":
            credit, said = _row_credit(key, answer.text)
        else:
            right = _chosen(answer.text, key.choices) == key.right
            credit, said = float(right), f"{'Right' if right else 'Not so'}: {key.right}."
        return Verdict(credit, said, key.right, key.decides, places=key.places)

    def instead(self, question: Question, answer: Answer) -> str:
        key = BoardLogKey.of(question)
        if key.what == "column":
            given = _column(answer.text, key)
            pairs = zip(given, key.levels, strict=True)
            at = next(n for n, (mine, right) in enumerate(pairs, 1) if mine != right)
            return f"In row {at} {key.pin} would be {given[at - 1]}; it is {_level_said(key.levels[at - 1])} there."
        if key.what == "row":
            row, pin = _row_and_pin(answer.text, key)
            if row < key.row:
                return f"Row {row} is what this die gives, at every pin."
            if row > key.row:
                return f"Row {row} comes after one that is not what this die gives already."
            return f"In row {row} {pin or 'no pin'} is as it should be; the difference is at {' and '.join(key.pins)}."
        choice = _chosen(answer.text, key.choices) or ""
        return (key.would or {}).get(choice, key.decides)

    def column(self, run: _Run, dice: Dice) -> Question | None:
        """Ask for the levels of one output in the rows of a log."""
        telling = [p for p in run.outputs if len({row[p] for row in run.sound} - {UNKNOWN}) == 2]
        changing = [p for p in telling if _changes([row[p] for row in run.sound]) > 1] or telling
        if not changing:
            return None
        pin = dice.pick(changing)
        levels = "".join(row[pin] for row in run.sound)
        turns = [n for n in range(1, len(levels)) if levels[n] != levels[n - 1]]
        decides = f"{pin} changes in row{'s' * (len(turns) > 1)} {', '.join(str(n + 1) for n in turns)}."
        key = BoardLogKey("column", levels, decides, pin=pin, levels=levels, known=run.outputs)
        lines = row_lines(run.story, run.sound, pin)
        prompt = f"A log of the board, without {pin}. Which level has {pin} after each row? {UNKNOWN} while not known."
        grid = Grid(("row", pin), tuple((str(n),) for n in range(1, len(levels) + 1)), f"01{UNKNOWN}")
        return _question(run, prompt, key, (*_how(run.story), *lines), grid=grid)

    def row(self, run: _Run, dice: Dice) -> Question | None:
        """Show the log of a board whose chip has a fault, and ask for the first row that this die would not give."""
        faults = _faults(run, dice, 1)
        if not faults:
            return None
        fault = faults[0]
        right = f"{fault.row} {fault.pins[0]}"
        sound = run.sound[fault.row - 1]
        decides = "; ".join(f"in row {fault.row} {p} would be {sound[p]} of a sound die" for p in fault.pins)
        key = BoardLogKey("row", right, f"{decides}.", row=fault.row, pins=fault.pins, known=run.outputs)
        prompt = (
            "Another board with this chip has one fault: its log. Which is the first row that this die would not give, "
            "and at which output? Type both, such as 3 Q0."
        )
        asked = _question(run, prompt, key, (*_how(run.story), *row_lines(run.story, fault.log)))
        return replace(asked, typed=True)

    def cause(self, run: _Run, dice: Dice) -> Question | None:
        """Show such a log, and ask which of four transistors, were it dead, explains it."""
        faults = _faults(run, dice, len(MARKS))
        if len(faults) < len(MARKS):
            return None
        fault = faults[0]
        order = dice.shuffled(faults)
        said = {letter: f"{letter} explains it" for letter in MARKS}
        lettered = dict(zip(MARKS, order, strict=True))
        letter = next(letter for letter, own in lettered.items() if own is fault)
        would = {
            said[mark]: f"With {mark} dead, in the {own.term}, the log would first differ in row {own.row}, at "
            f"{' and '.join(own.pins)}."
            for mark, own in lettered.items()
            if own is not fault
        }
        channels = {mark: run.specimen.extraction.channel(own.names[0])[0] for mark, own in lettered.items()}
        decides = (
            f"{letter} belongs to the {fault.term}: without it, row {fault.row} is the first that differs, at "
            f"{' and '.join(fault.pins)}."
        )
        key = BoardLogKey(
            "cause", said[letter], decides, choices=tuple(said.values()), known=run.outputs, row=fault.row,
            pins=fault.pins, places=(channels[letter].centre,), would=would,
        )  # fmt: skip
        marks = tuple(Mark(mark, *channels[mark].centre, ring=True) for mark in MARKS)
        prompt = (
            f"Another board's log; row {fault.row} is the first that this die would not give. Which ringed transistor, "
            "if it never opened, explains it?"
        )
        return _question(run, prompt, key, (*_how(run.story), *row_lines(run.story, fault.log)), marks)


def _question(
    run: _Run,
    prompt: str,
    key: BoardLogKey,
    facts: tuple[str, ...],
    marks: tuple[Mark, ...] = (),
    *,
    grid: Grid | None = None,
) -> Question:
    return Question(
        kind=BoardLog.name,
        prompt=prompt,
        specimen=run.specimen,
        choices=key.choices,
        facts=facts,
        marks=marks,
        key=key,
        hints=_HINTS,
        grid=grid,
    )


_ASKS = {"column": BoardLog.column, "row": BoardLog.row, "cause": BoardLog.cause}


def _how(story: Story) -> tuple[str, ...]:
    """Say how the board runs a row."""
    often = f", so often as told (8 × {story.clock})" if set(story.pulses) != {1} else ""
    clock = f", then {story.clock} to 1 and back to 0{often}" if story.clock else ""
    strobe = f" {story.strobe} is 0 while they change, and takes its level last." if story.strobe else ""
    return (f"Each row sets the pins told{clock}; the outputs are read after that. What is not told stays.{strobe}",)


def _run(specimen: Specimen) -> _Run | None:
    story = story_of(specimen.cell)
    if story is None or len(specimen.netlist.transistors) < LEAST:
        return None
    plan = die_plan(specimen)
    nets = set(specimen.netlist.nets)
    inputs = tuple(p.name for p in specimen.ports if p.role is not Role.OUTPUT and p.name in nets)
    outputs = tuple(p.name for p in specimen.ports if p.role is Role.OUTPUT and p.name in nets)
    if plan is None or not outputs or not all(set(row) <= set(inputs) for row in story.rows):
        return None
    return _Run(
        specimen, plan, story, inputs, outputs, log_of(specimen.netlist, specimen.process, story, inputs, outputs)
    )


def _faults(run: _Run, dice: Dice, wanted: int) -> list[_Fault]:
    """Return transistors of the core that show in the log once they never open, no two in the same first way."""
    faults: list[_Fault] = []
    core = [s for s in run.plan.recognition.structures if s.term not in ("input pad", "output pad")]
    areas = {area.structure: area for area in run.plan.areas}
    for _ in range(_TRIED):
        structure = dice.pick([*areas, dice.pick(core)])
        fingers = _one_transistor(run.specimen, structure, dice)
        log = run.log(fingers)
        first = first_difference(run.sound, log)
        if first is None or first[0] == 1 or any((first[0], first[1]) == (f.row, f.pins) for f in faults):
            continue
        if any(seen[p] == UNKNOWN != right[p] for seen, right in zip(log, run.sound, strict=True) for p in run.outputs):
            continue
        faults.append(_Fault(fingers, structure.term, log, *first))
        if len(faults) == wanted:
            break
    return faults


def _one_transistor(specimen: Specimen, structure: Structure, dice: Dice) -> tuple[str, ...]:
    """Return one transistor of a structure with all its fingers."""
    by_name = {t.name: t for t in specimen.netlist.transistors}
    chosen = by_name[dice.pick(list(structure.transistors))]
    alike = (chosen.kind, chosen.gate, chosen.ends)
    return tuple(t.name for t in specimen.netlist.transistors if (t.kind, t.gate, t.ends) == alike)


def _changes(levels: Sequence[str]) -> int:
    return sum(a != b for a, b in pairwise(levels))


def _level_said(level: str) -> str:
    return "not known" if level == UNKNOWN else level


def _column(text: str, key: BoardLogKey) -> str:
    """Read a level for each row; those that are left out at the end are open."""
    plain = re.sub(r"[\s,;|/]+", "", text.lower().replace("?", UNKNOWN).replace("x", UNKNOWN))
    if not re.fullmatch(rf"[01{UNKNOWN}]+", plain):
        raise LayoutdrillError(f'"{text}" is no column of levels', todo=f"type 0, 1 or {UNKNOWN} for each row")
    if len(plain) > len(key.levels):
        raise LayoutdrillError(
            f"{len(plain)} levels for {plural(len(key.levels), 'row')}", todo="type one for each row"
        )
    return plain.ljust(len(key.levels), UNKNOWN)


def _column_credit(key: BoardLogKey, given: str) -> tuple[float, str]:
    known = [n for n, level in enumerate(key.levels) if level != UNKNOWN]
    hits = sum(given[n] == key.levels[n] for n in known)
    wrong = sum(given[n] not in (key.levels[n], UNKNOWN) for n in known)
    early = any(given[n] != UNKNOWN for n, level in enumerate(key.levels) if level == UNKNOWN)
    full = f"{key.pin} = {key.levels}"
    if hits == len(known) and not early:
        return 1.0, f"Right: {full}."
    credit = min(0.95, max(0.0, round((hits - wrong) / len(known), 3)))
    return credit, f"{hits} of {plural(len(known), 'row')} right: {full}."


def _row_and_pin(text: str, key: BoardLogKey) -> tuple[int, str]:
    match = re.search(r"\d+", text)
    if match is None:
        raise LayoutdrillError(f'"{text}" names no row', todo="type the row and the pin, such as 3 Q0")
    rest = (text[: match.start()] + " " + text[match.end() :]).lower().split()
    # a row may stand before or after a pin that has a number of its own
    words = re.findall(r"[a-z]+\d*|\d+", text.lower())
    pins = {pin.lower(): pin for pin in key.known}
    named = [pins[word] for word in words if word in pins]
    numbers = [int(word) for word in words if word.isdigit()]
    if not numbers:
        raise LayoutdrillError(f'"{text}" names no row', todo="type the row and the pin, such as 3 Q0")
    if not named and any(word.isalpha() and word not in ("row", "at", "pin", "in", "and") for word in rest):
        raise LayoutdrillError(f'"{text}" names no output', todo="outputs: " + ", ".join(key.known))
    return numbers[0], named[0] if named else ""


def _row_credit(key: BoardLogKey, text: str) -> tuple[float, str]:
    row, pin = _row_and_pin(text, key)
    where = f"row {key.row}, at {' and '.join(key.pins)}"
    if row != key.row:
        return 0.0, f"Not there: it is {where}."
    if pin in key.pins:
        return 1.0, f"Right: {where}."
    return ROW_CREDIT, f"The row is right; it is {where}."


def _chosen(text: str, choices: tuple[str, ...]) -> str | None:
    at = letter_of(text, choices)
    if at is not None:
        return choices[at]
    word = text.strip().lower()
    return next((choice for choice in choices if word in (choice.lower(), choice.lower().split()[0])), None)
