"""Draw a structure by its parts, in characters: a box each, what it takes on the left, what it gives on the right."""

from collections import Counter
from collections.abc import Sequence

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.heading import sized
from layoutdrill.recognise.model import Structure
from layoutdrill.screens.schematic import Block, shelved

MOST_BOXES = 32
MOST_PINS = 10
LONGEST = 12
"""Names of nets are cut to so many characters."""


def block_schematic(parts: Sequence[Structure], width: int) -> str:
    """Return the boxes side by side as far as `width` allows; what is more than fits is told by its number."""
    lines = shelved([_box(s) for s in parts[:MOST_BOXES]], width)
    rest = Counter(sized(s) for s in parts[MOST_BOXES:])
    lines += [f"and {count} × {term}" for term, count in sorted(rest.items())]
    return "\n".join(line.rstrip() for line in lines).rstrip("\n")


def _box(s: Structure) -> Block:
    outputs = [p.net for p in s.ports if p.role is Role.OUTPUT]
    inputs = [p.net for p in s.ports if p.role is not Role.OUTPUT]
    left, right = _pins(inputs), _pins(outputs)
    title = sized(s)
    inside = len(title) + 2
    wide = max(map(len, left), default=0)
    pad = " " * (wide + 2)
    lines = [f"{pad}┌{'─' * inside}┐", f"{pad}│ {title} │"]
    for at in range(max(len(left), len(right))):
        before = f"{left[at]:>{wide}} ─┤" if at < len(left) else f"{pad}│"
        after = f"├─ {right[at]}" if at < len(right) else "│"
        lines.append(f"{before}{' ' * inside}{after}")
    lines.append(f"{pad}└{'─' * inside}┘")
    most = max(map(len, lines))
    return Block(tuple(line.ljust(most) for line in lines), 0)


def _pins(nets: Sequence[str]) -> list[str]:
    shown = [n if len(n) <= LONGEST else f"{n[: LONGEST - 1]}…" for n in nets[:MOST_PINS]]
    return [*shown, f"+{len(nets) - MOST_PINS}"] if len(nets) > MOST_PINS else shown
