"""Draw rows in metal gate: level bars of doped silicon, with a window over a gap where a line acts."""

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass

from layoutdrill.drawing.chains.path import Grating
from layoutdrill.drawing.chains.sheet import Sheet, Span
from layoutdrill.drawing.shared.technique import METAL, Doped, Technique


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar's mask of doping, its middle, half its height, and the length of a channel in it."""

    mask: str
    y: int
    half: int
    length: int


def doped(t: Technique) -> Doped:
    assert t.doped is not None
    return t.doped


def body(t: Technique) -> int:
    """Return half the side of the silicon round a contact."""
    return t.contact // 2 + t.surround


def pad(t: Technique) -> int:
    """Return half the side of the metal round a contact."""
    return t.wires[METAL].pad // 2


def gate_width(t: Technique, length: int) -> int:
    """Return the width of the metal over a channel that lies along its row."""
    return length + 2 * (doped(t).window_past + doped(t).metal_past)


def over_width(t: Technique, width: int) -> int:
    """Return the width of the metal over a channel that stands between two bars."""
    d = doped(t)
    return width + 2 * (d.metal_past + (d.window_past if d.island else 0))


def bar_gap(t: Technique, length: int) -> int:
    """Return the distance of two bars that standing channels join."""
    return length + 2 * doped(t).past


def bar_end(t: Technique, width: int) -> int:
    """Return how far a bar goes on from the middle of its last standing channel."""
    return width // 2 + max(doped(t).inset, doped(t).window_past)


def half_between(t: Technique) -> int:
    """Return half the height of a bar between two rows of standing channels whose metals keep apart."""
    d = doped(t)
    return max(body(t), t.wires[METAL].spacing // 2 + d.window_past + d.metal_past - d.past)


def standing(sheet: Sheet, t: Technique, x: int, y: int, length: int, width: int) -> None:
    """Draw a channel that stands between two bars: its window, on an island its silicon, and the metal over it."""
    d = doped(t)
    half, reach = width // 2, length // 2
    if d.island:
        sheet.box(t.diffusion[1], (x - half, x + half), (y - reach - d.past, y + reach + d.past))
    wide = half + (d.window_past if d.island else 0)
    sheet.box(d.window, (x - wide, x + wide), (y - reach - d.window_past, y + reach + d.window_past))
    out, cover = reach + d.window_past + d.metal_past, over_width(t, width) // 2
    sheet.box("metal", (x - cover, x + cover), (y - out, y + out))


def half_of(t: Technique, width: int) -> int:
    """Return half the height of a bar whose channels have a width."""
    return width // 2 + doped(t).inset


def bar(sheet: Sheet, t: Technique, one: Bar, x: Span, channels: Iterable[int]) -> None:
    """
    Draw a bar from end to end, and a window in a gap at each of the channels' middles, from left to right.

    The metal over the windows is drawn with the lines.
    """
    y = one.y - one.half, one.y + one.half
    at = x[0]
    pieces = []
    for middle in channels:
        pieces.append((at, middle - one.length // 2))
        at = middle + one.length // 2
        window(sheet, t, (middle - one.length // 2, at), y)
    pieces.append((at, x[1]))
    silicon(sheet, t, one.mask, pieces, y)


def window(sheet: Sheet, t: Technique, x: Span, y: Span) -> None:
    """Draw the window of a channel that lies along x, between the sides `y` of its bar."""
    d = doped(t)
    out = d.window_past if d.island else -d.inset
    sheet.box(d.window, (x[0] - d.window_past, x[1] + d.window_past), (y[0] - out, y[1] + out))


def silicon(sheet: Sheet, t: Technique, mask: str, pieces: list[Span], y: Span) -> None:
    """Draw the doped pieces of one level bar; an island's silicon runs through beneath its channels."""
    d = doped(t)
    if not d.island:
        for piece in pieces:
            sheet.box(mask, piece, y)
        return
    first, last = pieces[0][0], pieces[-1][1]
    sheet.box(t.diffusion[0], (first, last), y)
    for a, b in pieces:
        left, right = (d.past if a == first else 0), (d.past if b == last else 0)
        sheet.box(mask, (a - left, b + right), (y[0] - d.past, y[1] + d.past))


def contact(sheet: Sheet, t: Technique, mask: str, x: int, y: int, *, silicon_too: bool = True) -> None:
    """Join metal and doped silicon at a point."""
    if silicon_too:
        half = body(t)
        silicon(sheet, t, mask, [(x - half, x + half)], (y - half, y + half))
    sheet.square("contact", x, y, t.contact // 2)
    sheet.square("metal", x, y, pad(t))


@dataclass(frozen=True, slots=True)
class Lines:
    """How the lines are drawn: their width between gates, and the width over gates of level channels."""

    slim: int
    gate: int


def lines(
    sheet: Sheet, grating: Grating, drawn: Lines, y: Span, stops: Mapping[str, int], made: Container[str]
) -> None:
    """
    Draw the metal lines, each named at its lower end.

    Where the array makes some itself, `stops` says where each line begins, and those not `made` are named at the top.
    """
    for net, x in zip(grating.nets, grating.at, strict=True):
        sheet.box("metal", (x - drawn.slim // 2, x + drawn.slim // 2), (stops.get(net, y[0]), y[1]))
        if net not in made:
            sheet.label(net, "metal", x, y[1] if stops else y[0])


def plate_past(t: Technique) -> int:
    """Return how far the metal over a level channel reaches past the sides of its bar; it may stay within."""
    d = doped(t)
    return d.metal_past + (d.window_past if d.island else -d.inset)


def plate(sheet: Sheet, t: Technique, drawn: Lines, x: int, y: Span) -> None:
    """Cover the window of a level channel on a line at `x`, in a bar between `y`, with metal."""
    out = plate_past(t)
    sheet.box("metal", (x - drawn.gate // 2, x + drawn.gate // 2), (y[0] - out, y[1] + out))
