"""
Draw a netlist's gates in characters: supply above, pull-up, output, pull-down, supply below; passes as rows under it.

A gate is drawn where pull-up and pull-down reduce to series and parallel alone; whatever does not is told as a row of
its own, so nothing is left out. Conventions of the drawing are common practice: a ring at the gate of a p transistor,
a heavy channel for a depletion load.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.value import value

MOST_WIDE = 96


@value
class One:
    """A single transistor, drawn with its gate on the left."""

    transistor: Transistor


@value
class Series:
    """Parts one above the other."""

    parts: "tuple[Tree, ...]"


@value
class Parallel:
    """Parts side by side."""

    parts: "tuple[Tree, ...]"


Tree = One | Series | Parallel


@value
class Block:
    """Lines of equal length; `spine` is the column where the channel enters above and leaves below."""

    lines: tuple[str, ...]
    spine: int

    @property
    def width(self) -> int:
        return len(self.lines[0])


def schematic(netlist: Netlist, supplies: tuple[str, str], width: int = MOST_WIDE) -> str:
    """Return the drawing; `supplies` are (low, high), gates stand side by side as far as `width` allows."""
    passes, rest = _split_passes(netlist, supplies)
    gates: list[Block] = []
    loose: list[Transistor] = []
    for part in _components(rest, supplies):
        gate = _gate(part, netlist, supplies)
        if gate is None:
            loose += part
        else:
            gates.append(gate)
    rows = shelved(gates, width)
    rows += [_pass_row(ends, members) for ends, members in sorted(passes.items())]
    rows += [_loose_row(t) for t in sorted(loose, key=lambda t: t.name)]
    return "\n".join(row.rstrip() for row in rows).rstrip("\n")


def reduced(edges: Iterable[tuple[str, str, Tree]], top: str, bottom: str) -> Tree | None:
    """Return the edges between two nets as one tree of series and parallel, or None where they are more than that."""
    work = [(a, b, tree) for a, b, tree in edges]
    changed = True
    while changed and len(work) > 1:
        changed = _merge_parallel(work) or _merge_series(work, {top, bottom})
    if len(work) != 1:
        return None
    a, b, tree = work[0]
    if (a, b) == (top, bottom):
        return tree
    return flipped(tree) if (a, b) == (bottom, top) else None


def _merge_parallel(work: list[tuple[str, str, Tree]]) -> bool:
    seen: dict[frozenset[str], int] = {}
    for at, (a, b, tree) in enumerate(work):
        pair = frozenset((a, b))
        if pair in seen:
            a0, b0, first = work[seen[pair]]
            other = tree if (a, b) == (a0, b0) else flipped(tree)
            work[seen[pair]] = (a0, b0, Parallel((*_parts(first, Parallel), *_parts(other, Parallel))))
            del work[at]
            return True
        seen[pair] = at
    return False


def _merge_series(work: list[tuple[str, str, Tree]], kept: set[str]) -> bool:
    at_net: dict[str, list[int]] = defaultdict(list)
    for at, (a, b, _) in enumerate(work):
        at_net[a].append(at)
        at_net[b].append(at)
    for net, places in at_net.items():
        if net in kept or len(places) != 2 or places[0] == places[1]:
            continue
        (a, b, first), (c, d, second) = work[places[0]], work[places[1]]
        if b != net:
            a, first = b, flipped(first)
        if c != net:
            d, second = c, flipped(second)
        work[places[0]] = (a, d, Series((*_parts(first, Series), *_parts(second, Series))))
        del work[places[1]]
        return True
    return False


def flipped(tree: Tree) -> Tree:
    """Return the tree seen from its other end."""
    if isinstance(tree, Series):
        return Series(tuple(flipped(part) for part in reversed(tree.parts)))
    if isinstance(tree, Parallel):
        return Parallel(tuple(flipped(part) for part in tree.parts))
    return tree


def _parts(tree: Tree, kind: type) -> "tuple[Tree, ...]":
    return tree.parts if isinstance(tree, (Series, Parallel)) and isinstance(tree, kind) else (tree,)


def drawn(tree: Tree) -> Block:
    """Draw a tree."""
    if isinstance(tree, One):
        return _symbol(tree.transistor)
    blocks = [drawn(part) for part in tree.parts]
    return _stacked(blocks) if isinstance(tree, Series) else _beside(blocks)


def _symbol(t: Transistor) -> Block:
    ring = "─○┤" if t.kind is Kind.P else "──┤"
    channel = "█" if t.mode is Mode.DEPLETION else "┃"
    left = f"{t.gate} {ring}"
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


def _gate(part: Sequence[Transistor], netlist: Netlist, supplies: tuple[str, str]) -> Block | None:
    """Draw a component as one gate round its output, or return None."""
    low, high = supplies
    gates = {t.gate for t in netlist.transistors}
    nets = {net for t in part for net in t.ends} - set(supplies)
    leading_on = {net for net in nets if net in netlist.ports or net in gates} or nets
    for out in sorted(leading_on, key=lambda net: (net not in netlist.ports, net)):
        pieces = _components(part, (low, high, out))
        up = [t for piece in pieces for t in piece if _touches(piece, high) and not _touches(piece, low)]
        down = [t for piece in pieces for t in piece if _touches(piece, low) and not _touches(piece, high)]
        if len(up) + len(down) != len(part):
            continue
        upper = reduced(((*t.ends, One(t)) for t in up), high, out) if up else None
        lower = reduced(((*t.ends, One(t)) for t in down), out, low) if down else None
        if (up and upper is None) or (down and lower is None) or not (up or down):
            continue
        return _whole_gate(upper, lower, out, supplies)
    return None


def _touches(piece: Sequence[Transistor], net: str) -> bool:
    return any(net in t.ends for t in piece)


def _whole_gate(upper: Tree | None, lower: Tree | None, out: str, supplies: tuple[str, str]) -> Block:
    low, high = supplies
    above = drawn(upper) if upper is not None else None
    below = drawn(lower) if lower is not None else None
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


def _components(transistors: Sequence[Transistor], cut: Sequence[str]) -> list[list[Transistor]]:
    """Group transistors joined by source or drain, not through the nets in `cut`."""
    groups: list[tuple[set[str], list[Transistor]]] = []
    for t in transistors:
        nets = {net for net in t.ends if net not in cut}
        hit = [group for group in groups if group[0] & nets]
        merged = (nets.union(*(g[0] for g in hit)), [m for g in hit for m in g[1]] + [t])
        groups = [g for g in groups if g not in hit] + [merged]
    return [members for _, members in groups]


def _split_passes(
    netlist: Netlist, supplies: tuple[str, str]
) -> tuple[dict[tuple[str, str], list[Transistor]], list[Transistor]]:
    """Set apart what passes signals: neither end on a supply, and both ends nets that are used elsewhere."""
    used = {t.gate for t in netlist.transistors} | set(netlist.ports)
    passes: dict[tuple[str, str], list[Transistor]] = defaultdict(list)
    kinds: dict[tuple[str, str], set[Kind]] = defaultdict(set)
    for t in netlist.transistors:
        kinds[t.ends].add(t.kind)
    rest = []
    for t in netlist.transistors:
        inside = not set(t.ends) & set(supplies)
        if inside and t.ends[0] != t.ends[1] and (len(kinds[t.ends]) == 2 or (t.ends[0] in used and t.ends[1] in used)):
            passes[t.ends].append(t)
        else:
            rest.append(t)
    return passes, rest


def _pass_row(ends: tuple[str, str], members: Sequence[Transistor]) -> str:
    gates = ", ".join(f"{t.kind} gate {t.gate}" for t in sorted(members, key=lambda t: (str(t.kind), t.gate)))
    name = "transmission gate" if {t.kind for t in members} == {Kind.N, Kind.P} else "pass transistor"
    return f"{ends[0]} ──┤ ├── {ends[1]}   {name}: {gates}"


def _loose_row(t: Transistor) -> str:
    return f"{t.ends[0]} ──┤ ├── {t.ends[1]}   {t.model}, gate {t.gate}"


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
