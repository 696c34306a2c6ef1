"""Name nets: by their labels, the others n1, n2 … from left to right; and tell what the labels give away."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from layoutdrill.extract.model import Finding, FindingKind
from layoutdrill.extract.wiring import Wiring
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.sweep import Box
from layoutdrill.layout.model import Label
from layoutdrill.process.model import SUBSTRATE, Process


@dataclass(frozen=True, slots=True)
class Names:
    """Net names by root node, and the names that are ports."""

    of: dict[int, str]
    ports: tuple[str, ...]
    findings: tuple[Finding, ...]


def name_nets(
    wiring: Wiring, process: Process, labels: Sequence[Label], terminals: Mapping[int, int], bodies: Iterable[int]
) -> Names:
    """
    Name every net.

    `terminals` counts device terminals by root; of two nets with one label the one with more keeps the name and
    the other is internal, NAME#2. `bodies` are the roots of wells and substrate that hold transistors: with no
    label and nothing but bodies on them they are ports too, named after their conductor.
    """
    findings: list[Finding] = []
    found = _labelled(wiring, process, labels, findings)
    corners, wired = _corners(wiring, {rule.body for rule in process.transistors})
    by_text: dict[str, list[int]] = {}
    of: dict[int, str] = {}
    for root in sorted(found, key=lambda r: corners[r]):
        texts = sorted(found[root], key=natural)
        by_text.setdefault(texts[0], []).append(root)
        if len(texts) > 1:
            place = _at(found[root][texts[1]])
            told = f"names {', '.join(texts)} lie on one net: a short, or two names for it; called {texts[0]}"
            findings.append(Finding(FindingKind.SHORT, told, place))
    ports = []
    for text, roots in by_text.items():
        roots.sort(key=lambda r: (-terminals.get(r, 0), corners[r]))
        ports.append(text)
        for count, root in enumerate(roots, 1):
            of[root] = text if count == 1 else f"{text}#{count}"
            if count > 1:
                place = _at(found[root][text])
                told = f"name {text} lies on {len(roots)} nets that nothing joins: an open; this one is {of[root]}"
                findings.append(Finding(FindingKind.OPEN, told, place))
    for root in sorted(set(bodies), key=lambda r: corners[r]):
        if root not in of and root not in wired:
            base = SUBSTRATE if root == wiring.find(wiring.substrate) else wiring.plan.materials[wiring.material[root]]
            of[root] = _free(base, of)
            ports.append(of[root])
    taken = set(of.values())
    number = 0
    for root in sorted(corners, key=lambda r: corners[r]):
        if root not in of:
            number += 1
            while f"n{number}" in taken:
                number += 1
            of[root] = f"n{number}"
    return Names(of, tuple(sorted(ports, key=natural)), tuple(findings))


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Sort A2 before A10."""
    return tuple((0, int(part), "") if part.isdigit() else (1, 0, part) for part in re.split(r"([0-9]+)", text) if part)


def _free(base: str, of: dict[int, str]) -> str:
    taken = set(of.values())
    name, count = base, 1
    while name in taken:
        count += 1
        name = f"{base}#{count}"
    return name


def _corners(wiring: Wiring, wells: set[str | None]) -> tuple[dict[int, tuple[int, int, int]], set[int]]:
    """
    Return each net's lowest corner of its left edge with the first conductor there, which is an order of nets;
    and the nets that have anything but wells and substrate on them.
    """
    corners: dict[int, tuple[int, int, int]] = {}
    wired: set[int] = set()
    find, boxes = wiring.find, wiring.boxes
    for m, name in enumerate(wiring.plan.materials):
        if m in wiring.plan.inners:
            continue
        for n in wiring.nodes(name):
            root = find(n)
            box = boxes[n]
            corner = (box[0], box[1], m)
            old = corners.get(root)
            if old is None or corner < old:
                corners[root] = corner
            if name not in wells:
                wired.add(root)
    corners.setdefault(find(wiring.substrate), (1 << 80, 0, 0))
    return corners, wired


def _labelled(
    wiring: Wiring, process: Process, labels: Sequence[Label], findings: list[Finding]
) -> dict[int, dict[str, Label]]:
    found: dict[int, dict[str, Label]] = {}
    by_layer: dict[str, list[Label]] = {}
    for label in labels:
        by_layer.setdefault(label.layer, []).append(label)
    for layer, here in by_layer.items():
        places = [wiring.nodes(c.name) for c in process.conductors.values() if layer in c.labels]
        ground = any(place.start == wiring.substrate for place in places)
        nodes = [n for place in places for n in place if n != wiring.substrate]
        hits = _under([(t.x, t.y) for t in here], nodes, wiring.boxes)
        for at, label in enumerate(here):
            node = hits.get(at, wiring.substrate if ground else -1)
            if node < 0:
                told = f"label {label.text} lies on no conductor that {layer} names"
                findings.append(Finding(FindingKind.STRAY_LABEL, told, _at(label)))
            else:
                found.setdefault(wiring.find(node), {}).setdefault(label.text, label)
    return found


def _under(points: Sequence[tuple[int, int]], nodes: Sequence[int], boxes: Sequence[Box]) -> dict[int, int]:
    """Map each point (by place) to a node that holds it, one with the point inside rather than on its edge."""
    hits: dict[int, int] = {}
    inside: set[int] = set()
    if not points:
        return hits
    order = sorted(range(len(points)), key=lambda p: points[p])
    starts = sorted(nodes, key=lambda n: boxes[n][0])
    active: list[int] = []
    at = 0
    for p in order:
        x, y = points[p]
        while at < len(starts) and boxes[starts[at]][0] <= x:
            active.append(starts[at])
            at += 1
        active = [n for n in active if boxes[n][2] >= x]
        for n in active:
            x0, y0, x1, y1 = boxes[n]
            if y0 <= y <= y1 and p not in inside:
                hits[p] = n
                if x0 < x < x1 and y0 < y < y1:
                    inside.add(p)
    return hits


def _at(label: Label) -> Rect:
    return Rect(label.x, label.y, label.x + 1, label.y + 1)
