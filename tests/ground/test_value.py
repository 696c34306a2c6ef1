"""Values keep every promise of the standard library's frozen dataclass with slots, which is the reference here."""

import copy
import pickle
import threading
from collections.abc import Mapping
from dataclasses import FrozenInstanceError, asdict, astuple, dataclass, field, fields, is_dataclass, replace
from typing import ClassVar, Generic, TypeVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.value import identity, mutable, value
from tests.sampling import examples

T = TypeVar("T")


@value
class Place:
    kinds: ClassVar[int] = 3
    x: int
    y: tuple[int, ...] = ()
    note: str = field(default="here", compare=False)
    more: Mapping[str, int] = field(default_factory=dict, repr=False, compare=False)

    @property
    def sum(self) -> int:
        return self.x + sum(self.y)


@dataclass(frozen=True, slots=True)
class Reference:
    kinds: ClassVar[int] = 3
    x: int
    y: tuple[int, ...] = ()
    note: str = field(default="here", compare=False)
    more: Mapping[str, int] = field(default_factory=dict, repr=False, compare=False)


@value
class Deeper(Place):
    z: int = 0


@value
class Checked:
    low: int
    high: int

    def __post_init__(self) -> None:
        if self.low > self.high:
            raise ValueError("low above high")


@value
@identity
class Alone:
    x: int


@value
class Empty:
    pass


@value
class Boxed(Generic[T]):
    inside: T


@value
class Named:
    a1: int
    a0: int
    self_: int = 0
    hash: int = 5


@mutable
class Counter:
    count: int = 0
    seen: list[int] = field(default_factory=list)


def test_made_of_fields():
    """Arguments by place and by name, defaults, and a fresh default for each instance."""
    place = Place(1, note="there")
    assert (place.x, place.y, place.note, place.more, place.sum) == (1, (), "there", {}, 1)
    assert Place(1).more is not Place(1).more
    assert Place(y=(2,), x=5).y == (2,)
    assert (Named(1, a0=2).a1, Named(1, a0=2).a0, Named(1, 2).hash) == (1, 2, 5)
    assert (Place.kinds, Boxed("x").inside) == (3, "x")


@pytest.mark.parametrize("given", [(), (1, 2, 3, 4, 5)], ids=["too few", "too many"])
def test_wrong_arguments(given):
    """A wrong number of arguments, or an unknown name, is a TypeError that tells the class."""
    with pytest.raises(TypeError, match="Place"):
        Place(*given)
    with pytest.raises(TypeError, match="unknown"):
        Place(1, unknown=2)


def test_a_default_before_none():
    """A field without a default after one with a default is refused."""

    @value
    class Wrong:
        x: int = 1
        y: int

    with pytest.raises(TypeError, match="'y' follows default argument 'x'"):
        Wrong(1, 2)


numbers = st.integers(-3, 3)
places = st.tuples(numbers, st.lists(numbers, max_size=2).map(tuple), st.text(max_size=1))


@settings(max_examples=examples(180))
@given(places, places)
def test_equal_and_hashed_as_the_reference(a, b):
    """Equality, hash and text of two values are those of two standard frozen dataclasses."""
    mine, its = Place(*a), Place(*b)
    reference, other = Reference(*a), Reference(*b)
    assert (mine == its) == (reference == other)
    assert (hash(mine) == hash(its)) == (hash(reference) == hash(other))
    assert hash(mine) == hash(reference)
    assert repr(mine) == repr(reference).replace("Reference", "Place")
    assert mine.__match_args__ == reference.__match_args__
    assert asdict(mine) == asdict(reference)
    assert astuple(mine) == astuple(reference)


def test_equal_to_its_own_class_only():
    """No value equals one of another class, nor of a class that inherits from its own."""
    assert Place(1) != Reference(1)
    assert Place(1) != Deeper(1)
    assert Deeper(1, z=2) != Deeper(1, z=3)
    assert (Deeper(1, z=2) == Deeper(1, z=2), hash(Deeper(1)) == hash(Deeper(1))) == (True, True)
    assert Place(1) != (1, ())
    assert (Empty() == Empty(), hash(Empty())) == (True, hash(()))
    assert Alone(1) != Alone(1)
    assert len({Alone(1), Alone(1)}) == 2


def test_refuses_change():
    """Nothing can be set or deleted, not even what is no field."""
    place = Place(1)
    for act in (lambda: setattr(place, "x", 2), lambda: setattr(place, "other", 2), lambda: delattr(place, "x")):
        with pytest.raises(FrozenInstanceError):
            act()
    assert place.x == 1
    assert not hasattr(place, "__dict__")


@pytest.mark.parametrize("thing", [Place(1, (2,), "n", {"a": 1}), Deeper(1, z=4), Checked(1, 2), Empty(), Named(1, 2)])
def test_pickled_and_copied(thing):
    """A value survives pickling in every protocol, and copying."""
    for protocol in range(2, pickle.HIGHEST_PROTOCOL + 1):
        again = pickle.loads(pickle.dumps(thing, protocol))
        assert (again, repr(again), type(again)) == (thing, repr(thing), type(thing))
    assert copy.copy(thing) == copy.deepcopy(thing) == thing


def test_replaced():
    """`dataclasses.replace` and its kin see the fields, with their types; a check runs again."""
    assert replace(Place(1, (2,)), x=3) == Place(3, (2,))
    assert replace(Deeper(1, z=2), x=3) == Deeper(3, z=2)
    assert [(f.name, f.compare) for f in fields(Place)] == [(f.name, f.compare) for f in fields(Reference)]
    assert is_dataclass(Place)
    with pytest.raises(ValueError, match="low above high"):
        replace(Checked(1, 2), low=3)
    match Place(4, (5,)):
        case Place(x, y):
            assert (x, y) == (4, (5,))


def test_mutable():
    """A mutable one changes within its slots, compares by them, and is never hashed."""
    count = Counter()
    count.count += 1
    count.seen.append(3)
    assert count == Counter(1, [3])
    assert count != Counter()
    assert repr(count) == "Counter(count=1, seen=[3])"
    with pytest.raises(TypeError, match="unhashable"):
        hash(count)
    with pytest.raises(AttributeError):
        count.other = 1


def test_its_own_methods_stay():
    """Methods that the class brings itself are kept."""

    @value
    class Own:
        x: int

        def __repr__(self) -> str:
            return "own"

        def __hash__(self) -> int:
            return 7

    assert (repr(Own(1)), hash(Own(1)), Own(1) == Own(1)) == ("own", 7, True)


def test_first_use_from_many_threads():
    """Classes first used by several threads at once come out whole."""
    for _ in range(50):

        @value
        class Fresh:
            x: int
            y: int = 2

        ready, made = threading.Barrier(4), []

        def use(fresh=Fresh, ready=ready, made=made):
            ready.wait()
            made.append((fresh(1), hash(fresh(1)), fresh(1) == fresh(1, 2)))

        threads = [threading.Thread(target=use) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert made == [(Fresh(1), hash(Fresh(1)), True)] * 4
