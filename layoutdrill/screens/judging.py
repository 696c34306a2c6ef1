"""How an answer is judged: first how sure it is, where that is asked, then graded and kept in a worker, then told."""

from abc import abstractmethod
from contextlib import suppress
from dataclasses import replace
from math import inf
from time import monotonic
from typing import TYPE_CHECKING

from textual.message import Message
from textual.widgets import Static

from layoutdrill.errors import LayoutdrillError
from layoutdrill.question.hints import hints
from layoutdrill.question.model import Answer, Hint, HintStep, Verdict
from layoutdrill.screens.drill_phases import SURE_STEPS
from layoutdrill.screens.drill_words import DrillWords
from layoutdrill.screens.lines import line
from layoutdrill.value import mutable

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting


class Judging(DrillWords):
    """From an answer to its verdict."""

    @mutable
    class AnswerJudged(Message):
        """A worker graded and kept an answer."""

        index: int
        answer: Answer
        verdict: Verdict

    @mutable
    class NotKept(Message):
        """A worker could not grade or keep the answer to question `index`."""

        index: int
        error: Exception

    def __init__(self, sitting: "OpenSitting") -> None:
        super().__init__(sitting)
        self._unsaid: tuple[Answer, float, tuple[Hint, ...]] | None = None
        """An answer of which one is being asked how sure it is."""
        self._told_at = 0.0
        """Since when the verdict has stood on the screen: what was pressed before cannot have meant it."""

    @abstractmethod
    def go_to(self, index: int) -> None:
        """Go to a question, or to the end after the last."""

    def _judge(self, answer: Answer | None) -> None:
        """Grade and keep the answer in a worker; None gives the question up."""
        question = self.asked
        if question is None or self.phase != "asking":
            return
        if not self.picture.stands and not self.sitting.seen_for(self.at):
            self.notify("The picture is still being drawn: answer once it can be seen.", timeout=3)
            return
        seconds = monotonic() - self._since
        taken = (*self.priced(question.hints[: self.shown_hints]), *self._aid_had())
        self.aided_unasked = self.aid_unasked
        self.picture.focus()
        if answer is not None and self.sitting.asks_sureness(self.at):
            self.phase, self._unsaid = "sure", (answer, seconds, taken)
            self._show()
        else:
            self._submit(answer, seconds, taken)

    def _say_how_sure(self, step: int | None) -> None:
        if self._unsaid is not None and self.phase == "sure":
            given, self._unsaid = self._unsaid, None
            self.query_one("#said", Static).update(line("[$secondary]judging …[/]"))
            self._submit(*given, step)

    def act_sure_1(self) -> None:
        self._say_how_sure(SURE_STEPS["sure_1"])

    def act_sure_2(self) -> None:
        self._say_how_sure(SURE_STEPS["sure_2"])

    def act_sure_3(self) -> None:
        self._say_how_sure(SURE_STEPS["sure_3"])

    def act_unsaid(self) -> None:
        self._say_how_sure(None)

    def _submit(
        self, answer: Answer | None, seconds: float, taken: tuple[Hint, ...], confidence: int | None = None
    ) -> None:
        """Grade and keep an answer in a worker; None gives the question up."""
        question, index = self.asked, self.at
        assert question is not None
        self.phase = "judging"
        sureness = {} if confidence is None else {"confidence": confidence}

        def work() -> None:
            try:
                if answer is None:
                    verdict = self.sitting.skip(question, seconds, taken)
                else:
                    verdict = self.sitting.submit(question, answer, seconds, taken, **sureness)
            except Exception as error:  # noqa: BLE001 - a remark or a panel says it
                self.post_message(self.NotKept(index, error))
            else:
                self.post_message(self.AnswerJudged(index, answer or Answer(), verdict))

        self.run_worker(work, thread=True, group="submit", exit_on_error=False)

    def _aid_had(self) -> tuple[Hint, ...]:
        """
        Return the tracing aid, at no cost, where the scale has put it on, or mask colours were looked at: the answer
        then counts as helped.
        """
        if self.eased:
            return (replace(hints((HintStep.AID,))[0], cost=0.0),)
        if not self.aid_unasked:
            return ()
        return (replace(hints((HintStep.AID,))[0], cost=0.0),)

    def keep_unsaid(self) -> None:
        """Keep an answer of which one is being asked how sure it is: the screen goes for good."""
        if self.phase == "sure" and self._unsaid is not None and self.asked is not None:
            answer, seconds, taken = self._unsaid
            with suppress(Exception):  # the screen has gone: nobody is there to be told
                self.sitting.submit(self.asked, answer, seconds, taken)

    def on_judging_answer_judged(self, message: AnswerJudged) -> None:
        if message.index != self.at or self.phase != "judging":
            return
        for remark in self.sitting.remarks():
            self.notify(remark, severity="warning", timeout=10)
        if not self.sitting.tells:
            self.go_to(self.at + 1)
            return
        self._tell(message.answer, message.verdict)

    def _tell(self, answer: Answer, verdict: Verdict) -> None:
        """Show a verdict, and on the picture what decides."""
        self.answered, self.verdict, self.phase = answer, verdict, "judged"
        if self.picture.masked and self.asked is not None:
            self.show_question(self.asked)
        self.add_class("-judged")
        self.outline_verdict()
        self._show()
        self._told_at = inf
        self.call_after_refresh(self._note_told)

    def _note_told(self) -> None:
        self._told_at = Message().time

    @property
    def unseen(self) -> bool:
        """Whether what is being dealt with was pressed before the verdict stood on the screen."""
        return self.phase == "judged" and self.bench.pressed_at < self._told_at

    def on_judging_not_kept(self, message: NotKept) -> None:
        """Tell what could not be done: the answer can be given again."""
        if message.index != self.at:
            return
        self.phase = "asking"
        if isinstance(message.error, LayoutdrillError):
            self.remark = str(message.error)
        else:
            self.bench.show_error(message.error)
        self._show()
