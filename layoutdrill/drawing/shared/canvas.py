"""The canvas: rectangles by mask layer, places offered for the names of nets, and the sizes of transistors."""

from collections.abc import Iterable, Mapping
from dataclasses import field, replace
from typing import Self

from layoutdrill.drawing.shared.job import Request
from layoutdrill.drawing.shared.sizes import Drawn
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.geometry.rect import Rect, box_round
from layoutdrill.geometry.transform import IDENTITY, Transform
from layoutdrill.layout.model import Label, Layout
from layoutdrill.unions import grouped
from layoutdrill.units import GridUnits
from layoutdrill.value import value

Span = tuple[int, int]
"""From and to, along one axis, in grid units."""


def reach_by_net(places: Iterable[tuple[str, GridUnits]]) -> dict[str, Span]:
    """Return from where to where the places of each net reach."""
    return {net: (min(own), max(own)) for net, own in grouped(places).items()}


def frame_round(area: Rect, wide: GridUnits) -> tuple[Rect, ...]:
    """Return four bars so `wide` that lie round an area."""
    outer = area.grown(wide)
    return (
        Rect(outer.x0, outer.y0, outer.x1, area.y0),
        Rect(outer.x0, area.y1, outer.x1, outer.y1),
        Rect(outer.x0, area.y0, area.x0, area.y1),
        Rect(area.x1, area.y0, outer.x1, area.y1),
    )


@value
class Drawing:
    """A layout with what was meant by it: its border, and the sizes by transistor."""

    layout: Layout
    frame: Rect
    sizes: Drawn


@value
class Canvas:
    """
    What has been drawn so far by the technique of a process, `t`, in grid units. `sizes` holds fingers, length and
    width of a channel by transistor.

    A canvas that was `placed` draws on the same sheet with directions of its own, which `at` takes to the sheet's.
    """

    t: Technique
    shapes: dict[str, list[Rect]] = field(default_factory=dict)
    labels: dict[str, list[Label]] = field(default_factory=dict)
    sizes: dict[str, tuple[int, float, float]] = field(default_factory=dict)
    at: Transform = IDENTITY

    def placed(self, at: Transform) -> Self:
        return replace(self, at=self.at.after(at))

    def add(self, mask: str, rects: Iterable[Rect]) -> None:
        self.shapes.setdefault(mask, []).extend(rects if self.at == IDENTITY else map(self.at.rect, rects))

    def lay(self, shapes: Mapping[str, Iterable[Rect]], sizes: Drawn) -> None:
        """Add what was drawn by itself, and the sizes of its transistors."""
        for mask, rects in shapes.items():
            self.add(mask, rects)
        self.sizes.update(sizes)

    def box(self, mask: str, x: Span, y: Span) -> None:
        """Draw a rectangle between two values of x and two of y, in either order."""
        (x0, x1), (y0, y1) = sorted(x), sorted(y)
        self.add(mask, (Rect(x0, y0, x1, y1),))

    def label(self, net: str, layer: str, x: GridUnits, y: GridUnits) -> None:
        """Offer a place for a net's name."""
        self.labels.setdefault(net, []).append(Label(net, layer, *self.at.point(x, y)))

    @property
    def border(self) -> Rect:
        """Return the border of all that is drawn."""
        return box_round([r for rects in self.shapes.values() for r in rects])

    def named_outermost(self) -> Self:
        """Return the canvas with each net named only where it was offered a place nearest to the border."""
        b = self.border
        labels = {
            net: [min(places, key=lambda label: min(label.x - b.x0, b.x1 - label.x, label.y - b.y0, b.y1 - label.y))]
            for net, places in self.labels.items()
        }
        return replace(self, labels=labels)

    def finished(self, asked: Request, turns: int, *, mirrored: bool) -> Drawing:
        """
        Return the drawing turned, unless it must lie upright, its lower left corner at (0, 0); its frame is the border
        of all that it shows.

        Every port is named once, where it was first offered a place.
        """
        shapes = {mask: tuple(dict.fromkeys(rects)) for mask, rects in self.shapes.items() if rects}
        labels = tuple(self.labels[port][0] for port in asked.netlist.ports if port in self.labels)
        turn = (IDENTITY if asked.upright else Transform(turns=turns, mirrored=mirrored)).to_origin(self.border)
        layout = Layout(asked.netlist.name, shapes, labels).transformed(turn)
        return Drawing(layout, turn.rect(self.border), self.sizes)
