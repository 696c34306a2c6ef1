"""What a part of a chip is once it is drawn: its shapes, where its wires leave, and the ends of its rails."""

from collections.abc import Iterable, Mapping, Sequence

from layoutdrill.drawing.blocks.channel import Exit
from layoutdrill.drawing.shared import Drawn, Span
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.unions import Unions, grouped
from layoutdrill.value import value


@value
class RailEnd:
    """Where a supply (0 low, 1 high) reaches a side in metal: the middle of the rail, and half its width."""

    supply: int
    side: str
    place: int
    half: int


@value
class Body:
    """A drawn part in directions of its own: rails level, the low one below; `sizes` by the chip's names."""

    shapes: Mapping[str, Sequence[Rect]]
    box: Rect
    exits: tuple[Exit, ...]
    rails: tuple[RailEnd, ...]
    sizes: Drawn

    @property
    def rail_pitch(self) -> int:
        """Return how far the high rail lies above the low one."""
        return self.rails[1].place - self.rails[0].place

    def exit(self, net: str) -> Exit:
        return next(exit_ for exit_ in self.exits if exit_.net == net)


def mirrored(layout: Layout) -> Layout:
    """Return a layout with left and right exchanged."""
    return layout.transformed(Transform(turns=2, mirrored=True))


def components(rects: Iterable[Rect]) -> dict[Rect, frozenset[Rect]]:
    """Return for each rectangle all those that hang together with it, itself among them."""
    ordered = sorted(set(rects))
    lines = Unions()
    active: list[int] = []
    for number, r in enumerate(ordered):
        active = [k for k in active if ordered[k].x1 >= r.x0]
        for k in active:
            if ordered[k].touches(r):
                lines.join(k, number)
        active.append(number)
    groups = grouped((lines.find(number), r) for number, r in enumerate(ordered))
    return {r: whole for group in groups.values() for whole in (frozenset(group),) for r in group}


def free_span(taken: Iterable[Span], low: int, high: int) -> bool:
    """Tell whether a stretch meets none of those taken."""
    return all(b <= low or a >= high for a, b in taken)
