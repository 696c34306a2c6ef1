"""Make one HTML page to keep: it stands alone and loads nothing from anywhere."""

from collections.abc import Iterable, Sequence
from html import escape

_STYLE = """
body { font: 16px/1.45 system-ui, sans-serif; max-width: 60rem; margin: 2rem auto; padding: 0 1rem; color: #1a1a1a; }
table { border-collapse: collapse; margin: .5rem 0 1.5rem; } th, td { padding: .2rem .9rem .2rem 0; text-align: left; }
td.n { text-align: right; font-variant-numeric: tabular-nums; } tr + tr td { border-top: 1px solid #ddd; }
.bar { display: inline-block; height: .6rem; background: #555; } figure { margin: .5rem 0; }
figure svg, figure img { max-width: 100%; height: auto; border: 1px solid #ccc; }
@media print { figure { break-inside: avoid; } }
"""

Cell = str | int | float
"""A text, a figure, or a share from 0 to 1, which is drawn as a bar."""


def page(title: str, parts: Iterable[str]) -> str:
    """Return a page with its title as heading; `parts` are HTML."""
    head = f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{escape(title)}</title>'
    return "\n".join([f"{head}<style>{_STYLE}</style></head><body>", f"<h1>{escape(title)}</h1>", *parts,
                      "</body></html>", ""])  # fmt: skip


def table(title: str, heads: Sequence[str], rows: Iterable[Sequence[Cell]]) -> list[str]:
    """Return a headed table."""
    lines = [f"<h2>{escape(title)}</h2><table><tr>", *(f"<th>{escape(head)}</th>" for head in heads), "</tr>"]
    lines += [f"<tr>{''.join(map(_cell, row))}</tr>" for row in rows]
    return [*lines, "</table>"]


def _cell(cell: Cell) -> str:
    if isinstance(cell, float):
        return f'<td><span class=bar style="width:{8 * cell:.2f}rem"></span></td>'
    return f"<td class=n>{cell}</td>" if isinstance(cell, int) else f"<td>{escape(cell)}</td>"
