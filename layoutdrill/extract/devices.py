"""Recognise transistors and elements in the joined pieces, with their sizes; still in numbers, not names."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from layoutdrill.extract.model import Finding, FindingKind
from layoutdrill.extract.wiring import Wiring
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.sweep import Box, meeting
from layoutdrill.process.model import SUBSTRATE, Process, TransistorRule


@dataclass(frozen=True, slots=True)
class RawTransistor:
    """A transistor before naming: nets are nodes, sizes in grid units; `body` is −1 where there is none."""

    rule: TransistorRule
    channel: tuple[int, ...]
    gate: int
    source: int
    drain: int
    body: int
    length: float
    width: float


@dataclass(frozen=True, slots=True)
class Sides:
    """The ends round one channel or body: for each piece of end material, its edge length."""

    edges: dict[int, int]
    pairs: list[tuple[int, int]]


def gather_sides(wiring: Wiring) -> dict[int, Sides]:
    """Group the abutments by channel, and by piece of end; call it before cuts join the ends into nets."""
    found: dict[int, Sides] = {}
    inners = wiring.plan.inners
    for a, b, length in wiring.abutments:
        inner, outer = (a, b) if wiring.material[a] in inners else (b, a)
        root, end = wiring.find(inner), wiring.find(outer)
        sides = found.get(root)
        if sides is None:
            found[root] = Sides({end: length}, [(inner, outer)])
        else:
            sides.edges[end] = sides.edges.get(end, 0) + length
            sides.pairs.append((inner, outer))
    return found


def transistors(wiring: Wiring, process: Process, sides: dict[int, Sides]) -> tuple[list[RawTransistor], list[Finding]]:
    found: list[RawTransistor] = []
    findings: list[Finding] = []
    by_channel: dict[str, list[TransistorRule]] = {}
    for rule in process.transistors:
        by_channel.setdefault(rule.channel, []).append(rule)
    for channel, rules in by_channel.items():
        nodes = wiring.nodes(channel)
        groups: dict[int, list[int]] = {}
        for n in nodes:
            groups.setdefault(wiring.find(n), []).append(n)
        under = _lying_under(wiring, nodes, {rule.gate for rule in rules})
        wells = _lying_under(wiring, nodes, {rule.body for rule in rules if rule.body not in (None, SUBSTRATE)})
        for root, members in groups.items():
            _recognise(wiring, rules, members, sides.get(root), under, wells, found, findings)
    return found, findings


def _lying_under(wiring: Wiring, nodes: range, names: Iterable[str | None]) -> dict[int, dict[int, int]]:
    """Map a channel piece to the nodes of the named conductors that it overlaps: {piece: {material: node}}."""
    result: dict[int, dict[int, int]] = {}
    for name in names:
        if name is None:
            continue
        m = wiring.plan.index(name)
        for a, b in meeting(wiring.boxes, nodes, wiring.nodes(name)):
            result.setdefault(a, {})[m] = b
    return result


def _recognise(
    wiring: Wiring,
    rules: Sequence[TransistorRule],
    members: list[int],
    sides: Sides | None,
    gates: dict[int, dict[int, int]],
    wells: dict[int, dict[int, int]],
    found: list[RawTransistor],
    findings: list[Finding],
) -> None:
    boxes = wiring.boxes
    place = _box(boxes[n] for n in members)
    if sides is None:
        findings.append(_finding(FindingKind.PARTIAL_GATE, "a gate with no diffusion beside it", place))
        return
    materials = {wiring.material[outer] for _, outer in sides.pairs}
    rule = next((r for r in rules if wiring.plan.index(r.ends) in materials), None)
    if len(materials) > 1 or rule is None:
        findings.append(
            _finding(FindingKind.MIXED_CHANNEL, "n and p diffusion at one channel: not read as a transistor", place)
        )
        return
    edges = sides.edges
    if len(edges) == 1:
        runs = _runs(boxes, sides.pairs)
        if len(runs) != 2:
            findings.append(
                _finding(
                    FindingKind.PARTIAL_GATE, f"{rule.gate} crosses the diffusion only in part: no transistor", place
                )
            )
            return
        end = next(iter(edges))
        ends = [(end, runs[0]), (end, runs[1])]
    else:
        ends = list(edges.items())
    if len(ends) > 2:
        by_net: dict[int, int] = {}
        for end, edge in ends:
            by_net[wiring.find(end)] = by_net.get(wiring.find(end), 0) + edge
        nets = len(by_net)
        told = "read as one transistor between two nets" if nets == 2 else "not read as a transistor"
        findings.append(
            _finding(
                FindingKind.BRANCHED_GATE,
                f"a gate between {len(ends)} pieces of diffusion on {nets} nets: {told}",
                place,
            )
        )
        if nets != 2:
            return
        ends = list(by_net.items())
    (source, edge_a), (drain, edge_b) = ends
    width = (edge_a + edge_b) / 2
    area = sum((b[2] - b[0]) * (b[3] - b[1]) for b in (boxes[n] for n in members))
    length: float = area / width
    if edge_a != edge_b and area == place.area and len(edges) == 2:
        length = _straight_length(boxes, sides.pairs, place) or length
    gate = wells_of = -1
    gate_material = wiring.plan.index(rule.gate)
    for n in members:
        gate = max(gate, gates.get(n, {}).get(gate_material, -1))
    if rule.body == SUBSTRATE:
        wells_of = wiring.substrate
    elif rule.body is not None:
        well_material = wiring.plan.index(rule.body)
        for n in members:
            wells_of = max(wells_of, wells.get(n, {}).get(well_material, -1))
    found.append(RawTransistor(rule, tuple(members), gate, source, drain, wells_of, length, width))


def _straight_length(boxes: Sequence[Box], pairs: list[tuple[int, int]], place: Rect) -> int:
    """Return the distance between the edges when they lie on opposite sides of a rectangular channel, else 0."""
    where = {_side(boxes[inner], boxes[outer]) for inner, outer in pairs}
    if where == {"west", "east"}:
        return place.width
    if where == {"south", "north"}:
        return place.height
    return 0


def _side(inner: Box, outer: Box) -> str:
    if outer[2] == inner[0]:
        return "west"
    if outer[0] == inner[2]:
        return "east"
    return "south" if outer[3] == inner[1] else "north"


def _runs(boxes: Sequence[Box], pairs: list[tuple[int, int]]) -> list[int]:
    """Return the lengths of the connected stretches of edge between a channel and one piece of diffusion."""
    segments = [_segment(boxes[inner], boxes[outer]) for inner, outer in pairs]
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


def _segment(a: Box, b: Box) -> tuple[tuple[int, int], tuple[int, int]]:
    return (max(a[0], b[0]), max(a[1], b[1])), (min(a[2], b[2]), min(a[3], b[3]))


def _box(boxes: Iterable[Box]) -> Rect:
    parts = list(boxes)
    if len(parts) == 1:
        return Rect(*parts[0])
    return Rect(min(b[0] for b in parts), min(b[1] for b in parts), max(b[2] for b in parts), max(b[3] for b in parts))


def _finding(kind: FindingKind, text: str, place: Rect) -> Finding:
    return Finding(kind, text, place)
