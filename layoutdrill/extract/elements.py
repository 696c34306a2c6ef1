"""Recognise the devices that are not transistors: resistors marked on a conductor, diodes marked on a doped area."""

from dataclasses import dataclass

from layoutdrill.extract.devices import Sides
from layoutdrill.extract.wiring import Wiring, edge_length
from layoutdrill.geometry.sweep import meeting, touching
from layoutdrill.process.model import SUBSTRATE, ElementRule, Process


@dataclass(frozen=True, slots=True)
class RawElement:
    """An element before naming: nets are nodes, `values` (name, number) in grid units or their square."""

    rule: ElementRule
    body: tuple[int, ...]
    nodes: tuple[int, int]
    values: tuple[tuple[str, float], ...]


def elements(wiring: Wiring, process: Process, sides: dict[int, Sides]) -> list[RawElement]:
    found: list[RawElement] = []
    for rule in process.elements:
        groups: dict[int, list[int]] = {}
        for n in wiring.nodes(rule.body):
            groups.setdefault(wiring.find(n), []).append(n)
        if rule.kind == "resistor":
            for root, members in groups.items():
                _resistor(wiring, rule, members, sides.get(root), found)
        elif rule.kind == "diode":
            _diodes(wiring, rule, list(groups.values()), found)
    return found


def _resistor(
    wiring: Wiring, rule: ElementRule, members: list[int], sides: Sides | None, found: list[RawElement]
) -> None:
    """Read a strip between two pieces of its conductor: width is the mean edge, length the area over it."""
    if sides is None or len(sides.edges) != 2:
        return
    (a, edge_a), (b, edge_b) = sides.edges.items()
    width = (edge_a + edge_b) / 2
    area = _area(wiring, members)
    found.append(RawElement(rule, tuple(members), (a, b), (("L", area / width), ("W", width))))


def _diodes(wiring: Wiring, rule: ElementRule, groups: list[list[int]], found: list[RawElement]) -> None:
    """Read a marked junction: (anode, cathode) by the doping of its upper side."""
    on = dict(meeting(wiring.boxes, [n for g in groups for n in g], wiring.nodes(rule.ends)))
    below: dict[int, int] = {}
    if rule.under is not None and rule.under != SUBSTRATE:
        below = dict(meeting(wiring.boxes, [n for g in groups for n in g], wiring.nodes(rule.under)))
    for members in groups:
        top = next((on[n] for n in members if n in on), -1)
        under = wiring.substrate if rule.under == SUBSTRATE else next((below[n] for n in members if n in below), -1)
        if top < 0 or under < 0:
            continue
        nodes = (under, top) if wiring.plan.doping[wiring.plan.index(rule.ends)] != "p" else (top, under)
        boxes = [wiring.boxes[n] for n in members]
        around = sum(2 * (b[2] - b[0] + b[3] - b[1]) for b in boxes)
        around -= 2 * sum(edge_length(boxes[i], boxes[j]) for i, j in touching(boxes, range(len(boxes))))
        found.append(RawElement(rule, tuple(members), nodes, (("AREA", _area(wiring, members)), ("PERIM", around))))


def _area(wiring: Wiring, members: list[int]) -> int:
    boxes = (wiring.boxes[n] for n in members)
    return sum((b[2] - b[0]) * (b[3] - b[1]) for b in boxes)
