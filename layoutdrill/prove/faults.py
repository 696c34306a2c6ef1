"""
Defects as they are met on real dies, put into a layout: each a pure function from a layout to another and a place.

Nothing here says what a defect does: that is for the extractor and the simulator to find. The kinds are those of the
trade's failure analysis (common practice): breaks and bridges of metal, holes that were not etched, aluminium that has
spiked through a junction, pinholes of the gate oxide, corroded metal.
"""

from collections.abc import Callable, Iterator
from enum import StrEnum

from layoutdrill.dice import Dice
from layoutdrill.extract.model import Extraction
from layoutdrill.geometry.cutting import union, without
from layoutdrill.geometry.rect import Rect, box_round
from layoutdrill.layout.model import Layout
from layoutdrill.process.model import Process
from layoutdrill.value import value


class DefectKind(StrEnum):
    """What is wrong; the values are the words in which it is told."""

    OPEN = "open metal"
    CONTACT = "missing contact"
    BRIDGE = "bridge of metal"
    WINDOW = "missing gate window"
    SPIKE = "spike through a junction"
    PINHOLE = "pinhole in the gate oxide"
    CORROSION = "corroded metal"


UNSEEN = frozenset({DefectKind.SPIKE, DefectKind.PINHOLE})
"""Kinds that no picture from above shows: metal covers them."""


@value
class Defect:
    """A defect: its kind, the layout that has it, and where it lies."""

    kind: DefectKind
    layout: Layout
    place: Rect


@value
class Site:
    """A sound layout, flattened, with what is found in it."""

    layout: Layout
    process: Process
    extraction: Extraction

    def masks(self, *roles: str) -> tuple[str, ...]:
        return tuple(name for name, layer in self.process.layers.items() if layer.role in roles)

    def rects(self, *roles: str) -> list[Rect]:
        return [r for mask in self.masks(*roles) for r in union(self.layout.shapes.get(mask, ()))]

    @property
    def unit(self) -> int:
        return self.process.grid_per_lambda

    @property
    def metal(self) -> str:
        return self.masks("metal")[0]

    def with_mask(self, mask: str, rects: list[Rect]) -> Layout:
        return Layout(self.layout.name, {**self.layout.shapes, mask: tuple(rects)}, self.layout.labels)

    def net_at(self, r: Rect, conductor: str) -> str:
        return next((net for name, net in self.extraction.nets_at(*r.centre) if name == conductor), "")


def defects(layout: Layout, process: Process, extraction: Extraction, kind: DefectKind, dice: Dice) -> Iterator[Defect]:
    """Yield defects of one kind in random order; nothing where a process cannot have it or the layout has no place."""
    site = Site(layout.flattened(), process, extraction)
    if site.masks("metal"):
        changes = list(_MAKERS[kind](site))
        for changed, place in dice.shuffled(changes):
            yield Defect(kind, changed(), place)


_Made = Iterator[tuple[Callable[[], Layout], Rect]]


def _cut(site: Site, holes: list[Rect]) -> Callable[[], Layout]:
    return lambda: site.with_mask(site.metal, without(union(site.layout.shapes[site.metal]), holes))


def _added(site: Site, mask: str, rects: list[Rect]) -> Callable[[], Layout]:
    return lambda: site.with_mask(mask, [*site.layout.shapes.get(mask, ()), *rects])


def _less(site: Site, mask: str, kept: list[Rect]) -> Callable[[], Layout]:
    return lambda: site.with_mask(mask, kept)


def _open(site: Site) -> _Made:
    """Break a wire between its contacts and gates."""
    u = site.unit
    kept_from = [r.grown(u) for r in site.rects("contact", "thin-oxide", "via", "glass-opening")]
    for r in union(site.layout.shapes[site.metal]):
        level = r.width >= r.height
        length, across = (r.width, r.height) if level else (r.height, r.width)
        if length < 7 * u or across > 5 * u:
            continue
        for start in range(2 * u, length - 4 * u, 2 * u):
            gap = (
                Rect(r.x0 + start, r.y0, r.x0 + start + 3 * u, r.y1)
                if level
                else Rect(r.x0, r.y0 + start, r.x1, r.y0 + start + 3 * u)
            )
            if not any(gap.overlaps(k) for k in kept_from):
                yield _cut(site, [gap]), gap


def _corrosion(site: Site) -> _Made:
    """Eat a patch of metal away, ragged as corrosion is."""
    u = site.unit
    for hole, gap in _open(site):
        del hole
        x, y = gap.centre
        patch = [
            Rect(x - 4 * u, y - 2 * u, x + 3 * u, y + 2 * u),
            Rect(x - 2 * u, y - 4 * u, x + 2 * u, y + 3 * u),
            Rect(x - 3 * u, y - 3 * u, x + u, y + u),
        ]
        near = [r.grown(u // 2) for r in site.rects("contact", "thin-oxide")]
        if not any(p.overlaps(k) for p in patch for k in near):
            yield _cut(site, patch), Rect(x - 4 * u, y - 4 * u, x + 3 * u, y + 3 * u)


def _contact(site: Site) -> _Made:
    """Leave one contact hole out."""
    for mask in site.masks("contact"):
        holes = union(site.layout.shapes.get(mask, ()))
        for hole in holes:
            yield _less(site, mask, [h for h in holes if h != hole]), hole


def _bridge(site: Site) -> _Made:
    """Leave metal between two wires side by side."""
    u = site.unit
    metal = sorted(union(site.layout.shapes[site.metal]))
    conductor = next(name for name in site.process.conductors if name.startswith("metal"))
    named = {label.text for label in site.layout.labels} | set(site.process.rails)
    for k, a in enumerate(metal):
        for b in metal[k + 1 :]:
            for gap in _between(a, b, u):
                nets = {site.net_at(a, conductor), site.net_at(b, conductor)}
                crossed = any(gap.overlaps(r) for r in metal)
                if len(nets) == 2 and "" not in nets and not nets <= named and not crossed:
                    yield _added(site, site.metal, [gap]), gap


def _between(a: Rect, b: Rect, u: int) -> Iterator[Rect]:
    """Yield a piece that would join two rectangles that lie side by side, at most 4 λ apart."""
    low, high = max(a.y0, b.y0), min(a.y1, b.y1)
    x0, x1 = min(a.x1, b.x1), max(a.x0, b.x0)
    if high - low >= 3 * u and 0 < x1 - x0 <= 4 * u:
        middle = (low + high) // 2
        yield Rect(x0, middle - 3 * u // 2, x1, middle + 3 * u // 2)
    low, high = max(a.x0, b.x0), min(a.x1, b.x1)
    y0, y1 = min(a.y1, b.y1), max(a.y0, b.y0)
    if high - low >= 3 * u and 0 < y1 - y0 <= 4 * u:
        middle = (low + high) // 2
        yield Rect(middle - 3 * u // 2, y0, middle + 3 * u // 2, y1)


def _window(site: Site) -> _Made:
    """Leave the thin oxide of one gate out: thick oxide is there, through which no gate works."""
    for mask in site.masks("thin-oxide"):
        windows = site.layout.shapes.get(mask, ())
        for t in site.extraction.netlist.transistors:
            (channel, *_) = site.extraction.channel(t.name)
            own = [w for w in windows if w.overlaps(channel)]
            if own:
                kept = [w for w in windows if w not in own]
                yield _less(site, mask, kept), box_round(own)


def _pinhole(site: Site) -> _Made:
    """Let a metal gate touch the source or drain that it overlaps."""
    cuts = site.masks("contact")
    dopings = site.rects("n-doping", "p-doping")
    for mask in site.masks("thin-oxide"):
        windows = site.layout.shapes.get(mask, ())
        for t in site.extraction.netlist.transistors:
            (channel, *_) = site.extraction.channel(t.name)
            for window in (w for w in windows if w.overlaps(channel)):
                for doping in dopings:
                    lap = window.common(doping)
                    if lap is not None and lap.touches(channel.grown(1)) and min(lap.width, lap.height) >= 1:
                        x, y = lap.centre
                        spot = Rect(x, y, x + 1, y + 1)
                        yield _added(site, cuts[0], [spot]), spot.grown(site.unit)


def _spike(site: Site) -> _Made:
    """Let the metal of one contact reach through its diffusion into what lies below: where that is a well or wafer."""
    if not site.masks("well") or len(site.masks("n-doping")) != 1 or len(site.masks("p-doping")) != 1:
        return
    (nplus,), (pplus,) = site.masks("n-doping"), site.masks("p-doping")
    supplies = set(site.process.rails)
    for hole in site.rects("contact"):
        for mask, other in ((nplus, pplus), (pplus, nplus)):
            at = any(r.covers(hole) for r in site.layout.shapes.get(mask, ()))
            nets = {net for _, net in site.extraction.nets_at(*hole.centre)} - supplies
            if at and nets:
                x, y = hole.centre
                yield _added(site, other, [Rect(x, y, x + 1, y + 1)]), hole


_MAKERS: dict[DefectKind, Callable[[Site], _Made]] = {
    DefectKind.OPEN: _open,
    DefectKind.CONTACT: _contact,
    DefectKind.BRIDGE: _bridge,
    DefectKind.WINDOW: _window,
    DefectKind.SPIKE: _spike,
    DefectKind.PINHOLE: _pinhole,
    DefectKind.CORROSION: _corrosion,
}
