"""Stack rows that share rails: every second one stands upside down."""

from dataclasses import dataclass

from layoutdrill.drawing.chains.sheet import Span


@dataclass(frozen=True, slots=True)
class Frame:
    """A row's own heights, from its low rail at 0, as heights of the array."""

    base: int
    sense: int

    def y(self, v: int) -> int:
        return self.base + self.sense * v

    def span(self, low: int, high: int) -> Span:
        a, b = self.y(low), self.y(high)
        return (a, b) if a < b else (b, a)


@dataclass(frozen=True, slots=True)
class Bank:
    """`rows` rows of one height between rails; `first` is the rail at the bottom, 0 the low one and 1 the high one."""

    rows: int
    height: int
    first: int

    def frame(self, row: int) -> Frame:
        if (row + self.first) % 2 == 0:
            return Frame(row * self.height, 1)
        return Frame((row + 1) * self.height, -1)

    def rails(self) -> tuple[tuple[int, int], ...]:
        """Return (height, supply) of each rail, from the bottom up."""
        return tuple((k * self.height, (k + self.first) % 2) for k in range(self.rows + 1))
