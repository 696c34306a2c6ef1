"""A list of transistors to build up: what is listed, the one being written, and names to complete or click."""

from textual.content import Content

from layoutdrill.question.model import Listing

SEPARATOR = "; "


def rows_of_text(text: str) -> tuple[str, ...]:
    """Return the lines of an answer that was typed or pasted whole, empty ones left out."""
    parts = (" ".join(part.split()) for line in text.splitlines() for part in line.split(";"))
    return tuple(part for part in parts if part)


def answer_text(rows: tuple[str, ...], current: str) -> str:
    """Return the answer as it stands: what is listed, and what is being written."""
    return SEPARATOR.join((*rows, *rows_of_text(current)))


def completed(text: str, names: tuple[str, ...]) -> str:
    """
    Return the line with its last word completed to the first name that begins so; a whole name goes over into the next
    one with the same first letter, an empty word into the first name.
    """
    head, space, word = text.rpartition(" ")
    before = f"{head}{space}"
    stem = word[:1] if word in names else word
    fitting = [name for name in names if _begins(name, stem)]
    if not fitting:
        return text
    at = fitting.index(word) + 1 if word in fitting else 0
    return f"{before}{fitting[at % len(fitting)]}"


def known_names(listing: Listing, rows: tuple[str, ...]) -> tuple[str, ...]:
    """Return the names to complete: those on the picture, then those of one's own in the order of their first use."""
    own = dict.fromkeys(word for row in rows for word in row.split()[-3:] if word not in listing.names)
    return (*listing.names, *own)


def listing_content(listing: Listing, rows: tuple[str, ...], current: str) -> Content:
    """Return the list as a table, the row being written marked by >, then the names, all of which can be clicked."""
    heads = listing.heads
    words = [row.split() for row in rows]
    now = current.split()
    widths = [
        max(len(head), *(len(row[i]) for row in (*words, now) if i < len(row)), 4) for i, head in enumerate(heads)
    ]
    lines = [Content("     " + "  ".join(f"{head:<{w}}" for head, w in zip(heads, widths, strict=True)).rstrip())]
    lines[0] = lines[0].stylize("$secondary")
    for number, row in enumerate(words, 1):
        lines.append(Content(f" {number:>2}  {_cells(row, widths)}"))
    now_cells = _cells(now, widths)
    lines.append(Content.from_markup("[b $accent]>$number  $cells[/]", number=f"{len(rows) + 1:>3}", cells=now_cells))
    click = Content("  ").join([_clickable(name) for name in (*listing.kinds, *known_names(listing, rows))])
    lines.append(Content("names  ").stylize("$secondary") + click)
    lines.append(
        Content.from_markup(
            "Tab completes  [@click=screen.add_row()]Enter: next line[/]  [@click=screen.take_back()]u: take back[/]  "
            "[@click=screen.do('hand_in')]Enter on an empty line: done[/]"
        ).stylize("$secondary")
    )
    return Content("\n").join(lines)


def _clickable(name: str) -> Content:
    if not name.isidentifier() and not name.isalnum():
        return Content(name)  # brackets would be markup
    return Content.from_markup(f"[@click=screen.add_word('{name}')]$name[/]", name=name)


def _begins(name: str, stem: str) -> bool:
    return name.lower().startswith(stem.lower())


def _cells(row: list[str], widths: list[int]) -> str:
    cells = [*row[: len(widths)], *[""] * (len(widths) - len(row))]
    more = f"  {' '.join(row[len(widths) :])}" if len(row) > len(widths) else ""
    return "  ".join(f"{cell:<{w}}" for cell, w in zip(cells, widths, strict=True)).rstrip() + more
