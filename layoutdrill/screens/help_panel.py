"""Explain a screen: what it is for, and every action with its keys, made from the table of actions."""

from typing import ClassVar

from textual.content import Content

from layoutdrill.screens.actions import PICTURE, key_word, offered
from layoutdrill.screens.lines import joined, line
from layoutdrill.screens.text_page import TextPage

HEADING = (
    "In the heading: λ (lambda) is the unit in which sizes on a layout are told.",
    "“2 px/λ” is how large the picture is: 2 half-pixels (a column wide, half a row high) for each λ.",
    "“3 layers lifted”: three layers are taken off the picture.",
    "The overview shows all of the drawing, its yellow frame what is in sight. Enlarged, it takes a click to go there.",
)


def explained(screen: str, about: str, possible: frozenset[str]) -> Content:
    """Return the help of a screen; what cannot be done just now comes last, dimmed."""
    rows = [
        (" ".join(key_word(key) for key in a.keys) or a.keys_as, a.about, a.name in possible) for a in offered(screen)
    ]
    rows.sort(key=lambda row: not row[2])
    wide = max(len(keys) for keys, _, _ in rows)
    parts = [Content(about), Content()]
    for keys, sentence, now in rows:
        markup = "[b $accent]$keys[/]  $sentence" if now else "[$secondary]$keys  $sentence (not just now)[/]"
        parts.append(line(markup, keys=f"{keys:{wide}}", sentence=sentence))
    if screen in PICTURE:
        parts += [Content(), *(Content(text) for text in HEADING)]
        parts += [
            Content(),
            Content(
                "Mouse: drag to move the picture, wheel to look closer or wider, click to point. Words in the last "
                "line can be clicked."
            ),
        ]
    return joined(parts)


class HelpPanel(TextPage):
    """The help of the screen below."""

    about: ClassVar[str] = "The help itself. Esc leads back."

    def __init__(self, screen: str, about: str, possible: frozenset[str]) -> None:
        super().__init__("This screen explained", explained(screen, about, possible))
