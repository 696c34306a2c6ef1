"""
Lead the wires of a drawn array out of it: straight on in metal where nothing lies in the way, else below the metal.

An array is drawn without regard to what stands round it, so a rail's strap or another wire may lie between a port and
the border. What is added here lies inside the array's own box.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from layoutdrill.drawing.blocks.channel import Exit
from layoutdrill.drawing.chips.body import Body, RailEnd, components, free_span
from layoutdrill.drawing.shared import Drawn, Pen, Span
from layoutdrill.geometry.rect import Rect, box_round
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Label, Layout
from layoutdrill.value import value

_LEVEL, _LOW = ("left", "right"), ("left", "bottom")
Spaces = Mapping[str, int]
"""How far something keeps from the shapes of each mask."""


def with_outlets(
    layout: Layout, pen: Pen, wanted: Mapping[str, str], supplies: Sequence[str], sizes: Drawn
) -> Body | None:
    """
    Return an array with exits: `wanted` names the chip's net of each port that leaves. The low supply's rails reach
    the left, the high one's the right. None where some wire is shut in.
    """
    own = replace(pen, shapes={mask: list(rects) for mask, rects in layout.shapes.items()})
    box = box_round([r for rects in own.shapes.values() for r in rects])
    outlets = Outlets(own, box, components(own.shapes[pen.metal]), {})
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
    return Body(own.shapes, box, tuple(exits), led_out, sizes)


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
                    self.pen.level(self.pen.metal, self._run(r, side), y, half)
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
        low = () if pen.t.doped is None else pen.shapes.get(pen.doped.doping[0], ())
        kind = int(not any(r.contains(label.x, label.y) for r in low))
        edge = {"bottom": self.box.y0, "top": self.box.y1}[side]
        if label.y != edge:
            replace(pen, doping=kind).upright_under(kind, label.x, (label.y, edge))
        return Exit(net, side, label.x, kind) if self._take(side, label.x, pen.under.pad // 2) else None

    def _straight(self, net: str, side: str, own: Collection[Rect], label: Label) -> Exit | None:
        """Leave in metal."""
        pen, half, at = self._facing(side), self.pen.wire, label.y if side in _LEVEL else label.x
        for wire in sorted(own, key=lambda r: (_gap(r, label), r)):
            r = _facing(wire, side)
            blocked = self._blocked(r, side, half, {pen.metal: pen.metal_gap}, own)
            for place in _free(r.y0 + half, r.y1 - half, at, blocked):
                if self._take(side, place, pen.pad):
                    pen.level(pen.metal, self._run(r, side), place, half)
                    return Exit(net, side, place)
        return None

    def _dive(self, net: str, side: str, own: Collection[Rect], label: Label) -> Exit | None:
        """Leave below the metal, from a contact on the wire."""
        pen, (to, at) = self._facing(side), (label.x, label.y) if side in _LEVEL else (label.y, label.x)
        pad = max(pen.pad, pen.under.pad // 2)
        past = pen.doped.past if pen.t.doped is not None else 0
        for wire in sorted(own, key=lambda r: (_gap(r, label), r)):
            r = _facing(wire, side)
            a, b = r.x0 + pad, r.x1 - pad
            for x in dict.fromkeys((min(max(to, a), b), (r.x0 + r.x1) // 2, a, b)):
                spot, room = Rect(x, r.y0, x, r.y1), pad + pen.metal_gap
                landing = spot.grown(pen.pad + pen.metal_gap)
                others = (_facing(o, side) for o in pen.shapes[pen.metal] if o not in own)
                blocked = [(o.y0 - room, o.y1 + room) for o in others if o.x0 < landing.x1 and o.x1 > landing.x0]
                blocked += self._blocked(spot.grown(pad + past), side, pad + past, self._spaces(), ())
                for y in _free(r.y0 + pen.wire, r.y1 - pen.wire, at, blocked):
                    if self._take(side, y, pad):
                        pen.joint(x, y, 1)
                        pen.level_under(1, self._run(Rect(x, y, x, y), side), y)
                        return Exit(net, side, y, 1 if pen.doping is None else pen.doping)
        return None

    def _facing(self, side: str) -> Pen:
        """Return a pen for which a side lies to the left or right."""
        return self.pen if side in _LEVEL else self.pen.placed(Transform(turns=1, mirrored=True))

    def _run(self, r: Rect, side: str) -> Span:
        """Return from where to where a bar runs from a rectangle to a side of the box, for a pen that faces it."""
        box = _facing(self.box, side)
        return (box.x0, r.x1) if side in _LOW else (r.x0, box.x1)

    def _blocked(self, r: Rect, side: str, half: int, spaces: Spaces, own: Collection[Rect]) -> list[Span]:
        """
        Return where along a side no bar from a rectangle to it can lie, as it must keep spaces from other shapes.

        The rectangle is given as a pen sees it that faces the side.
        """
        spans: list[Span] = []
        for mask, space in spaces.items():
            for shape in self.pen.shapes.get(mask, ()):
                o = _facing(shape, side)
                if (o.x0 < r.x1 + space if side in _LOW else o.x1 > r.x0 - space) and shape not in own:
                    spans.append((o.y0 - space - half, o.y1 + space + half))
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


def _facing(r: Rect, side: str) -> Rect:
    """Return a rectangle as a pen sees it for which a side lies to the left or right: as it is, or with x for y."""
    return r if side in _LEVEL else Rect(r.y0, r.x0, r.y1, r.x1)


def _free(low: int, high: int, middle: int, blocked: Iterable[Span]) -> Iterator[int]:
    """Yield places between two that are not blocked, the nearest to the middle first."""
    places = set(range(low, high + 1))
    for a, b in blocked:
        if a < high + 1 and b > low:
            places.difference_update(range(max(a + 1, low), min(b, high + 1)))
    return iter(sorted(places, key=lambda place: (abs(place - middle), place)))


def _gap(r: Rect, label: Label) -> int:
    return max(r.x0 - label.x, label.x - r.x1, 0) + max(r.y0 - label.y, label.y - r.y1, 0)
