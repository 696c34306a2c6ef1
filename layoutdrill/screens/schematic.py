"""
Draw a netlist's gates in characters: supply above, pull-up, output, pull-down, supply below; passes as rows under it.

A gate is drawn where pull-up and pull-down reduce to series and parallel alone; whatever does not is told as a row of
its own, so nothing is left out. Conventions of the drawing are common practice: a ring at the gate of a p transistor,
a heavy channel for a depletion load.
"""

from collections.abc import Sequence

from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.netlist.stages import One, Series, Stage, Tree, components, split_passes, stage_of
from layoutdrill.value import value

MOST_WIDE = 96


@value
class Block:
    """Lines of equal length; `spine` is the column where the channel enters above and leaves below."""

    lines: tuple[str, ...]
    spine: int

    @property
    def width(self) -> int:
        return len(self.lines[0])


def schematic(netlist: Netlist, supplies: tuple[str, str], width: int = MOST_WIDE) -> str:
    """
    Return the drawing; `supplies` are (low, high), gates stand side by side as far as `width` (characters) allows.

    The fingers of one transistor are drawn once, with their number; a gate wider than that is told in rows.
    """
    netlist = merge_fingers(netlist)
    passes, rest = split_passes(netlist, supplies)
    gates: list[Block] = []
    loose: list[Transistor] = []
    for part in components(rest, supplies):
        stage = stage_of(part, netlist, supplies)
        gate = _drawn_stage(stage, supplies) if stage is not None else None
        if gate is None or gate.width > width:
            loose += part
        else:
            gates.append(gate)
    rows = shelved(gates, width)
    rows += [_pass_row(ends, members) for ends, members in sorted(passes.items())]
    rows += [_loose_row(t) for t in sorted(loose, key=lambda t: t.name)]
    if gates and any(t.fingers > 1 for t in netlist.transistors):
        rows.append("×2, ×3 …: one transistor in that many fingers")
    return "\n".join(row.rstrip() for row in rows).rstrip("\n")


def drawn(tree: Tree) -> Block:
    """Draw a tree."""
    if isinstance(tree, One):
        return _symbol(tree.transistor)
    blocks = [drawn(part) for part in tree.parts]
    return _stacked(blocks) if isinstance(tree, Series) else _beside(blocks)


def _symbol(t: Transistor) -> Block:
    ring = "─○┤" if t.kind is Kind.P else "──┤"
    channel = "█" if t.mode is Mode.DEPLETION else "┃"
    left = f"{t.gate}{f'×{t.fingers}' if t.fingers > 1 else ''} {ring}"
    wire = " " * len(left) + "│"
    return Block((wire, left + channel, wire), len(left))


def _stacked(blocks: Sequence[Block]) -> Block:
    spine = max(block.spine for block in blocks)
    lines = [" " * (spine - block.spine) + text for block in blocks for text in block.lines]
    return Block(_squared(lines), spine)


def _squared(lines: Sequence[str]) -> tuple[str, ...]:
    wide = max(len(text) for text in lines)
    return tuple(text.ljust(wide) for text in lines)


def _beside(blocks: Sequence[Block]) -> Block:
    high = max(len(block.lines) for block in blocks)
    rows = [""] * high
    spines = []
    for block in blocks:
        at = len(rows[0]) + (2 if rows[0] else 0)
        spines.append(at + block.spine)
        tail = " " * block.spine + "│"
        lines = [*block.lines, *[tail] * (high - len(block.lines))]
        rows = [row.ljust(at) + text.ljust(block.width) for row, text in zip(rows, _squared(lines), strict=True)]
    middle = (spines[0] + spines[-1]) // 2
    wide = len(rows[0])
    return Block((_bar(spines, middle, wide, above=True), *rows, _bar(spines, middle, wide, above=False)), middle)


def _bar(spines: Sequence[int], middle: int, wide: int, *, above: bool) -> str:
    corner = {True: ("┌", "┐", "┬", "┴"), False: ("└", "┘", "┴", "┬")}[above]
    bar = [" "] * wide
    for at in range(spines[0], spines[-1] + 1):
        bar[at] = "─"
    for at in spines:
        bar[at] = corner[2]
    bar[spines[0]], bar[spines[-1]] = corner[0], corner[1]
    bar[middle] = "┼" if middle in spines[1:-1] else corner[3]
    return "".join(bar)


def _drawn_stage(stage: Stage, supplies: tuple[str, str]) -> Block:
    low, high = supplies
    out = stage.out
    above = drawn(stage.upper) if stage.upper is not None else None
    below = drawn(stage.lower) if stage.lower is not None else None
    spine = max(block.spine for block in (above, below) if block is not None)
    lines: list[str] = []
    if above is not None:
        lines.append(" " * max(0, spine - 3) + "━━━┯━━━ " + high if spine >= 3 else "━" * spine + "┯━━━ " + high)
        lines += [" " * (spine - above.spine) + text for text in above.lines]
    joint = "├" if above is not None and below is not None else "└" if above is not None else "┌"
    lines.append(" " * spine + joint + "──── " + out)
    if below is not None:
        lines += [" " * (spine - below.spine) + text for text in below.lines]
        lines.append(" " * max(0, spine - 3) + "━━━┷━━━ " + low if spine >= 3 else "━" * spine + "┷━━━ " + low)
    return Block(_squared(lines), spine)


def _pass_row(ends: tuple[str, str], members: Sequence[Transistor]) -> str:
    gates = ", ".join(f"{t.kind}’s gate is net {t.gate}" for t in sorted(members, key=lambda t: (str(t.kind), t.gate)))
    name = "transmission gate" if {t.kind for t in members} == {Kind.N, Kind.P} else "pass transistor"
    return f"{ends[0]} ──┤ ├── {ends[1]}   {name}: {gates}"


def _loose_row(t: Transistor) -> str:
    return f"{t.ends[0]} ──┤ ├── {t.ends[1]}   {t.model}, its gate is net {t.gate}"


def shelved(gates: Sequence[Block], width: int) -> list[str]:
    """Set gates side by side, beginning a new row of them where the width is used up."""
    shelves: list[list[Block]] = []
    for gate in gates:
        if shelves and sum(g.width + 4 for g in shelves[-1]) + gate.width <= width:
            shelves[-1].append(gate)
        else:
            shelves.append([gate])
    rows: list[str] = []
    for shelf in shelves:
        high = max(len(gate.lines) for gate in shelf)
        for at in range(high):
            cells = [(gate.lines[at] if at < len(gate.lines) else "").ljust(gate.width) for gate in shelf]
            rows.append("    ".join(cells))
        rows.append("")
    return rows
