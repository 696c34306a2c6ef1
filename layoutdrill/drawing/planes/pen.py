"""Put rectangles and labels on a sheet, straight or with a plane's own directions turned onto it."""

from dataclasses import dataclass, field

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout

Span = tuple[int, int]


@dataclass(slots=True)
class Sheet:
    """Rectangles by mask layer, and labels by net: the first place that is offered for a net keeps it."""

    shapes: dict[str, list[Rect]] = field(default_factory=dict)
    labels: dict[str, Label] = field(default_factory=dict)

    def layout(self, name: str, ports: tuple[str, ...]) -> Layout:
        """Return what was drawn, each port named once."""
        shapes = {mask: tuple(dict.fromkeys(rects)) for mask, rects in self.shapes.items()}
        return Layout(name, shapes, tuple(self.labels[port] for port in ports))


@dataclass(frozen=True, slots=True)
class Pen:
    """
    Draws on a sheet with coordinates (u, v): u along the lines of a plane, v along its gates.

    Not turned, u is x and v is y. Turned, u runs downwards from y = `top`, and v is x.
    """

    sheet: Sheet
    turned: bool = False
    top: int = 0

    def rect(self, u: Span, v: Span) -> Rect:
        (u0, u1), (v0, v1) = sorted(u), sorted(v)
        return Rect(v0, self.top - u1, v1, self.top - u0) if self.turned else Rect(u0, v0, u1, v1)

    def box(self, mask: str, u: Span, v: Span) -> None:
        """Draw a rectangle between two values of u and two of v, in either order."""
        self.sheet.shapes.setdefault(mask, []).append(self.rect(u, v))

    def square(self, mask: str, u: int, v: int, half: int) -> None:
        self.box(mask, (u - half, u + half), (v - half, v + half))

    def along(self, mask: str, u: Span, v: int, half: int) -> None:
        """Draw a bar along u, `half` to either side of v."""
        self.box(mask, u, (v - half, v + half))

    def upright(self, mask: str, u: int, v: Span, half: int) -> None:
        """Draw a bar along v, `half` to either side of u."""
        self.box(mask, (u - half, u + half), v)

    def label(self, net: str, layer: str, u: int, v: int) -> None:
        """Offer a place for a net's name."""
        x, y = (v, self.top - u) if self.turned else (u, v)
        self.sheet.labels.setdefault(net, Label(net, layer, x, y))
