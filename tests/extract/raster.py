"""A slow reference extractor for tests: the drawing as unit squares, networkx (3.x) for what hangs together."""

import networkx as nx

from layoutdrill.process.expression import Name


def cells_of(rects):
    return {(x, y) for r in rects for x in range(r.x0, r.x1) for y in range(r.y0, r.y1)}


def beside(cell):
    x, y = cell
    return ((x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1))


def area(expression, shapes, process):
    """Return the squares where an expression over layers and regions holds."""
    if isinstance(expression, Name):
        if expression.name in process.regions:
            return area(process.regions[expression.name], shapes, process)
        return shapes.get(expression.name, set())
    left = area(expression.left, shapes, process)
    right = area(expression.right, shapes, process)
    if expression.operator == "|":
        return left | right
    return left & right if expression.operator == "&" else left - right


def parts(squares):
    """Return the connected parts of a set of squares, as frozensets; corners do not connect."""
    graph = nx.Graph()
    graph.add_nodes_from(squares)
    graph.add_edges_from((c, d) for c in squares for d in beside(c) if d in squares)
    return [frozenset(part) for part in nx.connected_components(graph)]


class Reference:
    """Nets as sets of (conductor, part), channels with their neighbours and edge lengths."""

    def __init__(self, layout, process):
        shapes = {layer: cells_of(rects) for layer, rects in layout.shapes.items()}
        squares = {name: area(Name(name), shapes, process) for name in process.conductors}
        self.parts = {name: parts(found) for name, found in squares.items()}
        graph = nx.Graph()
        graph.add_nodes_from((name, part) for name, found in self.parts.items() for part in found)
        graph.add_node("substrate")
        silicon = nx.Graph()
        silicon.add_nodes_from((name, part) for name in ("ndiff", "pdiff") for part in self.parts[name])
        for a, b in (("ndiff", "ntap"), ("pdiff", "ptap")):  # one doping, one piece of silicon
            for p in self.parts.get(a, ()):
                for q in self.parts.get(b, ()):
                    if any(d in q for c in p for d in beside(c)):
                        graph.add_edge((a, p), (b, q))
                        silicon.add_edge((a, p), (b, q))
        for cut in process.cuts:
            tops = self.parts[cut.upper]
            for name in cut.lower:
                if name == "substrate":
                    graph.add_edges_from(((cut.upper, top), "substrate") for top in tops)
                elif cut.layer is None:
                    for top in tops:
                        graph.add_edges_from(((cut.upper, top), (name, low)) for low in self.parts[name] if top & low)
            if cut.layer is not None:
                for rect in layout.shapes.get(cut.layer, ()):
                    hole = cells_of([rect])
                    above = [(cut.upper, p) for p in tops if p & hole]
                    below = [(name, p) for name in cut.lower for p in self.parts[name] if p & hole]
                    if above and below:
                        nx.add_path(graph, above + below)
        self.net = {}
        for members in nx.connected_components(graph):
            for member in members:
                self.net[member] = frozenset(members)
        pieces = {m: frozenset(found) for found in nx.connected_components(silicon) for m in found}
        self.channels = {}
        ends = dict.fromkeys(rule.ends for rule in process.transistors)
        for rule in process.transistors:
            for channel in parts(area(Name(rule.channel), shapes, process)):
                sides = {}
                for name in ends:
                    for part in self.parts[name]:
                        length = sum(1 for c in channel for d in beside(c) if d in part)
                        if length:
                            piece = name, pieces[name, part]
                            sides[piece] = sides.get(piece, 0) + length
                gate = next((self.net[rule.gate, p] for p in self.parts[rule.gate] if p & channel), None)
                self.channels[channel] = (rule, gate, sides)

    def nets(self):
        """Return the partition of conducting squares into nets: frozensets of (conductor, square)."""
        return {
            frozenset((name, c) for name, part in (m for m in net if m != "substrate") for c in part)
            for net in set(self.net.values())
        } - {frozenset()}
