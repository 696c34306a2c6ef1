"""Recognise the devices that are not transistors: marked resistors, diodes and capacitors."""

from layoutdrill.extract.devices import Side
from layoutdrill.extract.model import Finding, FindingKind
from layoutdrill.extract.pieces import Pieces
from layoutdrill.extract.wiring import Wiring
from layoutdrill.geometry.rect import box_round
from layoutdrill.geometry.regions import edge_length
from layoutdrill.geometry.sweep import Node, meeting_nodes, touching
from layoutdrill.process.model import SUBSTRATE, ElementRule, PatchRule, Process, StripRule
from layoutdrill.value import value


@value
class RawElement:
    """An element before naming: nets are nodes, `values` (name, number) in grid units or their square."""

    rule: ElementRule | StripRule | PatchRule
    body: tuple[int, ...]
    nodes: tuple[int, int]
    values: tuple[tuple[str, float], ...]


def elements(
    wiring: Wiring, process: Process, pieces: Pieces, sides: dict[int, list[Side]]
) -> tuple[list[RawElement], list[Finding]]:
    """Return the marked resistors, diodes and capacitors, and what is marked but has not the ends it needs."""
    read: list[RawElement] = []
    findings: list[Finding] = []
    for rule in process.elements:
        groups: dict[int, list[Node]] = {}
        for node in wiring.of(rule.body):
            groups.setdefault(wiring.find(node[4]), []).append(node)
        if rule.kind == "resistor":
            for root, members in groups.items():
                _resistor(rule, members, sides.get(root, []), read, findings)
        elif groups:
            _stacked(wiring, pieces, rule, list(groups.values()), read, findings)
    return read, findings


def _refuse(rule: ElementRule, members: list[Node], why: str, findings: list[Finding]) -> None:
    problem = f"an area marked as a {rule.kind} {why}: not read as one"
    findings.append(Finding(FindingKind.UNREAD_ELEMENT, problem, box_round(members)))


def _resistor(
    rule: ElementRule, members: list[Node], sides: list[Side], read: list[RawElement], findings: list[Finding]
) -> None:
    """Read a strip between two pieces of its conductor: width is the mean edge, length the area over it."""
    ends: dict[int, int] = {}
    for end, length, _, _ in sides:
        ends[end] = ends.get(end, 0) + length
    if len(ends) != 2:
        _refuse(rule, members, f"has {len(ends)} ends on {rule.ends}, not 2", findings)
        return
    (a, edge_a), (b, edge_b) = ends.items()
    width = (edge_a + edge_b) / 2
    values = (("L", _area(members) / width), ("W", width))
    read.append(RawElement(rule, tuple(node[4] for node in members), (a, b), values))


def _stacked(
    wiring: Wiring,
    pieces: Pieces,
    rule: ElementRule,
    groups: list[list[Node]],
    read: list[RawElement],
    findings: list[Finding],
) -> None:
    """Read a marked junction, (anode, cathode) by the doping of its upper side, or a plate over another conductor."""
    on = _lying_with(wiring, pieces, rule.body, rule.ends)
    below = {} if rule.under in (None, SUBSTRATE) else _lying_with(wiring, pieces, rule.body, rule.under)
    for members in groups:
        top = next((on[node[4]] for node in members if node[4] in on), -1)
        under = wiring.substrate
        if rule.under != SUBSTRATE:
            under = next((below[node[4]] for node in members if node[4] in below), -1)
        if top < 0 or under < 0:
            _refuse(rule, members, f"has no {rule.ends if top < 0 else rule.under} in it", findings)
            continue
        n_on_p = rule.kind == "diode" and wiring.plan.doping[wiring.plan.index(rule.ends)] != "p"
        nodes = (under, top) if n_on_p else (top, under)
        around = sum(2 * (x1 - x0 + y1 - y0) for x0, y0, x1, y1, _ in members)
        around -= 2 * sum(
            edge_length(members[i], members[j]) for i, j in touching([n[:4] for n in members], range(len(members)))
        )
        values = (("AREA", _area(members)), ("PERIM", around))
        read.append(RawElement(rule, tuple(node[4] for node in members), nodes, values))


def _lying_with(wiring: Wiring, pieces: Pieces, body: str, name: str | None) -> dict[int, int]:
    assert name is not None
    index = wiring.plan.index
    marks = {node[4] for node in wiring.of(body)}
    pairs = meeting_nodes(pieces.slabs_of(index(body)), [pieces.slabs_of(index(name))], pieces.height, marks)
    return {a[4]: b[4] for a, b in pairs}


def _area(members: list[Node]) -> int:
    return sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1, _ in members)
