"""
Route all nets of a grid so that no two share a node.

Method: negotiated congestion (McMurchie and Ebeling, 1995, from memory): each net takes its cheapest tree; nodes
that several nets want become dearer, for this round and for good, until no net gives way any more. A last round
forgets the past and reroutes every net with the others as fixed obstacles, which removes detours that are no longer
needed.
"""

import itertools
from dataclasses import field
from heapq import heapify, heappop, heappush

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.placing.floor import Region
from layoutdrill.drawing.row_pairs.routing.grid import FREE, Grid
from layoutdrill.drawing.shared.technique import UPPER_METAL
from layoutdrill.value import mutable

_FAR = 1 << 40
_ROUNDS = 60
_SHADE = 3
"""What a node costs more where another wire runs above or below it, lest one hides the other for long."""


@mutable
class Tree:
    """A routed net: the edges used, where it lands on which source or drain, and where it leaves on which side."""

    edges: set[tuple[int, int]] = field(default_factory=set)
    nodes: set[int] = field(default_factory=set)
    contacts: list[tuple[int, Region]] = field(default_factory=list)
    exits: list[tuple[int, str]] = field(default_factory=list)


def route(grid: Grid, dice: Dice, rounds: int = _ROUNDS) -> dict[int, Tree] | None:
    """Return a tree for each net that has something to join, or None when no agreement was reached in time."""
    return _Router(grid, dice, rounds).run()


class _Router:
    def __init__(self, grid: Grid, dice: Dice, rounds: int = _ROUNDS) -> None:
        self.grid = grid
        self.dice = dice
        self.rounds = rounds
        count = len(grid.owner)
        self.users = [0] * count
        self.history = [0] * count
        self.trees: dict[int, Tree] = {}
        self.free: dict[int, list[int]] = {}
        self.rows = grid.rows.count
        self.ahead: dict[tuple[int, int, int, int], list[int]] = {}
        self.rivals = {node: node - grid.size for node in grid.burials}
        self.rivals |= {metal: node for node, metal in self.rivals.items()}

    def run(self) -> dict[int, Tree] | None:
        nets = self.dice.shuffled([net for net, pins in self.grid.pins.items() if len(pins) > 1])
        if not self._negotiate(nets):
            return None
        self.history = [0] * len(self.history)
        for net in self.dice.shuffled(nets):
            before = self.trees[net]
            self._lift(net)
            if not self._lay(net, _FAR):  # a first branch may stand in the way of the next, over a buried contact
                self._restore(net, before)
        return self.trees

    def _negotiate(self, nets: list[int]) -> bool:
        """
        Let nets give way to one another until none shares a node.

        What a node has cost in the past must weigh as much as what it costs now, or two nets that could both move
        only onto a third one's node wait for each other for ever.
        """
        pressure = 30
        again = nets
        for _ in range(self.rounds):
            for net in again:
                self._lift(net)
                if not self._lay(net, pressure):
                    return False
            clashes = [node for node, users in enumerate(self.users) if users > 1]
            if not clashes:
                return True
            for node in clashes:
                self.history[node] += 60
            wanted = set(clashes)
            again = [net for net in nets if not wanted.isdisjoint(self.trees[net].nodes)]
            pressure = min(pressure + 15, 150)
        return False

    def _restore(self, net: int, tree: Tree) -> None:
        for node in tree.nodes:
            self.users[node] += 1
        self.trees[net] = tree

    def _lift(self, net: int) -> None:
        tree = self.trees.pop(net, None)
        if tree is not None:
            for node in tree.nodes:
                self.users[node] -= 1

    def _lay(self, net: int, pressure: int) -> bool:
        self.grid.effort += 1
        pins, burials, size = self.grid.pins[net], self.grid.burials, self.grid.size
        start = next((pin for pin in pins if not pin.side), pins[0])
        waiting = [pin for pin in pins if pin is not start]
        sources = list(start.nodes)
        tree = Tree()
        free = self.free.get(net)
        if free is None:
            free = self.free[net] = [0 if who in (FREE, net) else _FAR for who in self.grid.owner]
        over = self.users[size:] + self.users[:size]
        tolls = [
            base + past + now * pressure + (_SHADE if hidden else 0)
            for base, past, now, hidden in zip(free, self.history, self.users, over, strict=True)
        ]
        while waiting:
            path = self._search(tolls, sources, tree, {node for pin in waiting for node in pin.nodes})
            if path is None:
                return False
            tree.edges.update((min(a, b), max(a, b)) for a, b in itertools.pairwise(path))
            fresh = [node for node in path if node not in tree.nodes]
            if start.side and not tree.nodes:
                tree.exits.append((path[0], start.side))
            tree.nodes.update(path)
            for node in fresh:
                if node in self.rivals:
                    tolls[self.rivals[node]] = _FAR
            ends = [node for node in dict.fromkeys((path[0], path[-1])) if node in fresh and node < size]
            tree.contacts += [(n, pin.region) for pin in pins if pin.region for n in ends if n in pin.nodes]
            for pin in [pin for pin in waiting if path[-1] in pin.nodes]:
                waiting.remove(pin)
                if pin.side:
                    tree.exits.append((path[-1], pin.side))
                else:
                    sources += pin.nodes
        tree.contacts += [(node, burials[node]) for node in sorted(tree.nodes & burials.keys())]
        self._restore(net, tree)
        return True

    def _search(self, tolls: list[int], sources: list[int], tree: Tree, targets: set[int]) -> list[int] | None:
        """
        Return the cheapest path from a source or the tree to a target.

        A node of metal takes a contact or a via, never both, as vias must not lie on contacts.

        Method: A* (Hart, Nilsson and Raphael, 1968), aimed at the box round the targets. Heap entries are single
        integers, hope above and node below.
        """
        steps, size = self.grid.steps, self.grid.size
        upper = self.grid.layers > UPPER_METAL
        cut = _cuts(tree, size) if upper else {}
        ahead = self._ahead(targets)
        shift = len(tolls).bit_length()
        mask = (1 << shift) - 1
        dear = [_FAR] * len(tolls)
        came = [-1] * len(tolls)
        heap = []
        for node in sources:
            if tolls[node] < _FAR:
                dear[node] = tolls[node]
                heap.append((tolls[node] + ahead[node]) << shift | node)
        for node in tree.nodes:
            dear[node] = 0
            heap.append(ahead[node] << shift | node)
        heapify(heap)
        while heap:
            key = heappop(heap)
            node = key & mask
            d = dear[node]
            if key >> shift > d + ahead[node]:
                continue
            if node in targets:
                path = [node]
                while (node := came[node]) >= 0:
                    path.append(node)
                path.reverse()
                return path
            for near, price in steps[node]:
                worth = d + price + tolls[near]
                if worth < dear[near]:
                    if upper and (near - node >= size or node - near >= size) and self._stacked(node, near, came, cut):
                        continue
                    dear[near] = worth
                    came[near] = node
                    heappush(heap, (worth + ahead[near]) << shift | near)
        return None

    def _ahead(self, targets: set[int]) -> list[int]:
        """Return, for each node, a price that no path to a target can undercut."""
        grid, columns, rows = self.grid, self.grid.columns, self.rows
        across = [node % columns for node in targets]
        up = [node // columns % rows for node in targets]
        box = min(across), max(across), min(up), max(up)
        known = self.ahead.get(box)
        if known is None:
            left, right, low, high = box
            level, upright = grid.cheapest
            along = [level * max(left - c, c - right, 0) for c in range(columns)]
            rises = [upright * max(low - r, r - high, 0) for r in range(rows)]
            plane = [rise + price for rise in rises for price in along]
            known = self.ahead[box] = plane * (len(grid.owner) // len(plane))
        return known

    def _stacked(self, node: int, near: int, came: list[int], cut: dict[int, int]) -> bool:
        """Tell whether a contact or a via would lie on one of the other sort."""
        size = self.grid.size
        metal, far = (node, near) if node < near else (near, node)
        present = cut.get(metal)
        if present is None and node == metal and abs(came[node] - node) >= size and came[node] >= 0:
            present = came[node]
        return present is not None and present != far


def _cuts(tree: Tree, size: int) -> dict[int, int]:
    """Return, for each node of metal with a contact or a via, the node on the other side of it."""
    return {min(edge): max(edge) for edge in tree.edges if abs(edge[1] - edge[0]) >= size}
