"""The course of a sitting: each question prepared ahead, shown, asked; the clock; back to where one was."""

from time import monotonic
from typing import TYPE_CHECKING

from textual.message import Message

from layoutdrill.question.model import Question
from layoutdrill.screens.answer_line import AnswerLine
from layoutdrill.screens.judging import Judging
from layoutdrill.screens.looking_back import Held
from layoutdrill.value import mutable

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting

_LAST_MOMENT = 2.0
"""Seconds before the end at which an answer is kept though one has not said how sure it is."""


class Course(Judging):
    """From one question to the next."""

    @mutable
    class QuestionReady(Message):
        """A worker prepared a question."""

        index: int
        question: Question

    @mutable
    class NotPrepared(Message):
        """A worker could not prepare question `index`."""

        index: int
        error: Exception

    def __init__(self, sitting: "OpenSitting") -> None:
        super().__init__(sitting)
        self._preparing: set[int] = set()
        self._glancing = False

    def tick(self) -> None:
        """Let the clock run on in the heading; when the time is up, what was being asked stays without an answer."""
        if self.phase == "done":
            return
        if self.phase == "sure" and self.sitting.left is not None and self.sitting.left < _LAST_MOMENT:
            self.act_unsaid()
        elif self.sitting.left == 0 and self.phase != "judging":
            self.go_to(self.sitting.total)
        else:
            self._head()

    def go_to(self, index: int) -> None:
        self.at, self.held = index, None
        self.asked = self.answered = self.verdict = None
        self.shown_hints, self.remark, self.eased, self.aid_free = 0, "", False, False
        self.aided_unasked = False
        self.remove_class("-full", "-judged", "-told")
        if index >= self.sitting.total:
            self.phase = "done"
            self.add_class("-full")
            self._show()
            return
        ready = self.sitting.prepared(index)
        if ready is not None:
            self._ask(ready)
            return
        self.phase = "waiting"
        self._prepare(index)
        self.set_timer(0.15, self._say_waiting)

    def _say_waiting(self) -> None:
        if self.phase == "waiting":
            self._show()

    def _prepare(self, index: int) -> None:
        if index >= self.sitting.total or index in self._preparing or self.sitting.prepared(index) is not None:
            return
        self._preparing.add(index)

        def work() -> None:
            try:
                question = self.sitting.prepare(index)
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.NotPrepared(index, error))
            else:
                self.post_message(self.QuestionReady(index, question))

        self.run_worker(work, thread=True, group="prepare", exit_on_error=False)

    def on_course_question_ready(self, message: QuestionReady) -> None:
        self._preparing.discard(message.index)
        if message.index == self.at and self.phase == "waiting":
            self._ask(message.question)
        elif message.index == self.at + 1 and self.phase in ("asking", "judging"):
            self.draw_ahead(message.question)

    def _ask(self, question: Question) -> None:
        self.asked = question
        if self.sitting.sort == "review":
            _, answer, verdict = self.sitting.again(self.at)
            self.show_question(question)
            self._tell(answer, verdict)
            return
        if self.sitting.seen_for(self.at):
            self.phase = "glancing"
            self.show_question(question)
            self._show()
            return
        self._begin(question)

    def _begin(self, question: Question) -> None:
        """Ask: the answer's time runs from here."""
        self.phase, self._since = "asking", monotonic()
        picture = self.picture
        if self.sitting.seen_for(self.at):
            picture.mask()
        else:
            self.show_question(question)
        line_of = self.query_one("#answer", AnswerLine)
        draft = self.sitting.draft(self.at)
        line_of.begin(question.grid, question.listing, draft)
        if question.pointed:
            self.call_after_refresh(picture.toggle_crosshair, on=True)
        if ((question.choices and not question.typed) or question.pointed) and not draft:
            picture.focus()
        else:
            line_of.display = True
            line_of.focus()
        self.shown_hints = min(len(question.hints), self.sitting.hints_given(self.at))
        for step in (*self.sitting.help(self.at), *(hint.step for hint in question.hints[: self.shown_hints])):
            self.show_step(step)
        self._show()

    def on_picture_view_drawn(self) -> None:
        """Prepare the next question once this one can be seen; at a glance it is seen for so long from here."""
        if self.phase == "glancing" and not self._glancing:
            self._glancing, at = True, self.at
            self.set_timer(self.sitting.seen_for(at), lambda: self._mask(at))
        elif self.phase not in ("waiting", "glancing"):
            self._prepare(self.at + 1)

    def _mask(self, index: int) -> None:
        """Cover the picture, and ask what it was."""
        self._glancing = False
        if index == self.at and self.phase == "glancing" and self.asked is not None:
            self._begin(self.asked)
            self._prepare(self.at + 1)

    def on_course_not_prepared(self, message: NotPrepared) -> None:
        """
        Tell what could not be done. A question prepared ahead is tried again when its turn comes; one whose turn it is
        can be passed over.
        """
        self._preparing.discard(message.index)
        if message.index == self.at:
            self.phase = "failed"
            self.bench.show_error(message.error)
            self._show()

    def go_on(self, held: Held) -> None:
        if held.phase == "asking" and held.asked is not None:
            since, eased = self._since, held.eased
            self._begin(held.asked)
            self._since, self.eased, self.remark = since, eased, held.remark
            self.query_one("#answer", AnswerLine).value = held.typed
            self._show()
        elif held.phase == "judged" and held.asked is not None:
            self.add_class("-judged")
            self.show_question(held.asked)
            self.outline_verdict()
            self._show()
        else:
            self.go_to(held.at)
