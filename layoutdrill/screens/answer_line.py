"""The line an answer is typed into; keys that it does not need move the picture. Of a table it is the last column."""

from textual import events
from textual.message import Message
from textual.widgets import Input

from layoutdrill.question.model import Grid, Listing
from layoutdrill.screens.grid_words import OPEN, filled
from layoutdrill.screens.listing_words import answer_text, completed, known_names, rows_of_text
from layoutdrill.screens.steady import Steady
from layoutdrill.value import mutable

SIDEWAYS = ("cursor_left", "cursor_right")
BY_WORDS = ("cursor_left_word", "cursor_right_word")


class AnswerLine(Steady, Input):
    """
    An input that leaves Ctrl+arrows to the screen, and the plain ones too while nothing has been typed.

    With a `grid` its letters are the column to fill in: up and down go from row to row, a letter fills the row in.
    With a `listing` it holds the row that is being written, and `rows` are those above it.
    """

    @mutable
    class Filled(Message):
        """The column, or the row at which one stands, has changed."""

        row: int

    grid: Grid | None = None
    listing: Listing | None = None
    rows: tuple[str, ...] = ()
    row: int = 0

    def begin(self, grid: Grid | None, listing: Listing | None = None, draft: str = "") -> None:
        """Start on another question: with what was left of an answer, else empty, or a column with nothing in it."""
        self.grid, self.listing, self.row = grid, listing, 0
        self.rows = rows_of_text(draft) if listing else ()
        column = draft if grid is not None and len(draft) == len(grid.rows) else ""
        self.value = column or (OPEN * len(grid.rows) if grid else "" if listing else draft)

    @property
    def answer(self) -> str:
        """The answer as it stands; "" where nothing has been written."""
        if self.listing is not None:
            return answer_text(self.rows, self.value)
        return "" if self.grid is not None and set(self.value) <= {OPEN} else self.value.strip()

    def add_row(self) -> None:
        """Put what is being written below the rows above."""
        self.rows = (*self.rows, *rows_of_text(self.value))
        self.value = ""
        self.post_message(self.Filled(len(self.rows)))

    def take_back(self) -> None:
        """Take the last row back into the line."""
        if self.rows:
            *rest, last = self.rows
            self.rows = tuple(rest)
            self.value = last
            self.cursor_position = len(last)
            self.post_message(self.Filled(len(self.rows)))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Let a key pass on where the line has no use for it."""
        name = action.partition("(")[0]
        if name in BY_WORDS or (name in SIDEWAYS and not self.value):
            return False
        return super().check_action(action, parameters)

    async def _on_key(self, event: events.Key) -> None:
        if self.listing is not None and self._listing_key(event.key):
            event.stop()
            event.prevent_default()
            return
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

    def _listing_key(self, key: str) -> bool:
        """Act on a key that a list has a use for; tell whether it had one."""
        assert self.listing is not None
        if key == "tab" or (key == "right" and self.value and self.cursor_position == len(self.value)):
            self.value = completed(self.value, known_names(self.listing, self.rows))
            self.cursor_position = len(self.value)
            return True
        if key in ("u", "backspace") and not self.value and self.rows:
            self.take_back()
            return True
        return False

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
