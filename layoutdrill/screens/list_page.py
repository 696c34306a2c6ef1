"""A page that is a list: rows in columns, headings between them, one row under the cursor."""

from collections.abc import Sequence
from typing import ClassVar

from rich.cells import cell_len, set_cell_size
from textual import events
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from layoutdrill.screens.actions import offered
from layoutdrill.screens.lines import line
from layoutdrill.screens.page import Page
from layoutdrill.screens.row import Row
from layoutdrill.screens.steady import RowList

LONGEST_SOUGHT = 40
WORTH_READING = 24
"""Columns below which a column of text is not worth its place."""


def laid_out(rows: Sequence[Row], width: int) -> list[Content]:
    """Return each row as a line of `width` cells; the text column gives way first."""
    named = max((cell_len(row.name) for row in rows if row.key), default=10)
    stated = max((cell_len(row.state) for row in rows), default=0)
    named = min(named, max(12, width // 2 - 2))
    room = max(0, width - named - stated - 6)
    narrow = room < WORTH_READING  # name and text then share their columns; the line above tells the text whole
    if narrow:
        named, room = max(0, width - stated - 6), 0
    shown = []
    for row in rows:
        if not row.key:
            head = f"{row.name}" + (f"  {row.text}" if row.text else "")
            shown.append(line("[b $primary]$head[/]", head=clipped(head, width)))
            continue
        more = 0 if row.state else stated  # what says nothing of its state may use that column too
        mine, rest = (named + more, room) if narrow else (named, room + more)
        shown.append(
            line(
                "  $name  [$secondary]$text[/]  $state",
                name=set_cell_size(clipped(f"{row.name}  {row.text}" if narrow else row.name, mine), mine),
                text=set_cell_size(clipped(row.text, rest), rest),
                state=row.state,
            )
        )
    return shown


def holding(rows: Sequence[Row], sought: str) -> tuple[Row, ...]:
    """
    Return the rows that hold every word sought, whatever its case, under their headings; where one is called exactly
    so, or begins so, it comes first within its heading.
    """
    words = sought.casefold().split()
    if not words:
        return tuple(rows)
    kept: list[Row] = []
    block: list[Row] = []

    def close() -> None:
        block.sort(key=lambda row: not row.name.casefold().startswith(words[0]))
        if not block and kept and not kept[-1].key:
            kept.pop()
        kept.extend(block)
        block.clear()

    for row in rows:
        if not row.key:
            close()
            kept.append(row)
        elif all(word in f"{row.name} {row.text} {row.state}".casefold() for word in words):
            block.append(row)
    close()
    return tuple(kept)


def nearest(rows: Sequence[Row], sought: str) -> int | None:
    """Return the row most likely meant: whose name begins with what is sought, else holds it, else whose text does."""
    wanted = sought.casefold()

    def rank(at: int) -> tuple[int, int]:
        name = rows[at].name.casefold().lstrip("0123456789. ")
        return (0 if name.startswith(wanted) else 1 if wanted in name else 2, at)

    return min((at for at, row in enumerate(rows) if row.key), key=rank, default=None)


def clipped(text: str, width: int) -> str:
    """Cut a text to its column, with a sign that it was cut."""
    return text if cell_len(text) <= width else set_cell_size(text, max(0, width - 1)).rstrip() + "…"


class ListPage(Page):
    """A page with one list, `#list`, and a line or two of words above it."""

    needs: ClassVar[tuple[int, int]] = (60, 14)
    elsewhere: ClassVar[str] = ""
    """Where else to look for what this list does not hold."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: tuple[Row, ...] = ()
        self.offered: tuple[Row, ...] = ()
        """All rows; `rows` are those that hold what is sought."""
        self.sought = ""
        self.intro = ""

    def body(self) -> ComposeResult:
        yield Static(id="intro")
        yield RowList(id="list", compact=True)

    @property
    def options(self) -> OptionList:
        return self.query_one("#list", OptionList)

    def say(self, words: str) -> None:
        """Say what is sought, else these words."""
        if self.sought:
            count = sum(bool(row.key) for row in self.rows)
            words = (
                f"“{self.sought}”: {count or 'nothing'} here. Backspace widens, Esc shows all.{self.elsewhere}\n{words}"
            )
        self.query_one("#intro", Static).update(Content(words))

    def fill(self, rows: Sequence[Row]) -> None:
        """Show the rows, the cursor where it was, else on the first that can be chosen."""
        kept = self.under_cursor
        self.offered = tuple(rows)
        self.rows = holding(self.offered, self.sought)
        options = self.options
        options.clear_options()
        shown = laid_out(self.rows, max(40, self.app.size.width - 10))
        options.add_options(
            [
                Option(content, id=row.key or None, disabled=not row.key)
                for row, content in zip(self.rows, shown, strict=True)
            ]
        )
        keys = [row.key for row in self.rows]
        first = next((at for at, key in enumerate(keys) if key), None)
        best = nearest(self.rows, self.sought) if self.sought else first
        options.highlighted = keys.index(kept) if kept and kept in keys else best
        if options.highlighted == first:
            self.call_after_refresh(options.scroll_home, animate=False)  # the heading above it is to be seen too
        options.focus()
        if first is None:
            self.say("")
        self.retell()

    def seek(self, sought: str) -> None:
        """Narrow the list to what holds the letters."""
        self.sought = sought
        self.options.highlighted = None
        self.fill(self.offered)

    def on_key(self, event: events.Key) -> None:
        """Take a letter that means nothing else as one to seek."""
        letter = event.character or ""
        means = any(event.key in action.keys for action in offered(self.name_of))
        if not (self.typing or means) and letter.isprintable() and letter and (letter != " " or self.sought):
            event.stop()
            self.seek((self.sought + letter)[-LONGEST_SOUGHT:])
        else:
            super().on_key(event)

    def possible(self) -> frozenset[str]:
        names = super().possible()
        return names if self.sought else names - {"seek_less"}

    def act_seek(self) -> None:
        self.notify("Type letters: the list narrows to what holds them.", timeout=3)

    def act_seek_less(self) -> None:
        self.seek(self.sought[:-1])

    def act_leave(self) -> None:
        """Show all again where something is sought, else go back."""
        if self.sought:
            self.seek("")
        else:
            super().act_leave()

    @property
    def under_cursor(self) -> str:
        at = self.options.highlighted
        return self.rows[at].key if at is not None and at < len(self.rows) else ""

    def on_resize(self, event: events.Resize) -> None:
        super().on_resize(event)
        if self.offered:
            self.fill(self.offered)

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Tell the whole text of the row under the cursor: the list may have had to cut it."""
        if all(not row.key for row in self.rows[: event.option_index]):
            self.options.scroll_home(animate=False)  # the heading above the first is to be seen too
        if event.option_index < len(self.rows):
            self.say(self.rows[event.option_index].text or self.intro)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Open what was chosen; a mistake is shown, and the list stays."""
        if event.option.id and self.is_current:
            try:
                self.chosen(event.option.id)
            except Exception as error:  # noqa: BLE001 - a panel says it
                self.bench.show_error(error)

    def chosen(self, key: str) -> None:
        """Do what the row says; each page its own."""

    def act_open(self) -> None:
        self.options.action_select()

    def act_pick_up(self) -> None:
        self.options.action_cursor_up()

    def act_pick_down(self) -> None:
        self.options.action_cursor_down()
