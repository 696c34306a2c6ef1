"""A row of a list, and the rows that a day begins home with."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from layoutdrill.value import value

NOT_BEGUN = "not begun"
"""The state of a lesson of which nothing has been answered."""


@value
class Row:
    """A row: `key` says what it opens ("" is a heading, not to be chosen); `name`, `text` and `state` are columns."""

    key: str
    name: str
    text: str = ""
    state: str = ""


@value
class Day:
    """
    The first block of home, and how far today's questions have led into lessons that were not begun themselves: what to
    say of them, by their keys.
    """

    rows: tuple[Row, ...]
    states: Mapping[str, str]

    def onto(self, rows: Iterable[Row]) -> tuple[Row, ...]:
        """Put this day first, and say in the rows below what it knows of them; what it leads to stands once."""
        known, first = self.states, {row.key for row in self.rows if row.key}
        below = (row for row in rows if row.key not in first)
        begun = (replace(row, state=known.get(row.key, NOT_BEGUN)) if row.state == NOT_BEGUN else row for row in below)
        return (*self.rows, *begun)
