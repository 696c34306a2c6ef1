"""
A sitting that is open (see `opening.py` for the ways into it): each answer is on disk before the next question.

`prepare` is slow (it draws and proves) and may run
in a worker thread for the next question while this one is being answered.
"""

import json
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import asdict, replace
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock
from typing import Self

from layoutdrill.deck import Deck
from layoutdrill.dice import Dice
from layoutdrill.drill.again import TODAY, Effort, answer_record, makers_again
from layoutdrill.drill.asking import Maker, asked_of_some
from layoutdrill.drill.history import skill_key
from layoutdrill.drill.opening import CHECK, Begun, Opening, opened, seed_or_any
from layoutdrill.drill.plan import Draw, draw_of
from layoutdrill.drill.record import DAMAGE, AnswerRecord, DamagedError, SittingRecord, TakenError
from layoutdrill.drill.records import Records
from layoutdrill.drill.results import Results
from layoutdrill.drill.summary import Summary, summarise
from layoutdrill.drill.visited import Visited
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.learning.sure import asked_of
from layoutdrill.question import (
    Answer,
    Hint,
    HintStep,
    Question,
    Verdict,
    credit_after,
    kinds,
)

WHERE_BEEN = -1
"""Stands among the drafts, in place of a question's number, for where one has been on the die."""
LONGEST_DRAFT = 4000
"""Characters of half an answer that are kept."""
KEPT = Verdict(0.0, "Your answer is kept.", "", "")
"""What is told after an answer that is kept for checking."""


class Sitting(Opening):
    """An open sitting. `id` is its number in the records; `look` is "" where nobody chose one."""

    def __init__(
        self,
        record: SittingRecord,
        records: Records,
        *,
        deck: Deck,
        maker: Maker,
    ) -> None:
        self.id = record.id
        self.sort = record.sort
        self.deck = deck
        self.deck_name = record.deck
        self.kit = Path(record.kit) if record.kit else None
        self.title = record.title
        self.seed = record.seed
        self.look = record.look
        self.shown_in = record.look
        """
        The look that pictures are shown in, unless a question has one of its own: what it hides is told with the
        question; "" where nothing is hidden.
        """
        self.worn: float | None = None
        """How worn dies are, from 0 (textbook) to 1 (attic), where a deck does not say; None until someone does."""
        self.sureness = False
        self.tells = record.sort != CHECK
        try:
            self.plan: tuple[Draw, ...] = tuple(draw_of(given) for given in json.loads(record.plan))
        except DAMAGE:
            raise DamagedError(f"the plan of sitting {record.id} is damaged", where=Where(str(records.path))) from None
        self.records = records
        self.results: Results | None = None
        """Where each answer is written besides."""
        self._maker = maker
        self._remarks: list[str] = []
        self._help_given = records.help_given(record.id)
        self._drafts_before = records.drafts(record.id)
        self._drafts = dict(self._drafts_before)
        self.visited = Visited(self._drafts.pop(WHERE_BEEN, ""))
        self._questions: dict[int, Question] = {}
        self._locks = [Lock() for _ in self.plan]
        self._answers: dict[int, AnswerRecord] = {
            answer.number: answer for answer in records.answers(sitting=record.id)
        }

    def close(self) -> None:
        """Close the records; what is unanswered can be resumed, with what was written of its answer."""
        self._keep_half()
        self.records.close()

    def _keep_half(self) -> None:
        """Put on disk what was written of answers not given yet, and where one has been."""
        half = {number: text for number, text in self._drafts.items() if number not in self._answers}
        half |= {WHERE_BEEN: been} if (been := self.visited.text()) else {}
        if half != self._drafts_before:
            with suppress(LayoutdrillError):  # half an answer is worth less than leaving
                self.records.note_drafts(self.id, half)
                self._drafts_before = half

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exc: object) -> None:
        self.close()

    # Asking

    told_later = "No verdicts here: this deck is kept for checking, and progress shows how it went."
    goes_on: str = "start layoutdrill and choose Continue"
    left: float | None = None

    @property
    def hand_in(self) -> str:
        return "The report of it is under Survey a chip, on home." if self.sort == "survey" else ""

    @property
    def total(self) -> int:
        return len(self.plan)

    @property
    def answered(self) -> int:
        return len(self._answers)

    @property
    def done(self) -> frozenset[int]:
        """The numbers of the questions that have an answer, or were skipped."""
        return frozenset(self._answers)

    @property
    def position(self) -> int | None:
        """Return the number (from 0) of the first question without an answer, None when all have one."""
        return next((i for i in range(self.total) if i not in self._answers), None)

    def help(self, number: int) -> tuple[HintStep, ...]:
        """Return what is shown with a question from the start, at no cost: a lesson's help, which fades."""
        return self.plan[number].help

    def seen_for(self, number: int) -> float:
        return self.plan[number].glance

    def asks_sureness(self, number: int) -> bool:
        """Whether it is asked how sure one is: not in lessons, which are for learning the words."""
        if self.sort == "survey":  # whoever reports a finding says how sure it is
            return self.sureness
        return self.sureness and self.sort != "lesson" and asked_of(self.seed, number)

    def prepare(self, number: int) -> Question:
        """
        Make question `number` (from 0): draw, prove, ask. Slow; may be called from any thread, and again.

        Raises LayoutdrillError where the number is out of range or nothing can be asked.
        """
        if not 0 <= number < self.total:
            raise LayoutdrillError(f"there is no question {number + 1}", todo=f"this sitting has {self.total}")
        with self._locks[number]:
            if number not in self._questions:
                self._questions[number] = self.ask_anew(number)
            return self._questions[number]

    def prepared(self, number: int) -> Question | None:
        """Return question `number` (from 0) if it has been made already."""
        return self._questions.get(number)

    def ask_anew(self, number: int) -> Question:
        """Make question `number` from the plan, whether it has been made before or not."""
        draw = self.plan[number]
        dice = Dice.from_text(f"ask {self.seed} {number}")
        chosen = (draw.look or self.shown_in) if self.shown_in else ""
        question = asked_of_some(draw, self._maker, dice, chosen, self.deck.look, self.worn or 0.0)
        if chosen != self.shown_in and not question.look:
            question = replace(question, look=chosen)
        if draw.why:
            question = replace(question, facts=(*question.facts, draw.why))
        bare = draw.glance or not self.tells
        return replace(question, hints=()) if bare else question

    # Answering

    def accept(self, question: Question, text: str) -> Answer:
        """Read what was typed; raises LayoutdrillError with a plain remark when it cannot be an answer."""
        return kinds()[question.kind].accept(question, text)

    def submit(
        self,
        question: Question,
        answer: Answer,
        seconds: float,
        hints: Iterable[Hint] = (),
        confidence: int | None = None,
    ) -> Verdict:
        """
        Grade an answer and put it on disk; `hints` are those that were taken, and the verdict's credit is after them;
        `confidence` is how sure one was, from 1 to 3, which changes nothing else.

        Raises LayoutdrillError where the records cannot be written: the answer is then not counted, and can be given
        again.
        """
        taken = tuple(hints)
        judged = kinds()[question.kind].judge(question, answer, question.look or self.shown_in)
        verdict = self._noted(question, judged)
        left = replace(verdict, credit=credit_after(verdict, taken))
        self._keep(question, answer, left, Effort(seconds, taken, verdict.credit, confidence))
        self._contrast(question, left)
        return left if self.tells else KEPT

    def _noted(self, question: Question, verdict: Verdict) -> Verdict:
        """Add the author's note, if there is one."""
        note = self.plan[self.number_of(question)].note
        told = verdict.decides.rstrip()
        stop = "." if told and not told.endswith((".", "?", "!", "”", ")")) else ""
        return replace(verdict, decides=f"{told}{stop} {note}".strip()) if note else verdict

    def skip(self, question: Question, seconds: float, hints: Iterable[Hint] = ()) -> Verdict:
        """Leave a question unanswered; the record says so, and the verdict tells the right answer."""
        try:
            right = kinds()[question.kind].judge(question, Answer(), question.look or self.shown_in)
            verdict = replace(right, credit=0.0, summary="Skipped.", confused_with="")
        except LayoutdrillError:
            verdict = Verdict(0.0, "Skipped.", "", "")
        self._keep(question, Answer(), verdict, Effort(seconds, tuple(hints)))
        return verdict if self.tells else replace(KEPT, summary="Skipped.")

    def _contrast(self, question: Question, verdict: Verdict) -> None:
        """In practice by skills, have what was just confused come again a few questions later, both sides of it."""
        if self.sort != TODAY.name or not verdict.confused_with or verdict.credit >= 1:
            return
        from layoutdrill.drill.today import contrast_draws  # noqa: PLC0415 - the scheduler, for a day's plan alone
        from layoutdrill.learning.mix import LATER  # noqa: PLC0415 - as above

        number = self.number_of(question)
        places = [number + later for later in LATER]
        if places[-1] >= self.total or any(at in self._answers or at in self._questions for at in places):
            return
        dice = Dice.from_text(f"contrast {self.seed} {number}")
        try:
            skill, said = skill_key(question), verdict.confused_with
            pair = contrast_draws(skill, said, datetime.now(UTC), self.records, dice)
            if not pair:
                return
            changed = dict(zip(places, pair, strict=True))
            plan = tuple(changed.get(at, draw) for at, draw in enumerate(self.plan))
            self.records.replan(self.id, json.dumps([asdict(draw) for draw in plan]))
        except LayoutdrillError as error:  # the answer is kept; the sitting goes on as it was planned
            self._remarks.append(f"What was confused does not come again in this sitting: {error.what}.")
            return
        self.plan = plan

    def again(self, number: int) -> tuple[Question, Answer, Verdict]:
        """
        Return question `number` (from 0) with the answer that it got and what was told of it. Slow: it may draw.

        Raises LayoutdrillError where it has none yet.
        """
        record = self._answers.get(number)
        if record is None:
            raise LayoutdrillError(f"question {number + 1} has no answer yet", todo="answer it first")
        question, answer = self.prepare(number), Answer(record.given, record.point)
        verdict = kinds()[question.kind].judge(question, answer, question.look or self.shown_in)
        verdict = replace(verdict, credit=record.credit)
        return question, answer, replace(verdict, summary="Skipped.", confused_with="") if record.skipped else verdict

    @property
    def missed(self) -> tuple[int, ...]:
        """The numbers (from 0) of the questions that were answered wrong, with help, or not at all."""
        if not self.tells:
            return ()
        return tuple(number for number, answer in sorted(self._answers.items()) if answer.credit < 1)

    def open_missed(self, *, seed: int | None = None) -> "Sitting":
        """Open a sitting on what was missed in this one alone, from fresh drawings."""
        chosen = seed_or_any(seed)
        dice = Dice.from_text(f"missed {chosen}")
        draws = tuple(replace(self.plan[number], seed=dice.between(0, 2**31 - 1), help=()) for number in self.missed)
        if not draws:
            raise LayoutdrillError("nothing was missed", todo="go on to the next lesson")
        deck, makers = makers_again(self.records.sitting(self.id))
        path = self.records.path
        return opened(Sitting, Begun(self.sort, deck, draws, chosen, makers, self.look, self.kit), path)

    def number_of(self, question: Question) -> int:
        """Return the number (from 0) of a question that `prepare` gave."""
        for number, prepared in list(self._questions.items()):
            if prepared is question:
                return number
        raise LayoutdrillError("this question is not of this sitting")

    def _keep(self, question: Question, answer: Answer, verdict: Verdict, effort: Effort) -> None:
        """Put an answer on disk."""
        number = self.number_of(question)
        if number in self._answers:
            raise LayoutdrillError(f"question {number + 1} has its answer already", todo="go on to the next")
        record = answer_record(question, answer, verdict, effort, sitting=self.id, number=number)
        draw = self.plan[number]
        record = replace(
            record,
            lesson=draw.group,
            skill=skill_key(question),
            aided=bool(draw.help),
            look=question.look or self.shown_in,
            wear=question.specimen.wear,
            difficulty=draw.difficulty,
        )
        try:
            self.records.add_answer(record)
        except TakenError as taken:
            self._answers = {answer.number: answer for answer in self.records.answers(sitting=self.id)}
            self._remarks.append(f"{taken.what.capitalize()}: that answer counts, this one is not kept.")
            return
        self._answers[number] = record
        if self.visited.fields:
            self._keep_half()
        if self.results:
            try:
                self.results.add(record, deck=self.deck_name, seed=self.seed, count=self.total)
            except LayoutdrillError as error:  # the answer is kept, and that is what counts
                self._remarks.append(f"Your answer is kept, but {error.what}: {error.where}")

    def hints_given(self, number: int) -> int:
        """Return how many hints of question `number` have been shown, now or before the sitting was left."""
        return self._help_given.get(number, 0)

    def note_hint(self, number: int) -> None:
        """Keep that one more hint of question `number` has been shown."""
        self._help_given[number] = self.hints_given(number) + 1
        try:
            self.records.note_help(self.id, number, self._help_given[number])
        except LayoutdrillError as error:  # it counts in this window all the same
            self._remarks.append(f"The hint is not kept: {error.what}.")

    def draft(self, number: int) -> str:
        """Return what was written of an answer when question `number` (from 0) was left, "" where nothing was."""
        return self._drafts.get(number, "")

    def note_draft(self, number: int, text: str) -> None:
        """Keep what is written of an answer so far; it is put on disk when the sitting is closed."""
        self._drafts[number] = text[:LONGEST_DRAFT]

    def remarks(self) -> tuple[str, ...]:
        """Return what is to be told besides verdicts, each remark once."""
        waiting, self._remarks = tuple(self._remarks), []
        return waiting

    def summary(self) -> Summary | None:
        """Return how it went so far; None where that is kept for progress to show."""
        if not self.tells:
            return None
        return summarise(self.total, [self._answers[number] for number in sorted(self._answers)])

    def placement(self) -> Mapping[str, bool]:
        """Say for each lesson of a placement test whether it can be skipped: every question right, none skipped."""
        groups = {draw.group: True for draw in self.plan}
        for number, draw in enumerate(self.plan):
            answer = self._answers.get(number)
            if answer is None or answer.credit < 1:
                groups[draw.group] = False
        return groups
