"""
Lead the wires of a drawn array out of it: straight on in metal where nothing lies in the way, else below the metal.

An array is drawn without regard to what stands round it, so a rail's strap or another wire may lie between a port and
the border. What is added here lies inside the array's own box.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from layoutdrill.drawing.chips.body import Body, Exit, RailEnd, components, free_span
from layoutdrill.drawing.shared.canvas import Canvas, Span
from layoutdrill.drawing.shared.pen import Pen
from layoutdrill.drawing.shared.sizes import Drawn
from layoutdrill.geometry.rect import Rect, box_round
from layoutdrill.layout.model import Label, Layout
from layoutdrill.value import value

_LEVEL = ("left", "right")
Spaces = Mapping[str, int]
"""How far something keeps from the shapes of each mask."""


def with_outlets(
    layout: Layout, pen: Pen, wanted: Mapping[str, str], supplies: Sequence[str], sizes: Drawn
) -> Body | None:
    """
    Return an array with exits: `wanted` names the chip's net of each port that leaves. The low supply's rails reach
    the left, the high one's the right. None where some wire is shut in.
    """
    canvas = Canvas(shapes={mask: list(rects) for mask, rects in layout.shapes.items()})
    box = box_round([r for rects in canvas.shapes.values() for r in rects])
    own = replace(pen, canvas=canvas)
    outlets = Outlets(own, box, components(canvas.shapes[pen.metal]), {})
    labels = {label.text: label for label in layout.labels}
    rails = [outlets.rail(number, labels[supply]) for number, supply in enumerate(supplies)]
    led_out = tuple(rail for rail in rails if rail is not None)
    if len(led_out) < len(rails):
        return None
    exits: list[Exit] = []
    for port in sorted(wanted, key=lambda port: min(outlets.to_border(labels[port]).values())):
        exit_ = outlets.exit(wanted[port], labels[port])
        if exit_ is None:
            return None
        exits.append(exit_)
    return Body(canvas.shapes, box, tuple(exits), led_out, sizes)


@value
class Outlets:
    """
    The wires that lead out of one array, found one after another: each keeps clear of all before it.

    `hang` holds the metal of each piece of it that hangs together; `taken` what is used up of each side.
    """

    pen: Pen
    box: Rect
    hang: Mapping[Rect, Collection[Rect]]
    taken: dict[str, list[Span]]

    def to_border(self, label: Label) -> dict[str, int]:
        b = self.box
        return {"left": label.x - b.x0, "right": b.x1 - label.x, "bottom": label.y - b.y0, "top": b.y1 - label.y}

    def _metal(self, label: Label) -> Collection[Rect]:
        """Return the metal that hangs together at a label; nothing where it stands on another layer."""
        if label.layer != self.pen.metal:
            return ()
        return next((own for r, own in self.hang.items() if r.contains(label.x, label.y)), ())

    def rail(self, supply: int, label: Label) -> RailEnd | None:
        """Lead a supply out in metal to the left (the low one) or right."""
        side, half, own = _LEVEL[supply], self.pen.rail, self._metal(label)
        for r in sorted(own, key=lambda r: (-r.width, r)):
            blocked = self._blocked(r, side, half, {self.pen.metal: self.pen.metal_gap}, own)
            for y in _free(r.y0 + half, r.y1 - half, (r.y0 + r.y1) // 2, blocked):
                if self._take(side, y, half):
                    self.pen.canvas.add(self.pen.metal, (self._reach(r, side, y, half),))
                    return RailEnd(supply, side, y, half)
        return None

    def exit(self, net: str, label: Label) -> Exit | None:
        """Lead a wire out on the nearest side on which that is possible."""
        far, own = self.to_border(label), self._metal(label)
        if not own:
            return self._on_below(net, label)
        for side in sorted(far, key=lambda side: (far[side], side)):
            exit_ = self._straight(net, side, own, label) or self._dive(net, side, own, label)
            if exit_ is not None:
                return exit_
        return None

    def _on_below(self, net: str, label: Label) -> Exit | None:
        """Leave in the layer below the metal, in which the port already reaches the border below or above."""
        pen, far = self.pen, self.to_border(label)
        side = min(("bottom", "top"), key=far.__getitem__)
        low = () if pen.t.doped is None else pen.canvas.shapes.get(pen.doped.doping[0], ())
        kind = int(not any(r.contains(label.x, label.y) for r in low))
        edge = {"bottom": self.box.y0, "top": self.box.y1}[side]
        if label.y != edge:
            replace(pen, doping=kind).upright_under(kind, label.x, (label.y, edge))
        return Exit(net, side, label.x, kind) if self._take(side, label.x, pen.under.pad // 2) else None

    def _straight(self, net: str, side: str, own: Collection[Rect], label: Label) -> Exit | None:
        """Leave in metal."""
        half, space = self.pen.wire, self.pen.pad
        for r in sorted(own, key=lambda r: (_gap(r, label), r)):
            low, high, at = (r.y0, r.y1, label.y) if side in _LEVEL else (r.x0, r.x1, label.x)
            blocked = self._blocked(r, side, half, {self.pen.metal: self.pen.metal_gap}, own)
            for place in _free(low + half, high - half, at, blocked):
                if self._take(side, place, space):
                    self.pen.canvas.add(self.pen.metal, (self._reach(r, side, place, half),))
                    return Exit(net, side, place)
        return None

    def _dive(self, net: str, side: str, own: Collection[Rect], label: Label) -> Exit | None:
        """Leave below the metal, from a contact on the wire."""
        pen = self.pen
        pad = max(pen.pad, pen.under.pad // 2)
        past = pen.doped.past if pen.t.doped is not None else 0
        for r in sorted(own, key=lambda r: (_gap(r, label), r)):
            level = side in _LEVEL
            (low, high, at), (a, b, to) = (r.y0, r.y1, label.y), (r.x0, r.x1, label.x)
            if not level:
                (low, high, at), (a, b, to) = (a, b, to), (low, high, at)
            for across in dict.fromkeys((min(max(to, a + pad), b - pad), (a + b) // 2, a + pad, b - pad)):
                spot = Rect(across, r.y0, across, r.y1) if level else Rect(r.x0, across, r.x1, across)
                landing = spot.grown(pen.pad + pen.metal_gap)
                blocked = [
                    (o.y0 - pad - pen.metal_gap, o.y1 + pad + pen.metal_gap)
                    if level
                    else (o.x0 - pad - pen.metal_gap, o.x1 + pad + pen.metal_gap)
                    for o in pen.canvas.shapes[pen.metal]
                    if o not in own
                    and (o.x0 < landing.x1 and o.x1 > landing.x0 if level else o.y0 < landing.y1 and o.y1 > landing.y0)
                ]
                blocked += self._blocked(spot.grown(pad + past), side, pad + past, self._spaces(), ())
                for place in _free(low + pen.wire, high - pen.wire, at, blocked):
                    if self._take(side, place, pad):
                        x, y = (across, place) if level else (place, across)
                        pen.joint(x, y, 1)
                        reach = self._reach(Rect(x, y, x, y), side, place, pen.under.width // 2)
                        pen.run_under(1, (reach.x0, reach.x1), (reach.y0, reach.y1))
                        return Exit(net, side, place, 1 if pen.doping is None else pen.doping)
        return None

    def _reach(self, r: Rect, side: str, place: int, half: int) -> Rect:
        """Return the bar from a rectangle to a side of the box."""
        b = self.box
        return {
            "left": Rect(b.x0, place - half, r.x1, place + half),
            "right": Rect(r.x0, place - half, b.x1, place + half),
            "bottom": Rect(place - half, b.y0, place + half, r.y1),
            "top": Rect(place - half, r.y0, place + half, b.y1),
        }[side]

    def _blocked(self, r: Rect, side: str, half: int, spaces: Spaces, own: Collection[Rect]) -> list[Span]:
        """Return where along a side no bar from a rectangle to it can lie, as it must keep spaces from other shapes."""
        spans: list[Span] = []
        for mask, space in spaces.items():
            for o in self.pen.canvas.shapes.get(mask, ()):
                if o in own:
                    continue
                beyond = {
                    "left": o.x0 < r.x1 + space,
                    "right": o.x1 > r.x0 - space,
                    "bottom": o.y0 < r.y1 + space,
                    "top": o.y1 > r.y0 - space,
                }[side]
                if beyond:
                    low, high = (o.y0, o.y1) if side in _LEVEL else (o.x0, o.x1)
                    spans.append((low - space - half, high + space + half))
        return spans

    def _spaces(self) -> Spaces:
        """Return what a wire below the metal keeps clear of: all that lies there, and wells."""
        t = self.pen.t
        gap = max(self.pen.under.spacing, t.diffusion_spacing, t.other_gap)
        spaces = {mask: gap for mask in (*t.diffusion, self.pen.under.layer) if mask}
        if t.doped is not None:
            near = t.rings.gap if t.rings is not None else gap
            spaces |= dict.fromkeys(t.doped.doping, near) | {t.doped.window: gap}
        if t.rings is not None:
            spaces[t.rings.well] = t.rings.outside
        return spaces

    def _take(self, side: str, place: int, half: int) -> bool:
        """Keep a stretch of a side for a wire; tell whether it was free."""
        past = 2 * self.pen.doped.past if self.pen.t.doped is not None else 0
        gap = max(self.pen.metal_gap, self.pen.under.spacing + past)
        if not free_span(self.taken.setdefault(side, []), place - half - gap, place + half + gap):
            return False
        self.taken[side].append((place - half, place + half))
        return True


def _free(low: int, high: int, middle: int, blocked: Iterable[Span]) -> Iterator[int]:
    """Yield places between two that are not blocked, the nearest to the middle first."""
    places = set(range(low, high + 1))
    for a, b in blocked:
        if a < high + 1 and b > low:
            places.difference_update(range(max(a + 1, low), min(b, high + 1)))
    return iter(sorted(places, key=lambda place: (abs(place - middle), place)))


def _gap(r: Rect, label: Label) -> int:
    return max(r.x0 - label.x, label.x - r.x1, 0) + max(r.y0 - label.y, label.y - r.y1, 0)
