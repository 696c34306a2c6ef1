"""
Write a layout as one canonical text, and read it back.

One line a rectangle or label, sorted, so that two layouts with the same drawing on every layer as the same
rectangles have the same text. References are flattened first. Lengths are in grid units.
"""

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout

_ESCAPES = (("\\", "\\\\"), ("\n", "\\n"), ("\r", "\\r"))


def layout_text(layout: Layout) -> str:
    """Return `layout NAME`, then `LAYER x0 y0 x1 y1` and `label LAYER x y TEXT` lines."""
    flat = layout.flattened()
    lines = [f"layout {_escaped(flat.name)}"]
    for layer in sorted(flat.shapes):
        lines.extend(f"{layer} {r[0]} {r[1]} {r[2]} {r[3]}" for r in sorted(set(flat.shapes[layer])))
    labels = sorted((t.layer, t.x, t.y, t.text) for t in flat.labels)
    lines.extend(f"label {layer} {x} {y} {_escaped(text)}" for layer, x, y, text in labels)
    return "\n".join(lines) + "\n"


def parse_layout(text: str, file: str = "layout text") -> Layout:
    """Read what `layout_text` wrote. Errors name the line."""
    name: str | None = None
    shapes: dict[str, list[Rect]] = {}
    labels: list[Label] = []
    for number, line in enumerate(text.split("\n"), 1):
        if not line:
            continue
        where = Where(file, number)
        if name is None:
            word, _, rest = line.partition(" ")
            if word != "layout":
                raise LayoutdrillError('the first line must be "layout NAME"', where=where)
            name = _plain(rest)
        elif line.startswith("label "):
            parts = line.split(" ", 4)
            if len(parts) < 5:
                raise LayoutdrillError("a label needs a layer, x, y and a text", where=where)
            x, y = _numbers(parts[2:4], where)
            labels.append(Label(_plain(parts[4]), parts[1], x, y))
        else:
            layer, *rest_words = line.split(" ")
            if len(rest_words) != 4:
                raise LayoutdrillError("a rectangle needs a layer and x0 y0 x1 y1", where=where)
            x0, y0, x1, y1 = _numbers(rest_words, where)
            if x0 >= x1 or y0 >= y1:
                raise LayoutdrillError("a rectangle without area", where=where, todo="write x0 < x1 and y0 < y1")
            shapes.setdefault(layer, []).append(Rect(x0, y0, x1, y1))
    if name is None:
        raise LayoutdrillError("an empty layout text", where=Where(file), todo='start it with "layout NAME"')
    return Layout(name, {layer: tuple(rects) for layer, rects in shapes.items()}, tuple(labels))


def _numbers(words: list[str], where: Where) -> list[int]:
    try:
        return [int(word) for word in words]
    except ValueError:
        raise LayoutdrillError(f'"{" ".join(words)}" are not whole numbers', where=where) from None


def _escaped(text: str) -> str:
    for plain, escaped in _ESCAPES:
        text = text.replace(plain, escaped)
    return text


def _plain(text: str) -> str:
    parts = text.split("\\\\")
    return "\\".join(part.replace("\\n", "\n").replace("\\r", "\r") for part in parts)
