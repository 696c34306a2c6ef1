"""Decide by networkx whether two small netlists are the same circuit: the judge outside the project."""

import networkx as nx
from networkx.algorithms.isomorphism import GraphMatcher

from layoutdrill.netlist.model import Netlist


def isomorphic(
    a: Netlist,
    b: Netlist,
    *,
    named: frozenset[str] | None = None,
    lengths: bool = True,
    widths: bool = True,
    bodies: bool = True,
) -> bool:
    """
    Compare by general graph isomorphism (VF2, networkx): devices, terminals and nets are nodes.

    `named` are the nets that must keep their names (None: the ports). A terminal is a node of its own between device
    and net, so that one net may hold two terminals of a device.
    """
    settings = {"named": named, "lengths": lengths, "widths": widths, "bodies": bodies}
    return GraphMatcher(_graph(a, **settings), _graph(b, **settings), lambda p, q: p["is"] == q["is"]).is_isomorphic()


def _graph(n: Netlist, *, named: frozenset[str] | None, lengths: bool, widths: bool, bodies: bool) -> nx.Graph:
    graph = nx.Graph()
    kept = frozenset(n.ports) if named is None else named

    def net(name: str) -> tuple[str, str]:
        node = ("net", name)
        graph.add_node(node, **{"is": ("net", name if name in kept else "")})
        return node

    def device(name: str, what: tuple[object, ...], terminals: list[tuple[str, str]]) -> None:
        graph.add_node(("device", name), **{"is": what})
        for at, (role, on) in enumerate(terminals):
            graph.add_node(("terminal", name, at), **{"is": role})
            graph.add_edge(("device", name), ("terminal", name, at))
            graph.add_edge(("terminal", name, at), net(on))

    for t in n.transistors:
        what = (t.kind, t.mode, t.length if lengths else 0, t.width if widths else 0)
        terminals = [("gate", t.gate), ("end", t.source), ("end", t.drain)]
        device(t.name, what, terminals + ([("body", t.body)] if bodies and t.body else []))
    for e in n.elements:
        alike = e.kind in {"resistor", "capacitor"}
        device(e.name, (e.kind,), [("end" if alike else f"node {at}", on) for at, on in enumerate(e.nodes)])
    return graph
