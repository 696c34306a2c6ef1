"""Copy tiles to their places, join rows and rails, and name every port once."""

from collections.abc import Mapping

from layoutdrill.drawing.array import ArrayDrawing, turned
from layoutdrill.drawing.row_pairs.placing.choices import Choices
from layoutdrill.drawing.shared.sizes import Drawn
from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique
from layoutdrill.drawing.tiles.borders import draw_sides
from layoutdrill.drawing.tiles.painted import Painted
from layoutdrill.drawing.tiles.plan import Plan
from layoutdrill.drawing.tiles.rings import close_rings, come_up, rings_apart
from layoutdrill.drawing.tiles.sheet import Ground, Outer, Sheet, ground, outer_ends
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process


def assembled(netlist: Netlist, plan: Plan, tiles: Mapping[str, Painted], technique: Technique, process: Process,
              choices: Choices, *, under: bool) -> ArrayDrawing:  # fmt: skip
    """Return the drawing of the whole array; with `under` wires along the rails leave below the straps."""
    at = ground(plan, tiles, _rails_apart(plan, technique, choices))
    sheet = Sheet(technique, choices)
    sizes = _copied(sheet, plan, at)
    outer = outer_ends(plan, at)
    if not plan.shared_rails:
        _joined(sheet, plan, at)
    if technique.rings is not None:
        close_rings(sheet, at, technique.rings, outer)
        _surfaced(sheet, at, outer)
    draw_sides(sheet, at, process.supplies, outer, under=under)
    return _finished(netlist, sheet, sizes, process)


def _rails_apart(plan: Plan, technique: Technique, choices: Choices) -> int:
    """Return how far the low rail of a row lies above the high rail of the row below, where they share none."""
    t = technique
    least = t.rail + choices.rail_extra + t.wires[METAL].spacing
    if t.implants is not None:
        reach = t.contact // 2 + t.surround
        least = max(least, 2 * (reach + t.implants.past), 2 * reach + max(t.implants.well_tap, t.diffusion_spacing))
    if t.rings is not None:
        least = max(least, rings_apart(t, t.rings, wired=bool(plan.upright)))
    return least + choices.loose


def _copied(sheet: Sheet, plan: Plan, at: Ground) -> dict[str, tuple[int, float, float]]:
    sizes: dict[str, tuple[int, float, float]] = {}
    bulk = sheet.technique.rings is not None
    for spot in plan.spots:
        tile = at.tiles[spot.kind]
        placed = at.placed(spot.column, spot.row)
        for mask, rects in tile.layout.shapes.items():
            sheet.add(mask, *(placed.rect(r) for r in rects))
        for label in tile.layout.labels:
            if label.text in spot.joined and not (bulk and label.layer != "metal"):
                sheet.name(spot.joined[label.text], label.layer, *placed.point(label.x, label.y))
        sizes.update(zip(spot.transistors, tile.sizes.values(), strict=True))
    return sizes


def _joined(sheet: Sheet, plan: Plan, at: Ground) -> None:
    """Join the upright wires of rows that lie apart; where rings lie between, in metal."""
    t = sheet.technique
    half, metal = t.wires[OTHER].width // 2, t.wires[METAL].width // 2
    for spot in plan.spots:
        if spot.row + 1 == plan.rows:
            continue
        tile = at.tiles[spot.kind]
        for end in tile.ends:
            if end.side != "top":
                continue
            x = at.lefts[spot.column] + end.place
            if t.rings is not None:
                low = come_up(sheet, x, at.rows[spot.row].bottom + tile.height, 1, 1)
                high = come_up(sheet, x, at.rows[spot.row + 1].bottom, -1, 0)
                sheet.add("metal", Rect(x - metal, low, x + metal, high))
                continue
            low, high = at.rows[spot.row].bottom + tile.top, at.rows[spot.row + 1].bottom + tile.low
            if low >= high:
                continue
            if end.mask == t.wires[-1].layer != t.wires[OTHER].layer:
                upper = t.wires[-1].width // 2
                sheet.add(end.mask, Rect(x - upper, low, x + upper, high))
            else:
                sheet.other(Rect(x - half, low, x + half, high), 0)


def _surfaced(sheet: Sheet, at: Ground, outer: list[Outer]) -> None:
    """Lead wires that leave below the outermost rails up to the metal, where they can be named."""
    for end in outer:
        if end.side in ("bottom", "top"):
            rail, sense = (at.rails[0][0], -1) if end.side == "bottom" else (at.rails[-1][0], 1)
            sheet.name(end.net, "metal", end.place, come_up(sheet, end.place, rail, sense, end.supply))


def _finished(netlist: Netlist, sheet: Sheet, sizes: Drawn, process: Process) -> ArrayDrawing:
    """Keep the outermost label of every port, and turn the whole as the seed says."""
    box, choices = sheet.box, sheet.choices
    labels = []
    for net in (*process.supplies, *(port for port in netlist.ports if port not in process.supplies)):
        found = sheet.labels.get(net)
        if found and net in netlist.ports:
            labels.append(
                min(found, key=lambda one: min(one.x - box.x0, box.x1 - one.x, one.y - box.y0, box.y1 - one.y))
            )
    shapes = {mask: tuple(dict.fromkeys(rects)) for mask, rects in sheet.shapes.items()}
    return turned(Layout(netlist.name, shapes, tuple(labels)), sizes, choices.turns, mirrored=choices.mirrored)
