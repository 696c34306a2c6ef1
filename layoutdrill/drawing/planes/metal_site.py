"""Find places for planes with metal gates, and for what lies round them, before anything is drawn."""

from collections.abc import Mapping
from dataclasses import dataclass

from layoutdrill.drawing.planes.arrangement import gate_order
from layoutdrill.drawing.planes.choices import Choices
from layoutdrill.drawing.planes.metal_loads import load_distance
from layoutdrill.drawing.planes.metal_plane import Bars, Field, bars, gate_places, rails_round
from layoutdrill.drawing.planes.metal_row import drivers_floor
from layoutdrill.drawing.planes.metal_rules import MetalRules
from layoutdrill.drawing.planes.plan import Plan
from layoutdrill.drawing.planes.widths import Widths
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.geometry.rect import Rect


@dataclass(frozen=True, slots=True)
class Part:
    """One plane in its own directions: its field, the contacts at the ends of lines, the level rail above its gates."""

    field: Field
    contacts: tuple[int, int]
    top: int


@dataclass(frozen=True, slots=True)
class Site:
    """
    All places: the planes, the level ground from which the inverters hang, and the area of all diffusions of the
    drivers' kind.
    """

    plan: Plan
    rules: MetalRules
    choices: Choices
    widths: Widths
    parts: tuple[Part, ...]
    row_ground: int
    area: Rect

    @property
    def first(self) -> Part:
        return self.parts[0]

    @property
    def last(self) -> Part:
        return self.parts[-1]

    @property
    def two(self) -> bool:
        return len(self.parts) > 1

    @property
    def pair(self) -> int:
        return pair_pitch(self.rules)

    @property
    def outside(self) -> Rect:
        """Return the area with the ring round it."""
        rings = self.rules.technique.rings
        return self.area if rings is None else self.area.grown(rings.gap + rings.width)

    def low(self, plane: int) -> int:
        """Return where a plane's rails begin: at the inverters' ground, the second one's at the first one's rail."""
        return self.first.field.rails[-1] if plane else self.row_ground - self.rules.pad


def pair_pitch(r: MetalRules) -> int:
    """Return the least distance of gate lines between which there are inverters."""
    return max(2 * r.gate + r.metal_gap, 2 * r.patch + r.apart)


def survey(plan: Plan, technique: Technique, choices: Choices, widths: Widths) -> Site:
    """Return where everything lies."""
    r = MetalRules(technique, choices.stout, widths.cross)
    first = _first(plan, r, choices, widths)
    parts = [first]
    if len(plan.planes) > 1:
        second = _second(plan, r, choices, widths, first)
        parts = [Part(first.field, first.contacts, -second.field.rails[0]), second]
    low = first.field.bars.low - r.body
    area = Rect(first.field.lines[0], low, first.field.lines[1], first.field.bars.high + r.body)
    ground = first.field.bars.low
    if len(parts) > 1:
        last = parts[1]
        area = Rect(area.x0, min(low, -last.field.lines[1]), last.field.bars.high + r.body, -last.field.lines[0])
    if plan.outputs:
        ground = area.y0 - r.apart - r.body
        area = Rect(area.x0, ground - r.body, max(area.x1, parts[1].top + r.body), area.y1)
    if plan.complements or plan.outputs:
        area = Rect(area.x0, min(area.y0, drivers_floor(r, ground)), area.x1, area.y1)
    return Site(plan, r, choices, widths, tuple(parts), ground, area)


def _first(plan: Plan, r: MetalRules, choices: Choices, widths: Widths) -> Part:
    order = gate_order(plan, choices)
    pitch = (pair_pitch(r) if plan.complements else 2 * r.gate + r.metal_gap) + choices.loose[0]
    us, rails = gate_places(len(order), r, pitch, choices.columns if len(order) > 8 else len(order))
    between = max(2 * r.body + r.apart, load_distance(r, widths.loads[0]))
    if len(plan.planes) > 1:
        between = max(between, 2 * r.gate + r.metal_gap)
    hung = bool(plan.complements) and not plan.outputs
    level = bars(plan.planes[0].lines, r, ground_first=hung or choices.ground_first, between=between + choices.loose[1])
    return _part(r, dict(zip(order, us, strict=True)), level, rails)


def _second(plan: Plan, r: MetalRules, choices: Choices, widths: Widths, first: Part) -> Part:
    """Place the second plane to the right of the first, in its own directions: lines run downwards."""
    plane = plan.planes[1]
    gates = {line.net: -v for line, v, _ in reversed(first.field.bars.lines)}
    rails = rails_round(tuple(gates.values()), r)
    rails = min(rails[0], -first.top), rails[1]
    between = max(2 * r.body + r.apart, load_distance(r, widths.loads[1])) + choices.loose[1]
    start = first.contacts[1] + 2 * r.body + r.apart
    if plan.outputs:
        between = 3 * pair_pitch(r)
        start += pair_pitch(r)
    level = bars(plane.lines, r, ground_first=choices.ground_first, between=between, start=start)
    part = _part(r, gates, level, rails)
    if not plan.outputs:
        return part
    out = level.lines[-1][1] + pair_pitch(r) + r.gate + r.metal_gap + r.rail
    return Part(part.field, part.contacts, max(part.top, out))


def _part(r: MetalRules, gates: Mapping[str, int], level: Bars, rails: tuple[int, ...]) -> Part:
    beside = r.rail + r.metal_gap + r.pad
    contact, end = rails[0] - beside, rails[-1] + beside
    left = rails[0] - r.rail - r.metal_gap - r.cover if r.one_kind else contact - r.body
    rings = r.technique.rings
    over = max(r.metal_gap + r.rail, 0 if rings is None else rings.gap + rings.width // 2)
    return Part(Field(gates, level, rails, (left, end + r.body)), (contact, end), level.high + r.body + over)
