"""Draw rows in silicon gate: strips of diffusion under upright poly lines, and metal over the lines that do not act."""

from collections.abc import Mapping
from enum import Enum

from layoutdrill.drawing.chains.path import Grating, Path
from layoutdrill.drawing.chains.sheet import Sheet, Span
from layoutdrill.drawing.shared.technique import METAL, OTHER, UPPER_METAL, Technique


class Heads(Enum):
    """Where poly lines have contacts to metal: nowhere, at one end, or in turn at either."""

    NONE = "plain"
    LOW = "below"
    HIGH = "above"
    SPLIT = "in turn"


def pitch_of(t: Technique) -> int:
    """Return the least distance of two poly lines with a contact to diffusion between them."""
    return t.gate + max(2 * t.contact_gate + t.contact, 2 * t.other_gap + t.contact + 2 * t.surround)


def body(t: Technique) -> int:
    """Return half the side of the silicon, and of the metal, round a contact."""
    return t.contact // 2 + t.surround


def lines(sheet: Sheet, t: Technique, grating: Grating, y: Span, heads: Heads, stops: Mapping[str, int]) -> None:
    """
    Draw the poly lines from end to end.

    `stops` are lines that the array makes itself, and where they begin; they have no name, and no head.
    """
    wire, half = t.wires[OTHER], t.gate // 2
    pad = t.wires[METAL].pad // 2
    for number, (net, x) in enumerate(zip(grating.nets, grating.at, strict=True)):
        sheet.box(wire.layer, (x - half, x + half), (stops.get(net, y[0]), y[1]))
        if net in stops:
            continue
        if heads is Heads.NONE:
            sheet.label(net, wire.layer, x, y[0])
        else:
            low = heads is Heads.LOW or (heads is Heads.SPLIT and number % 2 == 0)
            at = y[0] - pad if low else y[1] + pad
            joint(sheet, t, x, at)
            sheet.label(net, "metal", x, at)


def via(sheet: Sheet, t: Technique, x: int, y: int) -> None:
    """Join both metals at a point."""
    upper = t.wires[UPPER_METAL]
    sheet.square("metal", x, y, t.wires[METAL].pad // 2)
    sheet.square(t.via, x, y, t.contact // 2)
    sheet.square(upper.layer, x, y, upper.pad // 2)


def joint(sheet: Sheet, t: Technique, x: int, y: int) -> None:
    """Join metal and poly at a point."""
    wire = t.wires[OTHER]
    sheet.square(wire.layer, x, y, wire.pad // 2)
    sheet.square("contact", x, y, t.contact // 2)
    sheet.square("metal", x, y, t.wires[METAL].pad // 2)


def strip(sheet: Sheet, t: Technique, mask: str, grating: Grating, path: Path, y: int, half: int,
          reach: tuple[int, int] | None = None) -> None:  # fmt: skip
    """
    Draw a row's diffusion, `half` to both sides of `y`, its bridges, and the contacts where they meet.

    `reach` is how far the silicon goes beyond the middle of the first and of the last gap; None for a contact's room.
    """
    around = body(t)
    metal = t.wires[METAL].pad // 2
    for a, b in path.runs:
        left = around if reach is None or a != path_start(path) else reach[0]
        right = around if reach is None or b != path_end(path) else reach[1]
        sheet.box(mask, (grating.gaps[a] - left, grating.gaps[b] + right), (y - half, y + half))
    for a, b in path.bridges:
        sheet.box("metal", (grating.gaps[a] - metal, grating.gaps[b] + metal), (y - metal, y + metal))
    for gap in path.contacts:
        contact(sheet, t, mask, grating.gaps[gap], y)


def path_start(path: Path) -> int:
    return min(a for a, _ in (*path.runs, *path.bridges))


def path_end(path: Path) -> int:
    return max(b for _, b in (*path.runs, *path.bridges))


def contact(sheet: Sheet, t: Technique, mask: str, x: int, y: int) -> None:
    """Join metal and diffusion at a point."""
    sheet.square(mask, x, y, body(t))
    sheet.square("contact", x, y, t.contact // 2)
    sheet.square("metal", x, y, t.wires[METAL].pad // 2)
