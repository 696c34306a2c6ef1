"""Choose one of several, on a page of its own."""

from collections.abc import Callable, Sequence
from typing import ClassVar

from layoutdrill.screens.list_page import ListPage
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.row import Row


class ChoosePage(ListPage):
    """Offer rows, tell `then` the key of the one taken; going back takes none."""

    name_of: ClassVar[str] = "choose"
    about: ClassVar[str] = "Choose one. Esc leaves things as they were."
    BINDINGS = bindings_for("choose")

    def __init__(self, title: str, rows: Sequence[Row], then: Callable[[str], None], now: str = "") -> None:
        super().__init__()
        self._title, self._offered, self._then, self._now = title, tuple(rows), then, now

    def on_mount(self) -> None:
        self.head(self._title)
        self.fill(self._offered)
        keys = [row.key for row in self.rows]
        if self._now in keys:
            self.options.highlighted = keys.index(self._now)

    def chosen(self, key: str) -> None:
        self.bench.leave(self)
        self._then(key)
