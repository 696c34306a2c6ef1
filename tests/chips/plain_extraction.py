"""
A plain extraction of one-metal CMOS by polygons (shapely) from what gdstk reads: no code of the project.

From the processes' public descriptions. On sapphire silicon is n+ or p+ where the doping lies on it; where neither
does, below metal over a window, is a channel. In bulk with metal gates the dopings are the diffusions, and the well
says of which kind a channel is. With poly gates a channel is active below poly. Contacts join metal and what lies
below it.
"""

from collections import defaultdict

import gdstk
import networkx as nx
from shapely import STRtree, unary_union
from shapely.geometry import Point, Polygon


def _sapphire(mask):
    silicon, nplus, pplus, window, _, metal = (mask[n] for n in range(1, 7))
    channel = (silicon - nplus - pplus) & window & metal
    return {"n": silicon & nplus, "p": silicon & pplus}, {"np": channel}


def _bulk(mask):
    well, nplus, pplus, window, _, metal = (mask[n] for n in range(1, 7))
    channel = (window & metal) - nplus - pplus
    doped = {"n": nplus & well, "p": pplus - well, "n tap": nplus - well, "p tap": pplus & well}
    return doped, {"n": channel & well, "p": channel - well}


def _poly(mask):
    well, active, nplus, pplus, poly = (mask[n] for n in range(1, 6))
    gate, free = active & poly, active - poly
    doped = {"n": (free & nplus) - well, "p": free & pplus & well, "n tap": free & nplus & well}
    doped |= {"p tap": (free & pplus) - well, "poly": poly}
    return doped, {"n": (gate & nplus) - well, "p": gate & pplus & well}


PROCESSES = {
    "metal-gate-sapphire": (_sapphire, 5, 6, "metal"),
    "metal-gate-cmos": (_bulk, 5, 6, "metal"),
    "silicon-gate-cmos": (_poly, 6, 7, "poly"),
}
"""What is doped and what are channels, the layers of contacts and of metal in the file, and what gates are made of."""


def _areas(whole):
    if whole.is_empty:
        return []
    return [a for a in (whole.geoms if hasattr(whole, "geoms") else [whole]) if isinstance(a, Polygon)]


def read(path, process):
    """Return (transistors, names): each transistor as (kind, gate, end, end) in numbers of nets, and nets by name."""
    regions, contact, metal, gates = PROCESSES[process]
    cell = gdstk.read_gds(path).top_level()[0].flatten()
    drawn = defaultdict(list)
    for polygon in cell.polygons:
        drawn[polygon.layer].append(Polygon(polygon.points))
    mask = {layer: unary_union(drawn[layer]) for layer in range(1, metal + 1)}
    doped, channels = regions(mask)
    doped["metal"] = mask[metal]
    pieces = [(sort, a) for sort, area in doped.items() for a in _areas(area)]
    tree = STRtree([area for _, area in pieces])
    net = list(range(len(pieces)))

    def root(k):
        while net[k] != k:
            k = net[k]
        return k

    for cut in _areas(mask[contact]):
        joined = [int(k) for k in tree.query(cut, predicate="intersects") if pieces[k][1].intersection(cut).area > 0]
        for k in joined[1:]:
            net[root(k)] = root(joined[0])
    transistors = []
    for kinds, channel in ((kinds, a) for kinds, area in channels.items() for a in _areas(area)):
        beside = [int(k) for k in tree.query(channel, predicate="intersects")]
        gate = next(k for k in beside if pieces[k][0] == gates and pieces[k][1].covers(channel))
        ends = [k for k in beside if pieces[k][0] in kinds and pieces[k][1].intersection(channel).length > 0]
        (kind,) = {pieces[k][0] for k in ends}
        first, last = ends if len(ends) == 2 else (ends[0], ends[0])
        transistors.append((kind, root(gate), root(first), root(last)))
    names = {}
    for label in cell.labels:
        if (label.layer, label.texttype) == (metal, 1):
            at = Point(label.origin)
            names[label.text] = next(
                root(int(k)) for k in tree.query(at, predicate="intersects") if pieces[k][0] == "metal"
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
