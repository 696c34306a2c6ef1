"""The layout: what is drawn, and nothing about what it means."""

from collections.abc import Mapping
from dataclasses import field

from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.geometry.transform import IDENTITY, Transform
from layoutdrill.units import GridUnits
from layoutdrill.value import Itself, value


@value
class Label:
    """A net name written on a layer at a point (grid units)."""

    text: str
    layer: str
    x: GridUnits
    y: GridUnits


@value
class Placement:
    """A layout placed inside another."""

    layout: "Layout"
    transform: Transform = IDENTITY


@value
class Layout:
    """
    Rectangles on mask layers in integer grid units of the process.

    Polygons are cut into rectangles when they are read, so a shape here is always a rectangle; rectangles of
    one layer may overlap or abut, and mean their union. `shapes` maps a mask layer's name (of the process) to
    its rectangles.
    """

    name: str
    shapes: Mapping[str, tuple[Rect, ...]]
    labels: tuple[Label, ...] = ()
    placements: tuple[Placement, ...] = field(default=())

    @property
    def box(self) -> Rect | None:
        """Return the bounding box of the flattened layout, or None when nothing is drawn."""
        flat = self.flattened()
        return bounding_box(r for rects in flat.shapes.values() for r in rects)

    def flattened(self) -> "Layout":
        """
        Return the same drawing with no placements; labels of placed layouts are dropped, as they name
        that layout's own nets.
        """
        if not self.placements:
            return self
        shapes: dict[str, list[Rect]] = {layer: list(rects) for layer, rects in self.shapes.items()}
        flats: dict[Itself[Layout], Layout] = {}
        for placement in self.placements:
            placed = Itself(placement.layout)
            if placed not in flats:
                flats[placed] = placement.layout.flattened()
            flat = flats[placed]
            place = placement.transform.rect
            for layer, rects in flat.shapes.items():
                shapes.setdefault(layer, []).extend([place(r) for r in rects])
        return Layout(self.name, {layer: tuple(rects) for layer, rects in shapes.items()}, self.labels)

    def transformed(self, transform: Transform) -> "Layout":
        flat = self.flattened()
        return Layout(
            flat.name,
            {layer: tuple(transform.rect(r) for r in rects) for layer, rects in flat.shapes.items()},
            tuple(Label(t.text, t.layer, *transform.point(t.x, t.y)) for t in flat.labels),
        )
