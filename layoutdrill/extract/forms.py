"""
Recognise resistors and diodes by their form, as a reader of a die must: nothing marks them there.

A resistor is a long strip that no wire would be: folded, so that it is much longer than the way from one end to the
other, or a strip of well. A diode is a broad piece of diffusion with contacts and no gate.
"""

from collections.abc import Iterable, Sequence
from dataclasses import field
from itertools import product
from math import sqrt

from layoutdrill.extract.elements import RawElement
from layoutdrill.extract.materials import strip_name
from layoutdrill.extract.model import Finding, FindingKind
from layoutdrill.extract.wiring import Wiring
from layoutdrill.geometry.cutting import union
from layoutdrill.geometry.rect import Rect, box_round
from layoutdrill.geometry.regions import edge_length
from layoutdrill.geometry.sweep import Box, Node, touching
from layoutdrill.process.model import SUBSTRATE, PatchRule, Process, StripRule
from layoutdrill.value import mutable

FOLDED = 3, 2
"""A wire is no longer than the sides of the box round it; a strip half as long again was made for its length."""


@mutable
class Forms:
    """Strips and patches as found before cuts join anything: (rule, nodes); strips with their length and width."""

    strips: list[tuple[StripRule, list[Node], float, float]] = field(default_factory=list)
    patches: list[tuple[PatchRule, list[Node]]] = field(default_factory=list)


def find_forms(wiring: Wiring, process: Process) -> Forms:
    """Find strips and patches; a strip no longer conducts for `connect`, which notes what its ends are joined to."""
    forms = Forms()
    channels: list[Node] | None = None
    for rule in process.strips:
        well = any(t.body == rule.of for t in process.transistors)
        for members in _components(wiring, rule.of):
            measured = _strip(members, rule.squares, folded=not well)
            if measured is None:
                continue
            channels = _channels(wiring, process) if channels is None else channels
            if not _meets(members, channels):
                _lift(wiring, rule, members, len(forms.strips))
                forms.strips.append((rule, members, *measured))
    for patch in process.patches:
        for members in _components(wiring, patch.of):
            if not _broad(members, patch.side):
                continue
            channels = _channels(wiring, process) if channels is None else channels
            if not _meets(members, channels):
                forms.patches.append((patch, members))
    return forms


def elements_of(wiring: Wiring, forms: Forms) -> tuple[list[RawElement], list[Finding]]:
    """Return the elements, once cuts have joined the nets; a strip between less than two nets is a wire after all."""
    read: list[RawElement] = []
    findings: list[Finding] = []
    for (rule, members, length, width), ends in zip(forms.strips, wiring.strip_ends, strict=True):
        nets = dict.fromkeys(wiring.find(end) for end in ends)
        if len(nets) == 2:
            a, b = nets
            body = tuple(node[4] for node in members)
            read.append(RawElement(rule, body, (a, b), (("L", length), ("W", width))))
            continue
        _put_back(wiring, rule, members, nets)
        if len(nets) > 2:
            problem = f"a folded strip of {rule.of} with {len(nets)} ends: read as a wire"
            findings.append(Finding(FindingKind.UNREAD_ELEMENT, problem, box_round(members)))
    if forms.patches:
        holes = {wiring.find(hole[4]) for nodes in wiring.holes.values() for hole in nodes}
        for patch, members in forms.patches:
            diode = _diode(wiring, patch, members)
            if diode is not None and wiring.find(members[0][4]) in holes:
                read.append(diode)
    return read, findings


def _broad(members: Sequence[Node], side: int) -> bool:
    """Tell whether a square of a side lies in a piece; a crossunder with a bend has a box round it as large."""
    x0, y0, x1, y1 = box_round(members)
    if min(x1 - x0, y1 - y0) < side:
        return False
    boxes = union([node[:4] for node in members])  # which may be cut anywhere, as by metal above
    corners = product({r.x0 for r in boxes}, {r.y0 for r in boxes})
    return any(_covered(boxes, (x, y, x + side, y + side)) == side * side for x, y in corners)


def _covered(boxes: Sequence[Rect], square: Box) -> int:
    """Return how much of a square lies in boxes that do not overlap."""
    x0, y0, x1, y1 = square
    return sum(
        (min(x1, r.x1) - max(x0, r.x0)) * (min(y1, r.y1) - max(y0, r.y0))
        for r in boxes
        if r.x0 < x1 and x0 < r.x1 and r.y0 < y1 and y0 < r.y1
    )


def _components(wiring: Wiring, name: str) -> Iterable[list[Node]]:
    groups: dict[int, list[Node]] = {}
    find = wiring.find
    for node in wiring.of(name):
        groups.setdefault(find(node[4]), []).append(node)
    return groups.values()


def _channels(wiring: Wiring, process: Process) -> list[Node]:
    return [node for name in dict.fromkeys(rule.channel for rule in process.transistors) for node in wiring.of(name)]


def _meets(members: Sequence[Node], others: Sequence[Node]) -> bool:
    """Tell whether any of the others overlaps or touches one of the members."""
    x0, y0, x1, y1 = box_round(members)
    near = [o for o in others if o[0] <= x1 and x0 <= o[2] and o[1] <= y1 and y0 <= o[3]]
    return any(o[0] <= m[2] and m[0] <= o[2] and o[1] <= m[3] and m[1] <= o[3] for o in near for m in members)


def _strip(members: list[Node], squares: int, *, folded: bool) -> tuple[float, float] | None:
    """
    Return length and width of a strip, of what is long enough to be one.

    A strip of one width, bent at right angles as often as one likes, has the area L * W and the perimeter 2 * (L + W),
    L along its middle: at each bend the outer edge gains what the inner one loses.
    """
    x0, y0, x1, y1 = box_round(members)
    sides = x1 - x0 + y1 - y0
    area = sum((node[2] - node[0]) * (node[3] - node[1]) for node in members)
    thin = min(min(node[2] - node[0], node[3] - node[1]) for node in members)
    if area < squares * thin * thin or (folded and FOLDED[1] * area < FOLDED[0] * sides * thin):
        return None
    area, half = _measure(members)
    root = half * half / 4 - area
    if root < 0:
        return None
    width = half / 2 - sqrt(root)
    length = half - width
    if length < squares * width or (folded and FOLDED[1] * length < FOLDED[0] * sides):
        return None
    return length, width


def _measure(members: Iterable[Node]) -> tuple[int, int]:
    """Return area and half the perimeter of the union of boxes."""
    boxes = union([node[:4] for node in members])
    area = sum((b.x1 - b.x0) * (b.y1 - b.y0) for b in boxes)
    half = sum(b.x1 - b.x0 + b.y1 - b.y0 for b in boxes)
    return area, half - sum(edge_length(boxes[i], boxes[j]) for i, j in touching(boxes, range(len(boxes))))


def _turn_into(wiring: Wiring, members: list[Node], before: str, after: str) -> None:
    """Make pieces of one material pieces of another."""
    old, new = wiring.plan.index(before), wiring.plan.index(after)
    moved = {node[4] for node in members}
    wiring.members[old] = [node for node in wiring.members[old] if node[4] not in moved]
    wiring.members[new] = [*wiring.members[new], *members]
    for n in moved:
        wiring.material[n] = new


def _lift(wiring: Wiring, rule: StripRule, members: list[Node], number: int) -> None:
    """Make a strip a body of its own, which conducts nothing."""
    _turn_into(wiring, members, rule.of, strip_name(rule.of))
    for node in members:
        wiring.strip_at[node[4]] = number
    wiring.strip_ends.append([])


def _put_back(wiring: Wiring, rule: StripRule, members: list[Node], nets: Iterable[int]) -> None:
    """Make a strip the wire that it is after all, joined to the nets at its ends."""
    _turn_into(wiring, members, strip_name(rule.of), rule.of)
    for net in nets:
        wiring.join(members[0][4], net)


def _diode(wiring: Wiring, rule: PatchRule, members: list[Node]) -> RawElement | None:
    """Return the diode of a patch, unless both its sides are one net or it lies in nothing."""
    top, under = wiring.find(members[0][4]), wiring.substrate
    if rule.under != SUBSTRATE:
        x0, y0, x1, y1 = members[0][:4]
        wells = (w for w in wiring.of(rule.under) if w[0] < x1 and x0 < w[2] and w[1] < y1 and y0 < w[3])
        under = next((well[4] for well in wells), -1)
    if under < 0 or wiring.find(under) == top:
        return None
    area, half = _measure(members)
    nodes = (top, under) if wiring.plan.doping[wiring.plan.index(rule.of)] == "p" else (under, top)
    return RawElement(rule, tuple(node[4] for node in members), nodes, (("AREA", area), ("PERIM", 2 * half)))
