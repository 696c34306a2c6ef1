"""A page of words to read: about, progress, an error, help."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from layoutdrill.screens.page import Page, bindings_for


class TextPage(Page):
    """Show a heading and words."""

    name_of: ClassVar[str] = "text"
    needs: ClassVar[tuple[int, int]] = (30, 8)
    about: ClassVar[str] = "Words to read. Esc leads back."
    BINDINGS = bindings_for("text")

    def __init__(self, title: str, words: Content) -> None:
        super().__init__()
        self._title, self.words = title, words

    def body(self) -> ComposeResult:
        with VerticalScroll(id="text"):
            yield Static(self.words)

    def on_mount(self) -> None:
        self.head(self._title)
        self.query_one("#text").focus()
        self.call_after_refresh(self.retell)

    def scroll_of(self) -> Widget | None:
        return self.query_one("#text")

    def possible(self) -> frozenset[str]:
        return super().possible() - {"scroll_up", "scroll_down"} | self.scrolling()
