"""The drill: the picture first, the question beside or below it, the verdict in the same place."""

from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll
from textual.message import Message
from textual.widgets import Input, Static

from layoutdrill.deck import load_deck
from layoutdrill.drill.sitting import Sitting
from layoutdrill.question.model import HintStep
from layoutdrill.question.registry import kinds
from layoutdrill.screens.answer_line import AnswerLine
from layoutdrill.screens.course import lesson_after
from layoutdrill.screens.drill_course import Course
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.value import mutable

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting


class DrillScreen(Course):
    """Ask the questions of a sitting, one after another."""

    name_of: ClassVar[str] = "drill"
    about: ClassVar[str] = (
        "A layout and a question about it. Answer by the letter of a choice, in words, or by pointing, as asked. The "
        "verdict outlines on the picture what decides. Each answer is kept at once: leave whenever you like."
    )
    BINDINGS = bindings_for("drill")

    @mutable
    class MissedOpened(Message):
        """A worker opened a sitting on what was missed."""

        sitting: "OpenSitting"

    def body(self) -> ComposeResult:
        with Container(id="bench"):
            yield PictureView(id="picture")
            with VerticalScroll(id="words", can_focus=False):
                yield Static(id="said")
                yield Static(id="grid")
                yield AnswerLine(id="answer", placeholder="type the answer, Enter", compact=True)
                yield Static(id="beyond", markup=False)
                yield Static(id="aside")
                yield Static(id="more")

    def on_mount(self) -> None:
        self.query_one("#answer", Input).display = False
        self.sitting.shown_in = self.bench.look_for(self.sitting.look)
        if self.sitting.worn is None:
            self.sitting.worn = self.bench.settings.worn
        self.sitting.sureness = self.bench.settings.sureness == "on"
        self.go_to(self.sitting.total if self.sitting.position is None else self.sitting.position)
        if self.sitting.left is not None:
            self.set_interval(1, self.tick)

    def on_unmount(self) -> None:
        """Let go of the records: the screen has gone for good, and what is unanswered can be resumed."""
        self.keep_unsaid()
        self.sitting.close()

    # what can be done

    def act_skip(self) -> None:
        self._judge(None)

    def act_hint(self) -> None:
        assert self.asked is not None
        hint = self.asked.hints[self.shown_hints]
        self.shown_hints += 1
        self.sitting.note_hint(self.at)
        if hint.step is HintStep.AID and self.aid_unasked:
            self.aid_free = True
        self.show_step(hint.step)
        self._show()

    def act_leave(self) -> None:
        if self.has_class("-full") and self.phase in ("judged", "back"):
            self.act_details()  # back to the picture first
        elif self.phase == "back":
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
        elif not self.unseen:
            self.go_to(self.at + 1)

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
        if self.phase == "asking":
            self.call_after_refresh(self._show)
