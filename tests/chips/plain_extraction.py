"""
A plain extraction of metal-gate CMOS on sapphire, by polygons (shapely) from what gdstk reads: no code of the project.

From the process's public description: silicon is n+ or p+ where the doping lies on it; where neither does, below metal
over a window, is a channel; its gate is that metal, its ends the doped silicon beside it; contacts join the two.
"""

from collections import defaultdict

import gdstk
import networkx as nx
from shapely import STRtree, unary_union
from shapely.geometry import Point, Polygon

SILICON, NPLUS, PPLUS, WINDOW, CONTACT, METAL = range(1, 7)
METAL_NAMES = (6, 1)


def _areas(whole):
    if whole.is_empty:
        return []
    return list(whole.geoms) if hasattr(whole, "geoms") else [whole]


def read(path):
    """Return (transistors, names): each transistor as (kind, gate, end, end) in numbers of nets, and nets by name."""
    cell = gdstk.read_gds(path).top_level()[0].flatten()
    drawn = defaultdict(list)
    for polygon in cell.polygons:
        drawn[polygon.layer].append(Polygon(polygon.points))
    mask = {layer: unary_union(drawn[layer]) for layer in range(SILICON, METAL + 1)}
    kinds = {"n": mask[SILICON] & mask[NPLUS], "p": mask[SILICON] & mask[PPLUS]}
    pieces = [("m", a) for a in _areas(mask[METAL])] + [(k, a) for k, area in kinds.items() for a in _areas(area)]
    tree = STRtree([area for _, area in pieces])
    net = list(range(len(pieces)))

    def root(k):
        while net[k] != k:
            k = net[k]
        return k

    for cut in _areas(mask[CONTACT]):
        joined = [int(k) for k in tree.query(cut, predicate="intersects") if pieces[k][1].intersection(cut).area > 0]
        for k in joined[1:]:
            net[root(k)] = root(joined[0])
    transistors = []
    for channel in _areas((mask[SILICON] - mask[NPLUS] - mask[PPLUS]) & mask[WINDOW] & mask[METAL]):
        beside = [int(k) for k in tree.query(channel, predicate="intersects")]
        gate = next(k for k in beside if pieces[k][0] == "m" and pieces[k][1].covers(channel))
        ends = [k for k in beside if pieces[k][0] != "m" and pieces[k][1].intersection(channel).length > 0]
        (kind,) = {pieces[k][0] for k in ends}
        first, last = ends if len(ends) == 2 else (ends[0], ends[0])
        transistors.append((kind, root(gate), root(first), root(last)))
    names = {}
    for label in cell.labels:
        if (label.layer, label.texttype) == METAL_NAMES:
            at = Point(label.origin)
            names[label.text] = next(
                root(int(k)) for k in tree.query(at, predicate="intersects") if pieces[k][0] == "m"
            )
    return transistors, names


def graph(transistors, names):
    """Return transistors and nets as a graph whose nets carry their names where they have one; fingers are one."""
    told = {net: name for name, net in names.items()}
    found = nx.Graph()
    for number, (kind, gate, first, last) in enumerate(sorted(set(map(_ordered, transistors)), key=str)):
        found.add_node(("t", number), label=kind)
        for net, how in ((gate, "gate"), (first, "end"), (last, "end")):
            found.add_node(("net", net), label=told.get(net, "net"))
            found.add_node((number, how, net), label=how)
            found.add_edge(("t", number), (number, how, net))
            found.add_edge((number, how, net), ("net", net))
    return found


def _ordered(transistor):
    kind, gate, *ends = transistor
    return (kind, gate, *sorted(ends, key=str))


def shape(transistors, names, rounds=12):
    """Return a digest that is equal for netlists that are equal (Weisfeiler & Leman 1968, by networkx)."""
    return nx.weisfeiler_lehman_graph_hash(graph(transistors, names), node_attr="label", iterations=rounds)
