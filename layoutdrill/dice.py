"""Roll seeded dice, for every choice the program makes: the same on every machine and in every version of Python."""

from collections.abc import Sequence
from hashlib import blake2b
from typing import TypeVar

T = TypeVar("T")

_MASK = (1 << 64) - 1


class Dice:
    """
    A stream of random integers from a seed.

    Method: splitmix64 (Steele, Lea and Flood, 2014; constants from memory). Python's own generator is not used
    because its derived methods may change between versions.
    """

    __slots__ = ("_state",)

    def __init__(self, seed: int) -> None:
        self._state = seed & _MASK

    @classmethod
    def from_text(cls, text: str) -> "Dice":
        """Return dice whose stream is a function of the text."""
        return cls(int.from_bytes(blake2b(text.encode(), digest_size=8).digest(), "big"))

    def word(self) -> int:
        """Return 64 random bits."""
        self._state = state = (self._state + 0x9E3779B97F4A7C15) & _MASK
        state = ((state ^ (state >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
        state = ((state ^ (state >> 27)) * 0x94D049BB133111EB) & _MASK
        return state ^ (state >> 31)

    def below(self, bound: int) -> int:
        """Return 0 … bound − 1."""
        return (self.word() * bound) >> 64

    def between(self, low: int, high: int) -> int:
        """Return low … high, both included."""
        return low + self.below(high - low + 1)

    def chance(self, percent: int) -> bool:
        return self.below(100) < percent

    def fraction(self) -> float:
        """Return a number from 0 up to but not 1, in steps of 2⁻⁵³: exact, so the same on every machine."""
        return (self.word() >> 11) * 2**-53

    def normal(self) -> float:
        """Return a number of mean 0 and deviation 1, within ±6: twelve fractions less six (common practice)."""
        return sum(self.fraction() for _ in range(12)) - 6

    def pick(self, choices: Sequence[T]) -> T:
        return choices[self.below(len(choices))]

    def weighted(self, choices: Sequence[tuple[T, int]]) -> T:
        """Return one of (choice, weight) pairs."""
        at = self.below(sum(weight for _, weight in choices))
        for choice, weight in choices:
            at -= weight
            if at < 0:
                return choice
        raise ValueError("no choice has a weight")

    def sample(self, items: Sequence[T], count: int) -> list[T]:
        """Return `count` of the items, each place once, in random order; all of them where there are no more."""
        return self.shuffled(items)[:count]

    def shuffled(self, items: Sequence[T]) -> list[T]:
        mixed = list(items)
        for i in range(len(mixed) - 1, 0, -1):
            j = self.below(i + 1)
            mixed[i], mixed[j] = mixed[j], mixed[i]
        return mixed
