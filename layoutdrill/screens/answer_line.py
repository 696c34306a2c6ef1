"""The line an answer is typed into; keys that it does not need move the picture. Of a table it is the last column."""

from textual import events
from textual.message import Message
from textual.widgets import Input

from layoutdrill.question.model import Grid
from layoutdrill.screens.grid_words import OPEN, filled
from layoutdrill.screens.steady import Steady
from layoutdrill.value import mutable

SIDEWAYS = ("cursor_left", "cursor_right")
BY_WORDS = ("cursor_left_word", "cursor_right_word")


class AnswerLine(Steady, Input):
    """
    An input that leaves Ctrl+arrows to the screen, and the plain ones too while nothing has been typed.

    With a `grid` its letters are the column to fill in: up and down go from row to row, a letter fills the row in.
    """

    @mutable
    class Filled(Message):
        """The column, or the row at which one stands, has changed."""

        row: int

    grid: Grid | None = None
    row: int = 0

    def begin(self, grid: Grid | None) -> None:
        """Start on another question: empty, or a column in which nothing is filled in."""
        self.grid, self.row = grid, 0
        self.value = OPEN * len(grid.rows) if grid else ""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Let a key pass on where the line has no use for it."""
        name = action.partition("(")[0]
        if name in BY_WORDS or (name in SIDEWAYS and not self.value):
            return False
        return super().check_action(action, parameters)

    async def _on_key(self, event: events.Key) -> None:
        if self.grid is None or event.key == "enter" or event.key.startswith(("ctrl+", "f")):
            await super()._on_key(event)
            return
        steps = {"up": -1, "left": -1, "down": 1, "right": 1}
        if event.key in steps:
            self.stand_at(self.row + steps[event.key])
        elif event.key == "backspace":
            self.fill(OPEN)
            self.stand_at(self.row - 1)
        elif event.character is not None and event.character.lower() in self.grid.letters:
            self.fill(event.character.lower())
            self.stand_at(self.row + 1)
        elif event.key in ("escape", "tab", "shift+tab", "pageup", "pagedown"):
            return
        event.stop()
        event.prevent_default()

    def fill(self, letter: str) -> None:
        """Fill in the row at which one stands."""
        if self.grid is not None:
            self.value, _ = filled(self.value, self.row, letter, len(self.grid.rows))

    def stand_at(self, row: int) -> None:
        """Go to a row, the nearest there is."""
        if self.grid is not None:
            self.row = max(0, min(row, len(self.grid.rows) - 1))
            self.cursor_position = self.row
            self.post_message(self.Filled(self.row))
