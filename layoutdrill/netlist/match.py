"""
Find the match between two netlists' graphs, or learn that there is none.

Refinement decides nearly all; where nodes still look alike (a symmetric circuit, an array), one of A is singled out
with one of B and refinement goes on. When that fails the choice is undone and the next one tried; a choice made in a
part that does not touch the failing one is passed over. Source: individualisation and refinement for netlists,
Ebeling 1988 (from memory).
"""

from collections.abc import Iterator, Sequence

from layoutdrill.netlist.graph import PLAIN, ROLES, Graph
from layoutdrill.netlist.partition import Partition
from layoutdrill.value import mutable

EFFORT = 20_000_000  # nodes reached by splits after the first failure, some 20 s, before giving up


class UndecidedError(Exception):
    """The search was given up: no match was found, and none was ruled out."""


@mutable
class _Choice:
    """A node of A that was singled out; `classes` is the partition's length before, `rest` what else to try."""

    a: int
    classes: int
    open: "_Open"
    first: int
    rest: Iterator[int] | None = None


_Open = tuple[int, "_Open"] | None  # the classes that may hold more than one pair, newest first


def find_match(graph: Graph, effort: int = EFFORT) -> list[int] | None:
    """
    Return the node of B for each of A (at its number; -1 at the numbers of B), or None when the netlists differ.

    Raises UndecidedError after `effort`, which only graphs made to mislead refinement are known to need.
    """
    a_nets, b_nets = len(graph.a.nets), len(graph.b.nets)
    if sorted(graph.a.types) != sorted(graph.b.types) or a_nets != b_nets:
        return None
    colours, stable = first_colours(graph)
    if not _balanced(graph, colours):
        return None
    if 2 * max(colours, default=-1) + 2 == len(colours):
        match = _by_colour(graph, colours)
    else:
        partition = Partition(graph, colours, stable=stable)
        if not partition.refine() or not _search(partition, effort):
            return None
        match = [-1] * len(colours)
        for at in partition.start:
            match[partition.ours[at]] = partition.theirs[at]
    assert _holds(graph, match), "a stable partition without ties is a match"
    return match


def first_colours(graph: Graph) -> tuple[list[int], bool]:
    """
    Colour all nodes by what lies around them, in whole rounds while those tell many more apart.

    Returns the colours, numbered from 0 with no gap, and whether a round has told no more apart.
    """
    edges, nets = graph.edges, graph.net_count
    colour = [*([0] * nets), *graph.types]
    for number, (one, other) in enumerate(graph.pinned, 1):
        colour[one] = colour[other] = -number
    fixed = {net for pair in graph.pinned for net in pair}
    free = [net for net in range(nets) if net not in fixed]
    classes = 0
    while True:
        devices: dict[tuple[int, ...], int] = {}
        for node in range(nets, len(edges)):
            pins = edges[node]
            if len(pins) == PLAIN:  # as in _around, written out: this is most of the work
                low, high = colour[pins[1] // ROLES], colour[pins[2] // ROLES]
                gate = colour[pins[0] // ROLES]
                key: tuple[int, ...] = (
                    (colour[node], gate, low, high) if low <= high else (colour[node], gate, high, low)
                )
            else:
                key = (colour[node], *_around(pins, colour))
            colour[node] = devices.setdefault(key, len(devices))
        numbers: dict[tuple[int, ...], int] = {}
        for node in free:
            around = sorted([colour[e // ROLES] * ROLES + e % ROLES for e in edges[node]])
            colour[node] = numbers.setdefault((colour[node], *around), len(numbers))
        classes_now = len(devices) + len(numbers) + len(graph.pinned)
        discrete = 2 * classes_now == len(edges)
        if classes_now < classes * 1.2 or discrete:
            break
        classes = classes_now
    base = len(numbers)
    for node in range(nets, len(edges)):
        colour[node] += base
    for number, (one, other) in enumerate(graph.pinned):
        colour[one] = colour[other] = base + len(devices) + number
    return colour, discrete or classes_now == classes


def _around(pins: Sequence[int], colour: Sequence[int]) -> tuple[int, ...]:
    """Return what a device's terminals lie on, the same for all orders of those that may be exchanged."""
    if len(pins) == PLAIN:
        low, high = colour[pins[1] // ROLES], colour[pins[2] // ROLES]
        return (colour[pins[0] // ROLES], low, high) if low <= high else (colour[pins[0] // ROLES], high, low)
    return tuple(sorted([colour[e // ROLES] * ROLES + e % ROLES for e in pins]))


def _balanced(graph: Graph, colours: Sequence[int]) -> bool:
    """Tell whether every colour is as frequent in A as in B."""
    counts = [0] * (max(colours, default=0) + 1)
    for colour, ours in zip(colours, graph.sides(), strict=True):
        counts[colour] += 1 if ours else -1
    return not any(counts)


def _by_colour(graph: Graph, colours: Sequence[int]) -> list[int]:
    """Match the two nodes of each colour, where every one has just one on either side."""
    theirs = [0] * len(colours)
    for nodes in graph.nodes_of_b():
        for node in nodes:
            theirs[colours[node]] = node
    match = [-1] * len(colours)
    for nodes in graph.nodes_of_a():
        for node in nodes:
            match[node] = theirs[colours[node]]
    return match


def _search(partition: Partition, effort: int) -> bool:
    """Single nodes out until every class is one pair; False when no choice leads there."""
    stack: list[_Choice] = []
    tied: _Open = None
    for kind in range(len(partition.start)):
        if partition.pairs(kind) > 1:
            tied = (kind, tied)
    noted = len(partition.start)
    failed = False
    while True:
        for kind in range(noted, len(partition.start)):
            if partition.pairs(kind) > 1:
                tied = (kind, tied)
        while tied is not None and partition.pairs(tied[0]) == 1:
            tied = tied[1]
        if tied is None:
            return True
        kind = tied[0]
        choice = _Choice(
            partition.ours[partition.start[kind]], len(partition.start), tied, partition.theirs[partition.start[kind]]
        )
        stack.append(choice)
        noted = len(partition.start)
        partition.single_out(choice.a, choice.first)
        good = partition.refine()
        while not good:
            if not failed:
                failed, partition.touched = True, 0
            elif partition.touched > effort:
                raise UndecidedError
            retry = _next_try(partition, stack)
            if retry is None:
                return False
            choice, other = retry
            tied, noted = choice.open, choice.classes
            partition.single_out(choice.a, other)
            good = partition.refine()


def _next_try(partition: Partition, stack: list[_Choice]) -> tuple[_Choice, int] | None:
    """Undo choices up to one that has something left to try and to do with the failure; None when there is none."""
    blamed: int | None = None
    while stack:
        choice = stack[-1]
        partition.undo(choice.classes)
        if blamed is None or choice.a in _part(partition, blamed):
            if choice.rest is None:
                choice.rest = iter([n for n in partition.b_of(partition.of[choice.a]) if n != choice.first])
            other = next(choice.rest, None)
            if other is not None:
                return choice, other
            blamed = choice.a
        stack.pop()
    return None


def _part(partition: Partition, node: int) -> set[int]:
    """Return the nodes that hang together with `node` over others not yet matched."""
    part = {node}
    todo = [node]
    while todo:
        for edge in partition.edges[todo.pop()]:
            other = edge // ROLES
            if other not in part and partition.pairs(partition.of[other]) > 1:
                part.add(other)
                todo.append(other)
    partition.touched += len(part)
    return part


def _holds(graph: Graph, match: list[int]) -> bool:
    """Check a match device by device, whatever found it."""
    edges, nets = graph.edges, graph.net_count
    itself = range(len(edges))
    first_b = nets + len(graph.a.types)
    for at, (kind, pins) in enumerate(zip(graph.a.types, graph.a.pins, strict=True), nets):
        other = match[at]
        if graph.b.types[other - first_b] != kind or _around(pins, match) != _around(edges[other], itself):
            return False
    return True
