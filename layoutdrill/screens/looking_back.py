"""Look back through the verdicts of a sitting, from an open question, a verdict or the end, and return to it."""

from time import monotonic
from typing import TYPE_CHECKING

from textual.message import Message
from textual.widgets import Input

from layoutdrill.question.model import Answer, Question, Verdict
from layoutdrill.screens.drill_phases import Phase
from layoutdrill.screens.drill_picture import DrillPicture
from layoutdrill.screens.row import Row
from layoutdrill.value import mutable, value

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting


@value
class Held:
    """What stood on the screen when one began to look back, and when that was."""

    phase: Phase
    at: int
    asked: Question | None
    answered: Answer | None
    verdict: Verdict | None
    hints: int
    remark: str
    eased: bool
    typed: str
    since: float


class LookingBack(DrillPicture):
    """A drill whose verdicts can be turned back like pages. The drill itself says how a phase is shown."""

    @mutable
    class SeenAgain(Message):
        """A worker made a question once more that has been answered."""

        number: int
        question: Question
        answer: Answer
        verdict: Verdict

    @mutable
    class NotAgain(Message):
        """A worker could not."""

        error: Exception

    def __init__(self, sitting: "OpenSitting") -> None:
        super().__init__(sitting)
        self.held: Held | None = None
        self._since = 0.0

    def show_phase(self) -> None:
        """Write heading, words and footer for the present phase."""

    def go_on(self, held: Held) -> None:
        """Show again what stood there before one looked back."""

    def verdicts(self) -> tuple[int, ...]:
        """Return the numbers of the questions whose verdicts can be looked at again."""
        return tuple(sorted(self.sitting.done)) if self.sitting.tells else ()

    def before(self) -> int | None:
        """Return the question whose verdict comes before what is shown."""
        return max((number for number in self.verdicts() if number < self.at), default=None)

    def after(self) -> int | None:
        """Return the question whose verdict comes after the one looked at."""
        if self.phase != "back":
            return None
        return min((number for number in self.verdicts() if number > self.at), default=None)

    def act_look_back(self) -> None:
        if (number := self.before()) is not None:
            self.look_at(number)

    def act_look_on(self) -> None:
        if (number := self.after()) is not None:
            self.look_at(number)

    def act_look_again(self) -> None:
        """Offer what was missed; each opens with its picture and verdict."""
        summary = self.sitting.summary()
        if summary is None:
            return
        rows = [Row(str(slip.number - 1), f"question {slip.number}", slip.words) for slip in summary.slips]
        choose = self.bench.routes.choose("To look at again", rows, lambda key: self.look_at(int(key)))
        self.app.push_screen(choose)

    def look_at(self, number: int) -> None:
        """Show a question that has been answered, with its verdict, in a while: it may have to be drawn."""
        sitting = self.sitting

        def work() -> None:
            try:
                again = sitting.again(number)
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.NotAgain(error))
            else:
                self.post_message(self.SeenAgain(number, *again))

        self.run_worker(work, thread=True, group="again", exclusive=True, exit_on_error=False)

    def on_looking_back_not_again(self, message: NotAgain) -> None:
        self.bench.show_error(message.error)

    def on_looking_back_seen_again(self, message: SeenAgain) -> None:
        if self.phase in ("judging", "waiting", "glancing", "sure"):
            return
        if self.held is None:
            typed = self.query_one("#answer", Input).value
            self.held = Held(
                self.phase,
                self.at,
                self.asked,
                self.answered,
                self.verdict,
                self.shown_hints,
                self.remark,
                self.eased,
                typed,
                monotonic(),
            )
        self.phase, self.at, self.eased, self.remark = "back", message.number, False, ""
        self.asked, self.answered, self.verdict = message.question, message.answer, message.verdict
        self.shown_hints = self.sitting.hints_given(message.number)
        self.remove_class("-full", "-told")
        self.add_class("-judged")
        self.picture.focus()
        self.show_question(message.question)
        self.outline_verdict()
        self.show_phase()

    def return_to_drill(self) -> None:
        """Go back to where one was; the time that one looked back does not count as time to answer."""
        held, self.held = self.held, None
        if held is None:
            return
        self._since += monotonic() - held.since
        self.phase, self.at, self.asked = held.phase, held.at, held.asked
        self.answered, self.verdict = held.answered, held.verdict
        self.shown_hints, self.remark, self.eased = held.hints, held.remark, held.eased
        self.remove_class("-full", "-judged", "-told")
        self.go_on(held)
