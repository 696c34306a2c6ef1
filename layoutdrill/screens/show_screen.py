"""One question of a set, large, for the projector: nothing told at first, then a step at each press."""

from dataclasses import replace
from time import monotonic
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from layoutdrill.question.model import HintStep, Question, Verdict
from layoutdrill.screens.focus import focus_of
from layoutdrill.screens.outlines import joined_overlay, marks_overlay, step_overlay, verdict_overlay
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.picture_page import PicturePage
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.subject import Subject, look_for_process
from layoutdrill.workshop.asking import question_of, truth
from layoutdrill.workshop.model import WorkshopSet

STEPS: tuple[tuple[str, HintStep | None], ...] = (
    ("the rails", HintStep.RAILS),
    ("the transistors", HintStep.DEVICES),
    ("the nets", HintStep.NETS),
    ("the answer", None),
)
"""What each press reveals, in this order; the last is the answer with what decides."""


class ShowScreen(PicturePage):
    """Questions of a set with its key, one at a time."""

    name_of: ClassVar[str] = "show"
    about: ClassVar[str] = (
        "A question for the whole room. Each press of Enter reveals a step: the rails, the transistors, the nets, the "
        "answer. Ask before each what people expect to see."
    )
    BINDINGS = bindings_for("show")

    def __init__(self, made: WorkshopSet, number: int = 1) -> None:
        super().__init__()
        self.made = made
        self.number = number
        self.revealed = 0
        self._since = monotonic()

    def body(self) -> ComposeResult:
        with Container(id="bench"):
            yield PictureView(id="picture")
            with VerticalScroll(id="words", can_focus=False):
                yield Static(id="said")

    def on_mount(self) -> None:
        self._open(self.number)
        self.set_interval(1, self._head)

    def _open(self, number: int) -> None:
        self.number, self.revealed, self._since = number, 0, monotonic()
        self.question: Question = question_of(self.made, number)
        self.verdict: Verdict = truth(self.made, number)
        self._show()

    def _head(self) -> None:
        clock = int(monotonic() - self._since)
        self.head_of(f"{self.made.title}   {self.number} of {len(self.made.sheets)}   {clock // 60}:{clock % 60:02}")

    def _show(self) -> None:
        """Show what is revealed by now; the view stays where it is while steps come and go."""
        overlay = marks_overlay(self.question)
        steps = [step for _, step in STEPS[: self.revealed]]
        for step in steps:
            if step is not None:
                overlay = joined_overlay(overlay, step_overlay(step, self.question.specimen))
        if steps and steps[-1] is None:
            overlay = verdict_overlay(self.question, self.verdict)
        subject = self.picture.subject
        if subject is None or subject.face is not self.question.specimen.face:
            specimen = self.question.specimen
            look = look_for_process(self.bench.look_for(self.question.look or None), specimen.process)
            seed, wear = specimen.seed or 0, specimen.wear
            shown = Subject(specimen.face, look=look, seed=seed, wear=wear, overlay=overlay)
            self.picture.show(shown, focus=focus_of(self.question))
        else:
            self.picture.change(lambda before: replace(before, overlay=overlay))
        self.query_one("#said", Static).update(Content("\n".join(self._lines())))
        self.picture.focus()
        self._head()

    def _lines(self) -> list[str]:
        question = self.question
        lines = [question.prompt, ""]
        lines += [fact for fact in question.facts if not fact.startswith("Look: ")]
        lines += [f"{letter}  {choice}" for letter, choice in zip("abcdefgh", question.choices, strict=False)]
        if self.revealed:
            lines += ["", "shown: " + ", ".join(name for name, _ in STEPS[: self.revealed])]
        if self.revealed == len(STEPS):
            lines += ["", f"Answer: {self.verdict.right}", "", f"What decides: {self.verdict.decides}"]
        return lines

    def possible(self) -> frozenset[str]:
        names = set(self.looking()) | {"help", "palette", "theme", "leave", "quit"}
        if self.revealed < len(STEPS):
            names.add("reveal")
        if self.revealed:
            names.add("conceal")
        if self.number < len(self.made.sheets):
            names.add("next_question")
        if self.number > 1:
            names.add("last_question")
        return frozenset(names)

    def act_reveal(self) -> None:
        self.revealed += 1
        self._show()

    def act_conceal(self) -> None:
        self.revealed -= 1
        self._show()

    def act_next_question(self) -> None:
        self._open(self.number + 1)

    def act_last_question(self) -> None:
        self._open(self.number - 1)
