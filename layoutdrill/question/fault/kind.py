"""The kind of question on a defect: which sorts there are, and how each is graded."""

from collections.abc import Sequence
from dataclasses import replace

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import DrawnFace
from layoutdrill.face.unit import whereabouts
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.prove.faults import UNSEEN, DefectKind
from layoutdrill.question.choices import LETTERS, blank, letter_of, nonempty, shuffled, unanswered
from layoutdrill.question.circuit import (
    MOST_READ,
    READ_HINTS,
    Pins,
    facts_needed,
    marks_of,
    readable,
)
from layoutdrill.question.fault.key import FaultKey
from layoutdrill.question.fault.trying import GAP, Tried, beside, faulty_die, pins_known, rows_and_sound, tried_defects
from layoutdrill.question.fault.words import (
    SAID,
    column_text,
    decides_of,
    levels_were,
    symptom_text,
    tied,
    touching,
    turned,
    upper,
    why_not_fitting,
)
from layoutdrill.question.hints import hints
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, HintStep, Mark, Question, Specimen, Verdict

TOLERANCE = 2
"""λ by which a place may miss a defect."""
NEAR_CREDIT = 0.5
"""The same place on the sound die."""
ALONE = (DefectKind.OPEN, DefectKind.CORROSION)
"""Kinds that show without a sound die beside: ends of wires that face one another across a gap."""


class Fault(QuestionKind):
    """
    Find a defect, and what it does.

    The levels come from the faulty layout, extracted and simulated. A place earns all within 2 λ of the defect, half at
    the same place of the sound die; of the choices one is right.
    """

    name = "fault"
    title = "Find what is wrong"
    group = Group.WORK
    key_type = FaultKey
    partly = ((NEAR_CREDIT, "the place is right, the die is not"),)

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        if not isinstance(specimen.face, DrawnFace) or not readable(specimen):
            return None
        pins = pins_known(specimen)
        tried: list[Tried] = []
        for what in dice.shuffled(["find"] if pins is None else ["find", "does", "symptom", "fits"]):
            if what == "find":
                question = self._find(specimen, dice)
            else:
                assert pins is not None
                tried = tried or list(tried_defects(specimen, pins, list(DefectKind), dice))
                question = (self._fits if what == "fits" else self._of_one)(specimen, pins, tried, dice, what)
            if question is not None:
                return question
        return None

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        return 1 <= netlist.count() <= MOST_READ and bool(process.drawing)

    def subject(self, question: Question) -> str:
        return "faults"

    def needs(self, question: Question) -> frozenset[Fact]:
        if FaultKey.of(question).what == "find":
            return frozenset({Fact.CONTACT, Fact.GATE})
        return facts_needed(question)

    def kept_clear(self, question: Question) -> tuple[tuple[int, int], ...]:
        key = FaultKey.of(question)
        twin = (key.twin.centre,) if key.twin is not None else ()
        return (*super().kept_clear(question), key.place.centre, *twin)

    def in_sight(self, question: Question) -> tuple[Rect, ...]:
        key = FaultKey.of(question)
        return (key.place, *([key.twin] if key.twin is not None else []))

    def accept(self, question: Question, text: str) -> Answer:
        words, key = nonempty(text), FaultKey.of(question)
        if key.what == "find":
            return Answer(words, question.specimen.face.unit.read(words))
        _chosen(words, key.choices)
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        key = FaultKey.of(question)
        if key.what == "find":
            x, y = key.place.centre
            return Answer(question.specimen.face.unit.at(x, y), (x, y))
        return Answer(LETTERS[key.choices.index(key.right)])

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key, face = FaultKey.of(question), question.specimen.face
        middle = key.place.centre
        if key.what != "find":
            right = _chosen(answer.text, key.choices) == key.right
            said = f"{'Right' if right else 'Not so'}: {key.right}."
            return Verdict(float(right), said, key.right, key.decides, key.transistors, places=(middle,))
        x, y = answer.point if answer.point is not None else face.unit.read(answer.text)
        full = f"{key.kind} {whereabouts(face.box, *middle)} ({face.unit.at(*middle)})"
        areas = (key.place.grown(key.tolerance),)
        if areas[0].contains(x, y):
            return Verdict(1.0, f"Right: {full}.", full, key.decides, places=(middle,), areas=areas)
        if key.twin is not None and key.twin.grown(key.tolerance).contains(x, y):
            said = f"The place, but on the sound die: {full}."
            return Verdict(NEAR_CREDIT, said, full, key.decides, places=(middle,), areas=areas)
        return Verdict(0.0, f"Not there: {full}.", full, key.decides, places=(middle,), areas=areas)

    def instead(self, question: Question, answer: Answer) -> str:
        key = FaultKey.of(question)
        if key.what == "find":
            like = (
                "what lies there would differ from the same place on the sound die"
                if key.twin is not None
                else "a wire would end there and go on across a gap, or be eaten away"
            )
            return f"Were it there, {like}; nothing there does."
        chosen = _chosen(answer.text, key.choices)
        return key.would.get(
            chosen, f"Were it “{chosen}”, the output would have other levels than this defect gives it."
        )

    def _find(self, specimen: Specimen, dice: Dice) -> Question | None:
        """Show a faulty die beside a sound one, or alone, and ask where the defect is."""
        face = specimen.face
        assert isinstance(face, DrawnFace)
        sign = face.unit.sign
        seen = dice.shuffled([kind for kind in DefectKind if kind not in UNSEEN])
        for tried in tried_defects(specimen, None, seen, dice):
            defect = tried.defect
            decides = f"At the place {SAID[defect.kind]}."
            tolerance = TOLERANCE * face.unit.per
            if defect.kind in ALONE and dice.chance(40):
                faulty = faulty_die(specimen, tried)
                prompt = f"One defect makes this circuit another. Where is it? Point, or type x, y in {sign}."
                key = FaultKey("find", defect.kind, defect.kind, defect.place, decides, tolerance=tolerance)
                return self._question(faulty, prompt, key, pointed=True)
            sound, shift = face.layout.flattened(), face.box.width + GAP * face.unit.per
            both = DrawnFace.of(beside(sound, defect.layout, shift), face.process)
            two = replace(specimen, face=both, netlist=both.extraction.netlist, boundary="", about="", aliases=())
            moved = defect.place.moved(shift, 0)
            prompt = f"The left die is sound, the right one has one defect. Where? Point, or type x, y in {sign}."
            key = FaultKey(
                "find", defect.kind, defect.kind, moved, decides, twin=defect.place, tolerance=tolerance
            )  # fmt: skip
            return self._question(two, prompt, key, pointed=True)
        return None

    def _of_one(
        self, specimen: Specimen, pins: Pins, faults: Sequence[Tried], dice: Dice, what: str
    ) -> Question | None:
        """Show a defect and ask for the output's levels (does), or what one would notice at the pins (symptom)."""
        rows, sound = rows_and_sound(specimen, pins)
        wrong = [t for t in faults if t.column and t.column != sound]
        for tried in dice.shuffled(wrong):
            columns = dict.fromkeys((sound, *(t.column for t in wrong), turned(sound)))
            others = [c for c in columns if c != tried.column]
            say = column_text if what == "does" else symptom_text
            words = {c: say(c, sound, rows, pins.outputs[0]) for c in (tried.column, *others)}
            apart = [w for c, w in words.items() if c != tried.column and w != words[tried.column]]
            faulty = faulty_die(specimen, tried)
            named = marks_of(faulty, (*pins.inputs, pins.outputs[0]))
            if len(dict.fromkeys(apart)) < 3 or named is None:
                continue
            x, y = tried.defect.place.centre
            choices = shuffled(words[tried.column], dice.sample(list(dict.fromkeys(apart)), 3), dice)
            decides, names = decides_of(faulty, pins, tried, sound, rows)
            if touched := touching(specimen, tried.defect, pins, "X")[0]:
                decides = f"{decides} {touched}"
            would = {
                said: levels_were(column, tried.column, rows, pins.outputs[0])
                for column, said in reversed(words.items())
                if said in choices and said != words[tried.column]
            }
            key = FaultKey(
                what, words[tried.column], tried.defect.kind, tried.defect.place, decides, choices, transistors=names,
                inputs=pins.free, output=pins.outputs[0], column=tried.column, would=would,
            )  # fmt: skip
            asked = {
                "does": f"What levels has {pins.outputs[0]} now?",
                "symptom": f"What does one notice at {pins.outputs[0]}?",
            }[what]
            facts = (f"At X {SAID[tried.defect.kind]}.",) if tried.defect.kind in UNSEEN else ()
            prompt = f"This die has one defect, at X ({faulty.face.unit.at(x, y)}). {asked}"
            return self._question(faulty, prompt, key, (*named, Mark("X", x, y, ring=True)), (*facts, *tied(pins)))
        return None

    def _fits(self, specimen: Specimen, pins: Pins, faults: Sequence[Tried], dice: Dice, what: str) -> Question | None:
        """Show a sound die with two places, and ask which defect fits what was measured."""
        rows, sound = rows_and_sound(specimen, pins)
        named = marks_of(specimen, (*pins.inputs, pins.outputs[0]))
        wrong = dice.shuffled([t for t in faults if t.column and t.column != sound and "X" not in t.column])
        far = 4 * specimen.face.unit.per
        for tried in wrong:
            for other in wrong:
                (x, y), (a, b) = tried.defect.place.centre, other.defect.place.centre
                if named is None or tried.column == other.column or max(abs(x - a), abs(y - b)) < far:
                    continue
                first, second = dice.shuffled([tried, other])
                measured = dice.weighted(((tried.column, 3), (turned(sound), 1)))
                fitting = [letter for letter, t in zip("PQ", (first, second), strict=True) if t.column == measured]
                choices = ("the one at P", "the one at Q", "either", "neither")
                right = f"the one at {fitting[0]}" if fitting else "neither"
                gives = {
                    letter: column_text(t.column, sound, rows, pins.outputs[0])
                    for letter, t in zip("PQ", (first, second), strict=True)
                }
                seen = column_text(measured, sound, rows, pins.outputs[0])
                both = "; ".join(f"at {letter} it gives {column}" for letter, column in gives.items())
                holes = [
                    touching(specimen, t.defect, pins, letter) for letter, t in zip("PQ", (first, second), strict=True)
                ]
                decides = " ".join((f"{upper(both)}.", *(said for said, _ in holes if said)))
                names = tuple(dict.fromkeys(name for _, ended in holes for name in ended))
                key = FaultKey(
                    what, right, tried.defect.kind, tried.defect.place, decides, choices, transistors=names,
                    inputs=pins.free, output=pins.outputs[0], column=measured,
                    would=why_not_fitting(gives, fitting, seen),
                )  # fmt: skip
                marks = [
                    Mark(letter, *t.defect.place.centre, ring=True)
                    for letter, t in zip("PQ", (first, second), strict=True)
                ]
                facts = tuple(
                    f"Were there a defect at {letter}: {SAID[t.defect.kind]}."
                    for letter, t in zip("PQ", (first, second), strict=True)
                )
                prompt = f"This is how the die was meant. On the board one measures {seen}. Which one defect fits?"
                return self._question(specimen, prompt, key, (*named, *marks), (*facts, *tied(pins)))
        return None

    def _question(
        self, specimen: Specimen, prompt: str, key: FaultKey, marks: tuple[Mark, ...] = (),
        facts: tuple[str, ...] = (), *, pointed: bool = False,
    ) -> Question:  # fmt: skip
        return Question(
            kind=self.name,
            prompt=prompt,
            specimen=specimen,
            choices=key.choices,
            facts=facts,
            marks=marks,
            key=key,
            pointed=pointed,
            hints=hints((HintStep.DEVICES, HintStep.NETS)) if pointed else READ_HINTS,
        )


def _chosen(text: str, choices: tuple[str, ...]) -> str:
    """Read a letter of a choice, the letter of a mark, or the choice in its own words."""
    at = letter_of(text, choices)
    if at is not None:
        return choices[at]
    word = text.strip().lower()
    for choice in choices:
        if word in (choice.lower(), choice.lower().removeprefix("the one at ")):
            return choice
    raise LayoutdrillError(f'"{text}" is none of the choices', todo="type a, b, c or d")
