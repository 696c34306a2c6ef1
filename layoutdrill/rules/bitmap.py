"""
A layer as one long integer: a bit a grid square, rows one after another.

Boolean operations on whole layers are then single operations on integers, and shifting moves a layer. A margin of
empty squares round the drawing keeps shifted bits from running into the next row.
"""

from collections.abc import Iterable, Iterator

from layoutdrill.geometry.rect import Rect
from layoutdrill.value import value

RIGHT, UP = 0, 1


@value
class Field:
    """The frame of all bitmaps of one layout: its corner, its stride (squares a row), its height in squares."""

    x0: int
    y0: int
    stride: int
    height: int

    @classmethod
    def around(cls, box: Rect, margin: int) -> "Field":
        return cls(box.x0 - margin, box.y0 - margin, box.width + 2 * margin, box.height + 2 * margin)

    def bits(self, rects: Iterable[Rect]) -> int:
        """
        Return the bitmap of rectangles.

        Neighbours from the bottom up are joined in pairs, and these again, each as tall as it must be: the whole is
        touched once a round, and not once a rectangle.
        """
        stride = self.stride
        pieces: list[tuple[int, int]] = []  # (lowest row, bits from there on)
        for r in sorted(rects, key=lambda r: r.y0):
            row = ((1 << (r.x1 - r.x0)) - 1) << (r.x0 - self.x0)
            pieces.append((r.y0, smear(row, r.y1 - r.y0 - 1, stride)))
        while len(pieces) > 1:
            pairs = zip(pieces[::2], pieces[1::2], strict=False)
            rest = pieces[-1:] if len(pieces) % 2 else []
            pieces = [(low, a | b << ((high - low) * stride)) for (low, a), (high, b) in pairs] + rest
        return sum(bits << ((low - self.y0) * stride) for low, bits in pieces)

    def step(self, direction: int) -> int:
        return self.stride if direction == UP else 1

    def places(self, bits: int, most: int) -> Iterator[Rect]:
        """Yield the boxes of up to `most` connected patches, from the bottom."""
        for _ in range(most):
            if not bits:
                return
            patch = bits & -bits
            while (grown := beside(patch, self.stride) & bits) != patch:
                patch = grown
            bits ^= patch
            yield self._box(patch)

    def _box(self, patch: int) -> Rect:
        stride = self.stride
        low = ((patch & -patch).bit_length() - 1) // stride
        high = (patch.bit_length() - 1) // stride
        shade = 0
        full = (1 << stride) - 1
        for row in range(low, high + 1):
            shade |= (patch >> (row * stride)) & full
        left = (shade & -shade).bit_length() - 1
        return Rect(self.x0 + left, self.y0 + low, self.x0 + shade.bit_length(), self.y0 + high + 1)


def beside(bits: int, stride: int) -> int:
    """Return the bitmap with the four neighbours of every square."""
    return bits | bits << 1 | bits >> 1 | bits << stride | bits >> stride


def flooded(start: int, area: int, stride: int) -> int:
    """
    Return the squares of an area that hang together with those to start from, which lie in it.

    Each round runs on along whole rows and columns, by strides that double (parallel prefix: Kogge & Stone 1973, from
    memory), so that rounds are as many as the way has bends.
    """
    reached = start
    while True:
        before = reached
        for step in (1, stride):
            for up in (True, False):
                free, stretch = area, step
                while free:
                    reached |= free & (reached << stretch if up else reached >> stretch)
                    free &= free << stretch if up else free >> stretch
                    stretch *= 2
        if reached == before:
            return reached


def smear(bits: int, count: int, step: int) -> int:
    """Return the union of the bitmap moved 0, 1, …, `count` times by `step` bits."""
    done = 0
    while done < count:
        more = min(done + 1, count - done)
        bits |= bits << (more * step)
        done += more
    return bits


def shrink(bits: int, count: int, step: int) -> int:
    """Return the squares from which `count` more in a row follow, in the direction of growing bits."""
    done = 0
    while done < count:
        more = min(done + 1, count - done)
        bits &= bits >> (more * step)
        done += more
    return bits
