"""The kind of question on the plan of a die: which sorts there are, and how each is graded."""

import re
from collections.abc import Callable, Mapping, Sequence

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.unit import whereabouts
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.block.key import KIND, BlockKey
from layoutdrill.question.block.lines import ask_clock, ask_driver, ask_gate, ask_select, ask_signal
from layoutdrill.question.block.pads import ask_edge, ask_pad, ask_supplies
from layoutdrill.question.block.places import ask_where
from layoutdrill.question.block.rows import ask_bits, ask_ends, ask_pitch, ask_whole
from layoutdrill.question.choices import LETTERS, blank, letter_of, nonempty, unanswered
from layoutdrill.question.die_plan import DiePlan, die_plan
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.letters import letters_of
from layoutdrill.question.model import Answer, Question, Specimen, Verdict

LEAST = 200
"""A die of fewer transistors, fingers counted, has no plan to speak of."""
PITCH_WITHIN = 0.06
"""A pitch that is read as near as this is right: a cell's edge can be read to about a wire's width."""

Ask = Callable[[Specimen, DiePlan, Dice, str], Question | None]
ASKS: Mapping[str, Ask] = {
    "where": ask_where,
    "supplies": ask_supplies,
    "pad": ask_pad,
    "edge": ask_edge,
    "bits": ask_bits,
    "pitch": ask_pitch,
    "ends": ask_ends,
    "whole": ask_whole,
    "select": ask_select,
    "clock": ask_clock,
    "driver": ask_driver,
    "signal": ask_signal,
    "gate": ask_gate,
}
"""What can be asked of a die, by the name that stands in the key."""
_OFTEN = ("where",)
"""What is asked twice as often: there are several parts."""
_NUMBERS = ("pitch", "whole")
_TRACED = ("select", "signal", "gate", "clock", "driver")


class Block(QuestionKind):
    """
    Find one's way on a whole die.

    A place earns all within its part or 10 λ of it; of pads the share of right letters less that of wrong ones counts;
    a pitch earns all within 6 %, half at twice or half of it (a mirrored pair read as one cell, or one cell as two);
    the right edge for a wrong reason earns half.
    """

    name = KIND
    title = "Read the plan of a die"
    group = Group.SEE
    key_type = BlockKey
    whole_die = True

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        plan = self._plan(specimen)
        if plan is None:
            return None
        for what in dice.shuffled([*ASKS, *_OFTEN]):
            question = ASKS[what](specimen, plan, dice, "")
            if question is not None:
                return question
        return None

    def ask_for(self, what: str, specimen: Specimen, dice: Dice) -> Question | None:
        plan = self._plan(specimen)
        name, _, about = what.partition(" ")
        if plan is None or name not in ASKS:
            return None
        return ASKS[name](specimen, plan, dice, about)

    def _plan(self, specimen: Specimen) -> DiePlan | None:
        return die_plan(specimen) if len(specimen.netlist.transistors) >= LEAST else None

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        glass = any(layer.role == "glass-opening" for layer in process.layers.values())
        return glass and len(netlist.transistors) >= LEAST

    def subject(self, question: Question) -> str:
        return "plan of a die"

    def needs(self, question: Question) -> frozenset[Fact]:
        traced = BlockKey.of(question).what in _TRACED
        return frozenset({Fact.CONTACT, Fact.GATE, *([Fact.UNDER_METAL] if traced else [])})

    def in_sight(self, question: Question) -> tuple[Rect, ...]:
        box = question.specimen.face.box
        return (box,) if box is not None else ()

    def measured(self, question: Question) -> bool:
        return BlockKey.of(question).what == "pitch"

    def fields(self, question: Question) -> dict[str, tuple[Rect, ...]]:
        key = BlockKey.of(question)
        return {key.field: key.cells} if key.field and key.cells else {}

    def accept(self, question: Question, text: str) -> Answer:
        key, words = BlockKey.of(question), nonempty(text)
        if key.what == "where":
            return Answer(words, question.specimen.face.unit.read(words))
        if key.what in _NUMBERS:
            _number(words, key.what)
        elif key.what == "supplies":
            letters_of(words, key.known)
        elif letter_of(words, key.choices) is None and _marked(words, key.choices) is None:
            raise LayoutdrillError(f'"{words}" is none of the choices', todo="type a, b, c or d")
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        key, unit = BlockKey.of(question), question.specimen.face.unit
        if key.what == "where":
            x, y = max(key.areas, key=lambda r: (r.area, r)).centre
            return Answer(unit.at(x, y), (x, y))
        if key.choices:
            return Answer(LETTERS[key.choices.index(key.right)])
        return Answer(key.right)

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = BlockKey.of(question)
        if key.what == "where":
            return self._placed(question, answer, key)
        full = f"{key.right} λ" if key.what == "pitch" else key.right
        credit, summary = _credit(key, answer.text, full)
        return Verdict(credit, summary, full, key.decides, places=key.places, areas=key.areas)

    def _placed(self, question: Question, answer: Answer, key: BlockKey) -> Verdict:
        face = question.specimen.face
        x, y = answer.point if answer.point is not None else face.unit.read(answer.text)
        nearest = min(key.areas, key=lambda r: (_off(r, x, y), r))
        right = _off(nearest, x, y) <= key.tolerance
        area = nearest if right else max(key.areas, key=lambda r: (r.area, r))
        middle = area.centre
        full = f"{key.right} lies {whereabouts(face.box, *middle)} ({face.unit.at(*middle)})"
        if right:
            return Verdict(1.0, f"Right: {full}.", full, key.decides, places=(middle,), areas=(area,))
        other = _part_at(key, x, y)
        said = f"That is {other}" if other else "Not there"
        return Verdict(0.0, f"{said}: {full}.", full, key.decides, places=(middle,), areas=key.areas)

    def instead(self, question: Question, answer: Answer) -> str:
        key = BlockKey.of(question)
        would = key.would or {}
        if key.what == "where":
            x, y = answer.point if answer.point is not None else question.specimen.face.unit.read(answer.text)
            other = _part_at(key, x, y)
            here = f"what lies here is {other}" if other else "only wires and single gates lie here"
            known = f" {would[other]}" if other in would else ""
            return f"Were it here, the same would be seen here. {key.decides} Instead, {here}.{known}"
        if key.what in _NUMBERS:
            return _off_by(key, _number(answer.text, key.what))
        if key.what == "supplies":
            said, right = letters_of(answer.text, key.known), set(key.right.split())
            wrong = [would.get(letter, f"{letter} is no supply.") for letter in sorted(said - right)]
            missing = [f"{letter} is one that was left out." for letter in sorted(right - said)]
            return " ".join((*wrong, *missing))
        choice = _choice(answer.text, key.choices) or answer.text
        there = would.get(choice, f"one would see that there. {key.decides}")
        return there if choice in would else f"Were it “{choice}”, {there}"


def _credit(key: BlockKey, text: str, full: str) -> tuple[float, str]:
    if key.what in _NUMBERS:
        said, right = _number(text, key.what), float(key.right)
        within = PITCH_WITHIN if key.what == "pitch" else 0.0
        if abs(said - right) <= within * right:
            return 1.0, f"Right: {full}."
        for near, remark in (key.numbers or {}).items():
            if abs(said - float(near)) <= within * float(near):
                return 0.5, f"That is {remark}: {'the pitch is' if key.what == 'pitch' else 'in all it is'} {full}."
        return 0.0, f"{'The pitch is' if key.what == 'pitch' else 'In all it is'} {full}."
    if key.what == "supplies":
        said_letters, right_letters = letters_of(text, key.known), set(key.right.split())
        share = (len(said_letters & right_letters) - len(said_letters - right_letters)) / len(right_letters)
        return max(0.0, round(share, 3)), f"{'Right' if share >= 1 else 'The supplies are'}: {full}."
    choice = _choice(text, key.choices)
    if choice == key.right:
        return 1.0, f"Right: {full}."
    return (0.5, f"Half right: {full}.") if choice in key.half else (0.0, f"Not so: {full}.")


def _off_by(key: BlockKey, said: float) -> str:
    right = float(key.right)
    if key.what == "pitch":
        side = "short of" if said < right else "past"
        return (
            f"A pitch of {said:g} λ from a contact leads {abs(said - right):g} λ {side} the next like one; "
            f"it lies {key.right} λ on."
        )
    side = "fewer" if said < right else "more"
    return f"{said:g} is {abs(said - right):g} {side} than there are. {key.decides}"


def _choice(text: str, choices: Sequence[str]) -> str | None:
    """Read a choice by its own letter, by the letter of its mark, or in its words."""
    at = letter_of(text, choices)
    return choices[at] if at is not None else _marked(text, choices)


def _marked(text: str, choices: Sequence[str]) -> str | None:
    word = text.strip().lower()
    first = [choice for choice in choices if choice.lower() == word or choice.lower().split()[0] == word]
    return first[0] if len(first) == 1 else None


def _number(text: str, what: str) -> float:
    match = re.search(r"(?<![A-Za-z\d.])\d+(\.\d+)?", text.replace(",", "."))
    if match is None:
        todo = "type the pitch in λ, such as 85" if what == "pitch" else "type how many, such as 64"
        raise LayoutdrillError(f'"{text}" is no number', todo=todo)
    return float(match[0])


def _off(r: Rect, x: int, y: int) -> int:
    return max(r.x0 - x, x - r.x1, r.y0 - y, y - r.y1, 0)


def _part_at(key: BlockKey, x: int, y: int) -> str:
    return next((name for name, r in (key.others or {}).items() if r.contains(x, y)), "")
