"""Draw a stage by its transistors: the high rail above, the low one below, the output to the right between them."""

from collections.abc import Sequence

from layoutdrill.export.symbols import Pin, Symbol, line, ring, text, text_width
from layoutdrill.netlist.model import Kind, Mode, Transistor
from layoutdrill.netlist.stages import One, Parallel, Series, Stage, Tree
from layoutdrill.value import value

HIGH = 40
"""A transistor from end to end."""
_GAP = 14


@value
class _Drawn:
    """A tree with its ends above and below at `spine`, counted from its left edge."""

    width: int
    height: int
    spine: int
    tree: Tree
    parts: "tuple[_Drawn, ...]" = ()


def stage(drawn: Stage, high: str, low: str) -> Symbol:
    """Return a stage; the names of the nets on its gates stand at them, its output is a pin."""
    upper = _measured(drawn.upper) if drawn.upper is not None else None
    lower = _measured(drawn.lower) if drawn.lower is not None else None
    both = [part for part in (upper, lower) if part is not None]
    spine = -(-max(20, *(part.spine for part in both)) // 8) * 8
    wide = spine + max(24, *(part.width - part.spine for part in both)) + 12
    middle = 24 + (upper.height if upper is not None else 0)
    middle = -(-middle // 8) * 8
    total = middle + (lower.height + 24 if lower is not None else 16)

    def draw(x: int, y: int) -> list[str]:
        at = x + spine
        lines = [line(at, y + middle, x + wide, y + middle)]
        if upper is not None:
            top = y + middle - upper.height
            lines += [line(at - 14, y + 16, at + 14, y + 16, width=2), text(at, y + 7, high, "middle", 9)]
            lines += [line(at, y + 16, at, top), *_lines(upper, at - upper.spine, top)]
        if lower is not None:
            bottom = y + middle + lower.height
            lines += [*_lines(lower, at - lower.spine, y + middle), line(at, bottom, at, bottom + 4)]
            lines += [line(at - 14, bottom + 4, at + 14, bottom + 4, width=2), text(at, bottom + 13, low, "middle", 9)]
        joined = sum(1 for part in (upper, lower) if part is not None) + 1
        return [*lines, f'<circle cx="{at}" cy="{y + middle}" r="2.5"/>'] if joined > 2 else lines

    return Symbol(wide, total, [Pin(wide, middle, True, drawn.out)], draw)


def _measured(tree: Tree) -> _Drawn:
    if isinstance(tree, One):
        tied = tree.transistor.gate in tree.transistor.ends
        left = 34 if tied else 30 + text_width(tree.transistor.gate)
        return _Drawn(left + 2, HIGH, left, tree)
    parts = tuple(_measured(part) for part in tree.parts)
    if isinstance(tree, Series):
        spine = max(part.spine for part in parts)
        wide = spine + max(part.width - part.spine for part in parts)
        return _Drawn(wide, sum(part.height for part in parts), spine, tree, parts)
    wide = sum(part.width for part in parts) + _GAP * (len(parts) - 1)
    ends = _spines(parts)
    return _Drawn(wide, max(part.height for part in parts) + 16, (ends[0] + ends[-1]) // 2, tree, parts)


def _spines(parts: Sequence[_Drawn]) -> list[int]:
    at, spines = 0, []
    for part in parts:
        spines.append(at + part.spine)
        at += part.width + _GAP
    return spines


def _lines(d: _Drawn, x: int, y: int) -> list[str]:
    """Draw a tree with its upper left corner at x, y."""
    if isinstance(d.tree, One):
        return _transistor(d.tree.transistor, x + d.spine, y)
    lines = []
    if isinstance(d.tree, Series):
        for part in d.parts:
            lines += _lines(part, x + d.spine - part.spine, y)
            y += part.height
        return lines
    assert isinstance(d.tree, Parallel)
    spines = [x + at for at in _spines(d.parts)]
    bottom = y + d.height
    for part, at in zip(d.parts, spines, strict=True):
        lines += _lines(part, at - part.spine, y + 8)
        lines += [line(at, y + 8 + part.height, at, bottom - 8), line(at, y + 8, at, y + 8)]
    middle = x + d.spine
    for level, end in ((y + 8, y), (bottom - 8, bottom)):
        lines += [line(spines[0], level, spines[-1], level), line(middle, level, middle, end)]
    return lines


def _transistor(t: Transistor, x: int, y: int) -> list[str]:
    """Draw a transistor upright, from x, y down; a gate on one of its own ends is led there."""
    heavy = 4 if t.mode is Mode.DEPLETION else 1.5
    lines = [
        line(x, y, x, y + 12, x - 6, y + 12), line(x - 6, y + 28, x, y + 28, x, y + HIGH),
        line(x - 6, y + 10, x - 6, y + 30, width=heavy), line(x - 11, y + 11, x - 11, y + 29),
    ]  # fmt: skip
    start = x - 17 if t.kind is Kind.P else x - 11
    if t.gate in t.ends:
        to = y + HIGH if t.kind is Kind.N and t.mode is Mode.DEPLETION else y
        lines.append(line(start, y + 20, x - 24, y + 20, x - 24, to, x, to))
    else:
        lines += [line(start, y + 20, x - 24, y + 20), text(x - 26, y + 20, t.gate, "end")]
    return [*lines, ring(x - 14, y + 20, 3)] if t.kind is Kind.P else lines
