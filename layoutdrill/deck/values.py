"""Read single values of a deck: text, wear, ranges, seeds; errors carry the place."""

from layoutdrill.picture.degrees import DEGREES
from layoutdrill.yamldoc import Node

FRESH = "fresh"


def said(node: Node) -> str:
    """Read text that says something."""
    text = node.text().strip()
    if not text:
        node.fail("the text is empty", "write something, or leave the line out")
    return text


def wear_of(node: Node) -> float:
    """Read a wear, by name or as a number from 0 to 1."""
    if isinstance(node.value, int | float) and not isinstance(node.value, bool):
        return node.number(0, 1)
    return DEGREES[node.word(tuple(DEGREES), "wear")]


def range_of(node: Node) -> tuple[float, float | None]:
    """Read a difficulty, or the lowest and the highest of a range."""
    if not isinstance(node.value, tuple):
        return node.number(0, 1), None
    ends = [end.number(0, 1) for end in node.items()]
    if len(ends) != 2 or ends[0] > ends[1]:
        node.fail("a range is two numbers, the lower first", "write it as [0.2, 0.6]")
    return ends[0], ends[1]


def seeds_of(node: Node) -> tuple[int, ...]:
    """Read a seed or several; () for fresh drawings."""
    if isinstance(node.value, tuple):
        return tuple(seed_node.integer(0) for seed_node in node.items())
    seed = seed_of(node)
    return () if seed is None else (seed,)


def numbered(name: str) -> tuple[str, int]:
    """Return a name's stem and the number at its end; -1 where there is none, or a long one."""
    stem = name.rstrip("0123456789")
    figures = name[len(stem) :]
    return stem, int(figures) if 0 < len(figures) <= 4 else -1


def seed_of(node: Node) -> int | None:
    if node.value == FRESH:
        return None
    if not isinstance(node.value, int) or isinstance(node.value, bool):
        node.fail(f"a seed or “{FRESH}” expected, {node.sort} found", "give a whole number, or fresh")
    return node.integer(0)


def section_of(node: Node) -> str:
    """Read where a picture is cut: “auto”, or a height y in λ."""
    if isinstance(node.value, int | float) and not isinstance(node.value, bool):
        return f"{node.number(-100_000, 100_000):g}"
    return node.word(("auto",), "section")
