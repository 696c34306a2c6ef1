"""Read a deck from YAML, telling every error in it with its place."""

from functools import cache, partial
from pathlib import Path

from layoutdrill.cells import Cell, cell_names, load_cell
from layoutdrill.cells.library import read_cell
from layoutdrill.deck import fields as table
from layoutdrill.deck.items import MOST_QUESTIONS, Usual, read_item, read_kinds
from layoutdrill.deck.known import Known
from layoutdrill.deck.model import Deck, OwnLayout
from layoutdrill.deck.pages import read_page
from layoutdrill.deck.values import range_of, said, wear_of
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.locations import shipped
from layoutdrill.yamldoc import Document, Node

KITS = ("sky130_fd_sc_hd",)
FORMAT = 1
"""The version of the deck format; a deck that says none is of the first."""


def read_deck(document: Document, name: str, folder: Path | None = None) -> tuple[Deck, list[LayoutdrillError]]:
    """
    Return the deck as far as it can be read, and every error in it, in the order of the lines. `folder` is where the
    files lie that it names: that of the document where none is given.
    """
    known = Known(folder or Path(document.file).parent)
    deck = _deck(document.root, name, known)
    errors = sorted(known.collect.errors, key=_place)
    return deck, errors


def _place(error: LayoutdrillError) -> tuple[int, int]:
    where = error.where or Where("")
    return where.line or 0, where.column or 0


def _deck(root: Node, name: str, known: Known) -> Deck:
    take = known.collect
    fields = take.fields(root, table.required(table.DECK), table.optional(table.DECK))
    _shape(root, fields, known)
    known.named = _names_of(fields.get("cells"))
    for cell in take.entries(fields, "cells", lambda node: read_cell(node, "of this deck", lookup=load_cell)):
        _add_cell(cell, known)
    for own in take.entries(fields, "layouts", partial(_own_layout, known=known)):
        known.layouts[own.name] = own
    # A kit by a wrong name is still a kit: its cells are not the library's.
    known.kit = take.field(fields, "kit", lambda node: node.word(KITS, "kit"), KITS[0] if "kit" in fields else "")
    known.processes = known.processes_of(fields)
    usual = Usual(
        kinds=read_kinds(fields, known),
        difficulty=take.field(fields, "difficulty", range_of, Usual().difficulty),
        wears=take.entries(fields, "wear", wear_of),
    )
    return Deck(
        name=name,
        title=take.field(fields, "title", said, ""),
        about=take.field(fields, "about", said, ""),
        objective=take.field(fields, "objective", said, ""),
        lesson=_lesson(fields, known),
        kit=known.kit,
        look=take.field(fields, "look", known.look, ""),
        count=take.field(fields, "count", lambda node: node.integer(1, MOST_QUESTIONS), None),
        kept=take.field(fields, "kept for checking", Node.boolean, False),
        cells=known.cells,
        pages=take.entries(fields, "pages", partial(read_page, known=known)),
        items=take.entries(fields, "items", partial(read_item, known=known, usual=usual)),
        photographs=known.photographs,
        layouts=known.layouts,
        author=take.field(fields, "author", said, ""),
        licence=take.field(fields, "licence", said, ""),
        prerequisites=take.words(fields, "prerequisites", shipped_names(), "lesson or deck that ships"),
        brought=known.brought,
    )


def _shape(root: Node, fields: dict[str, Node], known: Known) -> None:
    """Tell of a format that is not known, and of a deck with nothing in it."""
    errors = known.collect.errors
    if "format" in fields and fields["format"].value != FORMAT:
        what = f"format {fields['format'].raw} of decks is not known here"
        errors.append(LayoutdrillError(what, where=fields["format"].where, todo=f"this version reads {FORMAT}"))
    if "items" not in fields and "pages" not in fields and isinstance(root.value, dict):
        errors.append(LayoutdrillError("a deck with nothing in it", where=root.where, todo="add “items:” or “pages:”"))


def _lesson(fields: dict[str, Node], known: Known) -> int | None:
    """Return the place in the syllabus of a deck that is a lesson."""
    lesson = known.collect.field(fields, "lesson", lambda node: node.integer(1, 999), None)
    if lesson is not None and "objective" not in fields:
        known.collect.errors.append(
            LayoutdrillError(
                "a lesson has no objective",
                where=fields["lesson"].where,
                todo="add “objective:”, what one will be able to do",
            )
        )
    if lesson is not None and "kept for checking" in fields:
        where = fields["kept for checking"].where
        known.collect.errors.append(
            LayoutdrillError("a lesson is there to practise", where=where, todo="take one of the two out")
        )
    return lesson


def _add_cell(cell: Cell, known: Known) -> None:
    if cell.name in known.cells or cell.name in cell_names():
        what = f'there is a cell "{cell.name}" already'
        known.collect.errors.append(LayoutdrillError(what, where=cell.where, todo="choose another name"))
    known.cells[cell.name] = cell


def _own_layout(node: Node, known: Known) -> OwnLayout:
    from layoutdrill.deck.layouts import read_own_layout  # noqa: PLC0415 - few decks bring one

    own = read_own_layout(node, known)
    if own.name in known.cells or own.name in known.layouts or own.name in cell_names():
        node.fail(f'there is a cell "{own.name}" already', "choose another name")
    return own


def _names_of(node: Node | None) -> set[str]:
    """Return the names of a list of cells, whatever else is wrong with them."""
    names: set[str] = set()
    if node is not None and isinstance(node.value, tuple):
        for entry in node.items():
            name = entry.mapping().get("name") if isinstance(entry.value, dict) else None
            if name is not None and isinstance(name.value, str):
                names.add(name.value)
    return names


@cache
def shipped_names() -> tuple[str, ...]:
    """Return the names of the decks and lessons that ship."""
    folder = shipped("decks")
    return tuple(sorted(path.stem for path in (*folder.glob("*.yaml"), *folder.glob("lessons/*.yaml"))))
