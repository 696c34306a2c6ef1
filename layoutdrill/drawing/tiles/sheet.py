"""Collect what is drawn of an array, and say where everything lies on it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from layoutdrill.drawing.style import Style
from layoutdrill.drawing.technique import METAL, OTHER, Technique
from layoutdrill.drawing.tiles.painted import Painted
from layoutdrill.drawing.tiles.plan import Plan, Spot
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Label


@dataclass(slots=True)
class Sheet:
    """What has been drawn so far: rectangles by mask, and the places where a net may be named."""

    technique: Technique
    style: Style
    shapes: dict[str, list[Rect]] = field(default_factory=dict)
    labels: dict[str, list[Label]] = field(default_factory=dict)

    def add(self, mask: str, *rects: Rect) -> None:
        self.shapes.setdefault(mask, []).extend(rects)

    def name(self, net: str, layer: str, x: int, y: int) -> None:
        self.labels.setdefault(net, []).append(Label(net, layer, x, y))

    def other(self, rect: Rect, doping: int) -> None:
        """Add a piece of the wiring layer below the metal; in bulk silicon it has the doping of that device row."""
        t = self.technique
        self.add(t.wires[OTHER].layer or t.diffusion[doping], rect)
        if t.doped is not None and t.doped.island:
            self.add(t.doped.doping[self.style.under], rect.grown(t.doped.past))

    def contact(self, x: int, y: int, doping: int) -> None:
        """Join metal and the layer below it."""
        t = self.technique
        cut, metal, other = t.contact // 2, t.wires[METAL].pad // 2, t.wires[OTHER].pad // 2
        self.add("contact", Rect(x - cut, y - cut, x + cut, y + cut))
        self.add("metal", Rect(x - metal, y - metal, x + metal, y + metal))
        self.other(Rect(x - other, y - other, x + other, y + other), doping)

    @property
    def box(self) -> Rect:
        rects = [r for own in self.shapes.values() for r in own]
        return Rect(
            min(r.x0 for r in rects), min(r.y0 for r in rects), max(r.x1 for r in rects), max(r.y1 for r in rects)
        )


@dataclass(frozen=True, slots=True)
class Outer:
    """A wire that reaches the border of the whole array: which side as it stands, its net, and its place along it."""

    side: str
    net: str
    place: int
    supply: int


@dataclass(frozen=True, slots=True)
class Ground:
    """
    Where all lies: left borders of the columns and the last right one, bottoms of the rows, which of them are upside
    down, the rails (place, supply), and half a rail's width.
    """

    tiles: Mapping[str, Painted]
    lefts: tuple[int, ...]
    bottoms: tuple[int, ...]
    flipped: tuple[bool, ...]
    height: int
    rails: tuple[tuple[int, int], ...]
    rail: int

    def placed(self, column: int, row: int) -> Transform:
        y = self.bottoms[row] + (self.height if self.flipped[row] else 0)
        return Transform(self.lefts[column], y, mirrored=self.flipped[row])

    @property
    def right(self) -> int:
        return self.lefts[-1]


def ground(plan: Plan, tiles: Mapping[str, Painted], between: int) -> Ground:
    """Return where everything lies; `between` parts the rails of rows that do not share them."""
    lefts = [0]
    for column in range(plan.columns):
        lefts.append(lefts[-1] + tiles[plan.column(column)].width)
    one = next(iter(tiles.values()))
    height = one.height
    pitch = height + (0 if plan.shared_rails else between)
    bottoms = tuple(row * pitch for row in range(plan.rows))
    flipped = {spot.row: spot.flipped for spot in plan.spots}
    if plan.shared_rails:
        rails = tuple((row * height, row % 2) for row in range(plan.rows + 1))
    else:
        rails = tuple((y + supply * height, supply) for y in bottoms for supply in (0, 1))
    turns = tuple(flipped[row] for row in range(plan.rows))
    return Ground(tiles, tuple(lefts), bottoms, turns, height, rails, one.rail)


def outer_ends(plan: Plan, at: Ground) -> list[Outer]:
    """Return the wires that reach the border of the array."""
    found = []
    for spot in plan.spots:
        for side, port, place, _ in at.tiles[spot.kind].ends:
            stands = _standing(spot, side)
            last = {"left": 0, "right": plan.columns - 1, "bottom": 0, "top": plan.rows - 1}[stands]
            if (spot.column if stands in ("left", "right") else spot.row) != last:
                continue
            put = at.placed(spot.column, spot.row)
            where = put.point(0, place)[1] if side in ("left", "right") else put.point(place, 0)[0]
            found.append(Outer(stands, spot.joined[port], where, int(side == "top")))
    return found


def _standing(spot: Spot, side: str) -> str:
    return {"bottom": "top", "top": "bottom"}.get(side, side) if spot.flipped else side
