"""Read on after an error, so that all errors of a file are told at once."""

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import TypeVar

from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.yamldoc import Node

T = TypeVar("T")


class Collector:
    """Keeps the errors met; each reader returns its fallback where the value cannot be read."""

    def __init__(self) -> None:
        self.errors: list[LayoutdrillError] = []

    def attempt(self, read: Callable[[], T], fallback: T) -> T:
        try:
            return read()
        except LayoutdrillError as error:
            self.errors.append(error)
            return fallback

    def fields(self, node: Node, required: Sequence[str], optional: Sequence[str]) -> dict[str, Node]:
        """Return the known fields of a mapping; unknown ones, and required ones that are missing, are errors."""
        entries = self.attempt(node.mapping, None)
        if entries is None:
            return {}
        known = (*required, *optional)
        for key, where in node.key_places:
            if key not in known:
                self.errors.append(
                    LayoutdrillError(f'no field "{key}" here', where=where, todo=partial(did_you_mean, key, known))
                )
        for key in required:
            if key not in entries:
                self.errors.append(
                    LayoutdrillError(f'field "{key}" is missing', where=node.where, todo=f'add a line "{key}: …"')
                )
        return {key: value for key, value in entries.items() if key in known}

    def field(self, fields: dict[str, Node], name: str, read: Callable[[Node], T], fallback: T) -> T:
        """Read one field; the fallback where it is absent or wrong."""
        node = fields.get(name)
        return fallback if node is None else self.attempt(lambda: read(node), fallback)

    def entries(self, fields: dict[str, Node], name: str, read: Callable[[Node], T]) -> tuple[T, ...]:
        """Read a list, leaving out the entries that cannot be read."""
        node = fields.get(name)
        if node is None:
            return ()
        values: list[T] = []
        nothing: tuple[Node, ...] = ()
        for item in self.attempt(node.items, nothing):
            try:
                values.append(read(item))
            except LayoutdrillError as error:
                self.errors.append(error)
        return tuple(values)

    def words(self, fields: dict[str, Node], name: str, known: Iterable[str], what: str) -> tuple[str, ...]:
        """Read a list of words that must be known; `what` names one in the message."""
        choice = tuple(known)
        return self.entries(fields, name, lambda node: node.word(choice, what))
