"""Look a cell or a process up: its entry as pages with live pictures, look-alikes beside it, and questions about it."""

from collections.abc import Iterator
from dataclasses import replace

from layoutdrill.cells import Cell, cell_names, find_cell, load_cell
from layoutdrill.deck.known import drawn_processes
from layoutdrill.deck.model import Arrangement, Deck, Item, Page, Picture
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import Process, load_process
from layoutdrill.question.naming import sentence
from layoutdrill.question.ratioed_words import in_words

_DIFFICULTY = 0.1
_QUESTIONS = 8
_MOST_OUTPUTS = 8
_MOST_BESIDE = 4
"""How many look-alikes are shown."""
SHOWN = ("inverter", "nand2", "latch_static", "latch_pass")
"""What is shown of a process: those of these that it can build."""


def cell_entry(name: str) -> Deck:
    """
    Return a cell's or an array's entry as a deck of pages, with questions on it and what it is mistaken for.

    Raises LayoutdrillError for a name that the library does not have.
    """
    cell = load_cell(name)
    fitting = tuple(p for p in drawn_processes() if cell.fits(load_process(p)))
    if not fitting:
        raise LayoutdrillError(f"{name} is built in no process that is drawn", todo="look another cell up")
    words = "\n\n".join(told_of(cell, load_process(fitting[0])))
    pages = [Page(cell.title, words, Arrangement.ONE, (_picture(name, fitting[0]),))]
    if len(fitting) > 1:
        pictures = tuple(_picture(name, process, load_process(process).title) for process in fitting)
        titles = "; ".join(load_process(process).title for process in fitting)
        text = f"Drawn in {titles}. Ask first what makes a gate here."
        pages.append(Page("In each process", text, Arrangement.SIDE_BY_SIDE, pictures))
    beside = list(_beside(cell, fitting))
    for other, tell, process in beside:
        pictures = (_picture(name, process, cell.structure), _picture(other.name, process, other.structure))
        title = f"Mistaken for: {other.title}"
        pages.append(
            Page(
                title,
                f"In the right one, {other.title}, and not in {cell.title}: {tell}",
                Arrangement.SIDE_BY_SIDE,
                pictures,
            )
        )
    items = [Item((name,), fitting)]
    items += [Item((other.name,), (process,)) for other, _, process in beside]
    return Deck(
        name=f"library: {name}",
        title=f"Library: {cell.title}",
        about=f"The library's entry “{name}”, and what it is mistaken for.",
        items=tuple(items),
        pages=tuple(pages),
        count=_QUESTIONS,
    )


def process_entry(name: str) -> Deck:
    """Return a process's entry: what it is, how to tell it, and some of its cells; with questions on them."""
    process = load_process(name)
    pages = [Page(process.title, process.about.strip()), Page("How to tell it", process.tell.strip())]
    if name not in drawn_processes():
        return Deck(f"library: {name}", f"Library: {process.title}", process.title, (), tuple(pages))
    own = [cell for cell in SHOWN if load_cell(cell).fits(process)]
    every = [cell for cell in cell_names() if load_cell(cell).fits(process)]
    pages = [replace(page, pictures=(_picture(cell, name),)) for page, cell in zip(pages, own, strict=False)]
    pages += [
        Page(
            "Cells that make sense in it",
            f"{len(every)} of the library's {len(cell_names())} cells: {', '.join(every)}.",
            Arrangement.SIDE_BY_SIDE,
            tuple(_picture(cell, name, load_cell(cell).structure) for cell in own),
        ),
    ]
    return Deck(
        name=f"library: {name}",
        title=f"Library: {process.title}",
        about=f"How to tell {process.title}, and some of its cells.",
        items=(Item(tuple(own), (name,)),),
        pages=tuple(pages),
        count=_QUESTIONS,
    )


def told_of(cell: Cell, process: Process) -> Iterator[str]:
    """Yield what a cell's entry says, a paragraph at a time, in words that hold in the process."""
    look = in_words(cell.look_for, cell.structure, process)
    if look:
        yield f"Look for: {sentence(look)}"
    if cell.function:
        stages = [stage.text for stage in cell.function[:_MOST_OUTPUTS]]
        more = len(cell.function) - len(stages)
        yield "Function: " + "; ".join(stages) + (f"; and {more} more outputs" if more else "")
    elif cell.does:
        yield f"What it does: {sentence(cell.does)}"
    names = [cell.structure, *cell.aliases]
    yield f"Called: {', '.join(dict.fromkeys(names))}."
    yield f"Transistors: {cell.netlist(process).count()} in {process.title}. Part of it: {cell.boundary.rstrip('.')}."


def _picture(cell: str, process: str, caption: str = "") -> Picture:
    return Picture(cell, process, 1, _DIFFICULTY, caption=caption)


def _beside(cell: Cell, fitting: tuple[str, ...]) -> Iterator[tuple[Cell, str, str]]:
    """Yield the cells that this one is mistaken for, with what tells it and a process in which both are built."""
    for look in cell.mistaken_for[:_MOST_BESIDE]:
        other = find_cell(look.cell)
        both = [p for p in fitting if other is not None and other.fits(load_process(p))]
        for process in both:
            tell = in_words(look.tell, other.structure if other else "", load_process(process))
            if tell and other is not None:
                yield other, sentence(tell), process
                break
