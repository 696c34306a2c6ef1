"""
Draw a netlist with resistors and diodes: its transistors as a pair of rows, and the others beside it.

The rails run on past the pair of rows, and so does each wire that leads to one of the others, in metal, above all
of them; where it passes over an end of its own it is joined to it. A diode to a supply stands at that supply's rail.
"""

from collections.abc import Mapping
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.drawing.passives.strip import Room, Strip, folded
from layoutdrill.drawing.row_pairs.draw import as_part, begin, finish
from layoutdrill.drawing.shared import Drawing, Pen, Request, Span
from layoutdrill.drawing.shared.technique import OTHER
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract.forms import FOLDED
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.netlist.model import Element, Netlist
from layoutdrill.netlist.number import number
from layoutdrill.process.model import PatchRule, Process, StripRule
from layoutdrill.value import value

_RUNS = (4, 6)
"""How often a resistor of no given length is folded, from and to."""
_APART = 16
_STUB = 8


def drawing_with_passives(asked: Request, pad: str) -> Drawing | None:
    """
    Return the drawing, or None when this attempt found no room; the net `pad` leaves it at the border.

    Raises LayoutdrillError, with the reason, for what the process has not, or what nobody could read.
    """
    netlist, process = asked.netlist, asked.process
    for e in netlist.elements:
        if e.kind == "capacitor":
            raise LayoutdrillError(
                f"{e.name} is a capacitor, which is drawn as a transistor with both ends on one net",
                todo="write “n a b b L=8 W=8” for one between a and b",
            )
    dice = asked.dice("passives")
    joined = dict.fromkeys(net for e in netlist.elements for net in e.nodes if net not in process.supplies)
    used = {net for device in netlist.transistors for net in device.terminals}
    inner = tuple(net for net in joined if net in used and net not in netlist.ports)
    ports = tuple(port for port in netlist.ports if port in used or port in process.supplies)
    core = Netlist(netlist.name, (*ports, *inner), netlist.transistors)
    seed, difficulty = dice.below(1 << 30), min(asked.difficulty, 0.5)
    begun = begin(replace(asked, netlist=core, seed=seed, difficulty=difficulty))
    leaving = [net for net in joined if net in used]
    sides = dict.fromkeys(begun.choices.sides, "left") | dict.fromkeys(leaving, "right")
    drawn = finish(as_part(begun, sides, len(leaving)))
    if drawn is None:
        return None
    layout = drawn.layout.transformed(Transform(-drawn.frame.x0, -drawn.frame.y0))
    places = {label.text: label.y for label in layout.labels}
    for supply in process.supplies:
        if supply not in places:
            raise LayoutdrillError(
                f"{netlist.name} has no net {supply}: resistors and diodes are drawn between both rails",
                todo="join something to it, or leave them out",
            )
    rails = places[process.supplies[0]], places[process.supplies[1]]
    pen = Pen(asked.technique)
    lanes = _lanes(pen, joined, {net: y for net, y in places.items() if net in joined}, rails)
    if lanes is None:
        return None
    pen.lay(layout.shapes, drawn.sizes)
    border = drawn.frame.x1 - drawn.frame.x0
    ends = {net: [border - pen.wire] if net in used else [] for net in joined}
    sheet = _Sheet(pen, process, rails, lanes, ends, dice, pad)
    x = (layout.box or drawn.frame).x1 + _APART
    for element in sorted(netlist.elements, key=lambda e: pad in e.nodes):
        end = sheet.resistor(element, x) if element.kind == "resistor" else sheet.diode(element, x)
        if end is None:
            return None
        x = end + _APART
    if pad in ends:
        ends[pad].append(x + _STUB)
    for y in rails:
        pen.level(pen.metal, (border - pen.wire, x), y, pen.rail)
    for net in joined:
        pen.level(pen.metal, (min(ends[net]) - pen.wire, max(ends[net]) + pen.wire), lanes[net], pen.wire)
        if net in netlist.ports and (net == pad or net not in used):
            pen.label(net, pen.metal, max(ends[net]), lanes[net])
    for label in layout.labels:
        if label.text in netlist.ports and label.text not in pen.labels:
            pen.label(label.text, label.layer, label.x, label.y)
    return pen.finished(asked, dice.below(4), mirrored=dice.chance(50))


def _lanes(pen: Pen, nets: Mapping[str, None], known: Mapping[str, int], rails: Span) -> dict[str, int] | None:
    """Return the height of each net's wire: that at which it leaves the rows, or one that is free."""
    lanes = dict(known)
    apart = 2 * pen.pad + pen.metal_gap
    low, high = rails[0] + pen.rail + pen.metal_gap + pen.pad, rails[1] - pen.rail - pen.metal_gap - pen.pad
    for net in nets:
        if net not in lanes:
            free = [y for y in range(low, high + 1, 2) if all(abs(y - other) >= apart for other in lanes.values())]
            if not free:
                return None
            lanes[net] = min(free, key=lambda y: abs(2 * y - low - high))
    return lanes


@value
class _Sheet:
    """What the others are drawn on: `ends` collects where each net's wire is needed; `pad` is the outermost."""

    pen: Pen
    process: Process
    rails: Span
    lanes: Mapping[str, int]
    ends: dict[str, list[int]]
    dice: Dice
    pad: str

    @property
    def clear(self) -> int:
        """Return how far silicon stays from the middle of a rail."""
        t, pen = self.pen.t, self.pen
        clear = pen.rail + pen.metal_gap
        if t.implants is not None:
            clear = max(clear, pen.body + t.implants.tap_gap)
        if t.rings is not None:
            clear = max(clear, t.rings.width // 2 + t.rings.gap)
        return clear

    def height(self, net: str) -> int:
        if net in self.process.supplies:
            return self.rails[self.process.supplies.index(net)]
        return self.lanes[net]

    def resistor(self, element: Element, x: int) -> int | None:
        """Draw a resistor from x on; return where it ends, None where there is no room."""
        rule = self.rule_of(element)
        sort = element.model or "diffused"
        width, gap = self.measures(sort)
        length, wide = (self.size(element, key) for key in ("L", "W"))
        if wide and wide < width:
            least = width * self.process.grid_nm / 1000
            raise LayoutdrillError(
                f"W of {element.name} is too narrow for its contacts in {self.process.name}",
                todo=f"use {least:g} µm or more, or leave it out",
            )
        width = wide or width
        if length and length < rule.squares * width:
            raise LayoutdrillError(
                f"{element.name} has {length / width:.1f} squares, and so few are read as a wire",
                todo=f"make it {rule.squares} squares or more",
            )
        runs = 2 if sort == "well" else self.dice.between(*_RUNS) if not length else _RUNS[0]
        first, last = element.nodes if element.nodes[0] in self.lanes else element.nodes[::-1]
        if first == self.pad:
            first, last = last, first
        heights = self.height(first), self.height(last)
        reach = self.rails[0] + self.clear + width // 2, self.rails[1] - self.clear - width // 2
        strip = folded(Room(x + width // 2, width + gap, width, reach), heights, runs, length)
        if strip is None or not _readable(strip, rule, plain=sort != "well"):
            return None
        self.paint(strip, sort)
        for net, (at, y) in ((first, strip.begin), (last, strip.end)):
            self.ends.setdefault(net, []).append(at)
            self.join(sort, at, y)
        self.pen.size(element.name, strip.length, strip.width)
        return strip.xs[-1] + width // 2

    def rule_of(self, element: Element) -> StripRule:
        sort = element.model or "diffused"
        rule = next((rule for rule in self.process.strips if rule.model == sort), None)
        if rule is None:
            raise LayoutdrillError(
                f"{element.name} is a {sort} resistor, which {self.process.name} does not have",
                todo="make it of another material, or choose another process",
            )
        return rule

    def measures(self, sort: str) -> tuple[int, int]:
        """Return the least width of a strip, which holds a contact, and the gap between two of its runs."""
        t = self.pen.t
        if sort == "well":
            return 10 * t.unit, 10 * t.unit
        if sort == "poly":
            return t.wires[OTHER].pad, t.wires[OTHER].spacing
        past = 2 * t.doped.past if t.doped is not None and t.doped.island else 0
        return t.body, t.diffusion_spacing + past

    def size(self, element: Element, key: str) -> int:
        """Return a given size in grid units, 0 where there is none."""
        given = number(dict(element.values).get(key, "0"))
        return round(float(given or 0) * 1e9 / self.process.grid_nm)

    @property
    def kind(self) -> int:
        """Return the kind of a diffused resistor: that which lies in the substrate, without a well."""
        t = self.pen.t
        if t.implants is not None:
            return 1 - t.implants.row
        return 1 if t.rings is not None else 0

    def paint(self, strip: Strip, sort: str) -> None:
        pen, t = self.pen, self.pen.t
        for x, y in strip.boxes():
            if sort == "well":
                pen.box(t.implants.well if t.implants else t.rings.well if t.rings else "", x, y)
            elif sort == "poly":
                pen.box(pen.poly, x, y)
            else:
                pen.diffuse(self.kind, x, y)
        if sort == "diffused" and t.implants is not None:
            pen.bed(self.kind, strip.border, ())

    def join(self, sort: str, x: int, y: int) -> None:
        """Join an end to the metal above it."""
        pen, t = self.pen, self.pen.t
        if sort == "well" and t.implants is not None:
            pen.taps([x], y, t.implants.row)
        elif sort == "well":
            pen.diffuse(1, (x - pen.body, x + pen.body), (y - pen.body, y + pen.body))
        pen.contact(x, y)

    def diode(self, element: Element, x: int) -> int | None:
        """Draw a diode from x on, between a net and the silicon round it; return where it ends."""
        pen, t = self.pen, self.pen.t
        row, net = self.side_of(element)
        sense = -1 if row else 1
        rule = self.patch_rule(element, row)
        width = rule.side + 2 * self.dice.below(1 + rule.side // 2)
        lane, rail = self.lanes[net], self.rails[row]
        off, beside, ringed = self.clear, _APART, t.rings is not None and row == 0
        if t.rings is not None and ringed:
            off = t.rings.width // 2 + t.rings.gap
            beside = t.rings.gap + t.rings.width + t.rings.well_past
        edge, far = rail + sense * off, lane + sense * pen.body
        if abs(far - edge) < rule.side:
            far = edge + sense * rule.side
        x0 = x + beside
        area = Rect(x0, min(edge, far), x0 + width, max(edge, far))
        y = max(area.y0 + pen.body, min(lane, area.y1 - pen.body))
        room = 2 * pen.pad + pen.metal_gap
        low, high = min(y, lane) - room, max(y, lane) + room
        if any(low < height < high for other, height in self.lanes.items() if other != net):
            return None
        pen.diffuse(row, (area.x0, area.x1), (area.y0, area.y1))
        if t.implants is not None:
            taps = list(range(area.x0 + pen.body, area.x1 - pen.body + 1, 2 * pen.body + t.diffusion_spacing))
            pen.taps(taps, rail, row)
            pen.bed(row, area, [(at, rail) for at in taps])
        elif ringed:
            pen.ring(area, 0)
            pen.square(t.cut, (area.x0 + area.x1) // 2, rail, pen.cut)
        at = list(range(area.x0 + pen.body, area.x1 - pen.body + 1, 2 * t.contact))
        for place in at:
            pen.contact(place, y)
            pen.upright(pen.metal, place, (y, lane), pen.pad)
        self.ends.setdefault(net, []).extend(at)
        return area.x1 + beside

    def side_of(self, element: Element) -> tuple[int, str]:
        """Return the row of a diode's diffusion, n+ at the lower supply or p+ at the higher, and the net it is on."""
        anode, cathode = element.nodes
        low, high = self.process.supplies
        if anode == low and cathode in self.lanes:
            return 0, cathode
        if cathode == high and anode in self.lanes:
            return 1, anode
        raise LayoutdrillError(
            f"{element.name} leads from {anode} to {cathode}, and a diode is drawn from {low} or to {high} only",
            todo="one side of a diffused diode is the silicon round it, which is on a supply",
        )

    def patch_rule(self, element: Element, row: int) -> PatchRule:
        """Return the rule of a diode whose diffusion is n+ (row 0) or p+ (row 1)."""
        under = {rule.body for rule in self.process.transistors if (rule.kind == "p") == bool(row)}
        rule = next((rule for rule in self.process.patches if rule.under in under), None)
        if rule is None:
            raise LayoutdrillError(
                f"{element.name} is a diode, which {self.process.name} does not have",
                todo="clamp with a transistor whose gate is on its supply, or choose another process",
            )
        return rule


def _readable(strip: Strip, rule: StripRule, *, plain: bool) -> bool:
    """Tell whether a strip is long enough, and folded enough, not to be taken for a wire."""
    border, long_enough = strip.border, strip.length >= rule.squares * strip.width
    return long_enough and (not plain or FOLDED[1] * strip.length >= FOLDED[0] * (border.width + border.height))
