"""The commands that list what there is, and say what there is to know of it."""

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from layoutdrill.deck import Deck

Run = Callable[[argparse.Namespace], int]
Add = Callable[[str, str, Run], argparse.ArgumentParser]


def add_commands(add: Add) -> None:
    """Add each command by `add(name, text, run)`."""
    add("decks", "List the decks and lessons.", _decks)
    cells = add("cells", "List the cells of the library, or say what there is to know of some.", _cells)
    cells.add_argument("names", nargs="*", metavar="CELL")
    processes = add("processes", "List the processes, or say how to tell some.", _processes)
    processes.add_argument("names", nargs="*", metavar="P")
    processes.add_argument("--yaml", metavar="P", help="print the file of a process, to make one of your own of it")
    words = add("words", "List the words of the trade, or say what some mean and which page shows them.", _words)
    words.add_argument("words", nargs="*", metavar="WORD")


def _decks(_options: argparse.Namespace) -> int:
    from layoutdrill.covers import added_decks, read_cover
    from layoutdrill.deck import deck_names, load_deck

    rows = [(name, load_deck(name).title) for name in deck_names()]
    _table(rows + [(cover.name, cover.title) for cover in map(read_cover, added_decks())])
    return 0


def _cells(options: argparse.Namespace) -> int:
    if options.names:
        from layoutdrill.deck.entry import cell_entry

        return _entries([cell_entry(name) for name in options.names])
    from layoutdrill.cells import cells_as_met, load_cell
    from layoutdrill.cells.arrays import FORMS, array_names
    from layoutdrill.cells.chips import chip_names

    _table([(name, load_cell(name).title) for name in (*cells_as_met(), *array_names(), *chip_names())])
    print(f"Arrays of other sizes: {', '.join(FORMS)}")
    return 0


def _processes(options: argparse.Namespace) -> int:
    if options.yaml is not None:
        from layoutdrill.process.load import process_file

        print(process_file(options.yaml).read_text("utf-8").rstrip())
        return 0
    if options.names:
        from layoutdrill.deck.entry import process_entry

        return _entries([process_entry(name) for name in options.names])
    from layoutdrill.process import load_process, process_names

    _table([(name, load_process(name).title) for name in process_names()])
    return 0


def _words(options: argparse.Namespace) -> int:
    from textwrap import fill

    from layoutdrill.deck.words import find_word, taught, words

    for word in [find_word(text) for text in options.words] or words():
        also = f" Also: {', '.join(word.other)}." if word.other and options.words else ""
        place = taught(word) if options.words else None
        where = f" Lesson {place.number}, {place.title}, page {place.page}." if place is not None else ""
        print(fill(f"{word.word}: {word.about}.{also}{where}", 79, subsequent_indent="  "))
    return 0


def _entries(entries: "list[Deck]") -> int:
    """Print the pages of the library's entries, as wide as reads well."""
    from textwrap import fill

    for entry in entries:
        for page in entry.pages:
            print(f"{page.title}\n")
            for paragraph in page.text.split("\n\n"):
                print(fill(" ".join(paragraph.split()), 79, initial_indent="  ", subsequent_indent="  ") + "\n")
    return 0


def _table(rows: list[tuple[str, str]]) -> None:
    wide = max((len(name) for name, _ in rows), default=0)
    for name, title in rows:
        print(f"{name:{wide}}  {title}")
