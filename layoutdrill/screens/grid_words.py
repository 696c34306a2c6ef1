"""A table to fill in, as characters: what is given, what has been filled in, and the row at which one stands."""

from textual.content import Content

from layoutdrill.question.model import Grid

OPEN = "?"
_MOST_ROWS = 8
"""Rows that stand below one another; more go on beside them."""


def filled(value: str, at: int, letter: str, rows: int) -> tuple[str, int]:
    """Return the column with a letter put in at a row, and the row after it."""
    cells = list(value.ljust(rows, OPEN)[:rows])
    cells[at] = letter
    return "".join(cells), min(at + 1, rows - 1)


def next_letter(grid: Grid, letter: str) -> str:
    """Return the letter that a click puts in the place of another: each in turn."""
    letters = grid.letters
    return letters[(letters.index(letter) + 1) % len(letters)] if letter in letters else letters[0]


def grid_content(grid: Grid, value: str, at: int, width: int) -> Content:
    """Return the table: a block of rows beside the other where there is room; the row at `at` is marked by >."""
    column = value.ljust(len(grid.rows), OPEN)
    widths = [max(len(head), 1) for head in grid.heads]
    head = " ".join(name.rjust(w) for name, w in zip(grid.heads[:-1], widths, strict=False))
    head = f"  {head} │ {grid.heads[-1]} "
    blocks = max(1, min(-(-len(grid.rows) // _MOST_ROWS), (width + 2) // (len(head) + 2)))
    high = -(-len(grid.rows) // blocks)
    lines = [Content("  ".join([head] * blocks)).stylize("$secondary")]
    for row in range(high):
        parts = []
        for number in range(row, len(grid.rows), high):
            given = " ".join(cell.rjust(w) for cell, w in zip(grid.rows[number], widths, strict=False))
            mark = ">" if number == at else " "
            own = column[number].center(len(grid.heads[-1]))
            style = "b reverse" if number == at else "b $accent"
            parts.append(
                Content.from_markup(
                    f"[@click=screen.mark_row({number})]$mark $given │ [{style}]$own[/][/] ",
                    mark=mark, given=given, own=own,
                )
            )  # fmt: skip
        lines.append(Content("  ").join(parts))
    return Content("\n").join(lines)
