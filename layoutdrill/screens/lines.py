"""Lines of text with their emphasis, whatever they tell."""

from collections.abc import Iterable, Sequence

from textual.content import Content


def line(markup: str, **texts: str) -> Content:
    """Return a line of markup with texts put in as they are, brackets and all."""
    return Content.from_markup(markup, **texts)


def unwrapped(text: str) -> str:
    """Return each paragraph of a text as one line, so that the screen can wrap it to its own width."""
    parts = (" ".join(part.split()) for part in text.strip().split("\n\n"))
    return "\n\n".join(part for part in parts if part)


def joined(lines: Sequence[Content]) -> Content:
    return Content("\n").join(lines)


def swatches(named: Iterable[tuple[tuple[int, int, int], str]]) -> Content:
    """Return colours and what they stand for, a line each."""
    return joined([Content.assemble(("██ ", "rgb({},{},{})".format(*colour)), name) for colour, name in named])
