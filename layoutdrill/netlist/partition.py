"""
Split the nodes of a graph into classes that cannot be told apart, as fine as their neighbours allow.

Colour refinement with a worklist: a class is taken as splitter, smallest first; each class that its edges reach is
split by what reaches which member, and all parts but the largest are to be splitters in turn (Hopcroft's rule,
which bounds the work to edges times log nodes). Every split can be undone, which is what a search needs.
Source: refinement for netlists after Ebeling 1983 (from memory); the rule after Hopcroft 1971 (from memory).
"""

from heapq import heapify, heappop, heappush

from layoutdrill.netlist.graph import ROLES, WEIGHT, Graph


class Partition:
    """
    The nodes of A sorted by class in one array, those of B in another; a class has the same range in both.

    So a class always holds as many nodes of A as of B, and carving a part off it costs only that part. Where a split
    would leave more of one side than of the other there is no match, and `refine` says so.
    """

    def __init__(self, graph: Graph, colours: list[int], *, stable: bool) -> None:
        """Start from balanced `colours`, numbered from 0; `stable` says that they need no first refinement."""
        self.edges = graph.edges
        self.side = graph.sides()
        self.of = list(colours)
        self.at = [0] * len(colours)
        by_colour = sorted(range(len(colours)), key=colours.__getitem__)
        self.ours = [node for node in by_colour if self.side[node]]
        self.theirs = [node for node in by_colour if not self.side[node]]
        for nodes in (self.ours, self.theirs):
            for place, node in enumerate(nodes):
                self.at[node] = place
        self.start: list[int] = []
        self.end: list[int] = []
        self.parent: list[int] = []
        for place, node in enumerate(self.ours):
            if colours[node] == len(self.start):
                self.start.append(place)
                self.end.append(place)
                self.parent.append(-1)
            self.end[-1] = place + 1
        self.touched = 0
        self._queued = bytearray(len(self.start))
        self._queue: list[tuple[int, int]] = []
        if not stable:
            self._queue = [(self.pairs(kind), kind) for kind in range(len(self.start))]
            heapify(self._queue)
            self._queued = bytearray(b"\1") * len(self.start)

    def pairs(self, kind: int) -> int:
        """Return how many nodes of A, and as many of B, a class holds."""
        return self.end[kind] - self.start[kind]

    def a_of(self, kind: int) -> list[int]:
        return self.ours[self.start[kind] : self.end[kind]]

    def b_of(self, kind: int) -> list[int]:
        return self.theirs[self.start[kind] : self.end[kind]]

    def single_out(self, a: int, b: int) -> None:
        """Take a node of A and one of B out of their class, as matched with each other."""
        self._push(self._carve(self.of[a], [a], [b]))

    def undo(self, classes: int) -> None:
        """Undo splits until as many classes are left."""
        while len(self.start) > classes:
            start, end, parent = self.start.pop(), self.end.pop(), self.parent.pop()
            for at in range(start, end):
                self.of[self.ours[at]] = self.of[self.theirs[at]] = parent
            self.end[parent] = end
        self._queue.clear()
        self._queued = bytearray(classes)

    def refine(self) -> bool:
        """Refine until stable; stop at once, and return False, when a class gets out of balance."""
        while self._queue:
            kind = heappop(self._queue)[1]
            if self._queued[kind]:
                self._queued[kind] = 0
                if not self._split_by(kind):
                    return False
        return True

    def _split_by(self, splitter: int) -> bool:
        reached: dict[int, int] = {}
        edges = self.edges
        for nodes in (self.a_of(splitter), self.b_of(splitter)):
            for node in nodes:
                for edge in edges[node]:
                    other = edge // ROLES
                    reached[other] = reached.get(other, 0) + WEIGHT[edge % ROLES]
        self.touched += len(reached)
        parts: dict[tuple[int, int], tuple[list[int], list[int]]] = {}
        touched: dict[int, list[tuple[int, int]]] = {}
        of, side = self.of, self.side
        for node, weight in reached.items():
            key = (of[node], weight)
            part = parts.get(key)
            if part is None:
                part = parts[key] = ([], [])
                touched.setdefault(key[0], []).append(key)
            part[0 if side[node] else 1].append(node)
        for mine, their in parts.values():
            if len(mine) != len(their):
                return False
        for kind, keys in touched.items():
            self._split(kind, [parts[key] for key in keys])
        return True

    def _split(self, kind: int, parts: list[tuple[list[int], list[int]]]) -> None:
        if sum([len(part[0]) for part in parts]) == self.end[kind] - self.start[kind]:
            if len(parts) == 1:
                return
            parts.sort(key=lambda part: len(part[0]))
            parts.pop()
        pieces = [self._carve(kind, mine, their) for mine, their in parts]
        if not self._queued[kind]:
            pieces.append(kind)
            pieces.remove(max(pieces, key=self.pairs))
        for piece in pieces:
            self._push(piece)

    def _carve(self, kind: int, mine: list[int], their: list[int]) -> int:
        at, of = self.at, self.of
        new = len(self.start)
        end = self.end[kind]
        for nodes, part in ((self.ours, mine), (self.theirs, their)):
            place = end
            for node in part:
                place -= 1
                swapped, hole = nodes[place], at[node]
                nodes[hole], at[swapped] = swapped, hole
                nodes[place], at[node] = node, place
                of[node] = new
        self.end[kind] = end - len(mine)
        self.start.append(end - len(mine))
        self.end.append(end)
        self.parent.append(kind)
        self._queued.append(0)
        return new

    def _push(self, kind: int) -> None:
        if not self._queued[kind]:
            self._queued[kind] = 1
            heappush(self._queue, (self.pairs(kind), kind))
