"""Ask and answer in plain text, line by line: on a dumb terminal, in a pipe, with a screen reader."""

from collections.abc import Callable
from shutil import get_terminal_size
from threading import Thread
from time import monotonic
from typing import TextIO

from layoutdrill.deck import Picture
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.drill.open_sitting import PAGE_COME_TO, OpenSitting, page_to_read
from layoutdrill.drill.plain_die import (
    close_meetings,
    close_shapes,
    overview_lines,
)
from layoutdrill.drill.plain_pages import drawing_lines, page_lines, reading_lines
from layoutdrill.drill.plain_telling import Teller, die_of, sentence
from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.learning.sure import QUESTION, STEPS, step_said
from layoutdrill.printable import in_one_line
from layoutdrill.question import Hint, Question, Verdict
from layoutdrill.question.hints import percent

ROOMY = 45
"""Rows of a terminal below which drawings are told when they are asked for, so that no words are pushed out of it."""
_WORDS = {
    "hint": "a step of help, at the cost that is told",
    "grid": "a grid of letters, one for each pile of layers",
    "shapes": "a list of shapes with their coordinates",
    "meets": "a list of where shapes of two layers meet",
    "map": "of a whole die: the overview, with where you have been",
    "look X, Y": "of a whole die: a place closely; also the letter of a mark",
    "brief": "from now on tell drawings only when asked; once more: always",
    "again": "the question once more",
    "last": "the last verdict once more",
    "word W": "what a word of the trade means",
    "pages": "the lesson's pages once more, with their drawings",
    "skip": "leave this question unanswered",
    "quit": "stop here; the sitting can be resumed (also: q)",
    "help": "these words (also: ?)",
}


def run_plain(sitting: OpenSitting, stdin: TextIO | None, stdout: TextIO) -> int:
    """
    Ask every question that has no answer yet, reading answers from `stdin`; stop at `quit` or at the end of input,
    with a summary, and close the sitting. Returns the exit code: 0, also when stopped early.
    """
    sitting.shown_in = ""  # every layer is told, whatever a look would hide
    with sitting:
        _Room(sitting, stdin, stdout).run()
    return 0


def sit_plainly(sitting: Sitting, stdin: TextIO | None, stdout: TextIO) -> int:
    """As `run_plain`, for one's own sittings, which can be gone on with in plain text as well."""
    sitting.goes_on = "layoutdrill drill --go-on --plain"
    return run_plain(sitting, stdin, stdout)


class _Room(Teller):
    """Reads lines and acts on them; what there is to tell the teller tells."""

    def __init__(self, sitting: OpenSitting, stdin: TextIO | None, stdout: TextIO) -> None:
        super().__init__(sitting, stdout)
        self.stdin = stdin
        self.taken: list[Hint] = []
        self.pending = ""
        """A line that was read and belongs to the next question."""

    def run(self) -> None:
        asked = plural(self.sitting.total, "question")
        self.brief = self.interactive and get_terminal_size().lines < ROOMY
        how = "drawings are told when you ask, by “grid” or “shapes”; “brief” changes that" if self.brief else (
            "“brief” has drawings told only when you ask")  # fmt: skip
        self.say(f"{self.sitting.title}: {asked}. Type “help” for the words you can use; {how}.")
        waits = self.stdin is not None and self.stdin.isatty()
        if page_to_read(self.sitting) is not None and not self.pages(wait=waits):
            self.summary()
            return
        if waits and self.sitting.deck.pages:
            self.sitting.note_draft(PAGE_COME_TO, str(len(self.sitting.deck.pages)))
        for number in range(self.sitting.total):
            if self.sitting.left == 0:
                self.say("The time is up.")
                break
            if number not in self.sitting.done and not self.ask(number):
                break
        self.summary()

    def pages(self, *, wait: bool = False) -> bool:
        """Tell the deck's pages with their drawings, one at a time where to `wait`; False when that is enough."""
        deck = self.sitting.deck
        if deck.objective:
            self.say(f"What you will be able to do: {deck.objective}")
        maker = SpecimenMaker(deck, self.sitting.kit) if deck.pages else None
        shown: dict[Picture, str] = {}
        for number, page in enumerate(deck.pages, 1):
            drawing = None if wait and self.brief else maker
            self.lines(page_lines(page, number, len(deck.pages), drawing, self.letters, shown))
            while wait:
                drawings = ", “grid”: its drawings" if page.pictures and drawing is None else ""
                drawings += ", “answer”: what is to be read" if page.pictures else ""
                self.say(f"Enter: the next page{drawings}, “go”: the questions, “q”: enough."
                         if number < len(deck.pages) else f"Enter: the questions{drawings}.")  # fmt: skip
                line = self.line()
                word = line.strip().lower()
                if not line or word in ("q", "quit"):
                    return False
                if word in ("go", "skip"):
                    return True
                if not word:
                    break
                if word == "grid" and maker is not None and page.pictures:
                    self.lines(drawing_lines(page, maker, self.letters))
                elif word == "answer" and maker is not None and page.pictures:
                    self.lines(reading_lines(page, maker))
                else:
                    self.say(f"“{in_one_line(line.strip())}” is none of the words here.")
        return True

    # One question

    def ask(self, number: int) -> bool:
        """Ask one question; False when there is no more input, or enough."""
        try:
            question = self.sitting.prepare(number)
        except LayoutdrillError as error:
            self.say(f"Question {number + 1} cannot be asked: {error}")
            return True
        self.taken = list(question.hints[: self.sitting.hints_given(number)])
        self.window = None
        self._ahead(number + 1)
        self.show(number, question, layout=True)
        for step in self.sitting.help(number):
            self.hinted(question, step, "")
        for hint in self.taken:
            self.hinted(question, hint.step, hint.text)
        started = monotonic()
        while True:
            line = self.line()
            if not line:
                return False
            word = in_one_line(line.strip())
            if not word:
                continue
            if word.lower() in ("quit", "q"):
                return False
            verdict = self.answered(number, question, word, monotonic() - started)
            for remark in self.sitting.remarks():
                self.say(remark)
            if verdict is not None:
                self.verdict(question, verdict)
                return True

    def line(self) -> str:
        """Read a line; "" at the end of input, also where there is none to begin with."""
        if self.pending:
            line, self.pending = self.pending, ""
            return line
        if self.stdin is None:
            return ""
        if self.interactive:
            self.stdout.write("> ")
            self.stdout.flush()
        try:
            return self.stdin.readline()
        except UnicodeDecodeError:
            return "\ufffd\n"
        except (OSError, ValueError):  # gone, or closed
            return ""

    def _ahead(self, number: int) -> None:
        """Draw the next question while this one is being answered; errors are told when it is asked."""
        if number < self.sitting.total:
            Thread(target=_quietly, args=(lambda: self.sitting.prepare(number),), daemon=True).start()

    def answered(self, number: int, question: Question, word: str, seconds: float) -> Verdict | None:
        """Act on a line; None when the question stays open."""
        match word.lower():
            case "help" | "?":
                self.lines(f"{name:8} {meaning}" for name, meaning in _WORDS.items())
            case "again":
                self.show(number, question, layout=False)
            case "pages":
                if not self.sitting.deck.pages:
                    self.say("This deck has no pages.")
                self.pages()
            case "last":
                if self.judged_last is None:
                    self.say("There is no verdict yet.")
                else:
                    self.verdict(*self.judged_last)
            case spoken if spoken.startswith(("word ", "words ")):
                self.word(spoken.partition(" ")[2])
            case "grid" | "shapes" | "meets" if self.sitting.seen_for(number):
                self.say("At a glance a drawing is told once.")
            case "map" | "grid" if (die := die_of(question)) is not None:
                self.lines(overview_lines(die, self.sitting.visited))
            case "shapes" | "meets" as what if (die := die_of(question)) is not None:
                if self.window is None:
                    self.say("First look at a place: “look X, Y”; then its shapes are told.")
                else:
                    self.lines((close_shapes if what == "shapes" else close_meetings)(die, self.window))
            case place if place.startswith("look"):
                self.look(question, word[4:].strip())
            case "map":
                self.say("This drawing is told whole: “grid” tells it.")
            case "grid":
                self.lines(question.specimen.face.grid_lines(letters=self.letters))
            case "shapes":
                self.lines(question.specimen.face.shape_lines())
            case "meets":
                self.lines(question.specimen.face.meeting_lines())
            case "brief":
                self.brief = not self.brief
                self.say("Drawings are told when you ask." if self.brief else "Every drawing is told.")
            case "hint":
                self.hint(number, question)
            case "skip":
                return self.sitting.skip(question, seconds, self.taken)
            case _:
                return self.submit(question, word, seconds)
        return None

    def submit(self, question: Question, word: str, seconds: float) -> Verdict | None:
        try:
            answer = self.sitting.accept(question, word)
        except LayoutdrillError as error:
            self.say(f"{sentence(str(error))} (Or: “hint”, “skip”, “help”.)")
            return None
        number = next(n for n in range(self.sitting.total) if self.sitting.prepared(n) is question)
        if self.interactive and self.sitting.asks_sureness(number):
            return self.sitting.submit(question, answer, seconds, self.taken, self.sureness())
        return self.sitting.submit(question, answer, seconds, self.taken)

    @property
    def interactive(self) -> bool:
        """Whether somebody sits there: a file of answers is not asked how sure it is."""
        try:
            return self.stdin is not None and self.stdin.isatty()
        except ValueError:  # closed
            return False

    def sureness(self) -> int | None:
        """
        Ask how sure an answer is, until a step or nothing is said: what was meant as something else must not become the
        answer to the next question, which nobody has seen yet.
        """
        steps = ", ".join(f"{step} {words}" for step, words in STEPS.items())
        self.say(f"{QUESTION} {steps}; Enter for neither.")
        while (line := self.line()).strip():
            step = step_said(line)
            if step is not None:
                return step
            self.say(f"That is none of these: {steps}; Enter for neither.")
        return None

    def hint(self, number: int, question: Question) -> None:
        left = question.hints[len(self.taken) :]
        if not left:
            self.say("There are no more hints for this question.")
            return
        step = left[0]
        self.taken.append(step)
        self.sitting.note_hint(number)
        self.say(f"Hint {len(self.taken)} of {len(question.hints)}, {percent(step.cost)} off the credit.")
        self.hinted(question, step.step, step.text)


def _quietly(act: Callable[[], object]) -> None:
    try:
        act()
    except Exception:  # noqa: BLE001 - it is met again, and told, when the question's turn comes
        return
