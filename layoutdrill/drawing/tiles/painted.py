"""Paint the tiles of an array, ready to be copied."""

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from layoutdrill.drawing.row_pairs.shaping.painting import paint
from layoutdrill.drawing.shared.technique import OTHER, Implants, Rings, Technique
from layoutdrill.drawing.tiles.plan import Plan
from layoutdrill.drawing.tiles.tile import Made
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout

Layouts = dict[str, Layout]
"""By kind of tile."""


def painted(made: Mapping[str, Made], technique: Technique, plan: Plan) -> Layouts:
    """Paint the kinds of tiles; implants and wells run on to their borders, all alike, so that those of copies join."""
    jobs = {name: tile.laid.job for name, tile in made.items()}
    layouts = {name: paint(job, made[name].sketch, job.netlist.ports) for name, job in jobs.items()}
    if technique.rings is not None:
        for stack in plan.stacks:
            _add_tap_pieces(layouts, {name: made[name] for name in stack}, technique, technique.rings)
    if technique.implants is not None:
        for band in plan.bands:
            _join_implants(layouts, {name: made[name].width for name in band}, technique.implants)
    return layouts


def _repaint(layouts: Layouts, name: str, mask: str, rects: Iterable[Rect]) -> None:
    """Let a tile have other shapes on a mask."""
    layouts[name] = replace(layouts[name], shapes={**layouts[name].shapes, mask: tuple(rects)})


def _join_implants(layouts: Layouts, widths: Mapping[str, int], implants: Implants) -> None:
    """Make implants and wells as high in all kinds of a row, from border to border, and past the borders alike."""
    for mask in (*implants.doping, implants.well):
        own = {name: layouts[name].shapes.get(mask, ()) for name in widths}
        spans = _spans([(r.y0, r.y1) for rects in own.values() for r in rects], 2 * implants.past)
        over = max((max(-r.x0, r.x1 - widths[name], 0) for name, rects in own.items() for r in rects), default=0)
        for name, rects in own.items():
            held = [(low, high) for low, high in spans if any(low <= r.y0 and r.y1 <= high for r in rects)]
            _repaint(layouts, name, mask, (Rect(-over, low, widths[name] + over, high) for low, high in held))


def _spans(spans: Sequence[tuple[int, int]], least: int) -> list[tuple[int, int]]:
    """Join spans that are less than `least` apart."""
    joined: list[tuple[int, int]] = []
    for low, high in sorted(spans):
        if joined and low < joined[-1][1] + least:
            joined[-1] = joined[-1][0], max(high, joined[-1][1])
        else:
            joined.append((low, high))
    return joined


def _add_tap_pieces(layouts: Layouts, stack: Mapping[str, Made], t: Technique, rings: Rings) -> None:
    """
    Lay the legs of open rings under the rails: a piece, with its contact, wherever no wire passes below.

    Tiles that stand above one another, on either side of a rail, have the same pieces.
    """
    assert t.doped is not None
    half, clear, cut = rings.width // 2, rings.gap + (t.wires[OTHER].pad - t.wires[OTHER].width) // 2, t.contact // 2
    edge, width, reach = (rings.gap + 1) // 2, next(iter(stack.values())).width, half + clear
    for supply, mask in enumerate(reversed(t.doped.doping)):
        rails = {name: supply * tile.height for name, tile in stack.items()}
        blocked = [
            (r.x0 - clear, r.x1 + clear)
            for name, y in rails.items()
            for doping in t.doped.doping
            for r in layouts[name].shapes.get(doping, ())
            if r.y0 < y + reach and r.y1 > y - reach
        ]
        pieces = [(x0, x1) for x0, x1 in _free(edge, width - edge, blocked) if x1 - x0 >= rings.width]
        for name, y in rails.items():
            shapes = layouts[name].shapes
            legs = [Rect(x0, y - half, x1, y + half) for x0, x1 in pieces]
            cuts = [Rect(x - cut, y - cut, x + cut, y + cut) for x in ((x0 + x1) // 2 for x0, x1 in pieces)]
            _repaint(layouts, name, mask, (*shapes.get(mask, ()), *legs))
            _repaint(layouts, name, t.cut, (*shapes[t.cut], *cuts))


def _free(low: int, high: int, blocked: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the stretches from `low` to `high` that nothing blocks."""
    stops = sorted([*blocked, (high, high)])
    starts = itertools.accumulate((end for _, end in stops), max, initial=low)
    return [(start, min(stop, high)) for start, (stop, _) in zip(starts, stops, strict=False) if start < stop]
