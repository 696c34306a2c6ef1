"""Name nets: by their labels, the others n1, n2 … from left to right; and tell what the labels give away."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from layoutdrill.extract.model import Finding, FindingKind
from layoutdrill.extract.wiring import Wiring
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.sweep import Node, slab_height, slabs
from layoutdrill.layout.model import Label
from layoutdrill.process.model import SUBSTRATE, Process
from layoutdrill.value import value


@value
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
    labelled = _labelled(wiring, process, labels, findings)
    corners, wired = _corners(wiring, {rule.body for rule in process.transistors})
    by_text: dict[str, list[int]] = {}
    of: dict[int, str] = {}
    for root in sorted(labelled, key=lambda r: corners[r]):
        texts = sorted(labelled[root], key=lambda text: (natural(text), text))
        by_text.setdefault(texts[0], []).append(root)
        if len(texts) > 1:
            place = _at(labelled[root][texts[1]])
            listed = ", ".join(texts[:6]) + (", …" if len(texts) > 6 else "")
            problem = f"names {listed} lie on one net: a short, or two names for it; called {texts[0]}"
            findings.append(Finding(FindingKind.SHORT, problem, place))
    ports = []
    for text, roots in by_text.items():
        roots.sort(key=lambda r: (-terminals.get(r, 0), corners[r]))
        ports.append(text)
        of[roots[0]] = text
        count = 1
        for root in roots[1:]:
            count += 1
            while f"{text}#{count}" in by_text:
                count += 1
            of[root] = f"{text}#{count}"
    findings.extend(_opens(labelled, of))
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
    return Names(of, tuple(sorted(ports, key=lambda name: (natural(name), name))), tuple(findings))


def _opens(labelled: Mapping[int, Mapping[str, Label]], of: Mapping[int, str]) -> Iterator[Finding]:
    """Tell of each name that lies on several nets, at every net that is not called by it (or all but the first)."""
    where: dict[str, list[int]] = {}
    for root, texts in labelled.items():
        for text in texts:
            where.setdefault(text, []).append(root)
    for text, roots in where.items():
        if len(roots) > 1:
            called = next((root for root in roots if of[root] == text), roots[0])
            for root in roots:
                if root != called:
                    problem = (
                        f"name {text} lies on {len(roots)} nets that nothing joins: an open; this one is {of[root]}"
                    )
                    yield Finding(FindingKind.OPEN, problem, _at(labelled[root][text]))


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Sort A2 before A10."""
    return tuple(
        (0, int(part), "") if part[0] in "0123456789" else (1, 0, part) for part in re.split(r"([0-9]+)", text) if part
    )


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
    best: dict[int, Node] = {}
    wired: set[int] = set()
    parent = wiring.parent
    for m, name in enumerate(wiring.plan.materials):
        if m in wiring.plan.inners:
            continue
        here = best if name in wells else {}
        for node in wiring.members[m]:
            root = parent[node[4]]
            old = here.get(root)
            if old is None or node[0] < old[0] or (node[0] == old[0] and node[1] < old[1]):
                here[root] = node
        if here is not best:
            wired.update(here)
            for root, node in here.items():
                old = best.get(root)
                if old is None or node[0] < old[0] or (node[0] == old[0] and node[1] < old[1]):
                    best[root] = node
    material = wiring.material
    corners = {root: (node[0], node[1], material[node[4]]) for root, node in best.items()}
    corners.setdefault(wiring.find(wiring.substrate), (1 << 80, 0, 0))
    return corners, wired


def _labelled(
    wiring: Wiring, process: Process, labels: Sequence[Label], findings: list[Finding]
) -> dict[int, dict[str, Label]]:
    labelled: dict[int, dict[str, Label]] = {}
    by_layer: dict[str, list[Label]] = {}
    for label in labels:
        by_layer.setdefault(label.layer, []).append(label)
    for layer, here in by_layer.items():
        named = [name for name, conductor in process.conductors.items() if layer in conductor.labels]
        ground = SUBSTRATE in named
        nodes = [node for name in named if name != SUBSTRATE for node in wiring.of(name)]
        hits = _under([(t.x, t.y) for t in here], nodes)
        for at, label in enumerate(here):
            node = hits.get(at, wiring.substrate if ground else -1)
            if node < 0:
                problem = f"label {label.text} lies on no conductor that {layer} names"
                findings.append(Finding(FindingKind.STRAY_LABEL, problem, _at(label)))
            else:
                labelled.setdefault(wiring.find(node), {}).setdefault(label.text, label)
    return labelled


def _under(points: Sequence[tuple[int, int]], nodes: Sequence[Node]) -> dict[int, int]:
    """Map each point (by place) to a node that holds it, one with the point inside rather than on its edge."""
    hits: dict[int, int] = {}
    if not points or not nodes:
        return hits
    height = slab_height(nodes)
    spots = slabs([(x, y, x, y, p) for p, (x, y) in enumerate(points)], height)
    shapes = slabs(nodes, height)
    inside: set[int] = set()
    for s, here in spots.items():
        members = shapes.get(s, [])
        active: list[Node] = []
        at = 0
        for x, y, _, _, p in here:
            while at < len(members) and members[at][0] <= x:
                active.append(members[at])
                at += 1
            active = [node for node in active if node[2] >= x]
            for x0, y0, x1, y1, n in active:
                if y0 <= y <= y1 and p not in inside:
                    hits[p] = n
                    if x0 < x < x1 and y0 < y < y1:
                        inside.add(p)
    return hits


def _at(label: Label) -> Rect:
    return Rect(label.x, label.y, label.x + 1, label.y + 1)
