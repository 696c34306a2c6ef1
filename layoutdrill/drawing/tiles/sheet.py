"""Collect what is drawn of an array, and say where everything lies on it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from layoutdrill.drawing.row_pairs.placing.choices import Choices
from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique
from layoutdrill.drawing.tiles.painted import Painted
from layoutdrill.drawing.tiles.plan import Plan, Spot
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Label


@dataclass(slots=True)
class Sheet:
    """What has been drawn so far: rectangles by mask, and the places where a net may be named."""

    technique: Technique
    choices: Choices
    shapes: dict[str, list[Rect]] = field(default_factory=dict)
    labels: dict[str, list[Label]] = field(default_factory=dict)

    @property
    def spacing(self) -> int:
        """Return how far wires of metal keep apart."""
        return self.technique.wires[METAL].spacing + self.choices.loose

    def add(self, mask: str, *rects: Rect) -> None:
        self.shapes.setdefault(mask, []).extend(rects)

    def name(self, net: str, layer: str, x: int, y: int) -> None:
        self.labels.setdefault(net, []).append(Label(net, layer, x, y))

    def other(self, rect: Rect, doping: int) -> None:
        """Add a piece of the wiring layer below the metal; in bulk silicon it has the doping of that device row."""
        t = self.technique
        self.add(t.wires[OTHER].layer or t.diffusion[doping], rect)
        if t.doped is not None and t.doped.island:
            self.add(t.doped.doping[self.choices.under], rect.grown(t.doped.past))

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
    Where all lies: left borders of the columns and the last right one, the rows from the bottom, the rails (place,
    supply), and half a rail's width.
    """

    tiles: Mapping[str, Painted]
    lefts: tuple[int, ...]
    rows: tuple["Row", ...]
    rails: tuple[tuple[int, int], ...]
    rail: int

    def placed(self, column: int, row: int) -> Transform:
        own = self.rows[row]
        return Transform(self.lefts[column], own.bottom + (own.height if own.flipped else 0), mirrored=own.flipped)

    @property
    def right(self) -> int:
        return self.lefts[-1]

    @property
    def shared(self) -> bool:
        """Tell whether rows share rails."""
        return len(self.rails) == len(self.rows) + 1


@dataclass(frozen=True, slots=True)
class Row:
    """A row of tiles: its lower rail's place, the distance of its rails, whether it is upside down, its rings' legs."""

    bottom: int
    height: int
    flipped: bool
    legs: tuple[int, ...]


def ground(plan: Plan, tiles: Mapping[str, Painted], between: int) -> Ground:
    """Return where everything lies; `between` parts the rails of rows that do not share them."""
    lefts = [0]
    for column in range(plan.columns):
        lefts.append(lefts[-1] + tiles[plan.column(column)].width)
    rows: list[Row] = []
    rails: list[tuple[int, int]] = []
    bottom = 0
    for spot in sorted((spot for spot in plan.spots if spot.column == 0), key=lambda spot: spot.row):
        tile = tiles[spot.kind]
        rows.append(Row(bottom, tile.height, spot.flipped, tile.legs))
        rails += [(bottom, int(spot.flipped)), (bottom + tile.height, int(not spot.flipped))]
        bottom += tile.height + (0 if plan.shared_rails else between)
    rail = next(iter(tiles.values())).rail
    return Ground(tiles, tuple(lefts), tuple(rows), tuple(dict.fromkeys(rails)), rail)


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
