"""
Draw the symbols of a schematic as SVG: gates in their distinctive shapes, switches, transistors, rails, boxes.

The shapes of gates are the distinctive ones of IEEE Std 91 (from memory), with a ring where a level is turned round; a
transistor is channel and gate plate, with a ring at the gate of a p channel and a heavy channel for a depletion load
(common practice).
"""

from collections.abc import Callable, Sequence
from xml.sax.saxutils import escape

from layoutdrill.value import mutable, value

STEP = 16
"""Pins stand so far apart."""
LEAD = 10
_BODY = 40
SHAPES = {"inverter": ("buffer", True), "buffer": ("buffer", False), "NAND": ("and", True), "AND": ("and", False),
          "NOR": ("or", True), "OR": ("or", False), "XOR": ("xor", False), "XNOR": ("xor", True)}  # fmt: skip
"""For each term, its number of inputs left out: the shape, and whether a ring stands at its output."""


@value
class Pin:
    """Where a net enters a symbol: an offset from its upper left corner, on its right side or its left."""

    x: int
    y: int
    right: bool
    net: str


Draw = Callable[[int, int], list[str]]


@mutable
class Symbol:
    """Something drawn with pins on its sides; `draw` gives its lines for a place. `column` counts from the left."""

    width: int
    height: int
    pins: Sequence[Pin]
    draw: Draw
    column: int = 0
    x: int = 0
    y: int = 0


def text_width(text: str, size: int = 11) -> int:
    """Return about how wide a text is, in the widest of the usual typefaces."""
    return int(len(text) * size * 0.64) + 1


def line(*points: int, width: float = 1) -> str:
    """Return a line through points x, y, x, y …"""
    path = " ".join(f"{x},{y}" for x, y in zip(points[::2], points[1::2], strict=True))
    heavy = f' stroke-width="{width:g}"' if width != 1 else ""
    return f'<polyline points="{path}" fill="none" stroke="black"{heavy}/>'


def wire(net: str, *points: int) -> str:
    """Return a line that says of which net it is part."""
    return line(*points).replace("<polyline", f'<polyline data-net="{escape(net, {chr(34): "&quot;"})}"', 1)


def ring(x: int, y: int, radius: int = 4) -> str:
    return f'<circle cx="{x}" cy="{y}" r="{radius}" fill="white" stroke="black"/>'


def dot(x: int, y: int) -> str:
    return f'<circle cx="{x}" cy="{y}" r="2.5"/>'


def text(x: int, y: int, words: str, anchor: str = "start", size: int = 11) -> str:
    """Return words whose middle line is at y."""
    sized = f' font-size="{size}"' if size != 11 else ""
    return f'<text x="{x}" y="{y + size * 3 // 8}" text-anchor="{anchor}"{sized}>{escape(words)}</text>'


def gate(shape: str, inputs: Sequence[str], output: str, *, turned: bool) -> Symbol:
    """Return a gate with its inputs on the left from above, its output on the right."""
    high = STEP * max(2, len(inputs))
    first = (high - STEP * (len(inputs) - 1)) // 2
    ys = [first + STEP * at for at in range(len(inputs))]
    wide = LEAD + _BODY + 8 + LEAD
    pins = [Pin(0, y, False, net) for y, net in zip(ys, inputs, strict=True)]
    pins.append(Pin(wide, high // 2, True, output))

    def draw(x: int, y: int) -> list[str]:
        left, right, middle = x + LEAD, x + LEAD + _BODY, y + high // 2
        lines = []
        for at in ys:
            share = at / high
            inset = round(24 * share * (1 - share)) if shape in ("or", "xor") else 0
            lines.append(line(x, y + at, left + inset, y + at))
        lines.append(f'<path d="{_outline(shape, left, y, high)}" fill="white" stroke="black"/>')
        if shape == "xor":
            lines.append(
                f'<path d="M{left - 6} {y} Q{left + 6} {middle} {left - 6} {y + high}" fill="none" stroke="black"/>'
            )
        lines.append(line(right + (8 if turned else 0), middle, x + wide, middle))
        return [*lines, ring(right + 4, middle)] if turned else lines

    return Symbol(wide, high, pins, draw)


def _outline(shape: str, x: int, y: int, high: int) -> str:
    right, middle = x + _BODY, y + high // 2
    if shape == "buffer":
        low, top = middle + 14, middle - 14
        return f"M{x} {top} L{right} {middle} L{x} {low} Z"
    if shape == "and":
        return f"M{x} {y} H{right - 20} A20 {high // 2} 0 0 1 {right - 20} {y + high} H{x} Z"
    return f"M{x} {y} Q{x + 26} {y} {right} {middle} Q{x + 26} {y + high} {x} {y + high} Q{x + 12} {middle} {x} {y} Z"


def switch(one: str, other: str, opens: str, shuts: str) -> Symbol:
    """Return a transmission gate: `opens` is on the gate of its n channel, `shuts` on that of its p channel."""
    pins = [Pin(0, 8, False, opens), Pin(0, 24, False, one), Pin(0, 40, False, shuts), Pin(64, 24, True, other)]

    def draw(x: int, y: int) -> list[str]:
        bow = f"M{x + 18} {y + 14} L{x + 46} {y + 24} L{x + 18} {y + 34} Z"
        tie = f"M{x + 46} {y + 14} L{x + 18} {y + 24} L{x + 46} {y + 34} Z"
        return [
            line(x, y + 24, x + 18, y + 24), line(x + 46, y + 24, x + 64, y + 24),
            line(x, y + 8, x + 32, y + 8, x + 32, y + 19), line(x, y + 40, x + 32, y + 40, x + 32, y + 36),
            *(f'<path d="{path}" fill="none" stroke="black"/>' for path in (bow, tie)), ring(x + 32, y + 33, 3),
        ]  # fmt: skip

    return Symbol(64, 48, pins, draw)


def lying(one: str, other: str, control: str, *, is_p: bool, heavy: bool) -> Symbol:
    """Return a transistor that lies in a signal's way, its gate above."""
    pins = [Pin(0, 8, False, control), Pin(0, 40, False, one), Pin(64, 40, True, other)]

    def draw(x: int, y: int) -> list[str]:
        top = y + (12 if is_p else 18)
        lines = [
            line(x, y + 8, x + 32, y + 8, x + 32, top), line(x + 22, y + 18, x + 42, y + 18),
            line(x + 20, y + 24, x + 44, y + 24, width=4 if heavy else 1.5),
            line(x, y + 40, x + 20, y + 40, x + 20, y + 24), line(x + 44, y + 24, x + 44, y + 40, x + 64, y + 40),
        ]  # fmt: skip
        return [*lines, ring(x + 32, y + 15, 3)] if is_p else lines

    return Symbol(64, 48, pins, draw)


def box(title: str, left: Sequence[tuple[str, str]], right: Sequence[tuple[str, str]]) -> Symbol:
    """Return a box with its name above its pins; a side is (name inside, net) from above."""
    wide = max(
        60,
        text_width(title) + 16,
        20 + max((text_width(n, 9) for n, _ in left), default=0) + max((text_width(n, 9) for n, _ in right), default=0),
    )
    wide = -(-wide // 8) * 8
    high = STEP * (max(len(left), len(right), 1) + 1) + 8
    pins = [Pin(0, 8 + STEP * at, False, net) for at, (_, net) in enumerate(left, 1)]
    pins += [Pin(wide, 8 + STEP * at, True, net) for at, (_, net) in enumerate(right, 1)]

    def draw(x: int, y: int) -> list[str]:
        lines = [f'<rect x="{x}" y="{y}" width="{wide}" height="{high}" fill="white" stroke="black"/>']
        lines.append(text(x + wide // 2, y + 10, title, "middle"))
        lines += [text(x + 4, y + 8 + STEP * at, name, size=9) for at, (name, _) in enumerate(left, 1)]
        lines += [text(x + wide - 4, y + 8 + STEP * at, name, "end", 9) for at, (name, _) in enumerate(right, 1)]
        return lines

    return Symbol(wide, high, pins, draw)


def port(net: str, *, right: bool) -> Symbol:
    """Return the name of a port with a pin towards the circuit; `right` says that it stands at the right edge."""
    wide = text_width(net) + 6
    pin = Pin(0 if right else wide, STEP // 2, not right, net)

    def draw(x: int, y: int) -> list[str]:
        return [text(x + 4, y + STEP // 2, net) if right else text(x + wide - 4, y + STEP // 2, net, "end")]

    return Symbol(wide, STEP, [pin], draw)


def two_ended(kind: str, label: str, one: str, other: str) -> Symbol:
    """Return a resistor, capacitor, diode or whatever else has two ends, lying, with its name above."""
    wide = max(64, text_width(label) + 8)
    wide = -(-wide // 8) * 8
    pins = [Pin(0, 24, False, one), Pin(wide, 24, True, other)]

    def draw(x: int, y: int) -> list[str]:
        a, b, at = x + wide // 2 - 14, x + wide // 2 + 14, y + 24
        if kind == "capacitor":
            a, b = a + 11, b - 11
            body = [line(a, at - 9, a, at + 9, width=2), line(b, at - 9, b, at + 9, width=2)]
        elif kind == "diode":
            a, b = a + 6, b - 6
            body = [f'<path d="M{a} {at - 8} L{b} {at} L{a} {at + 8} Z" stroke="black"/>', line(b, at - 8, b, at + 8)]
        else:
            body = [f'<rect x="{a}" y="{at - 5}" width="{b - a}" height="10" fill="white" stroke="black"/>']
        return [line(x, at, a, at), line(b, at, x + wide, at), *body, text(x + wide // 2, y + 7, label, "middle", 9)]

    return Symbol(wide, 40, pins, draw)
