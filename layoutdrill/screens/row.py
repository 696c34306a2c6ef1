"""A row of a list."""

from layoutdrill.value import value


@value
class Row:
    """A row: `key` says what it opens ("" is a heading, not to be chosen); `name`, `text` and `state` are columns."""

    key: str
    name: str
    text: str = ""
    state: str = ""
