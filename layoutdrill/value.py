"""
Make values: classes of named slots whose methods are made when first needed.

A type checker reads `@value` as a frozen dataclass and `@mutable` as one that may change, each with slots. At run time
they cost a small part of what the standard decorator costs, because that one writes and compiles the source of every
method when the module is imported, and most programs call few of them. Here `__init__` is made at the first
instance, usually by renaming the arguments of a function of that many arguments, and the description that
`dataclasses.fields`, `replace` and `asdict` look for is made when one of them first asks.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import MISSING, Field, FrozenInstanceError, field, make_dataclass
from functools import cache
from inspect import get_annotations
from types import FunctionType
from typing import Any, ClassVar, Generic, TypeVar, dataclass_transform, get_origin

T = TypeVar("T")

_FIELDS = "__value_fields__"  # name → the field's type and what the class body says of it


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def value(cls: type[T]) -> type[T]:
    """Make the class a frozen value: equal, hashed, shown and pickled by its fields. Its slots are its annotations."""
    made: type[T] = _slotted(cls, __setattr__=_refuse_setting, __delattr__=_refuse_deleting)
    _when_needed(made, cls, "__init__", _init)
    _when_needed(made, cls, "__eq__", _eq)
    _when_needed(made, cls, "__hash__", _hash)
    return made


@dataclass_transform(field_specifiers=(field,))
def mutable(cls: type[T]) -> type[T]:
    """Make the class a bag of slots that may change: equal and shown by its fields, never hashed."""
    made: type[T] = _slotted(cls, __hash__=None)
    _when_needed(made, cls, "__init__", _init)
    _when_needed(made, cls, "__eq__", _eq)
    return made


def identity(cls: type[T]) -> type[T]:
    """Let a value equal itself only, where comparing its fields would cost too much. Stands below `@value`."""
    cls.__eq__, cls.__hash__ = object.__eq__, object.__hash__  # type: ignore[method-assign]
    return cls


class Itself(Generic[T]):
    """
    A thing as a key, equal to the key of no other thing, however alike; for what is kept of large or mutable things.

    The thing lives as long as its key, so that no other one can come to lie in its place.
    """

    __slots__ = ("thing",)

    def __init__(self, thing: T) -> None:
        self.thing = thing

    def __hash__(self) -> int:
        return object.__hash__(self.thing)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Itself) and self.thing is other.thing


def _refuse_setting(_self: object, name: str, _given: object) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_deleting(_self: object, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete field {name!r}")


def _slotted(cls: Any, **methods: Any) -> Any:
    """Return the class again with a slot for each field of its own, and the methods that it does not bring itself."""
    body = dict(cls.__dict__)
    own = {name: kind for name, kind in get_annotations(cls).items() if not _is_shared(kind)}
    fields: dict[str, Any] = {}
    for base in reversed(cls.__mro__[1:]):
        fields |= base.__dict__.get(_FIELDS, {})
    body["__slots__"] = tuple(name for name in own if name not in fields)
    fields |= {name: (kind, body.pop(name, MISSING)) for name, kind in own.items()}
    body["__match_args__"] = tuple(fields)
    body[_FIELDS] = fields
    body["__dataclass_fields__"] = _Description()
    for taken in ("__dict__", "__weakref__"):
        body.pop(taken, None)
    methods |= {"__repr__": _shown, "__getstate__": _state, "__setstate__": _restore}
    body["__qualname__"] = cls.__qualname__  # given at birth, for a base class that reads it then
    return type(cls)(cls.__name__, cls.__bases__, methods | body)


def _when_needed(made: Any, cls: type, name: str, make: Callable[[Any], FunctionType]) -> None:
    """Give the class a stand-in that makes the method at its first call, and from then on is that method."""
    if cls.__dict__.get(name) is not None:
        return

    def first(self: Any, *given: Any, **named: Any) -> Any:
        method = make(made)
        setattr(made, name, method)
        return method(self, *given, **named)

    setattr(made, name, first)


def _is_shared(kind: Any) -> bool:
    return kind is ClassVar or get_origin(kind) is ClassVar


def _spec(said: Any, name: str, otherwise: Any) -> Any:
    return getattr(said, name) if isinstance(said, Field) else otherwise


def _shown(self: Any) -> str:
    parts = (
        f"{n}={getattr(self, n)!r}" for n, (_, said) in getattr(self, _FIELDS).items() if _spec(said, "repr", True)
    )
    return f"{type(self).__qualname__}({', '.join(parts)})"


def _state(self: Any) -> list[Any]:
    return [getattr(self, name) for name in getattr(self, _FIELDS)]


def _restore(self: Any, state: list[Any]) -> None:
    for name, given in zip(getattr(self, _FIELDS), state, strict=True):
        object.__setattr__(self, name, given)


class _Description:
    """Stands for `__dataclass_fields__` until someone asks; then the standard library describes the fields."""

    def __get__(self, thing: Any, owner: type) -> Any:
        said = getattr(owner, _FIELDS)
        rows = [(name, kind) if given is MISSING else (name, kind, given) for name, (kind, given) in said.items()]
        words = {
            "__doc__": "Its fields."
        }  # where it has none, one is made, from its signature, at three times the cost
        described: Any = make_dataclass(owner.__name__, rows, init=False, repr=False, eq=False, namespace=words)
        owner.__dataclass_fields__ = described.__dataclass_fields__  # type: ignore[attr-defined]
        return described.__dataclass_fields__


def _eq(owner: type) -> FunctionType:
    return _renamed(_equality, _compared(owner), owner, "__eq__")


def _hash(owner: type) -> FunctionType:
    return _renamed(_hashing, _compared(owner), owner, "__hash__")


def _compared(owner: type) -> list[str]:
    return [name for name, (_, said) in getattr(owner, _FIELDS).items() if _spec(said, "compare", otherwise=True)]


def _init(owner: type) -> FunctionType:
    fields = getattr(owner, _FIELDS)
    factories = {name: said.default_factory for name, (_, said) in fields.items() if isinstance(said, Field)}
    factories = {name: factory for name, factory in factories.items() if factory is not MISSING}
    making = _making(len(fields), hasattr(owner, "__post_init__"), tuple(name in factories for name in fields))
    made = making(*(getattr(owner, name).__set__ for name in fields), *factories.values())
    made.__defaults__ = tuple(_defaults(fields, factories))
    return _renamed(lambda _: made, list(fields), owner, "__init__")


def _defaults(fields: Mapping[str, Any], factories: Mapping[str, Any]) -> Iterator[Any]:
    begun = ""
    for name, (_, said) in fields.items():
        default = _UNMADE if name in factories else _spec(said, "default", said)
        if default is not MISSING:
            begun = name
            yield default
        elif begun:
            raise TypeError(f"non-default argument {name!r} follows default argument {begun!r}")


_UNMADE = object()


def _renamed(make: Callable[[int], FunctionType], names: Sequence[str], owner: type, name: str) -> FunctionType:
    """Return a method written for fields a0, a1, … under the names of the class's own."""
    made = make(len(names))
    new = {f"a{at}": given for at, given in enumerate(names)}
    code = made.__code__
    varnames = tuple(new.get(old, old) for old in code.co_varnames)
    conames = tuple(new.get(old, old) for old in code.co_names)
    made = FunctionType(
        code.replace(co_varnames=varnames, co_names=conames),
        made.__globals__,
        name,
        made.__defaults__,
        made.__closure__,
    )
    made.__qualname__, made.__module__ = f"{owner.__qualname__}.{name}", owner.__module__
    return made


@cache
def _equality(count: int) -> FunctionType:
    mine, its = (", ".join(f"{whose}.a{at}" for at in range(count)) for whose in ("self", "other"))
    alike = f"({mine},) == ({its},)" if count else "True"
    return _compiled(
        f"def method(self, other):\n if other.__class__ is self.__class__: return {alike}\n return NotImplemented"
    )


@cache
def _hashing(count: int) -> FunctionType:
    return _compiled(f"def method(self): return hash(({''.join(f'self.a{at},' for at in range(count))}))")


@cache
def _making(count: int, checked: bool, factory: tuple[bool, ...]) -> Callable[..., FunctionType]:
    """Return what makes an `__init__` of so many arguments out of the setters of their slots."""
    setters = [f"s{at}" for at in range(count)]
    makers = [f"f{at}" for at in range(count) if factory[at]]
    given = [f"f{at}() if a{at} is unmade else a{at}" if factory[at] else f"a{at}" for at in range(count)]
    lines = [f" s{at}(self, {given[at]})" for at in range(count)] + [" self.__post_init__()"] * checked or [" pass"]
    inner = "\n ".join([f"def __init__(self, {', '.join(f'a{at}' for at in range(count))}):", *lines])
    return _compiled(f"def method({', '.join(setters + makers)}):\n {inner}\n return __init__")


def _compiled(text: str) -> FunctionType:
    place: dict[str, Any] = {"unmade": _UNMADE, "__name__": __name__}
    exec(text, place)  # noqa: S102 - made of numbers alone, never of names or text from outside
    made: FunctionType = place["method"]
    return made
