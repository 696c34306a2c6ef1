"""
Draw a row of inverters below a plane with metal gates: those of address lines, and those behind output lines.

It hangs from a level diffusion of the drivers' rail. It knows nothing of planes: whoever has gate lines in metal that
come down from above, and wants some of them inverted, can use `paint_row`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from layoutdrill.drawing.planes.metal_rules import MetalRules
from layoutdrill.drawing.planes.pen import Pen
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.drawing.shared.technique import METAL
from layoutdrill.geometry.rect import Rect


@dataclass(frozen=True, slots=True)
class Stage:
    """
    An inverter's places on u: the metal of its input and of its output; `top` is where the input's comes from. `below`
    says that the input leaves below too, `down` that the output does so, and not above; `a` and `y` are nets.
    """

    a: str
    y: str
    gate: int
    out: int
    top: int
    below: bool = False
    down: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """
    Where the row's other diffusions lie: the contact of the supply's bar, and the area that they take where they have
    a kind of their own. `exit` is where wires leave.
    """

    supply: tuple[int, int]
    area: Rect | None
    exit: int


def drivers_floor(r: MetalRules, ground: int) -> int:
    """Return the lower edge of the drivers' outputs, below a ground whose middle is given."""
    top = ground - r.body - r.gap
    return top - 2 * r.body - (r.cover + r.metal_gap if r.one_kind else 0)


def paint_row(pen: Pen, r: MetalRules, stages: Sequence[Stage], ground: int, floor: int, begin: int, lift: Size,
              supply: str, past: int) -> Row:  # fmt: skip
    """
    Draw inverters whose drivers bridge to the `ground` bar, which is not drawn; nothing else lies between it and
    `floor`, the lower edge of all diffusions of the drivers' kind. The supply's bar runs on below all gate lines, of
    which the leftmost is at `begin`, to a contact.
    """
    metal = r.technique.wires[METAL].layer
    half = r.patch
    top = ground - r.body - r.gap
    contact, bottom = top - r.body, drivers_floor(r, ground)
    second = bottom if r.one_kind else floor - r.across
    size = lift.length if r.one_kind else r.gap
    bar = second - size if r.one_kind else second - 2 * r.body - r.gap
    source = bar - r.contact_gate if r.one_kind else bar - r.body
    low = source - r.body
    rings = r.technique.rings
    leave = low - past - (0 if rings is None else rings.gap + rings.width)
    us = [u for s in stages for u in (s.gate, s.out)]
    left = min(begin, *us) - r.gate - r.metal_gap - r.pad
    right = max(us) + half
    kind = 0 if r.one_kind else 1
    edge = r.body + r.doped.past
    for s in stages:
        sides = min(s.gate, s.out) - half, max(s.gate, s.out) + half
        r.diffuse(pen, 0, sides, (top, bottom))
        r.channel(pen, (ground - edge, top + r.doped.past), s.gate, r.width)
        r.contact(pen, s.out, contact)
        ending = ground - edge - r.technique.channel - r.cover
        if r.one_kind:
            r.channel(pen, (bottom, bar), s.out, lift.width)
            pen.square("contact", s.out, source, r.cut)
            pen.upright(metal, s.out, (source - r.pad, bottom + r.cover), max(r.pad, lift.width // 2 + r.over))
        else:
            r.diffuse(pen, kind, sides, (second, second - 2 * r.body))
            ending = bar + r.doped.past - r.cover
            r.channel(pen, (second - 2 * r.body - r.doped.past, bar + r.doped.past), s.gate, r.width)
            r.contact(pen, s.out, second - r.body)
        pen.upright(metal, s.gate, (s.top, leave if s.below else ending), r.gate)
        lower = contact - r.pad if r.one_kind else second - r.body - r.pad
        pen.upright(metal, s.out, (contact + r.pad if s.down else ground, leave if s.down else lower), r.gate)
        if s.below:
            pen.label(s.a, metal, s.gate, leave)
        if s.down:
            pen.label(s.y, metal, s.out, leave)
    r.diffuse(pen, kind, (left - r.body, right), (bar, low))
    r.contact(pen, left, source)
    pen.label(supply, metal, left, source)
    area = None if r.one_kind else pen.rect((left - r.body, right), (low, second))
    return Row((left, source), area, leave)
