"""Join the rails of an array, tie its silicon to them, and lead its outputs out beneath."""

from collections.abc import Iterable

from layoutdrill.dice import Dice
from layoutdrill.drawing.chains.banks import Bank
from layoutdrill.drawing.chains.path import Grating
from layoutdrill.drawing.chains.poly_rows import body
from layoutdrill.drawing.chains.sheet import Manner, Sheet, Span
from layoutdrill.drawing.shared.technique import METAL, OTHER, UPPER_METAL, Technique


def taps_under(sheet: Sheet, t: Technique, rails: Iterable[tuple[int, int]], across: Grating, dice: Dice) -> list[int]:
    """Put taps under rails, (height, supply), in the same gaps under each, and return those."""
    implants = t.implants
    assert implants is not None
    gaps = sorted(dice.shuffled(across.gaps)[: dice.between(1, 2 + len(across.gaps) // 4)])
    around = body(t)
    for y, supply in rails:
        for x in gaps:
            sheet.square("active", x, y, around)
            sheet.square("contact", x, y, t.contact // 2)
        past = around + implants.past
        sheet.box(implants.doping[1 - supply], (gaps[0] - past, gaps[-1] + past), (y - past, y + past))
    return gaps


def broaden(sheet: Sheet, t: Technique, bank: Bank, x: Span, free: list[int]) -> None:
    """Lay the second metal over the level rails, with vias in gaps that have no taps."""
    upper = t.wires[UPPER_METAL]
    for y, _ in bank.rails():
        sheet.box(upper.layer, x, (y - t.broad // 2, y + t.broad // 2))
        for at in free:
            sheet.square(t.via, at, y, t.contact // 2)


def lead_out(sheet: Sheet, t: Technique, ports: list[tuple[str, int]], x: int, manner: Manner,
             dice: Dice, *, raised: bool = False) -> tuple[int, Span]:  # fmt: skip
    """
    Lead wires that end at `x` on under an upright rail: in poly, or where there is one in the second metal above it, in
    which `raised` wires lie already.

    Returns where the rails of the side may begin and end.
    """
    metal, below = t.wires[METAL], t.wires[UPPER_METAL if t.via else OTHER]
    cut = t.via or "contact"
    half = max(metal.pad, below.pad) // 2
    at = x + t.other_gap + half
    start = at + half + metal.spacing
    end = start + metal.pad + manner.stout
    out = end + metal.spacing + half
    ported = not t.via and dice.chance(50)
    for net, y in ports:
        if not raised:
            sheet.box("metal", (x, at + half), (y - metal.pad // 2, y + metal.pad // 2))
        for place in () if raised else ((at, out) if ported else (at,)):
            sheet.square("metal", place, y, metal.pad // 2)
            sheet.square(cut, place, y, t.contact // 2)
            sheet.square(below.layer, place, y, below.pad // 2)
        sheet.box(below.layer, (x if raised else at, out), (y - below.width // 2, y + below.width // 2))
        sheet.label(net, "metal" if ported else below.layer, out, y)
    return at + half, (start, end)


def join_rails(sheet: Sheet, t: Technique, bank: Bank, supplies: tuple[str, str], core: Span, strap: Span,
               manner: Manner, dice: Dice) -> None:  # fmt: skip
    """Draw the level rails, those of one supply joined at the left, of the other at `strap` at the right."""
    half = t.rail // 2 + manner.stout // 2
    at_right = dice.below(2)
    wide = strap[1] - strap[0]
    left = core[0] - t.wires[METAL].spacing
    for supply in (0, 1):
        rails = [y for y, kind in bank.rails() if kind == supply]
        right = supply == at_right
        x = (core[0], strap[1]) if right else (left - wide, core[1])
        for y in rails:
            sheet.box("metal", x, (y - half, y + half))
        upright = strap if right else (left - wide, left)
        sheet.box("metal", upright, (rails[0] - half, rails[-1] + half))
        sheet.label(supplies[supply], "metal", sum(upright) // 2, dice.pick(rails))
