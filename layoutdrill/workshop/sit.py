"""
Sit a set: the same face as a sitting of a deck, timed, its answers in one result file that is whole after each answer.

Started again with the same name it goes on where it stood; the clock has run on meanwhile, from the first start.
"""

from collections.abc import Callable, Collection, Iterable
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock
from typing import Self

from layoutdrill import __version__
from layoutdrill.deck import Deck
from layoutdrill.drill.again import Effort, answer_record
from layoutdrill.drill.record import AnswerRecord
from layoutdrill.drill.summary import Summary, summarise
from layoutdrill.drill.visited import Visited
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.learning.sure import asked_of
from layoutdrill.question import Answer, Hint, Question, Verdict, kinds
from layoutdrill.question.model import HintStep
from layoutdrill.workshop.asking import graded, question_of
from layoutdrill.workshop.documents import read_result, signed, write_result
from layoutdrill.workshop.model import Feedback, Given, Result, WorkshopSet

LONGEST_NAME = 60
LONGEST_DRAFT = 20_000
KEPT = Verdict(0.0, "Your answer is kept.", "", "")
"""What a learner is told where the leader opens the key at the end."""

Clock = Callable[[], datetime]


def now() -> datetime:
    return datetime.now(UTC)


def checked_name(name: str) -> str:
    """Return a learner's name with single spaces. Raises LayoutdrillError for one that cannot be told or filed."""
    shown = " ".join(name.split())
    if not shown or len(shown) > LONGEST_NAME or not shown.isprintable():
        raise LayoutdrillError(
            f"a name has 1 to {LONGEST_NAME} letters that can be shown", todo="give another with --as NAME"
        )
    return shown


def result_file(set_path: Path, name: str, folder: Path | None = None) -> Path:
    """Return where a learner's result goes: beside the set, or in `folder`, named for both."""
    plain = "".join(c if c.isalnum() else "-" for c in name).strip("-") or "result"
    return (folder or set_path.parent) / f"{set_path.stem}.{plain}.result"


class SetSitting:
    """One learner at a set. Questions are numbered from 0 here, as in other sittings. Close it when done."""

    id = 0
    sort = "set"
    look = ""
    kit = None
    goes_on = "sit the set again under the same name; the clock runs on"
    told_later = "The leader tells what was right."

    def __init__(self, made: WorkshopSet, path: Path, result: Result, clock: Clock = now) -> None:
        self.made = made
        self.path = path
        self.title = made.title
        self.seed = made.seed
        self.deck = Deck(made.deck, made.title, "", ())
        self.shown_in = ""
        self.sureness = False
        self.visited = Visited()
        self.worn: float | None = 0.0
        self.tells = made.feedback is Feedback.NOW
        """Whether a learner is told at once what was right."""
        self._clock = clock
        self._result = result
        self._questions: dict[int, Question] = {}
        self._verdicts: dict[int, Verdict] = {}
        self._lock = Lock()
        self._drafts: dict[int, str] = {number - 1: text for number, text in result.drafts.items()}

    @classmethod
    def open(cls, made: WorkshopSet, path: Path, name: str, clock: Clock = now) -> "SetSitting":
        """
        Begin, or go on with what `path` holds.

        Raises LayoutdrillError: a result that is finished, of another set or of another learner, or a file that
        cannot be written.
        """
        shown = checked_name(name)
        if path.exists():
            result = read_result(path)
            if result.set_digest != made.digest:
                raise _refused(path, "this result is of another set", "move it away, or choose another folder with -o")
            if result.name != shown:
                raise _refused(path, f"this result is of {result.name}", "give another name, or another folder with -o")
            if result.finished:
                raise _refused(path, f"{result.name} has finished this set", "give the file to the leader")
            return cls(made, path, result, clock)
        started = clock().isoformat(timespec="milliseconds")
        result = signed(Result(made.digest, made.title, shown, started, "", __version__, ()))
        write_result(path, result)
        return cls(made, path, result, clock)

    def close(self) -> None:
        """Put half an answer on disk; nothing else is held open, for each answer is there already."""
        drafts = self._halves(self.done)
        if drafts != self._result.drafts and not self._result.finished:
            result = signed(replace(self._result, drafts=drafts))
            with suppress(LayoutdrillError):  # the answers are safe, and nobody is there to be told
                write_result(self.path, result)
                self._result = result

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exc: object) -> None:
        self.close()

    # Time

    @property
    def since(self) -> float:
        """Seconds since the first start."""
        return (self._clock() - datetime.fromisoformat(self._result.started)).total_seconds()

    @property
    def left(self) -> float | None:
        """Seconds left, 0 when the time is up, None where no time is set."""
        return max(0.0, self.made.minutes * 60 - self.since) if self.made.minutes else None

    # Asking

    @property
    def name(self) -> str:
        return self._result.name

    @property
    def hand_in(self) -> str:
        return f"Your answers are in {self.path.name}, for the leader."

    @property
    def total(self) -> int:
        return len(self.made.sheets)

    @property
    def done(self) -> frozenset[int]:
        return frozenset(given.number - 1 for given in self._result.answers)

    @property
    def answered(self) -> int:
        return len(self._result.answers)

    @property
    def position(self) -> int | None:
        """Return the first question (from 0) without an answer; None when all have one or the time is up."""
        if self.left == 0:
            return None
        return next((i for i in range(self.total) if i not in self.done), None)

    def hints_given(self, number: int) -> int:  # noqa: ARG002 - a set gives none
        return 0

    def note_hint(self, number: int) -> None:
        """A set gives no hints."""

    def draft(self, number: int) -> str:
        return self._drafts.get(number, "")

    def note_draft(self, number: int, text: str) -> None:
        """Keep half an answer; it is on disk when the sitting is closed, and with the next answer."""
        self._drafts[number] = text[:LONGEST_DRAFT]

    def remarks(self) -> tuple[str, ...]:
        return ()

    def help(self, number: int) -> tuple[HintStep, ...]:  # noqa: ARG002 - a set gives no help
        return ()

    def seen_for(self, number: int) -> float:  # noqa: ARG002 - the time is that of the whole set
        return 0.0

    def asks_sureness(self, number: int) -> bool:
        """Ask the same questions of everybody: the set's seed says of which."""
        return self.sureness and asked_of(self.seed, number)

    def prepare(self, number: int) -> Question:
        """Make question `number` from the set's file; may be called from any thread."""
        with self._lock:
            if number not in self._questions:
                self._questions[number] = question_of(self.made, number + 1)
            return self._questions[number]

    def prepared(self, number: int) -> Question | None:
        return self._questions.get(number)

    def number_of(self, question: Question) -> int:
        return next(number for number, prepared in self._questions.items() if prepared is question)

    # Answering

    def accept(self, question: Question, text: str) -> Answer:
        return kinds()[question.kind].accept(question, text)

    def submit(
        self,
        question: Question,
        answer: Answer,
        seconds: float,
        _hints: Iterable[Hint] = (),
        confidence: int | None = None,
    ) -> Verdict:
        """Put an answer on disk, and grade it where the set tells at once."""
        number = self.number_of(question)
        verdict = kinds()[question.kind].judge(question, answer, question.look or self.look) if self.tells else KEPT
        self._keep(
            number, Given(number + 1, answer.text, answer.point, False, seconds, self.since, confidence=confidence)
        )
        self._verdicts[number] = verdict
        return verdict

    def skip(self, question: Question, seconds: float, _hints: Iterable[Hint] = ()) -> Verdict:
        number = self.number_of(question)
        self._keep(number, Given(number + 1, "", None, True, seconds, self.since))
        if not self.tells:
            return replace(KEPT, summary="Skipped.")
        right = kinds()[question.kind].grade(question, Answer())
        return replace(right, credit=0.0, summary="Skipped.", confused_with="")

    def again(self, number: int) -> tuple[Question, Answer, Verdict]:
        """Return a question that has its answer, with that and its verdict, where the set tells at once."""
        given = next((given for given in self._result.answers if given.number == number + 1), None)
        if given is None or not self.tells:
            raise LayoutdrillError(f"question {number + 1} cannot be looked at again", todo="wait for the leader")
        verdict = graded(self.made, given)
        verdict = replace(verdict, summary="Skipped.", confused_with="") if given.skipped else verdict
        return self.prepare(number), Answer(given.text, given.point), verdict

    @property
    def missed(self) -> tuple[int, ...]:
        if not self.tells:
            return ()
        return tuple(given.number - 1 for given in self._result.answers if graded(self.made, given).credit < 1)

    def summary(self) -> Summary | None:
        """Return how it went, from the key; None where the leader tells at the end."""
        if not self.tells:
            return None
        records = [self._record(given) for given in self._result.answers]
        return summarise(self.total, records)

    def _record(self, given: Given) -> AnswerRecord:
        verdict = graded(self.made, given)
        return answer_record(
            self.prepare(given.number - 1),
            Answer(given.text, given.point),
            verdict,
            Effort(given.seconds, earned=None if given.skipped else verdict.credit),
            sitting=self.id,
            number=given.number - 1,
        )

    def _keep(self, number: int, given: Given) -> None:
        if self.left == 0:
            self.finish()
            raise LayoutdrillError("the time is up", todo="give the result file to the leader")
        if number in self.done:
            raise LayoutdrillError(f"question {number + 1} has its answer already", todo="go on to the next")
        drafts = self._halves(self.done | {number})
        result = replace(self._result, answers=(*self._result.answers, given), drafts=drafts)
        if len(result.answers) == self.total:
            result = replace(result, finished=self._clock().isoformat(timespec="milliseconds"))
        result = signed(result)
        write_result(self.path, result)
        self._result = result

    def _halves(self, answered: Collection[int]) -> dict[int, str]:
        """Return what is written of answers that are not given yet, by the number of the question from 1."""
        return {n + 1: text for n, text in sorted(self._drafts.items()) if text and n not in answered}

    def finish(self) -> None:
        """Say in the result file that the learner is done, with what is answered by then."""
        if not self._result.finished:
            finished = self._clock().isoformat(timespec="milliseconds")
            result = signed(replace(self._result, finished=finished, drafts={}))
            write_result(self.path, result)
            self._result = result


def _refused(path: Path, what: str, todo: str) -> LayoutdrillError:
    return LayoutdrillError(what, where=Where(str(path)), todo=todo)
