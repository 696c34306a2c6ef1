"""What stands on the screen of a drill in each phase of a question, and what can be done in it."""

from dataclasses import replace

from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from layoutdrill.question.kind import Group
from layoutdrill.question.model import HintStep
from layoutdrill.question.registry import kinds
from layoutdrill.screens.actions import EVERYWHERE
from layoutdrill.screens.answering import Answering
from layoutdrill.screens.drill_phases import Moment, possible_now, why_not_now
from layoutdrill.screens.ending import told_at_the_end, what_is_next
from layoutdrill.screens.focus import BESIDE, MOST_TOLD
from layoutdrill.screens.lines import joined, line
from layoutdrill.screens.wording import (
    WITHOUT_QUESTION,
    asides,
    asking,
    devices_of,
    explanation,
    judged,
    outlines_told,
    sureness,
)

AIDED_UNASKED = (
    "Seen so small, with the tracing aid, it counts neither way towards what you have learned; + before the answer "
    "goes closer, and it counts."
)


class DrillWords(Answering):
    """Heading, words, table and footer of the present phase."""

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

    def show_phase(self) -> None:
        self._show()

    def write_again(self) -> None:
        self._show()

    def _show(self) -> None:
        """Write heading, words and footer for the present phase."""
        self._head()
        aside = self.query_one("#aside", Static)
        aside.display = self.phase in ("asking", "judging")
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
            priced = replace(self.asked, hints=self.priced(self.asked.hints))
            said.update(asking(priced, self.shown_hints, self.remark, wide=wide))
            aside.update(asides(priced, self.shown_hints, outlines_told(self.helped_by), wide=wide))
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
            if self.phase == "judged" and self.aided_unasked and self.sitting.sort != "review":
                words = joined([words, line("[$secondary]$told[/]", told=AIDED_UNASKED)])
            if self.phase == "back":
                words = joined([line("[$secondary]$asked[/]", asked=self.asked.prompt), words])
            said.update(words)
            few = self.asked.specimen.netlist.count() <= MOST_TOLD  # of a whole die the list would be pages long
            kind = kinds()[self.asked.kind]
            at_work = (few and kind.group is not Group.SEE) or self.has_class("-full")
            below = explanation(self.asked.specimen, self.words_width, self.verdict.decides, at_work=at_work)
            more.update(below if kind.tells_circuit else Content())
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
        if self.has_class("-full"):
            return max(20, self.app.size.width - 4)
        if self.has_class("-wide"):
            return 55 if self.has_class("-broad") else 41
        return BESIDE - 4 if self.has_class("-beside") else max(20, self.app.size.width - 4)

    def why_not(self, name: str) -> str:
        return why_not_now(name, self.phase, self.asked) or super().why_not(name)

    def _summary(self) -> str:
        return told_at_the_end(self.sitting)

    def scroll_of(self) -> Widget | None:
        return self.query_one("#words")

    def possible(self) -> frozenset[str]:
        every = EVERYWHERE | self.looking() | self.scrolling()
        moment = Moment(
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
        return possible_now(every, moment)
