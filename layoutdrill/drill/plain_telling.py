"""Tell a sitting in plain text: questions with their drawings, help, places of a die, verdicts, how it went."""

from collections.abc import Iterable
from textwrap import wrap
from typing import TextIO

from layoutdrill.deck.words import find_word
from layoutdrill.drill.open_sitting import OpenSitting
from layoutdrill.drill.plain_die import close_lines, device_lines, overview_lines, rail_lines, window_at
from layoutdrill.drill.plain_hints import hint_lines, outlined_lines
from layoutdrill.drill.plain_pages import MOST_LINES
from layoutdrill.drill.visited import is_large
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import DrawnFace
from layoutdrill.face.lettered import WIDTH
from layoutdrill.geometry.rect import Rect
from layoutdrill.outlet import gated
from layoutdrill.question import HintStep, Question, Verdict, kinds
from layoutdrill.question.cut import section_through
from layoutdrill.question.hints import percent

LETTERS = "abcdefgh"


class Teller:
    """Tells what there is to tell, and knows what it has told: no input here."""

    def __init__(self, sitting: OpenSitting, stdout: TextIO) -> None:
        self.sitting = sitting
        self.stdout = gated(stdout)
        self.brief = False
        """Whether drawings are told only when they are asked for."""
        self.letters: dict[tuple[str, ...], str] = {}
        """The letters of grids, which mean the same through a sitting."""
        self.judged_last: tuple[Question, Verdict] | None = None
        self.window: Rect | None = None
        """What was looked at last, of a die that is told in parts."""
        self.mapped = False
        """Whether the overview of a die has been told."""

    def say(self, text: str = "", indent: str = "") -> None:
        """Write text, wrapped; lines that are wrapped already keep their shape."""
        self.lines(wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent or "") or [""])

    def lines(self, lines: Iterable[str]) -> None:
        for line in lines:
            self.stdout.write(line + "\n")
        self.stdout.flush()

    def show(self, number: int, question: Question, *, layout: bool) -> None:
        specimen = question.specimen
        self.say()
        kind = kinds()[question.kind]
        process = f" Process: {specimen.process.title}." if kind.names_process else ""
        self.say(f"Question {number + 1} of {self.sitting.total}.{process}")
        prompt = without_picture(question.prompt)
        if layout:
            if not self.brief:
                self.say(prompt)  # what to look for in a drawing that may be long; once more below it
            self.layout(question)
        for fact in question.facts:
            self.say(sentence(fact))
        for mark in question.marks:
            large = die_of(question) is not None
            place = mark.words or ("" if large else specimen.face.at_point(mark.x, mark.y))
            there = f": {place}" if place and (mark.words or kind.tells_places) else ""
            at = specimen.face.stitched_at(mark.x, mark.y)
            self.say(f"{mark.letter} is at {specimen.face.unit.axes(*at)}{there}.")
        self.say(prompt)
        for letter, choice in zip(LETTERS, question.choices, strict=False):
            self.say(f"{letter}  {choice}", indent="  ")

    def layout(self, question: Question) -> None:
        face, die = question.specimen.face, die_of(question)
        if die is not None:
            if not self.mapped:
                self.mapped = True
                self.lines(overview_lines(die, self.sitting.visited))
            else:
                self.say("For the overview type “map”, for a place “look X, Y”.")
            return
        if self.brief:
            self.say("For the drawing type “grid”, “shapes” or “meets”.")
            return
        for name, lines in (
            ("grid", face.grid_lines(letters=self.letters)),
            ("shapes", face.shape_lines()),
        ):
            if len(lines) <= MOST_LINES:
                self.lines(lines)
            else:
                self.say(
                    f"The {name} take{'s' if name == 'grid' else ''} {len(lines)} lines: type “{name}” to have them."
                )

    def hinted(self, question: Question, step: HintStep, text: str) -> None:
        """Tell a step of help; of a whole die what can be told in few lines."""
        die = die_of(question)
        if die is not None and step is HintStep.RAILS:
            self.lines(rail_lines(die))
        elif die is not None and step is HintStep.DEVICES:
            for line in device_lines(die, self.window):
                self.say(line)
        else:
            self.lines(hint_lines(step, question.specimen, text, self.letters))

    def look(self, question: Question, where: str) -> None:
        """Tell a place of a die closely."""
        die = die_of(question)
        if die is None:
            self.say("This drawing is told whole: “grid” tells it.")
            return
        mark = next((mark for mark in question.marks if mark.letter.lower() == where.lower()), None)
        try:
            x, y = (mark.x, mark.y) if mark is not None else die.unit.read(where)
        except LayoutdrillError as error:
            self.say(f"{sentence(str(error))} “look 40, 120”, or the letter of a mark.")
            return
        self.window = window_at(die, x, y)
        self.sitting.visited.note(die.box, self.window)
        self.lines(close_lines(die, self.window, self.letters))

    def word(self, text: str) -> None:
        """Say what a word means."""
        try:
            word = find_word(text)
        except LayoutdrillError as error:
            self.say(sentence(str(error)))
        else:
            self.say(f"{word.word}: {word.about}.")

    def verdict(self, question: Question, verdict: Verdict) -> None:
        self.judged_last = question, verdict
        self.say(sentence(verdict.summary))
        if not self.sitting.tells:
            return
        if verdict.right and verdict.right not in verdict.summary:
            self.say(f"The answer: {verdict.right}.")
        if verdict.decides:
            self.say(sentence(f"What decides: {verdict.decides}"))
        if verdict.instead:
            self.say(f"Why not: {verdict.instead}")
        if 0 < verdict.credit < 1:
            self.say(f"Credit: {percent(verdict.credit)}.")
        if verdict.credit < 1:
            self.lines(outlined_lines(question, verdict))
            cut = section_through(question, verdict)
            if cut is not None:
                self.lines(cut.grid_lines())

    def summary(self) -> None:
        result = self.sitting.summary()
        self.say()
        if result is None:
            self.say(f"{self.sitting.answered} of {self.sitting.total} answered. {self.sitting.told_later}")
            return
        score = f"{result.answered} of {result.total} answered, {result.right} right"
        skipped = f", {result.skipped} skipped" if result.skipped else ""
        points = f", credit {result.credit:g}" if result.credit != result.right else ""
        self.say(f"{score}{points}{skipped}.")
        for slip in result.slips:
            self.say(f"Question {slip.number}: {slip.words}", indent="  ")
        if result.answered + result.skipped < result.total and self.sitting.left != 0:
            self.say(f"The rest is kept: {self.sitting.goes_on}.")
        if self.sitting.sort == "survey":
            self.say("What was found, as a report: layoutdrill survey report -o report.html.")
        if self.sitting.sort == "today":
            self.say("How each skill stands now: layoutdrill progress.")


def die_of(question: Question) -> DrawnFace | None:
    """Return the face of a drawing that is too large to be told whole."""
    face = question.specimen.face
    return face if isinstance(face, DrawnFace) and is_large(face.box, face.unit.per) else None


def without_picture(prompt: str) -> str:
    """Return a prompt without what is on pictures only: rings, and a crosshair to point with."""
    return (
        prompt.replace("in the ring marked", "at")
        .replace("Put the crosshair on", "Find")
        .replace("point, or type", "type")
    )


def sentence(text: str) -> str:
    """Return text that starts with a capital and ends with a stop."""
    text = text.strip()
    small = text[:1] in "np" and not text[1:2].isalnum()  # the kinds of transistor
    text = text if small else text[:1].upper() + text[1:]
    return text if text.endswith((".", "?", "!", "”", ")")) else f"{text}."
