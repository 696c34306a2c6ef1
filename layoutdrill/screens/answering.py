"""How a drill is answered: a letter, a word in the line of text, a row of a table or a list, a place on the picture."""

from abc import abstractmethod
from typing import TYPE_CHECKING

from textual.widgets import Input, Static

from layoutdrill.errors import LayoutdrillError
from layoutdrill.question.model import Answer
from layoutdrill.screens.answer_line import AnswerLine
from layoutdrill.screens.grid_words import grid_content, next_letter
from layoutdrill.screens.listing_words import listing_content
from layoutdrill.screens.looking_back import LookingBack
from layoutdrill.screens.picture_view import PictureView

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting


class Answering(LookingBack):
    """Take what is typed, clicked or pointed at for an answer; the screen itself judges it."""

    def __init__(self, sitting: "OpenSitting") -> None:
        super().__init__(sitting)
        self._unmoved_told = -1
        """The question at which Enter came before the crosshair was moved: that may be the Enter before it, twice."""

    @abstractmethod
    def _judge(self, answer: Answer | None) -> None:
        """Grade and keep the answer; None gives the question up."""

    @abstractmethod
    def _show(self) -> None:
        """Write heading, words and footer for the present phase."""

    def _choose(self, letter: str) -> None:
        if self.asked is not None:
            self._judge(self.sitting.accept(self.asked, letter))

    def act_choose_a(self) -> None:
        self._choose("a")

    def act_choose_b(self) -> None:
        self._choose("b")

    def act_choose_c(self) -> None:
        self._choose("c")

    def act_choose_d(self) -> None:
        self._choose("d")

    def act_place(self) -> None:
        """Answer at the crosshair; where it has not been moved yet, only when that is said twice."""
        picture = self.picture
        if picture.crosshair is None:
            picture.toggle_crosshair(on=True)
        elif picture.crosshair == picture.unmoved and self._unmoved_told != self.at:
            self._unmoved_told = self.at
            self.notify(
                "The crosshair stands where it was put. Arrows move it; Enter once more answers here.", timeout=6
            )
        else:
            self._judge(self._pointed(*picture.crosshair))

    def on_picture_view_pointed(self, message: PictureView.Pointed) -> None:
        if self.phase == "asking" and self.asked is not None and self.asked.pointed:
            self._judge(self._pointed(message.x, message.y))

    def _pointed(self, x: int, y: int) -> Answer:
        """Return the answer meant by a point of the picture: masks are a little out of line on every die."""
        subject = self.picture.subject
        return Answer(point=(x, y) if subject is None else subject.face.meant_at(subject.light, x, y))

    def act_type(self) -> None:
        line_of = self.query_one("#answer", Input)
        line_of.display = True
        line_of.focus()

    def act_stop_typing(self) -> None:
        self.picture.focus()
        self.call_after_refresh(self._show)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        line_of = self.query_one("#answer", AnswerLine)
        if self.asked is not None and self.asked.listing is not None and event.value.strip():
            self._add_row(line_of)
        else:
            self._hand_in(line_of.answer)

    def on_input_changed(self) -> None:
        """Keep what stands in the line by now: half an answer survives leaving."""
        if self.phase != "asking" or self.asked is None:
            return
        if self.asked.listing is not None:
            self._show_grid()
        self.sitting.note_draft(self.at, self.query_one("#answer", AnswerLine).answer)

    def act_hand_in(self) -> None:
        """Answer with all that stands in the line, and above it in a list."""
        self._hand_in(self.query_one("#answer", AnswerLine).answer)

    def _hand_in(self, text: str) -> None:
        if self.asked is None or not text:
            return
        try:
            self._judge(self.sitting.accept(self.asked, text))
        except LayoutdrillError as error:
            self.remark = str(error)
            self._show()
            line_of = self.query_one("#answer", AnswerLine)
            line_of.select_all()  # what is typed next takes the place of what could not be read

    def _show_grid(self) -> None:
        """Write the table to fill in, where there is one."""
        shown, line_of = self.query_one("#grid", Static), self.query_one("#answer", AnswerLine)
        question = self.asked if self.phase == "asking" else None
        shown.display = question is not None and (question.grid is not None or question.listing is not None)
        if question is not None and question.grid is not None:
            shown.update(grid_content(question.grid, line_of.value, line_of.row, self.words_width))
        elif question is not None and question.listing is not None:
            shown.update(listing_content(question.listing, line_of.rows, line_of.value))

    def on_answer_line_filled(self) -> None:
        self._show_grid()

    def action_add_word(self, word: str) -> None:
        """Put a word that was clicked into the row that is being written."""
        line_of = self.query_one("#answer", AnswerLine)
        if line_of.listing is not None and self.phase == "asking":
            line_of.display = True
            line_of.value = f"{line_of.value.rstrip()} {word}".lstrip()
            line_of.focus()
            line_of.cursor_position = len(line_of.value)

    def action_add_row(self) -> None:
        self._add_row(self.query_one("#answer", AnswerLine))

    def action_take_back(self) -> None:
        line_of = self.query_one("#answer", AnswerLine)
        if self.phase == "asking" and not line_of.value:
            line_of.take_back()

    def _add_row(self, line_of: AnswerLine) -> None:
        """Put the row that is being written into the list, if it can be one; say what is amiss with it else."""
        if self.asked is None or self.phase != "asking" or not line_of.value.strip():
            return
        try:
            self.sitting.accept(self.asked, line_of.value)
        except LayoutdrillError as error:
            self.remark = str(error)
        else:
            self.remark = ""
            line_of.add_row()
        self._show()

    def action_mark_row(self, row: int) -> None:
        """Put the next letter into the row that was clicked."""
        line_of = self.query_one("#answer", AnswerLine)
        if line_of.grid is not None and self.phase == "asking":
            line_of.stand_at(row)
            line_of.fill(next_letter(line_of.grid, line_of.value[row]))
            line_of.display = True
            line_of.focus()
            line_of.stand_at(row)
