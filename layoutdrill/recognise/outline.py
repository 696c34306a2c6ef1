"""The outline of a recognition: what there is from the top down, identical parts told once with their number."""

from collections.abc import Iterator, Sequence

from layoutdrill.recognise.heading import sized
from layoutdrill.recognise.model import Structure
from layoutdrill.value import value

DEPTH = 2
MakeUp = tuple[str, int, tuple[int, ...]]
"""The name of a structure, its transistors, and the numbers of its parts' make-ups."""


@value
class Entry:
    """A line of an outline: `count` structures called `term`, each of `size` transistors, with the parts of one."""

    term: str
    count: int
    size: int
    places: tuple[Structure, ...]
    parts: tuple["Entry", ...]

    def walk(self) -> Iterator["Entry"]:
        """Yield the entry and those below it, outermost first."""
        yield self
        for part in self.parts:
            yield from part.walk()


def outline(structures: Sequence[Structure]) -> tuple[Entry, ...]:
    """Return structures as entries, the largest first; those of one name and one make-up are one entry."""
    return _outline(structures, {}, {})


def _outline(
    structures: Sequence[Structure], made: dict[Structure, int], numbers: dict[MakeUp, int]
) -> tuple[Entry, ...]:
    groups: dict[int, list[Structure]] = {}
    for s in structures:
        groups.setdefault(_make_up(s, made, numbers), []).append(s)
    entries = [
        Entry(sized(g[0]), len(g), len(g[0].transistors), tuple(g), _outline(g[0].parts, made, numbers))
        for g in groups.values()
    ]
    return tuple(sorted(entries, key=lambda e: (-e.size * e.count, e.term)))


def _make_up(top: Structure, made: dict[Structure, int], numbers: dict[MakeUp, int]) -> int:
    """Return the number of a make-up, the same for structures alike in name, size and parts; from the inside out."""
    stack = [top]
    while stack:
        s = stack[-1]
        if s in made:
            stack.pop()
        elif inner := [p for p in s.parts if p not in made]:
            stack += inner
        else:
            key = (sized(s), len(s.transistors), tuple(sorted(made[p] for p in s.parts)))
            made[s] = numbers.setdefault(key, len(numbers))
            stack.pop()
    return made[top]


def outline_lines(entries: Sequence[Entry], depth: int = DEPTH, indent: int = 0) -> list[str]:
    """Return an outline as text to a depth, two spaces a level; a single structure is told with its nets."""
    lines = []
    pad = "  " * indent
    for e in entries:
        size = f"{e.size} transistor{'' if e.size == 1 else 's'}"
        if e.count > 1:
            lines.append(f"{pad}{e.count} × {e.term} ({size} each)")
        else:
            (s,) = e.places
            lines.append(f"{pad}{e.term} ({size})" + (f": {s.function}" if s.function else ""))
            lines += [f"{pad}  {note}" for note in s.notes]
        if depth > 1:
            lines += outline_lines(e.parts, depth - 1, indent + 1)
        elif e.parts:
            kinds = sum(p.count for p in e.parts)
            lines[-1] += f" [{kinds} parts]" if e.count == 1 and kinds > 1 else ""
    return lines
