"""Draw the rails with their taps, and keep a sketch inside its borders and between its rails."""

from collections.abc import Iterable, Mapping, Sequence

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.job import ABSENT
from layoutdrill.drawing.row_pairs.routing.grid import Grid
from layoutdrill.drawing.row_pairs.routing.router import Tree
from layoutdrill.drawing.row_pairs.shaping.lane import Lane
from layoutdrill.drawing.row_pairs.shaping.lines import ACROSS, Line, Span, about
from layoutdrill.drawing.row_pairs.shaping.sketch import UPPER, Paint, Sketch, Sort
from layoutdrill.drawing.shared.technique import METAL, OTHER, UPPER_METAL, Rings

_STUB = 4
"""How far a port reaches past a rail."""

Cuts = tuple[list[tuple[int, bool]], ...]
"""For each rail, from the left, the columns of its cuts: taps, or (True) vias to its part in the second metal."""


def choose_cuts(grid: Grid, trees: Iterable[Tree], dice: Dice) -> Cuts:
    """Choose taps by rail, where nothing passes below it, and vias to rails of the second metal."""
    t, choices = grid.technique, grid.choices
    used = {node for tree in trees for node in tree.nodes}
    cuts = []
    for row in (0, grid.rows.count - 1):
        free = dice.shuffled([c for c in range(grid.columns) if grid.node(OTHER, row, c) not in used])
        if t.implants is None and t.rings is None:
            free = []
        vias = free[choices.taps :][: 1 + len(free) // 4] if choices.levelled else []
        cuts.append(sorted([(c, False) for c in free[: choices.taps]] + [(c, True) for c in vias]))
    return tuple(cuts)


def draw_rails(out: Sketch, grid: Grid, cuts: Cuts, places: Sequence[int]) -> None:
    """Draw the rails of both metals with their cuts; `places` are those of the columns in x."""
    t, choices = out.technique, grid.choices
    half, broad = choices.half_rail(t), choices.broad(t)
    for row, (rail, net) in enumerate(zip(Line.RAILS, grid.supplies, strict=True)):
        if net == ABSENT:
            continue
        out.box(out.wire_paint(METAL, net), ACROSS, about(rail, half))
        out.labels.append((net, t.metal, (Line.LEFT, half), (rail, 0)))
        if broad:
            out.box(out.wire_paint(UPPER_METAL, net), ACROSS, about(rail, broad // 2))
        _draw_cuts(out, [(out.x.line(places[column]), via) for column, via in cuts[row]], row)


def _draw_cuts(out: Sketch, lines: Sequence[tuple[int, bool]], row: int) -> None:
    """Put taps under a rail, and one implant round them all; vias to a broad rail keep off their contacts."""
    t, rail, reach = out.technique, Line.RAILS[row], out.technique.body // 2
    out.x.order((x for x, _ in lines), 2 * reach + t.diffusion_spacing)
    for x, via in lines:
        out.x.keep(Line.LEFT, x, 2 * reach)
        out.x.keep(x, Line.RIGHT, 2 * reach)
        out.cut((x, 0), (rail, 0), t.via if via else t.cut)
    taps = [x for x, via in lines if not via]
    if t.implants is None or not taps:
        return
    for number, x in enumerate(taps):
        out.square(Paint(t.diffusion[row], Sort.DIFFUSION, (2 + row) * UPPER - number), x, rail, reach)
    past = reach + t.implants.past
    out.box(Paint(t.implants.doping[1 - row]), ((taps[0], -past), (taps[-1], past)), about(rail, past))


def draw_rings(out: Sketch, rings: Rings, supplies: tuple[int, int], low_leg: int) -> None:
    """
    Draw a guard ring round each device row that has a rail: a leg under it, one in the channel, one on either side;
    of open rings only the legs in the channel.

    `low_leg` is the first place of the lower of the two legs in the channel.
    """
    t = out.technique
    assert t.doped is not None
    half, margin = rings.width // 2, t.wires[METAL].spacing // 2
    between, least = rings.well_past + rings.apart, 2 * half + rings.gap
    low, high = out.y.line(low_leg), out.y.line(low_leg + rings.width + between)
    out.y.rules += [(low, high, 2 * half + between), (Line.RAILS[0], low, least), (high, Line.RAILS[1], least)]
    inside: Span = (Line.LEFT, margin), (Line.RIGHT, -margin)
    for row, (bottom, top) in enumerate(((Line.RAILS[0], low), (high, Line.RAILS[1]))):
        paint = Paint(t.doped.doping[1 - row], Sort.RING, row)
        if supplies[row] == ABSENT:
            if row == 1 and supplies[0] != ABSENT:  # nothing is drawn there, but crossunders keep off the well
                out.box(paint._replace(mask=""), inside, about(high, half))
        elif rings.open:
            out.box(paint, ACROSS, about((low, high)[row], half))
        else:
            for line in (bottom, top):
                out.box(paint, inside, about(line, half))
            for x in (about(Line.LEFT, half, margin + half), about(Line.RIGHT, half, -margin - half)):
                out.box(paint, x, ((bottom, -half), (top, half)))
    if supplies[0] != ABSENT:
        reach = half + rings.well_past
        side = 0 if rings.open else rings.well_past - margin
        out.box(Paint(rings.well), ((Line.LEFT, -side), (Line.RIGHT, side)), ((Line.RAILS[0], -reach), (low, reach)))


def keep_inside(out: Sketch, grid: Grid, exits: set[str]) -> None:
    """Keep all shapes inside the borders; ports that leave below or above a rail get a stub beyond it."""
    low, high = _reach(grid)
    margin = out.technique.wires[METAL].spacing // 2
    out.y.keep(Line.BOTTOM, Line.RAILS[0], low + (_STUB if "bottom" in exits else 0))
    out.y.keep(Line.RAILS[1], Line.TOP, high + (_STUB if "top" in exits else 0))
    keep_from_borders(out, dict.fromkeys(Sort, margin))


def keep_from_borders(out: Sketch, margins: Mapping[Sort, int]) -> None:
    """Keep all shapes that do not reach the borders on the left and right so far inside them."""
    for shape in out.shapes:
        (left, start), (right, stop) = shape.x
        if left != Line.LEFT:
            out.x.keep(Line.LEFT, left, margins[shape.sort] - start)
        if right != Line.RIGHT:
            out.x.keep(right, Line.RIGHT, margins[shape.sort] + stop)


def keep_between_rails(out: Sketch, grid: Grid, tracks: Iterable[int], lanes: Iterable[Lane]) -> None:
    """Keep tracks and diffusions off the rails, and the rows on their sides of the well's edge."""
    t, y, reach = out.technique, out.y, _reach(grid)
    inner = t.wires[OTHER].pad // 2
    for line in tracks:
        y.keep(Line.RAILS[0], line, reach[0] + inner)
        y.keep(line, Line.RAILS[1], reach[1] + inner)
    # Where one row is empty the well's edge still keeps off the taps under the rails, and holds those that are its own.
    tap = t.body // 2 + t.implants.well_tap if t.implants else 0
    y.order((Line.RAILS[0], Line.WELL, Line.RAILS[1]), tap)
    past = t.implants.well_past if t.implants else 0
    for lane in lanes:
        if t.implants:
            rail = t.body // 2 + t.implants.tap_gap
        elif t.rings:
            rail = t.rings.width // 2 + t.rings.gap
        else:
            rail = reach[lane.strip.row] + t.wires[METAL].spacing
        if lane.strip.row == 0:
            y.rules += [(Line.RAILS[0], lane.line, rail), (lane.line, Line.WELL, lane.height + past)]
        else:
            y.rules += [(lane.line, Line.RAILS[1], lane.height + rail), (Line.WELL, lane.line, past)]


def _reach(grid: Grid) -> tuple[int, int]:
    """Return how far each rail reaches from its middle line; nothing where there is none."""
    low, high = (0 if net == ABSENT else grid.choices.reach(grid.technique) for net in grid.supplies)
    return low, high
