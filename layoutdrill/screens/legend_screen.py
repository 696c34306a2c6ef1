"""The legend of a picture: a row for each thing to be seen in it, with a swatch; choosing a row rings a place of it."""

from collections.abc import Callable, Sequence
from textwrap import wrap
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.evidence import Fact
from layoutdrill.screens.frame import palette, runs
from layoutdrill.screens.legend import ROWS, Sight, gone, sights, swatch
from layoutdrill.screens.page import Page, bindings_for
from layoutdrill.screens.painting import style_of
from layoutdrill.screens.steady import RowList
from layoutdrill.screens.subject import Indexed, Subject
from layoutdrill.value import mutable

GROUND = (0, 0, 0)
MARGIN = 10
"""Columns that the list leaves free at its sides."""


class LegendScreen(Page):
    """What is what in the picture below."""

    name_of: ClassVar[str] = "legend"
    needs: ClassVar[tuple[int, int]] = (60, 14)
    about: ClassVar[str] = (
        "Each layer and each thing to be seen in the picture, cut out of that very picture. Enter rings one such place "
        "there; again, another one."
    )
    BINDINGS = bindings_for("legend")

    @mutable
    class Cut(Message):
        """A worker cut the swatches."""

        found: tuple[tuple[Sight, Indexed], ...]

    @mutable
    class Failed(Message):
        """A worker could not cut them."""

        error: Exception

    def __init__(self, subject: Subject, shunned: Sequence[Rect], ring: Callable[[Sight], None]) -> None:
        super().__init__()
        self.subject, self.shunned, self._ring = subject, tuple(shunned), ring
        self.found: tuple[Sight, ...] = ()

    def body(self) -> ComposeResult:
        yield Static(Content("Cut from this very picture. Enter rings one such place; Esc leads back."), id="intro")
        yield RowList(id="list", compact=True)

    @property
    def options(self) -> OptionList:
        return self.query_one("#list", OptionList)

    def on_mount(self) -> None:
        self.head("Legend", self.subject.light.look.title)
        self.options.focus()
        subject, shunned = self.subject, self.shunned

        def work() -> None:
            try:
                wells = bool(subject.face.shows(subject.light, {Fact.WELL}))
                things = sights(subject.face, gone(subject), shunned, wells=wells)
                cut = tuple((thing, swatch(subject, thing.places[0])) for thing in things)
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.Failed(error))
            else:
                self.post_message(self.Cut(cut))

        self.run_worker(work, thread=True, group="legend", exit_on_error=False)

    def on_legend_screen_failed(self, message: Failed) -> None:
        self.bench.show_error(message.error)

    def on_legend_screen_cut(self, message: Cut) -> None:
        self.found = tuple(sight for sight, _ in message.found)
        self.options.clear_options()
        self.options.add_options(
            [
                Option(Content.from_rich_text(row_text(sight, piece, self.app.size.width - MARGIN)), id=sight.name)
                for sight, piece in message.found
            ]
        )
        self.options.highlighted = 0 if self.found else None
        self.retell()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        chosen = next((sight for sight in self.found if sight.name == event.option.id), None)
        if chosen is not None and self.is_current:
            self.bench.leave(self)
            self._ring(chosen)

    def act_open(self) -> None:
        self.options.action_select()

    def act_pick_up(self) -> None:
        self.options.action_cursor_up()

    def act_pick_down(self) -> None:
        self.options.action_cursor_down()


def row_text(sight: Sight, piece: Indexed, width: int) -> Text:
    """Return a row of at most `width` columns: the swatch, the thing's name, what it is; how many may be asked."""
    colours = palette(piece, None, GROUND)
    room = max(20, width - piece.image.width - 2)
    about = wrap(sight.about, room, max_lines=ROWS - 2, placeholder=" …")
    beside = ("", sight.name, *about, *[""] * ROWS)
    text = Text()
    for row in range(ROWS):
        for part, ink, ground in runs(piece.image, row, colours, ()):
            text.append(part, style_of(ink, ground))
        text.append(f"  {beside[row]}" + ("\n" if row + 1 < ROWS else ""), "bold" if row == 1 else "")
    return text
