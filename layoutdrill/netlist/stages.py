"""
Take a netlist's transistors apart into stages of series and parallel, round the net that each drives.

What passes signals on, with no end on a supply, is set apart first.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.value import value


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
class Stage:
    """What pulls a net up and what pulls it down, each a tree or None."""

    out: str
    upper: Tree | None
    lower: Tree | None


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


def stage_of(part: Sequence[Transistor], netlist: Netlist, supplies: tuple[str, str]) -> Stage | None:
    """Return a component as one stage round its output, or None; `supplies` are (low, high)."""
    low, high = supplies
    gates = {t.gate for t in netlist.transistors}
    nets = {net for t in part for net in t.ends} - set(supplies)
    leading_on = {net for net in nets if net in netlist.ports or net in gates} or nets
    for out in sorted(leading_on, key=lambda net: (net not in netlist.ports, net)):
        pieces = components(part, (low, high, out))
        up = [t for piece in pieces for t in piece if _touches(piece, high) and not _touches(piece, low)]
        down = [t for piece in pieces for t in piece if _touches(piece, low) and not _touches(piece, high)]
        if len(up) + len(down) != len(part):
            continue
        upper = reduced(((*t.ends, One(t)) for t in up), high, out) if up else None
        lower = reduced(((*t.ends, One(t)) for t in down), out, low) if down else None
        if (up and upper is None) or (down and lower is None) or not (up or down):
            continue
        return Stage(out, upper, lower)
    return None


def _touches(piece: Sequence[Transistor], net: str) -> bool:
    return any(net in t.ends for t in piece)


def components(transistors: Sequence[Transistor], cut: Sequence[str]) -> list[list[Transistor]]:
    """Group transistors joined by source or drain, not through the nets in `cut`."""
    groups: list[tuple[set[str], list[Transistor]]] = []
    for t in transistors:
        nets = {net for net in t.ends if net not in cut}
        hit = [group for group in groups if group[0] & nets]
        merged = (nets.union(*(g[0] for g in hit)), [m for g in hit for m in g[1]] + [t])
        groups = [g for g in groups if g not in hit] + [merged]
    return [members for _, members in groups]


def split_passes(
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
