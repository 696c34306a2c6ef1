"""Copy tiles to their places, join the rails by straps, and name every port once."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.sizes import Drawn
from layoutdrill.drawing.style import Style
from layoutdrill.drawing.technique import METAL, OTHER, Technique
from layoutdrill.drawing.tiles.painted import Painted
from layoutdrill.drawing.tiles.plan import Plan, Spot
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process


@dataclass(slots=True)
class Sheet:
    """What has been drawn so far: rectangles by mask, and the places where a net may be named."""

    shapes: dict[str, list[Rect]] = field(default_factory=dict)
    labels: dict[str, list[Label]] = field(default_factory=dict)

    def add(self, mask: str, *rects: Rect) -> None:
        self.shapes.setdefault(mask, []).extend(rects)

    def name(self, net: str, layer: str, x: int, y: int) -> None:
        self.labels.setdefault(net, []).append(Label(net, layer, x, y))


@dataclass(frozen=True, slots=True)
class Ground:
    """Where everything lies: left borders of columns and the last right one, bottoms of rows, (place, supply) of rails."""

    lefts: tuple[int, ...]
    bottoms: tuple[int, ...]
    height: int
    rails: tuple[tuple[int, int], ...]

    def placed(self, spot: Spot) -> Transform:
        y = self.bottoms[spot.row] + (self.height if spot.flipped else 0)
        return Transform(self.lefts[spot.column], y, mirrored=spot.flipped)


def ground(plan: Plan, tiles: Mapping[str, Painted], between: int) -> Ground:
    """Return where everything lies; `between` parts the rails of rows that do not share them."""
    lefts = [0]
    for column in range(plan.columns):
        lefts.append(lefts[-1] + tiles[plan.column(column)].width)
    height = next(iter(tiles.values())).height
    pitch = height + (0 if plan.shared_rails else between)
    bottoms = tuple(row * pitch for row in range(plan.rows))
    if plan.shared_rails:
        rails = tuple((row * height, row % 2) for row in range(plan.rows + 1))
    else:
        rails = tuple((y + supply * height, supply) for y in bottoms for supply in (0, 1))
    return Ground(tuple(lefts), bottoms, height, rails)


def rails_apart(technique: Technique, style: Style) -> int:
    """Return how far the low rail of a row lies above the high rail of the row below, where they share none."""
    t = technique
    least = t.rail + style.stout + t.wires[METAL].spacing
    if t.implants is not None:
        reach = t.contact // 2 + t.surround
        least = max(least, 2 * (reach + t.implants.past), 2 * reach + max(t.implants.well_tap, t.diffusion_spacing))
    return least + style.loose


def assembled(netlist: Netlist, plan: Plan, tiles: Mapping[str, Painted], technique: Technique, process: Process,
              style: Style) -> ArrayDrawing:  # fmt: skip
    """Return the drawing of the whole array."""
    at = ground(plan, tiles, rails_apart(technique, style))
    sheet = Sheet()
    sizes = _copied(sheet, plan, tiles, at)
    if not plan.shared_rails:
        _joined(sheet, plan, tiles, at, technique, style)
    frame = _straps(sheet, tiles, at, technique, process, style)
    return _finished(netlist, sheet, frame, sizes, process, style)


def _copied(sheet: Sheet, plan: Plan, tiles: Mapping[str, Painted], at: Ground) -> dict[str, tuple[int, int, int]]:
    sizes: dict[str, tuple[int, int, int]] = {}
    for spot in plan.spots:
        tile = tiles[spot.kind]
        placed = at.placed(spot)
        for mask, rects in tile.layout.shapes.items():
            sheet.add(mask, *(placed.rect(r) for r in rects))
        for label in tile.layout.labels:
            if label.text in spot.joined:
                sheet.name(spot.joined[label.text], label.layer, *placed.point(label.x, label.y))
        sizes.update(zip(spot.transistors, tile.sizes.values(), strict=True))
    return sizes


def _joined(sheet: Sheet, plan: Plan, tiles: Mapping[str, Painted], at: Ground, technique: Technique,
            style: Style) -> None:  # fmt: skip
    """Join the upright wires of rows that lie apart."""
    half = technique.wires[OTHER].width // 2
    doped = technique.doped
    mask = technique.wires[OTHER].layer or technique.diffusion[0]
    for spot in plan.spots:
        if spot.row + 1 == plan.rows:
            continue
        tile = tiles[spot.kind]
        for side, _, place in tile.ends:
            if side != "top":
                continue
            x = at.lefts[spot.column] + place
            low, high = at.bottoms[spot.row] + tile.top, at.bottoms[spot.row + 1] + tile.low
            if low >= high:
                continue
            wire = Rect(x - half, low, x + half, high)
            sheet.add(mask, wire)
            if doped is not None and doped.island:
                sheet.add(doped.doping[style.under], wire.grown(doped.past))


def _straps(sheet: Sheet, tiles: Mapping[str, Painted], at: Ground, technique: Technique, process: Process,
            style: Style) -> Rect:  # fmt: skip
    """Join the low rails on the left and the high ones on the right; return the border of the whole."""
    right, rail = at.lefts[-1], next(iter(tiles.values())).rail
    gap, wide = technique.wires[METAL].spacing + style.loose, 2 * rail
    for supply, net in enumerate(process.supplies):
        rails = [y for y, own in at.rails if own == supply]
        x0, x1 = (-gap - wide, -gap) if supply == 0 else (right + gap, right + gap + wide)
        if len(rails) == 1:
            sheet.name(net, "metal", rail if supply == 0 else right - rail, rails[0])
            continue
        sheet.add("metal", Rect(x0, rails[0] - rail, x1, rails[-1] + rail))
        sheet.add("metal", *(Rect(min(x0, right), y - rail, max(x1, 0), y + rail) for y in rails))
        sheet.name(net, "metal", (x0 + x1) // 2, rails[0])
    places = [y for y, _ in at.rails]
    return Rect(-gap - wide, places[0] - rail, right + gap + wide, places[-1] + rail)


def _finished(netlist: Netlist, sheet: Sheet, frame: Rect, sizes: Drawn, process: Process,
              style: Style) -> ArrayDrawing:  # fmt: skip
    """Keep the outermost label of every port, and turn the whole as the seed says."""
    box = Rect(
        min(r.x0 for rects in sheet.shapes.values() for r in rects),
        min(r.y0 for rects in sheet.shapes.values() for r in rects),
        max(r.x1 for rects in sheet.shapes.values() for r in rects),
        max(r.y1 for rects in sheet.shapes.values() for r in rects),
    )
    labels = []
    for net in (*process.supplies, *(port for port in netlist.ports if port not in process.supplies)):
        found = sheet.labels.get(net)
        if found and net in netlist.ports:
            labels.append(
                min(found, key=lambda one: min(one.x - box.x0, box.x1 - one.x, one.y - box.y0, box.y1 - one.y))
            )
    shapes = {mask: tuple(dict.fromkeys(rects)) for mask, rects in sheet.shapes.items()}
    layout = Layout(netlist.name, shapes, tuple(labels))
    turn = Transform(turns=style.turns, mirrored=style.mirrored)
    corner = turn.rect(box)
    turn = Transform(-corner.x0, -corner.y0, style.turns, style.mirrored)
    return ArrayDrawing(layout.transformed(turn), turn.rect(frame), sizes)
