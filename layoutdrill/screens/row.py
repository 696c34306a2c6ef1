"""A row of a list."""

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
