"""Say what went wrong and what to do, over the screen it happened on."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from layoutdrill.errors import LayoutdrillError
from layoutdrill.screens.page import Page, bindings_for
from layoutdrill.screens.wording import joined, line


def told(error: Exception) -> Content:
    """Put an error into words: what, where, what to do; a fault of the program says so."""
    if isinstance(error, LayoutdrillError):
        parts = [line("[b $error]$what[/]", what=error.what)]
        if error.where:
            parts.append(line("[$secondary]where[/]  $where", where=str(error.where)))
        if error.todo:
            parts.append(line("[$secondary]do[/]     $todo", todo=error.todo))
    else:
        parts = [
            line("[b $error]A fault in layoutdrill itself.[/]"),
            line("$kind: $text", kind=type(error).__name__, text=str(error)),
            line("Answers given so far are kept. Go back and try another question."),
        ]
    return joined(parts)


class ErrorPanel(Page):
    """The panel. Any way back closes it."""

    name_of: ClassVar[str] = "text"
    needs: ClassVar[tuple[int, int]] = (20, 5)
    about: ClassVar[str] = "Something went wrong; the panel says what, where, and what to do."
    BINDINGS = bindings_for("text")

    def __init__(self, error: Exception) -> None:
        super().__init__()
        self.error = error

    def body(self) -> ComposeResult:
        with VerticalScroll(id="text"):
            yield Static(told(self.error))

    def on_mount(self) -> None:
        self.head("Something is wrong")
