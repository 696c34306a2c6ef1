"""A value of a document, and where it stands: the methods narrow it, and say file, line and column when it is wrong."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import NoReturn

from layoutdrill.errors import LayoutdrillError, Where, did_you_mean
from layoutdrill.value import value

Scalar = str | int | float | bool | None


@value
class Node:
    """
    A value and its place. `value` is a scalar, a tuple of nodes, or a dict from text keys to nodes.

    The methods narrow the value and raise `LayoutdrillError` with file, line and column when it is another sort.
    """

    value: "Scalar | tuple[Node, ...] | dict[str, Node]"
    where: Where
    quoted: bool = False
    key_places: "tuple[tuple[str, Where], ...]" = ()
    indent: int | None = None
    """Columns before the text of a literal block (“|”); None for every other value."""

    def fail(self, what: str, todo: str | Callable[[], str] = "") -> NoReturn:
        raise LayoutdrillError(what, where=self.where, todo=todo)

    def text(self) -> str:
        if isinstance(self.value, str):
            return self.value
        if self.value is None or isinstance(self.value, (dict, tuple)):
            self.fail(f"text expected, {self.sort} found", "write one line of text, in quotes when in doubt")
        self.fail(f"text expected, {self.sort} found", f'put it in quotes: "{self.raw}"')

    @property
    def raw(self) -> str:
        if isinstance(self.value, bool):
            return "true" if self.value else "false"
        return str(self.value)

    @property
    def sort(self) -> str:
        """What this is, in words."""
        match self.value:
            case None:
                return "nothing"
            case bool():
                return "true or false"
            case int() | float():
                return "a number"
            case str():
                return "text"
            case dict():
                return "a mapping"
            case _:
                return "a list"

    def word(self, known: Sequence[str], what: str) -> str:
        """Return text that must be one of `known`; `what` names the thing in the message."""
        text = self.text()
        if text not in known:
            self.fail(f'no {what} "{text}"', lambda: did_you_mean(text, known))
        return text

    def integer(self, low: int | None = None, high: int | None = None) -> int:
        if isinstance(self.value, bool) or not isinstance(self.value, int):
            self.fail(f"whole number expected, {self.sort} found")
        if (low is not None and self.value < low) or (high is not None and self.value > high):
            bounds = f"from {low} to {high}" if high is not None else f"{low} or more"
            self.fail(f"{self.value} is out of range", f"give a whole number {bounds}")
        return self.value

    def number(self, low: float | None = None, high: float | None = None) -> float:
        if isinstance(self.value, bool) or not isinstance(self.value, (int, float)):
            self.fail(f"number expected, {self.sort} found")
        if (low is not None and self.value < low) or (high is not None and self.value > high):
            bounds = f"from {low} to {high}" if high is not None else f"{low} or more"
            self.fail(f"{self.value} is out of range", f"give a number {bounds}")
        return float(self.value)

    def boolean(self) -> bool:
        if not isinstance(self.value, bool):
            self.fail(f"true or false expected, {self.sort} found")
        return self.value

    def items(self) -> "tuple[Node, ...]":
        """Return the list's nodes; a single scalar counts as a list of one."""
        if isinstance(self.value, tuple):
            return self.value
        if isinstance(self.value, dict) or self.value is None:
            self.fail(f"a list expected, {self.sort} found", "start each entry on a line of its own with “- ”")
        return (self,)

    def mapping(self) -> "dict[str, Node]":
        if not isinstance(self.value, dict):
            self.fail(f"a mapping expected, {self.sort} found", "write “key: value” lines")
        return self.value

    def fields(self, required: Sequence[str] = (), optional: Sequence[str] = ()) -> "dict[str, Node]":
        """Return the mapping after checking that its keys are known and none that is required is missing."""
        entries = self.mapping()
        known = (*required, *optional)
        if not entries.keys() <= set(known):
            key, where = next(place for place in self.key_places if place[0] not in known)
            raise LayoutdrillError(f'no field "{key}" here', where=where, todo=partial(did_you_mean, key, known))
        for key in required:
            if key not in entries:
                self.fail(f'field "{key}" is missing', f'add a line "{key}: …"')
        return entries

    def lines(self) -> "tuple[Node, ...]":
        """
        Return each line of text that says something as a node of its own, with its place: the lines of a block
        (“|”), the entries of a list, or one plain value. A “#” in a block starts a remark.
        """
        if isinstance(self.value, tuple):
            return tuple(line for item in self.value for line in item.lines())
        if self.indent is None:
            self.text()
            return (self,)
        lines = []
        for number, written in enumerate(self.text().split("\n"), start=1):
            said = written.split("#", 1)[0].rstrip()
            if said:
                lead = len(said) - len(said.lstrip())
                where = Where(self.where.file, (self.where.line or 0) + number, self.indent + lead + 1)
                lines.append(Node(said.lstrip(), where))
        return tuple(lines)

    def __iter__(self) -> "Iterator[Node]":
        return iter(self.items())
