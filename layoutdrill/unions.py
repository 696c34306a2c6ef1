"""Disjoint sets of whole numbers that grow together, and things put together by what they have in common."""

from collections.abc import Iterable
from typing import TypeVar

K = TypeVar("K")
V = TypeVar("V")


class Unions:
    """
    Sets that any number may be asked for; the least member of a set stands for it.

    Method: a disjoint-set forest with paths compressed (Galler and Fischer, 1964; from memory).
    """

    __slots__ = ("_parent",)

    def __init__(self) -> None:
        self._parent: dict[int, int] = {}

    def find(self, member: int) -> int:
        """Return the least member of the set; one that was never joined is alone."""
        parent = self._parent
        root = member
        while (up := parent.get(root, root)) != root:
            root = up
        while (up := parent.get(member, member)) != root and up != member:
            parent[member] = root
            member = up
        return root

    def join(self, a: int, b: int) -> None:
        a, b = self.find(a), self.find(b)
        if a != b:
            self._parent[max(a, b)] = min(a, b)


def grouped(pairs: Iterable[tuple[K, V]]) -> dict[K, list[V]]:
    """Return the second of each pair by the first, both in the order in which they come."""
    groups: dict[K, list[V]] = {}
    for key, thing in pairs:
        groups.setdefault(key, []).append(thing)
    return groups
