"""Say what went wrong and what to do, over the screen it happened on."""

from typing import ClassVar

from textual.content import Content

from layoutdrill.errors import LayoutdrillError
from layoutdrill.screens.lines import joined, line
from layoutdrill.screens.text_page import TextPage

WAY_BACK = "Esc leads back; everything else is as it was."


def error_text(error: Exception, way_out: str = WAY_BACK) -> Content:
    """Put an error into words: what, where, what to do, and the way out; a fault of the program says so."""
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
            line("Answers given so far are kept. Go back and try something else."),
        ]
    return joined([*parts, Content(), line("[$secondary]$way_out[/]", way_out=way_out)])


class ErrorPanel(TextPage):
    """The panel."""

    about: ClassVar[str] = "Something went wrong; this page says what, where, and what to do."

    def __init__(self, error: Exception) -> None:
        super().__init__("Something is wrong", error_text(error))
