"""Explain a screen: what it is for, and every action with its keys, made from the table of actions."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from layoutdrill.screens.actions import key_word, offered
from layoutdrill.screens.page import Page, bindings_for
from layoutdrill.screens.wording import joined, line


def explained(screen: str, about: str, possible: frozenset[str]) -> Content:
    """Return the help of a screen; what cannot be done just now is dimmed."""
    rows = [(" ".join(key_word(key) for key in a.keys), a.about, a.name in possible) for a in offered(screen)]
    wide = max(len(keys) for keys, _, _ in rows)
    parts = [Content(about), Content()]
    for keys, sentence, now in rows:
        markup = "[b $accent]$keys[/]  $sentence" if now else "[$secondary]$keys  $sentence (not just now)[/]"
        parts.append(line(markup, keys=f"{keys:{wide}}", sentence=sentence))
    if screen in ("drill", "lesson", "explain"):
        parts += [
            Content(),
            Content(
                "Mouse: drag to move the picture, wheel to look closer or wider, click to point. Words in the last "
                "line can be clicked."
            ),
        ]
    return joined(parts)


class HelpPanel(Page):
    """The help of the screen below."""

    name_of: ClassVar[str] = "text"
    about: ClassVar[str] = "The help itself. Esc leads back."
    BINDINGS = bindings_for("text")

    def __init__(self, screen: str, about: str, possible: frozenset[str]) -> None:
        super().__init__()
        self.words = explained(screen, about, possible)

    def body(self) -> ComposeResult:
        with VerticalScroll(id="text"):
            yield Static(self.words)

    def on_mount(self) -> None:
        self.head("This screen explained")
        self.query_one("#text").focus()

    def scroll_of(self) -> Widget | None:
        return self.query_one("#text")
