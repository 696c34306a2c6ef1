"""Copy tiles to their places, join rows and rails, and name every port once."""

from collections.abc import Mapping

from layoutdrill.drawing.shared import ArrayDrawing, Pen, Request
from layoutdrill.drawing.shared.technique import METAL
from layoutdrill.drawing.tiles.borders import close_rings, come_up, draw_sides, rings_apart
from layoutdrill.drawing.tiles.floor import Floor, Outer, floor_of, outer_ends
from layoutdrill.drawing.tiles.laying import Task
from layoutdrill.drawing.tiles.painted import Layouts, painted
from layoutdrill.drawing.tiles.plan import Plan
from layoutdrill.drawing.tiles.tile import Made


def assembled(task: Task, asked: Request, tiles: Mapping[str, Made], *, under: bool) -> ArrayDrawing:
    """Return the drawing of the whole array; with `under` wires along the rails leave below the straps."""
    plan, choices = task.plan, task.choices
    at = floor_of(plan, tiles, choices.half_rail(task.technique), _rails_apart(task))
    pen = Pen(task.technique, doping=choices.under)
    _copied(pen, plan, at, painted(tiles, task.technique, plan))
    outer = outer_ends(plan, at)
    if not plan.shared_rails:
        _joined(pen, plan, at)
    if pen.t.rings is not None:
        close_rings(pen, at, pen.t.rings, outer)
        _surfaced(pen, at, outer)
    draw_sides(pen, at, asked.process.supplies, outer, pen.metal_gap + choices.loose, under=under)
    return pen.named_outermost().finished(asked, choices.turns, mirrored=choices.mirrored)


def _rails_apart(task: Task) -> int:
    """Return how far the low rail of a row lies above the high rail of the row below, where they share none."""
    t, choices = task.technique, task.choices
    least = 2 * choices.half_rail(t) + t.wires[METAL].spacing
    if t.implants is not None:
        reach = t.contact // 2 + t.surround
        least = max(least, 2 * (reach + t.implants.past), 2 * reach + max(t.implants.well_tap, t.diffusion_spacing))
    if t.rings is not None:
        least = max(least, rings_apart(t, t.rings, wired=bool(task.plan.upright)))
    return least + choices.loose


def _copied(pen: Pen, plan: Plan, at: Floor, layouts: Layouts) -> None:
    for spot in plan.spots:
        layout, placed = layouts[spot.kind], pen.placed(at.placed(spot.column, spot.row))
        sizes = at.tiles[spot.kind].laid.sizes.values()
        placed.lay(layout.shapes, dict(zip(spot.transistors, sizes, strict=True)))
        for label in layout.labels:
            if label.text in spot.joined and (pen.t.rings is None or label.layer == pen.metal):
                placed.label(spot.joined[label.text], label.layer, label.x, label.y)


def _joined(pen: Pen, plan: Plan, at: Floor) -> None:
    """Join the upright wires of rows that lie apart; where rings lie between, in metal."""
    for spot in (spot for spot in plan.spots if spot.row + 1 < plan.rows):
        tile, below, above = at.tiles[spot.kind], at.rows[spot.row].bottom, at.rows[spot.row + 1].bottom
        low, high = below + tile.sketch.frame.y1, above + tile.sketch.frame.y0
        for end in (end for end in tile.ends if end.side == "top"):
            x = at.lefts[spot.column] + tile.place(end)
            if pen.t.rings is not None:
                ends = come_up(pen, x, below + tile.height, 1, 1), come_up(pen, x, above, -1, 0)
                pen.upright(pen.metal, x, ends, pen.wire)
            elif low < high and end.mask == pen.t.wires[-1].layer != pen.under.layer:
                pen.upright(end.mask, x, (low, high), pen.t.wires[-1].width // 2)
            elif low < high:
                pen.upright_under(0, x, (low, high))


def _surfaced(pen: Pen, at: Floor, outer: list[Outer]) -> None:
    """Lead wires that leave below the outermost rails up to the metal, where they can be named."""
    for end in outer:
        if end.side in ("bottom", "top"):
            rail, sense = (at.rails[0][0], -1) if end.side == "bottom" else (at.rails[-1][0], 1)
            pen.label(end.net, pen.metal, end.place, come_up(pen, end.place, rail, sense, end.supply))
