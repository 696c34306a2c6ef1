"""Tell what is possible now, in one line; each entry can be clicked."""

from rich.cells import cell_len
from textual.content import Content
from textual.widgets import Static

Entry = tuple[str, str, str]
LAST = ("help", "find", "leave")


def fitting(entries: tuple[Entry, ...], width: int) -> tuple[Entry, ...]:
    """Drop what does not fit, least wanted first, but never help, find and leave: they lead to all the rest."""
    kept = list(entries)

    def wide() -> int:
        return sum(cell_len(key) + cell_len(label) + 3 for _, key, label in kept)

    for entry in reversed(entries):
        if wide() <= width:
            break
        if entry[0] not in LAST:
            kept.remove(entry)
    return tuple(kept)


class KeyLine(Static):
    """The footer."""

    DEFAULT_CSS = """
    KeyLine { dock: bottom; height: 1; background: $panel; color: $foreground; }
    KeyLine { link-style: none; link-color: $foreground; }
    """

    shown: tuple[Entry, ...] = ()

    def tell(self, entries: tuple[Entry, ...]) -> None:
        """Show the entries that fit; the same ones again cost nothing, as while the picture is moved."""
        kept = fitting(entries, self.app.size.width)
        if kept == self.shown:
            return
        self.shown = kept
        parts: list[Content] = []
        for name, key, label in kept:
            markup = f"[@click=screen.do('{name}')] [b]$key[/] $label [/]" if name else " [b]$key[/] $label "
            parts.append(Content.from_markup(markup, key=key, label=label))
        self.update(Content("").join(parts), layout=False)
