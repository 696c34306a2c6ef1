"""What a drill shows on its picture: the question's view and marks, steps of help, what decides."""

from abc import abstractmethod
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from textual.content import Content
from textual.geometry import Size
from textual.widgets import Static

from layoutdrill.geometry.rect import Rect
from layoutdrill.locations import data_folder
from layoutdrill.picture.objectives import beyond_light
from layoutdrill.question.model import Answer, Hint, HintStep, Question, Verdict
from layoutdrill.screens.drill_phases import Phase
from layoutdrill.screens.focus import (
    UNAIDED,
    focus_in,
    focus_of_rails,
    focus_of_verdict,
    out_of_sight,
    shows_as_much,
    shows_fields,
    words_beside,
)
from layoutdrill.screens.lines import joined, swatches
from layoutdrill.screens.outlines import (
    joined_overlay,
    marks_overlay,
    step_overlay,
    verdict_overlay,
)
from layoutdrill.screens.painting import Shown
from layoutdrill.screens.picture_page import PicturePage
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.sighting import goes_to
from layoutdrill.screens.subject import Subject, look_for_process, photographic, seen_through
from layoutdrill.screens.viewport import Viewport

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting
    from layoutdrill.face.section import SectionFace


AIDED = "So small, metal is darker where it lies deeper (the tracing aid): an answer counts as helped."
UNAIDED_BY = "F4 goes over it close, without the aid; + goes closer."
CLOSER_BY = "+ goes closer, without the aid."
FINER = "Finer than light, it is never seen without the tracing aid."


def looked_at(question: Question, look: str) -> Subject:
    """Return what the picture of a question shows in a look, or in another where its process cannot be seen in it."""
    specimen = question.specimen
    return Subject(
        specimen.face,
        look=look_for_process(look, specimen.process) if look else look,
        seed=specimen.seed or 0,
        wear=specimen.wear,
        stage=specimen.stage,
        overlay=marks_overlay(question),
    )


class DrillPicture(PicturePage):
    """The state of a drill and its picture; the screen itself adds the words."""

    def __init__(self, sitting: "OpenSitting") -> None:
        super().__init__()
        self.sitting = sitting
        self.phase: Phase = "waiting"
        self.at = 0
        self.asked: Question | None = None
        self.answered: Answer | None = None
        self.verdict: Verdict | None = None
        self.shown_hints = 0
        self.remark = ""
        self._beyond = ""
        self.uncut: Subject | None = None
        """What is shown again once a section has been looked at."""
        self.aid_free = False
        """Whether the tracing aid was asked for where the picture had it anyway."""
        self._warned: tuple[int, str] = (-1, "")
        """The question and the look of which it was said that it is help."""
        self.aided_unasked = False
        """Whether the answer was given with the tracing aid because the picture was seen so small."""
        self.eased = False
        """Whether this question was seen in mask colours where it is asked of a photograph: a help, at no cost."""

    def shape_in(self, size: Size) -> dict[str, bool]:
        return {**super().shape_in(size), "-beside": words_beside(size.width, size.height)}

    def _look_in(self, others: Sequence[str]) -> None:
        """Say what mask colours cost before they are shown: the same key once more takes them."""
        wanted = self.look_among(others)
        if wanted and not self.eased and self._would_ease(wanted) and self._warned != (self.at, wanted):
            self._warned = (self.at, wanted)
            self.notify(f"{wanted} is help: the answer then counts as given with help. Once more shows it.", timeout=6)
        else:
            super()._look_in(others)

    def _would_ease(self, look: str) -> bool:
        asking = self.phase == "asking" and self.asked is not None
        return asking and not photographic(look) and photographic(self.asked_in)

    def look_changed(self, look: str) -> None:
        if self._would_ease(look):
            self.eased = True
        super().look_changed(look)
        if self.phase == "asking":
            self.write_again()

    @property
    def helped_by(self) -> tuple[HintStep, ...]:
        """Return the steps of help in sight: the tracing aid only where this look at this scale has it."""
        if self.asked is None:
            return ()
        steps = (*self.sitting.help(self.at), *(hint.step for hint in self.asked.hints[: self.shown_hints]))
        view, subject = self.picture.view, self.picture.subject
        aided = view is not None and subject is not None and "tracing aid" in seen_through(subject, view.scale)
        return steps if view is None or aided else tuple(step for step in steps if step is not HintStep.AID)

    @property
    def aid_unasked(self) -> bool:
        """Whether the picture has the tracing aid because it is seen so small, though nobody asked for it."""
        view, subject = self.picture.view, self.picture.subject
        if view is None or subject is None or subject.aid:
            return False
        return "tracing aid" in seen_through(subject, view.scale)

    def priced(self, hints: Sequence[Hint]) -> tuple[Hint, ...]:
        """Return hints with what they cost now: the tracing aid nothing where the picture has it anyway."""
        free = self.aid_free or self.aid_unasked
        return tuple(replace(hint, cost=0.0) if hint.step is HintStep.AID and free else hint for hint in hints)

    @property
    def asked_in(self) -> str:
        """Return the look that the question is asked in."""
        look = (self.asked.look if self.asked is not None else "") or self.sitting.shown_in
        return look or self.bench.look_for("")

    def no_look(self) -> str:
        return "The other look hides what is asked, so this one stays." if self.phase == "asking" else super().no_look()

    def show_question(self, question: Question) -> None:
        """Show the drawing, in the question's own look where it has one, from a view of what is asked."""
        self.uncut = None
        self.query_one("#beyond").display = False
        self.picture.visited = self.sitting.visited
        subject = self._subject_of(question)
        self.picture.show(subject, focus=focus_in(question, subject.look))

    def draw_ahead(self, question: Question) -> None:
        """Draw the picture of a question that comes next, in the place of the present one."""
        subject = self._subject_of(question)
        self.picture.draw_ahead(subject, focus_in(question, subject.look))

    def _subject_of(self, question: Question) -> Subject:
        look = self.bench.look_for(question.look) if question.look else self.sitting.shown_in
        return looked_at(question, look)

    def on_picture_view_moved(self, message: PictureView.Moved) -> None:
        super().on_picture_view_moved(message)
        self._tell_beyond(message.view)

    def _tell_beyond(self, view: Viewport) -> None:
        """Tell what lies out of sight. Once there, the line keeps its place: the picture must not jump."""
        line_of = self.query_one("#beyond", Static)
        asking = self.asked if self.phase == "asking" and self.picture.overview is not Shown.LARGE else None
        beyond = out_of_sight(view, asking) if asking is not None else ""
        if asking is not None and self.aid_unasked:
            beyond = f"{beyond} {AIDED} {self._unaided_by(view, asking)}".lstrip()
        if beyond != self._beyond:
            self._beyond = beyond
            line_of.update(beyond or "All of it is in sight.")
        if beyond:
            line_of.display = True

    def _unaided_by(self, view: Viewport, question: Question) -> str:
        """Say which keys show the question without the tracing aid."""
        if beyond_light(question.specimen.process):
            return FINER
        return UNAIDED_BY if goes_to(view, self.picture.focus_on, UNAIDED) else CLOSER_BY

    def shunned(self) -> tuple[Rect, ...]:
        """Keep the legend's examples off the places that are asked about."""
        if self.asked is None or self.phase != "asking":
            return ()
        reach = 2 * self.asked.specimen.process.grid_per_lambda
        return tuple(Rect(mark.x, mark.y, mark.x + 1, mark.y + 1).grown(reach) for mark in self.asked.marks)

    def cut(self) -> "SectionFace | None":
        """Return the section that the verdict can show."""
        if self.asked is None or self.verdict is None:
            return None
        from layoutdrill.question.cut import section_through  # noqa: PLC0415 - not before the first verdict

        return section_through(self.asked, self.verdict)

    def looking(self) -> frozenset[str]:
        """Leave the legend out of a cut, whose films are named beside it."""
        return super().looking() - ({"legend"} if self.uncut is not None else set())

    def act_section(self) -> None:
        """Show the cut, what its colours are, and what lies along it in words; or the picture again."""
        face, subject = self.cut(), self.picture.subject
        more = self.query_one("#more", Static)
        if self.uncut is not None:
            shown, self.uncut = self.uncut, None
            self.picture.show(shown)
            self.outline_verdict()
            self.write_again()
        elif face is not None and subject is not None:
            from layoutdrill.picture.section import HEIGHTS  # noqa: PLC0415 - as for the cut itself

            self.uncut = subject
            self.picture.show(Subject(face, subject.look, subject.seed))
            told = Content("\n".join(face.told_in(self.words_width)))
            films = [(colour, name.replace(" um", " µm")) for colour, name in face.section.names()]
            more.update(joined([swatches(films), Content(), told]))
            there = f" The stroke on top: {face.place[0]}." if face.place is not None else ""
            self.notify(f"Heights are drawn {HEIGHTS:g} times too large.{there} u goes back.", timeout=6)

    def write_again(self) -> None:
        """Write the words of the present phase again."""

    @property
    @abstractmethod
    def words_width(self) -> int:
        """The columns that the words have."""

    def outline_verdict(self) -> None:
        assert self.asked is not None
        assert self.verdict is not None
        pointed = self.answered.point if self.answered is not None else None
        overlay = verdict_overlay(self.asked, self.verdict, pointed)
        self.picture.toggle_crosshair(on=False)
        self.picture.change(lambda subject: replace(subject, overlay=overlay))
        self.picture.bring(focus_of_verdict(overlay, self.asked))
        if self.picture.view is not None and not shows_fields(self.picture.view, self.asked):
            self.picture.enlarge_overview()

    def show_step(self, step: HintStep) -> None:
        """Show on the picture what a step of help shows; what is outlined already stays."""
        assert self.asked is not None
        specimen = self.asked.specimen
        if step is HintStep.AID:
            self.picture.change(lambda subject: replace(subject, aid=True))
            return
        if step is HintStep.LIFT_METAL:
            self.picture.change(lambda subject: replace(subject, hidden=subject.hidden | subject.face.metal))
            return
        added = step_overlay(step, specimen)
        self.picture.change(lambda subject: replace(subject, overlay=joined_overlay(subject.overlay, added)))
        if step is HintStep.RAILS:
            self.picture.bring(focus_of_rails(self.asked))

    def shows_in(self, look: str) -> bool:
        """Leave out looks that hide of what is asked something that the present one shows."""
        subject = self.picture.subject
        if not super().shows_in(look) or self.asked is None or subject is None:
            return False
        return shows_as_much(self.asked, self.asked_in, look)

    def act_dispute(self) -> None:
        from layoutdrill.question.dispute import dispute_report, save_dispute  # noqa: PLC0415 - few verdicts are disputed

        assert self.asked is not None
        assert self.answered is not None
        assert self.verdict is not None
        taken = self.asked.hints[: self.shown_hints]
        look = self.picture.subject.look if self.picture.subject else ""
        folder = data_folder() / "disputes"
        report = dispute_report(self.asked, self.answered, self.verdict, look=look, taken=taken)
        path = save_dispute(folder, self.asked, report)
        self.notify(f"saved: {path}", title="Dispute", timeout=8)
