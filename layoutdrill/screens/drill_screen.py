"""The drill: the picture first, the question beside or below it, the verdict in the same place."""

from contextlib import suppress
from dataclasses import replace
from time import monotonic
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input, Static

from layoutdrill.deck import load_deck
from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question.hints import hints
from layoutdrill.question.kind import Group
from layoutdrill.question.model import Answer, Hint, HintStep, Question, Verdict
from layoutdrill.question.registry import kinds
from layoutdrill.screens.actions import EVERYWHERE
from layoutdrill.screens.answer_line import AnswerLine
from layoutdrill.screens.answering import Answering
from layoutdrill.screens.course import lesson_after
from layoutdrill.screens.drill_phases import SURE_STEPS, possible_now, why_not_now
from layoutdrill.screens.ending import told_at_the_end, what_is_next
from layoutdrill.screens.focus import BESIDE, question_beside
from layoutdrill.screens.looking_back import Held
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.subject import seen_through
from layoutdrill.screens.wording import (
    WITHOUT_QUESTION,
    asking,
    devices_of,
    explanation,
    joined,
    judged,
    line,
    outlines_told,
    sureness,
)
from layoutdrill.value import mutable

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting


_LAST_MOMENT = 2.0
"""Seconds before the end at which an answer is kept though one has not said how sure it is."""


class DrillScreen(Answering):
    """Ask the questions of a sitting, one after another."""

    name_of: ClassVar[str] = "drill"
    about: ClassVar[str] = (
        "A layout and a question about it. Answer by the letter of a choice, in words, or by pointing, as asked. The "
        "verdict outlines on the picture what decides. Each answer is kept at once: leave whenever you like."
    )
    BINDINGS = bindings_for("drill")

    @mutable
    class QuestionReady(Message):
        """A worker prepared a question."""

        index: int
        question: Question

    @mutable
    class AnswerJudged(Message):
        """A worker graded and kept an answer."""

        index: int
        answer: Answer
        verdict: Verdict

    @mutable
    class WorkFailed(Message):
        """A worker could not do its work; `what` says which, for question `index`."""

        what: str
        index: int
        error: Exception

    @mutable
    class MissedOpened(Message):
        """A worker opened a sitting on what was missed."""

        sitting: "OpenSitting"

    def __init__(self, sitting: "OpenSitting") -> None:
        super().__init__(sitting)
        self._preparing: set[int] = set()
        self._glancing = False
        self._unsaid: tuple[Answer, float, tuple[Hint, ...]] | None = None
        """An answer of which one is being asked how sure it is."""

    def body(self) -> ComposeResult:
        with Container(id="bench"):
            yield PictureView(id="picture")
            with VerticalScroll(id="words", can_focus=False):
                yield Static(id="said")
                yield Static(id="grid")
                yield AnswerLine(id="answer", placeholder="type the answer, Enter", compact=True)
                yield Static(id="beyond", markup=False)
                yield Static(id="more")

    def on_mount(self) -> None:
        self.query_one("#answer", Input).display = False
        self.sitting.shown_in = self.bench.look_for(self.sitting.look)
        if self.sitting.worn is None:
            self.sitting.worn = self.bench.settings.worn
        self.sitting.sureness = self.bench.settings.sureness == "on"
        self._go_to(self.sitting.total if self.sitting.position is None else self.sitting.position)
        if self.sitting.left is not None:
            self.set_interval(1, self._tick)

    def on_unmount(self) -> None:
        """Let go of the records: the screen has gone for good, and what is unanswered can be resumed."""
        if self.phase == "sure" and self._unsaid is not None and self.asked is not None:
            answer, seconds, taken = self._unsaid
            with suppress(Exception):  # the screen has gone: nobody is there to be told
                self.sitting.submit(self.asked, answer, seconds, taken)
        self.sitting.close()

    # the course of a sitting

    def _tick(self) -> None:
        """Let the clock run on in the heading; when the time is up, what was being asked stays without an answer."""
        if self.phase == "done":
            return
        if self.phase == "sure" and self.sitting.left is not None and self.sitting.left < _LAST_MOMENT:
            self.act_unsaid()
        elif self.sitting.left == 0 and self.phase != "judging":
            self._go_to(self.sitting.total)
        else:
            self._head()

    def _head(self) -> None:
        number = min(self.at + 1, self.sitting.total)
        left = self.sitting.left
        clock = "" if left is None else f"   {int(left) // 60}:{int(left) % 60:02} left"
        if self.phase == "done":
            self.head(self.sitting.title)
        elif self.phase == "back":
            self.head_of(f"{self.sitting.title}   looking back at {number} of {self.sitting.total}{clock}")
        else:
            self.head_of(f"{self.sitting.title}   {number} of {self.sitting.total}{clock}")

    def _go_to(self, index: int) -> None:
        self.at, self.held = index, None
        self.asked = self.answered = self.verdict = None
        self.shown_hints, self.remark, self.eased = 0, "", False
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
                self.post_message(self.WorkFailed("prepare", index, error))
            else:
                self.post_message(self.QuestionReady(index, question))

        self.run_worker(work, thread=True, group="prepare", exit_on_error=False)

    def on_drill_screen_question_ready(self, message: QuestionReady) -> None:
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

    def _judge(self, answer: Answer | None) -> None:
        """Grade and keep the answer in a worker; None gives the question up."""
        question = self.asked
        if question is None or self.phase != "asking":
            return
        if not self.picture.stands and not self.sitting.seen_for(self.at):
            self.notify("The picture is still being drawn: answer once it can be seen.", timeout=3)
            return
        seconds = monotonic() - self._since
        taken = (*question.hints[: self.shown_hints], *self._aid_had())
        self.picture.focus()
        if answer is not None and self.sitting.asks_sureness(self.at):
            self.phase, self._unsaid = "sure", (answer, seconds, taken)
            self._show()
        else:
            self._submit(answer, seconds, taken)

    def _say_how_sure(self, step: int | None) -> None:
        if self._unsaid is not None and self.phase == "sure":
            given, self._unsaid = self._unsaid, None
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
                self.post_message(self.WorkFailed("submit", index, error))
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
        view, subject = self.picture.view, self.picture.subject
        if view is None or subject is None or subject.aid or "tracing aid" not in seen_through(subject, view.scale):
            return ()
        return (replace(hints((HintStep.AID,))[0], cost=0.0),)

    def on_drill_screen_answer_judged(self, message: AnswerJudged) -> None:
        if message.index != self.at or self.phase != "judging":
            return
        for remark in self.sitting.remarks():
            self.notify(remark, severity="warning", timeout=10)
        if not self.sitting.tells:
            self._go_to(self.at + 1)
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

    def on_drill_screen_work_failed(self, message: WorkFailed) -> None:
        """
        Tell what could not be done. A question prepared ahead is tried again when its turn comes; one whose turn it is
        can be passed over; an answer that could not be kept can be given again.
        """
        self._preparing.discard(message.index)
        if message.index != self.at:
            return
        if message.what == "prepare":
            self.phase = "failed"
            self.bench.show_error(message.error)
        else:
            self.phase = "asking"
            if isinstance(message.error, LayoutdrillError):
                self.remark = str(message.error)
            else:
                self.bench.show_error(message.error)
        self._show()

    # looking back

    def show_phase(self) -> None:
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
            self._go_to(held.at)

    # what stands on the screen

    def _show(self) -> None:
        """Write heading, words and footer for the present phase."""
        self._head()
        said, more, line_of = (
            self.query_one("#said", Static),
            self.query_one("#more", Static),
            self.query_one("#answer"),
        )
        wide = self.has_class("-wide") or self.has_class("-beside")
        if self.phase != "asking":
            line_of.display = False
            self.query_one("#grid").display = False
            self.query_one("#beyond").display = False
        if self.phase in ("asking", "judging"):
            assert self.asked is not None
            line_of.display = self.phase == "asking" and (
                self.typing or self.asked.typed or not (self.asked.choices or self.asked.pointed)
            )
            netlist_shown = any(hint.step is HintStep.NETLIST for hint in self.asked.hints[: self.shown_hints])
            self.set_class(netlist_shown, "-told")
            said.update(asking(self.asked, self.shown_hints, self.remark, outlines_told(self.helped_by), wide=wide))
            more.update(devices_of(self.asked.specimen, self.words_width) if netlist_shown else Content())
            self._show_grid()
        elif self.phase == "sure":
            said.update(sureness())
            more.update(Content())
        elif self.phase == "glancing":
            said.update(line("[b]Look:[/] what is it?"))
            more.update(Content())
        elif self.phase in ("judged", "back"):
            assert self.asked is not None
            assert self.answered is not None
            assert self.verdict is not None
            words = judged(self.asked, self.answered, self.verdict, self.shown_hints)
            if self.phase == "back":
                words = joined([line("[$secondary]$asked[/]", asked=self.asked.prompt), words])
            said.update(words)
            at_work = kinds()[self.asked.kind].group is not Group.SEE or self.has_class("-full")
            more.update(explanation(self.asked.specimen, self.words_width, self.verdict.decides, at_work=at_work))
        else:
            said.update(line(WITHOUT_QUESTION[self.phase]))
            if self.phase == "done":
                lead = what_is_next(self.sitting)
                said.update(line(WITHOUT_QUESTION["done"] + " $lead", lead=lead))
            more.update(Content(self._summary() if self.phase == "done" else ""))
            if self.phase != "waiting":
                self.picture.show(None)
        self.query_one("#words", VerticalScroll).scroll_home(animate=False)
        self.retell()
        self.call_after_refresh(self.retell)

    @property
    def words_width(self) -> int:
        """The columns that the words have."""
        if self.has_class("-beside") and not self.has_class("-full", "-wide"):
            return BESIDE - 4
        if self.has_class("-full") or not self.has_class("-wide"):
            return max(20, self.app.size.width - 4)
        return 55 if self.has_class("-broad") else 41

    def why_not(self, name: str) -> str:
        return why_not_now(name, self.phase, self.asked) or super().why_not(name)

    def _summary(self) -> str:
        return told_at_the_end(self.sitting)

    def scroll_of(self) -> Widget | None:
        return self.query_one("#words")

    # what can be done

    def possible(self) -> frozenset[str]:
        every = EVERYWHERE | self.looking() | self.scrolling()
        return possible_now(
            every,
            self.phase,
            self.asked,
            self.shown_hints,
            self.verdict,
            typing=self.typing,
            fixed=self.sitting.sort == "set",
            before=self.before() is not None,
            after=self.after() is not None,
            missed=self.phase == "done" and bool(self.sitting.missed),
            cuttable=self.phase in ("judged", "back") and self.cut() is not None,
        )

    def write_again(self) -> None:
        self._show()

    def act_skip(self) -> None:
        self._judge(None)

    def act_hint(self) -> None:
        assert self.asked is not None
        hint = self.asked.hints[self.shown_hints]
        self.shown_hints += 1
        self.sitting.note_hint(self.at)
        self.show_step(hint.step)
        self._show()

    def act_leave(self) -> None:
        if self.phase == "back":
            self.return_to_drill()
        else:
            super().act_leave()

    def act_missed(self) -> None:
        """Open a sitting on what was missed here."""
        before = self.sitting
        if not isinstance(before, Sitting):
            return

        def work() -> None:
            try:
                sitting = before.open_missed()
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.NotAgain(error))
            else:
                self.post_message(self.MissedOpened(sitting))

        self.run_worker(work, thread=True, group="open", exclusive=True, exit_on_error=False)

    def on_drill_screen_missed_opened(self, message: MissedOpened) -> None:
        self.bench.go_on_to(self.bench.routes.drill(message.sitting))

    def act_onward(self) -> None:
        if self.phase == "back":
            self.return_to_drill()
        elif self.phase == "done":
            self._next_lesson()
        else:
            self._go_to(self.at + 1)

    def _next_lesson(self) -> None:
        """Go on to the lesson after this one, or back where there is none."""
        name = lesson_after(self.sitting)
        if not name:
            self.bench.leave(self)
            return
        self.bench.go_on_to(self.bench.routes.lesson(load_deck(name)))

    def act_details(self) -> None:
        self.toggle_class("-full")
        self._show()

    def act_step(self) -> None:
        """Step through the circuit of the question, from the row that the verdict is about or the first."""
        assert self.asked is not None
        stepping = kinds()[self.asked.kind].stepping(self.asked)
        if stepping is not None:
            look = self.picture.subject.look if self.picture.subject else ""
            self.app.push_screen(self.bench.routes.step(self.asked.specimen, stepping, look))

    def act_compare(self) -> None:
        assert self.asked is not None
        assert self.verdict is not None
        look = self.picture.subject.look if self.picture.subject else ""
        self.app.push_screen(self.bench.routes.compare(self.verdict.confused_with, self.asked.specimen, look))

    def on_resize(self, event: events.Resize) -> None:
        super().on_resize(event)
        if self.asked is not None:
            self.set_class(question_beside(self.asked, event.size.width, event.size.height), "-beside")
        if self.phase == "asking":
            self.call_after_refresh(self._show)
