"""
The keys of questions: typed values that are written as plain JSON, and read from a record years later.

A field may be text, a number, a truth, a rectangle, another key, or a tuple or mapping of these. What a record lacks
takes the field's default; what has no default, or is of another sort, is damage, and told.
"""

from collections.abc import Mapping
from dataclasses import MISSING, fields
from functools import cache
from types import UnionType
from typing import Any, ClassVar, Protocol, Self, get_args, get_origin, get_type_hints

from layoutdrill.errors import LayoutdrillError


class Keyed(Protocol):
    """What has a key: a question."""

    @property
    def kind(self) -> str: ...

    @property
    def key(self) -> object: ...


class Key:
    """
    What grading needs to know. Subclasses are values (`@value`); their fields' names are those of the JSON.

    `shown` names the fields that a learner sees anyway, and that it takes to read an answer.
    """

    __slots__ = ()
    shown: ClassVar[tuple[str, ...]] = ("choices",)

    def json(self) -> dict[str, Any]:
        """Return the key as plain JSON values."""
        own: Any = type(self)
        return {name: _plain(getattr(self, name)) for name, _, _ in _fields(own)}

    def form(self) -> Self:
        """Return a key by which an answer can be read and nothing learned: all but what is `shown` is empty."""
        own: Any = type(self)
        parts = {
            name: getattr(self, name) if name in self.shown else _empty(kind, name) for name, kind, _ in _fields(own)
        }
        return type(self)(**parts)

    @classmethod
    def of(cls, question: Keyed) -> Self:
        """Return the key of a question of the kind that has such keys."""
        if not isinstance(question.key, cls):
            raise TypeError(f"a {question.kind} question has a {type(question.key).__name__}, not a {cls.__name__}")
        return question.key

    @classmethod
    def read(cls, given: Mapping[str, object]) -> Self:
        """Read what `json` wrote; raises LayoutdrillError naming the first field that is missing or damaged."""
        own: Any = cls
        parts: dict[str, Any] = {}
        for name, kind, required in _fields(own):
            if name in given:
                parts[name] = _read(given[name], kind, name)
            elif required:
                raise _damaged(name)
        return cls(**parts)


@cache
def _fields(key: Any) -> tuple[tuple[str, Any, bool], ...]:
    """Return each field's name, type, and whether a record must have it."""
    hints = get_type_hints(key)
    return tuple(
        (field.name, hints[field.name], field.default is MISSING and field.default_factory is MISSING)
        for field in fields(key)
    )


def _empty(kind: Any, name: str) -> Any:
    """Return the empty value of a field's type."""
    origin = get_origin(kind)
    if origin is UnionType:
        return None
    if origin is tuple:
        parts = get_args(kind)
        return () if parts[-1:] == (...,) else tuple(_empty(part, name) for part in parts)
    if origin is Mapping or origin is dict:
        return {}
    if issubclass(kind, Key):
        return kind(**{field: _empty(part, field) for field, part, _ in _fields(kind)})
    if issubclass(kind, tuple):
        return kind(*(_empty(part, name) for part in get_type_hints(kind).values()))
    return kind()


def _plain(value: Any) -> Any:
    if isinstance(value, Key):
        return value.json()
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if isinstance(value, Mapping):
        return {name: _plain(part) for name, part in value.items()}
    return value


def _read(given: object, kind: Any, name: str) -> Any:
    """Read a plain value as a type; tuples that are named (rectangles) are made from their parts."""
    origin = get_origin(kind)
    if origin is UnionType:
        return None if given is None else _read(given, next(k for k in get_args(kind) if k is not type(None)), name)
    if origin is tuple:
        return _tuple(given, get_args(kind), name)
    if origin is Mapping or origin is dict:
        if not isinstance(given, Mapping):
            raise _damaged(name)
        return {str(word): _read(part, get_args(kind)[1], name) for word, part in given.items()}
    if issubclass(kind, Key):
        if not isinstance(given, Mapping):
            raise _damaged(name)
        return kind.read(given)
    if issubclass(kind, tuple):
        return kind(*_tuple(given, tuple(get_type_hints(kind).values()), name))
    if kind is float and isinstance(given, int) and not isinstance(given, bool):
        return float(given)
    if not isinstance(given, kind) or (isinstance(given, bool) and kind is not bool):
        raise _damaged(name)
    return given


def _tuple(given: object, kinds: tuple[Any, ...], name: str) -> tuple[Any, ...]:
    if not isinstance(given, list | tuple):
        raise _damaged(name)
    if kinds[-1:] == (...,):
        return tuple(_read(part, kinds[0], name) for part in given)
    if len(given) != len(kinds):
        raise _damaged(name)
    return tuple(_read(part, kind, name) for part, kind in zip(given, kinds, strict=True))


def _damaged(name: str) -> LayoutdrillError:
    return LayoutdrillError(f'the question\'s key has no fit value for "{name}"', todo="the record is damaged")
