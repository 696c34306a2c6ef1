"""Tell a layout in plain text: a grid of letters, one for each pile of layers."""

from collections import Counter
from collections.abc import Callable, Iterable, MutableMapping
from string import ascii_letters, digits
from textwrap import wrap

from layoutdrill.face.unit import Unit
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.process import Process

WIDTH = 79
_LABEL = 5
"""Columns taken by a row's y coordinate."""
_STRIP = WIDTH - _LABEL - 1
_NOTHING = "."
_OTHER = "?"
_UNSEEN = ("marker",)
"""Roles of layers that are drawn for tools, not on silicon."""
_DOPINGS = ("well", "n-doping", "p-doping", "implant")
METALS = ("metal", "metal-2", "upper-metal", "local-metal", "via", "glass-opening")


def without(layout: Layout, lifted: frozenset[str]) -> Layout:
    """Return the layout with layers taken off; where the metal is the gate too, what lies below it is left."""
    if not lifted:
        return layout
    return Layout(layout.name, {name: rects for name, rects in layout.flattened().shapes.items() if name not in lifted})


Letters = MutableMapping[tuple[str, ...], str]
"""The characters that piles of layers have in any process: (title of the topmost layer, …, lowest) → character."""


def grid_lines(layout: Layout, process: Process, axes: Unit | None = None, letters: Letters | None = None) -> list[str]:
    """
    Return one character for each square λ, by the layers that lie over its middle, and a legend below.

    Piles that `letters` knows keep their characters, and new ones are added to it.

    Rows run from the top down, y upwards; empty ones at the border are left out. A drawing too wide for a line comes
    in strips from the left. Rows and columns are numbered in λ, by their lower left corners; in a unit that is `axes`,
    by their middles.
    """
    shown = drawn_layers(layout, process)
    box = layout.box
    if box is None or not shown:
        return ["Nothing is drawn."]
    unit = process.grid_per_lambda

    def across(x: int) -> str:
        return str(x) if axes is None else axes.number(x * unit + unit // 2)

    def along(y: int) -> str:
        return str(y) if axes is None else axes.number(axes.y(y * unit + unit // 2))

    left, right = box.x0 // unit, -(-box.x1 // unit)
    low, high = box.y0 // unit, -(-box.y1 // unit)
    covered = [[0] * (right - left) for _ in range(high - low)]
    for bit, (_, rects) in enumerate(shown):
        for rect in rects:
            _cover(covered, rect, 1 << bit, (left, low), unit)
    _keep_doping_in_active(covered, [process.layers[name].role for name, _ in shown])
    while len(covered) > 1 and not any(covered[0]):
        del covered[0]
        low += 1
    while len(covered) > 1 and not any(covered[-1]):
        del covered[-1]
    used = [x for row in covered for x, code in enumerate(row) if code]
    first, last = (min(used), max(used) + 1) if used else (0, right - left)
    counts = Counter(code for row in covered for code in row if code)
    symbols = _symbols(counts, [name for name, _ in shown], process, {} if letters is None else letters)
    lines: list[str] = []
    for start in range(first, last, _STRIP):
        end = min(start + _STRIP, last)
        if last - first > _STRIP:
            lines.append(f"x from {across(left + start)} to {across(left + end)}:")
        lines.append((" " * _LABEL + _ruler(left + start, left + end, across)).rstrip())
        for y in range(len(covered) - 1, -1, -1):
            row = "".join(symbols.get(code, _NOTHING) for code in covered[y][start:end])
            lines.append(f"{along(low + y):>{_LABEL - 1}} {row}")
    size = "1 by 1 λ" if axes is None else f"{axes.number(unit)} by {axes.number(unit)} {axes.sign}"
    lines.append(f"One character is {size}. A row begins with its y; x is on top.")
    lines.extend(_legend(symbols, [name for name, _ in shown], process))
    return lines


def joined(rects: Iterable[Rect]) -> tuple[Rect, ...]:
    """Join rectangles that share a whole side, and leave out those inside another; sorted from the lower left."""
    merged = sorted(set(rects))
    merged = [a for a in merged if not any(b != a and _holds(b, a) for b in merged)]
    changed = True
    while changed:
        changed = False
        for horizontal in (True, False):
            after = _joined_along(merged, horizontal=horizontal)
            changed = changed or len(after) < len(merged)
            merged = after
    return tuple(sorted(merged))


def _holds(outer: Rect, inner: Rect) -> bool:
    return outer.x0 <= inner.x0 and outer.y0 <= inner.y0 and outer.x1 >= inner.x1 and outer.y1 >= inner.y1


def _joined_along(rects: list[Rect], *, horizontal: bool) -> list[Rect]:
    """Join what touches or overlaps along one axis with the same extent on the other."""
    lanes: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for r in rects:
        lane, span = ((r.y0, r.y1), (r.x0, r.x1)) if horizontal else ((r.x0, r.x1), (r.y0, r.y1))
        lanes.setdefault(lane, []).append(span)
    merged: list[Rect] = []
    for (low, high), spans in lanes.items():
        spans.sort()
        start, end = spans[0]
        for begin, stop in spans[1:]:
            if begin <= end:
                end = max(end, stop)
            else:
                merged.append(Rect(start, low, end, high) if horizontal else Rect(low, start, high, end))
                start, end = begin, stop
        merged.append(Rect(start, low, end, high) if horizontal else Rect(low, start, high, end))
    return merged


def drawn_layers(layout: Layout, process: Process) -> list[tuple[str, tuple[Rect, ...]]]:
    """Return the drawn layers in the process's order, lowest first, those for tools left out."""
    flat = layout.flattened()
    return [
        (name, flat.shapes[name])
        for name, layer in process.layers.items()
        if layer.role not in _UNSEEN and flat.shapes.get(name)
    ]


def _cover(covered: list[list[int]], rect: Rect, bit: int, origin: tuple[int, int], unit: int) -> None:
    """Set the bit in every square whose middle the rectangle covers."""
    left, low = origin
    # The middle of square k is at (k + 1/2) units: covered when 2·x0 <= (2k + 1)·unit < 2·x1.
    first, last = -((unit - 2 * rect.x0) // (2 * unit)), -((unit - 2 * rect.x1) // (2 * unit))
    bottom, top = -((unit - 2 * rect.y0) // (2 * unit)), -((unit - 2 * rect.y1) // (2 * unit))
    for y in range(max(bottom - low, 0), min(top - low, len(covered))):
        row = covered[y]
        for x in range(max(first - left, 0), min(last - left, len(row))):
            row[x] |= bit


def _keep_doping_in_active(covered: list[list[int]], roles: list[str]) -> None:
    """
    Drop wells and dopings where there is no area to dope: they tell nothing there; and the doping below poly, which
    shields the channel from it (common practice of self-aligned gates).
    """
    poly = sum(1 << bit for bit, role in enumerate(roles) if role == "poly")
    shielded = sum(1 << bit for bit, role in enumerate(roles) if role in ("n-doping", "p-doping"))
    active = sum(1 << bit for bit, role in enumerate(roles) if role == "active")
    background = _DOPINGS if active else ("well",)  # without an active layer a doping is an area itself
    kept = sum(1 << bit for bit, role in enumerate(roles) if role not in background)
    needed = active or kept
    for row in covered:
        for x, code in enumerate(row):
            if not code & needed:
                row[x] = code & kept
            elif code & poly:
                row[x] = code & ~shielded


def _names(code: int, names: list[str]) -> list[str]:
    """Return the layers of a square, topmost first."""
    return [name for bit, name in reversed(list(enumerate(names))) if code >> bit & 1]


def _symbols(counts: "Counter[int]", names: list[str], process: Process, letters: Letters) -> dict[int, str]:
    """
    Give each combination of layers a character: small for one layer, capital for several, by the topmost's name; one
    that no pile has had yet, as long as there are any, else one that none has in this drawing.
    """
    piles = {code: tuple(process.layers[name].title for name in _names(code, names)) for code in counts}
    symbols = {code: letters[pile] for code, pile in piles.items() if pile in letters}
    every = (*ascii_letters, *digits)
    fresh = [letter for letter in every if letter not in letters.values()]
    again = [letter for letter in every if letter not in fresh and letter not in symbols.values()]
    for code, _ in sorted(counts.items(), key=lambda item: (item[0].bit_count(), -item[1], item[0])):
        if code in symbols:
            continue
        over, pile = _names(code, names), piles[code]
        wanted = [letter for letter in process.layers[over[0]].title + over[0] if letter.isalpha()]
        cased = [letter.lower() if len(over) == 1 else letter.upper() for letter in wanted]
        free = fresh or again
        symbol = next((letter for letter in (*cased, *free) if letter in free), _OTHER)
        if symbol in free:
            free.remove(symbol)
        symbols[code] = letters[pile] = symbol
    return symbols


def _legend(symbols: dict[int, str], names: list[str], process: Process) -> list[str]:
    lines: list[str] = []
    for code, symbol in sorted(symbols.items(), key=lambda item: (item[1].lower(), item[1])):
        over = " over ".join(process.layers[name].title for name in _names(code, names))
        lines.extend(_wrapped(f"{symbol}  {over}", indent="   "))
    return lines


def _ruler(start: int, end: int, across: Callable[[int], str]) -> str:
    """Return a line with the first x and every tenth, its first figure over its column."""
    line = ""
    for x in range(start, end):
        text = across(x)
        close = x == start and -start % 10 <= len(text)  # it would run into the tenth after it
        if (
            (x % 10 == 0 or (x == start and not close))
            and len(line) <= x - start
            and x - start + len(text) <= end - start + 4
        ):
            line = line.ljust(x - start) + text
    return line


def _wrapped(text: str, indent: str = "  ") -> list[str]:
    return wrap(text, WIDTH, subsequent_indent=indent, break_on_hyphens=False)
