"""Recognise transistors in the joined pieces, with their sizes; still in numbers, not names."""

from collections.abc import Sequence
from typing import NamedTuple

from layoutdrill.extract.model import Finding, FindingKind
from layoutdrill.extract.pieces import Pieces
from layoutdrill.extract.wiring import Wiring
from layoutdrill.geometry.rect import box_round
from layoutdrill.geometry.sweep import Node, meeting_nodes
from layoutdrill.process.model import SUBSTRATE, Process, TransistorRule


class RawTransistor(NamedTuple):
    """A transistor before naming: nets are nodes, sizes in grid units; `body` is −1 where there is none."""

    rule: TransistorRule
    channel: tuple[int, ...]
    gate: int
    source: int
    drain: int
    body: int
    length: float
    width: float


Side = tuple[int, int, int, int]
"""A stretch of a channel's edge: (root of the piece of end material, length, channel node, end node)."""


def gather_sides(wiring: Wiring) -> dict[int, list[Side]]:
    """Group the abutments by channel; call it before cuts join the ends into nets."""
    sides_of: dict[int, list[Side]] = {}
    find = wiring.find
    for inner, outer, length in wiring.abutments:
        side = (find(outer), length, inner, outer)
        root = find(inner)
        try:
            sides_of[root].append(side)
        except KeyError:
            sides_of[root] = [side]
    return sides_of


class _Recogniser:
    """One channel region and the rules that may apply to it."""

    def __init__(
        self,
        wiring: Wiring,
        pieces: Pieces,
        rules: list[TransistorRule],
        sides: dict[int, list[Side]],
        findings: list[Finding],
    ) -> None:
        self.wiring = wiring
        self.sides = sides
        self.findings = findings
        index = wiring.plan.index
        self.by_end = {index(rule.ends): rule for rule in reversed(rules)}
        channels = wiring.plan.index(rules[0].channel)
        self.over = {name: _lying_over(wiring, pieces, channels, name) for name in {rule.gate for rule in rules}}
        wells = {rule.body for rule in rules if rule.body is not None and rule.body != SUBSTRATE}
        self.under = {name: _lying_over(wiring, pieces, channels, name) for name in wells}

    def find(self, root: int, members: list[Node]) -> RawTransistor | None:
        sides = self.sides.get(root)
        if sides is None:
            return self.refuse(FindingKind.PARTIAL_GATE, "a gate with no diffusion beside it", members)
        material = self.wiring.material
        ends: dict[int, int] = {}
        kinds = set()
        for end, edge, _, outer in sides:
            ends[end] = ends.get(end, 0) + edge
            kinds.add(material[outer])
        rule = self.by_end.get(next(iter(kinds)))
        if len(kinds) > 1 or rule is None:
            problem = (
                "diffusion of both kinds at one channel"
                if len(kinds) > 1
                else "diffusion of the wrong kind at a channel"
            )
            return self.refuse(FindingKind.MIXED_CHANNEL, problem, members)
        pair = list(ends.items())
        if len(pair) == 1:
            runs = _runs(self.wiring.nodes, sides)
            if len(runs) != 2:
                problem = f"{rule.gate} crosses the diffusion only in part"
                return self.refuse(FindingKind.PARTIAL_GATE, problem, members)
            pair = [(pair[0][0], runs[0]), (pair[0][0], runs[1])]
        elif len(pair) > 2:
            nets = self.by_net(pair)
            problem = "one transistor between two nets" if len(nets) == 2 else f"{len(nets)} nets: no transistor"
            problem = f"a gate with {len(pair)} pieces of diffusion round it, {problem}"
            self.tell(FindingKind.BRANCHED_GATE, problem, members)
            if len(nets) != 2:
                return None
            pair = nets
        (source, edge_a), (drain, edge_b) = pair
        length, width = _size(self.wiring.nodes, members, sides, edge_a, edge_b)
        gate = _first(self.over[rule.gate], members)
        if gate < 0:
            return self.refuse(FindingKind.FLOATING_GATE, f"a channel with no {rule.gate} over it", members)
        body = -1
        if rule.body == SUBSTRATE:
            body = self.wiring.substrate
        elif rule.body is not None:
            body = _first(self.under[rule.body], members)
        return RawTransistor(rule, tuple(node[4] for node in members), gate, source, drain, body, length, width)

    def by_net(self, pair: list[tuple[int, int]]) -> list[tuple[int, int]]:
        nets: dict[int, int] = {}
        for end, edge in pair:
            net = self.wiring.find(end)
            nets[net] = nets.get(net, 0) + edge
        return list(nets.items())

    def refuse(self, kind: FindingKind, text: str, members: list[Node]) -> RawTransistor | None:
        self.tell(kind, f"{text}: no transistor", members)
        return None

    def tell(self, kind: FindingKind, text: str, members: list[Node]) -> None:
        self.findings.append(Finding(kind, text, box_round(members)))


def transistors(
    wiring: Wiring, process: Process, pieces: Pieces, sides: dict[int, list[Side]]
) -> tuple[list[RawTransistor], list[Finding]]:
    """Return the transistors and what is odd about channels."""
    devices: list[RawTransistor] = []
    findings: list[Finding] = []
    by_channel: dict[str, list[TransistorRule]] = {}
    for rule in process.transistors:
        by_channel.setdefault(rule.channel, []).append(rule)
    for channel, rules in by_channel.items():
        recogniser = _Recogniser(wiring, pieces, rules, sides, findings)
        groups: dict[int, list[Node]] = {}
        for node in wiring.of(channel):
            groups.setdefault(wiring.find(node[4]), []).append(node)
        for root, members in groups.items():
            device = recogniser.find(root, members)
            if device is not None:
                devices.append(device)
    return devices, findings


def _lying_over(wiring: Wiring, pieces: Pieces, channels: int, name: str) -> dict[int, int]:
    """Map a channel piece to a node of the named conductor that shares area with it."""
    known = pieces.covered_by(channels, wiring.plan.index(name))
    if known is not None:
        return known
    marks = {node[4] for node in wiring.members[channels]}
    right = [pieces.slabs_of(wiring.plan.index(name))]
    below: dict[int, int] = {}
    for a, b in meeting_nodes(pieces.slabs_of(channels), right, pieces.height, marks):
        below[a[4]] = b[4]
    return below


def _first(over: dict[int, int], members: list[Node]) -> int:
    return next((over[node[4]] for node in members if node[4] in over), -1)


def _size(
    nodes: Sequence[Node], members: list[Node], sides: list[Side], edge_a: int, edge_b: int
) -> tuple[float, float]:
    """
    Return length and width of a channel.

    W is the mean of the two edges. L is the distance between them when they lie on opposite sides of a rectangle,
    else (bent, closed, stepped) the area over W.
    """
    width = (edge_a + edge_b) / 2
    area = sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1, _ in members)
    if edge_a != edge_b:
        place = members[0] if len(members) == 1 else box_round(members)
        if area == (place[2] - place[0]) * (place[3] - place[1]):
            straight = _straight_length(nodes, sides, place[2] - place[0], place[3] - place[1])
            if straight:
                return straight, width
    return area / width, width


def _straight_length(nodes: Sequence[Node], sides: list[Side], across: int, up: int) -> int:
    """Return the distance between the edges when they lie on opposite sides of a rectangular channel, else 0."""
    where: dict[str, set[int]] = {}
    for end, _, inner, outer in sides:
        where.setdefault(_side(nodes[inner], nodes[outer]), set()).add(end)
    if any(len(ends) > 1 for ends in where.values()):
        return 0
    if where.keys() == {"west", "east"}:
        return across
    if where.keys() == {"south", "north"}:
        return up
    return 0


def _side(inner: Node, outer: Node) -> str:
    if outer[2] == inner[0]:
        return "west"
    if outer[0] == inner[2]:
        return "east"
    return "south" if outer[3] == inner[1] else "north"


def _runs(nodes: Sequence[Node], sides: list[Side]) -> list[int]:
    """Return the lengths of the connected stretches of edge between a channel and one piece of diffusion."""
    segments = [_segment(nodes[inner], nodes[outer]) for _, _, inner, outer in sides]
    group = list(range(len(segments)))
    at: dict[tuple[int, int], int] = {}
    for i, segment in enumerate(segments):
        for point in segment:
            if point in at:
                old, new = group[i], group[at[point]]
                group = [new if g == old else g for g in group]
            else:
                at[point] = i
    lengths: dict[int, int] = {}
    for g, ((xa, ya), (xb, yb)) in zip(group, segments, strict=True):
        lengths[g] = lengths.get(g, 0) + xb - xa + yb - ya
    return list(lengths.values())


def _segment(a: Node, b: Node) -> tuple[tuple[int, int], tuple[int, int]]:
    return (max(a[0], b[0]), max(a[1], b[1])), (min(a[2], b[2]), min(a[3], b[3]))
