"""
A drawing judged point by point and area by area from its mask layers, without the code that made the question.

A point is looked at a quarter of a grid unit off in four directions, so that an edge belongs to both its sides.
"""

from bisect import bisect

import networkx as nx
import shapely

from layoutdrill.process.expression import Name

WELLS = ("nwell", "pwell", "well", "substrate")
NEAR = ((0.25, 0.25), (-0.25, 0.25), (0.25, -0.25), (-0.25, -0.25))


class Oracle:
    """Boolean algebra of the process's regions at single points."""

    def __init__(self, specimen):
        self.process = specimen.process
        self.shapes = specimen.face.layout.flattened().shapes
        self.specimen = specimen
        rects = [r for rects in self.shapes.values() for r in rects]
        self.xs = sorted({x for r in rects for x in (r[0], r[2])})
        self.ys = sorted({y for r in rects for y in (r[1], r[3])})
        self.squares = {}

    def on(self, name, x, y):
        if name in self.process.regions:
            return self._value(self.process.regions[name], x, y)
        return any(r[0] < x < r[2] and r[1] < y < r[3] for r in self.shapes.get(name, ()))

    def _value(self, e, x, y):
        if isinstance(e, Name):
            return self.on(e.name, x, y)
        left, right = self._value(e.left, x, y), self._value(e.right, x, y)
        return {"&": left and right, "|": left or right, "-": left and not right}[e.operator]

    def near(self, name, x, y):
        return any(self.on(name, x + dx, y + dy) for dx, dy in NEAR)

    def conductors(self, x, y):
        return {c for c in self.process.conductors if c not in WELLS and self.near(c, x, y)}

    def channels(self, x, y):
        """
        Return the kinds of the transistors at the point: flood the channel, bent or not, and see what lies round.

        The flood goes by the squares between the edges of all shapes, in each of which nothing changes.
        """
        found = set()
        for rule in self.process.transistors:
            wet = [
                square
                for square in {(bisect(self.xs, x + dx), bisect(self.ys, y + dy)) for dx, dy in NEAR}
                if self.near(rule.channel, x, y) and self._in(rule.channel, *square)
            ]
            seen = set(wet)
            while wet:
                column, row = wet.pop()
                for square in ((column + 1, row), (column - 1, row), (column, row + 1), (column, row - 1)):
                    if square in seen:
                        continue
                    seen.add(square)
                    if self._in(rule.channel, *square):
                        wet.append(square)
                    elif self._in(rule.ends, *square):
                        found.add(rule.kind.value)
        return found

    def _in(self, name, column, row):
        """Tell whether a square between two edges each way is on a region; what lies beyond all edges is not."""
        if not (0 < column < len(self.xs) and 0 < row < len(self.ys)):
            return False
        at = name, column, row
        if at not in self.squares:
            x, y = (self.xs[column - 1] + self.xs[column]) / 2, (self.ys[row - 1] + self.ys[row]) / 2
            self.squares[at] = self.on(name, x, y)
        return self.squares[at]

    def cuts(self, x, y):
        here = self.conductors(x, y)
        return [c for c in self.process.cuts
                if c.layer and self.near(c.layer, x, y) and c.upper in here and here & set(c.lower)]  # fmt: skip

    def nets(self, x, y):
        return {net for name, net in self.specimen.extraction.nets_at(x, y) if name not in WELLS}


def oracle_for(specimen, oracle):
    return oracle if oracle is not None and oracle.specimen is specimen else Oracle(specimen)


def measured(oracle, x, y):
    """Return W and L in grid units of the channel at a place: from source to drain is L."""
    for rule in oracle.process.transistors:
        if not oracle.on(rule.channel, x + 0.25, y + 0.25):
            continue
        steps, touched = {}, set()
        for name, dx, dy in (("left", -1, 0), ("right", 1, 0), ("up", 0, 1), ("down", 0, -1)):
            step = 0
            while oracle.on(rule.channel, x + 0.25 + dx * step, y + 0.25 + dy * step):
                step += 1
            steps[name] = step
            touched |= {name} if oracle.on(rule.ends, x + 0.25 + dx * step, y + 0.25 + dy * step) else set()
        across, along = steps["left"] + steps["right"] - 1, steps["up"] + steps["down"] - 1
        if touched == {"left", "right"}:
            return along, across
        if touched == {"up", "down"}:
            return across, along
    return 0, 0


def nets_at(oracle, at):
    """Return the net at a place, as a number: pieces of conductors that cuts join, found without our extractor."""
    known = oracle.__dict__.setdefault("pieces", {})
    if not known:
        areas = {}
        for name in oracle.process.conductors:
            if name not in WELLS:
                whole = region(oracle, name)
                parts = [part for part in getattr(whole, "geoms", [whole]) if not part.is_empty]
                areas[name] = [part for part in parts if not drawn_for_length(oracle, name, part)]
        graph = nx.Graph()
        graph.add_nodes_from((name, i) for name, parts in areas.items() for i in range(len(parts)))
        for cut in oracle.process.cuts:
            holes = region(oracle, cut.layer) if cut.layer else region(oracle, cut.upper)
            for hole in getattr(holes, "geoms", [holes]):
                uppers = [i for i, part in enumerate(areas.get(cut.upper, ())) if part.intersection(hole).area > 0]
                lowers = [(low, i) for low in cut.lower for i, part in enumerate(areas.get(low, ()))
                          if part.intersection(hole).area > 0]  # fmt: skip
                graph.add_edges_from(((cut.upper, i), low) for i in uppers for low in lowers)
        known["areas"] = areas
        known["nets"] = {node: number for number, nodes in enumerate(nx.connected_components(graph)) for node in nodes}
    return {
        known["nets"][name, i]
        for name, parts in known["areas"].items()
        for i, part in enumerate(parts)
        if part.distance(shapely.Point(*at)) < 0.3
    }


def drawn_for_length(oracle, name, part):
    """
    Tell whether a piece of a conductor is a resistor: folded, with more squares than its process has a wire be, and no
    gate anywhere at it.

    A strip of width W and length L has the area L * W and the perimeter 2 * (L + W), however it bends.
    """
    half = part.length / 2
    root = half * half / 4 - part.area
    if root <= 0:
        return False
    width = half / 2 - root**0.5
    sides = part.bounds[2] - part.bounds[0] + part.bounds[3] - part.bounds[1]
    folded = half - width > 1.5 * sides
    long = any(rule.of == name and half - width > rule.squares * width for rule in oracle.process.strips)
    if not (folded and long):
        return False
    return not any(region(oracle, rule.channel).intersects(part) for rule in oracle.process.transistors)


def region(oracle, name):
    """Return a layer or region as a shapely area."""
    if name in oracle.process.regions:
        return _area(oracle, oracle.process.regions[name])
    return shapely.unary_union([shapely.box(*r) for r in oracle.shapes.get(name, ())])


def _area(oracle, e):
    if isinstance(e, Name):
        return region(oracle, e.name)
    left, right = _area(oracle, e.left), _area(oracle, e.right)
    return {"&": left & right, "|": left | right, "-": left - right}[e.operator]
