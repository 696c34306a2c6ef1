"""Group grid nodes that move together, and chain edges into straight runs."""

from collections.abc import Iterable


class Lines:
    """Nodes that move together share a line."""

    def __init__(self) -> None:
        self.parent: dict[int, int] = {}

    def find(self, node: int) -> int:
        parent = self.parent
        root = node
        while (up := parent.get(root, root)) != root:
            root = up
        while (up := parent.get(node, node)) != root and up != node:
            parent[node] = root
            node = up
        return root

    def join(self, a: int, b: int) -> None:
        a, b = self.find(a), self.find(b)
        if a != b:
            self.parent[max(a, b)] = min(a, b)


def runs(starts: Iterable[int], step: int) -> list[list[int]]:
    """Chain edges (node, node + step) into maximal runs of nodes."""
    rest = set(starts)
    found = []
    for a in sorted(rest):
        if a - step in rest:
            continue
        run = [a]
        while run[-1] in rest:
            run.append(run[-1] + step)
        found.append(run)
    return found
