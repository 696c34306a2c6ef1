"""What a deck is: a title, a few pages to read, and items to ask about; a lesson is a deck with an objective."""

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum
from pathlib import Path

from layoutdrill.cells import Cell, Port, load_cell
from layoutdrill.covers import usual_count
from layoutdrill.errors import Where
from layoutdrill.layout.model import Layout
from layoutdrill.process import Process
from layoutdrill.question.model import HintStep
from layoutdrill.value import value

KIT_PROCESS = "open-130nm"
"""The process in which a kit's cells are drawn."""


class Arrangement(StrEnum):
    """How a page's pictures stand."""

    ONE = "one"
    BUILD_UP = "build up"  # the same drawing, each step adding layers
    SIDE_BY_SIDE = "side by side"  # a contrast, with nothing between


@value
class Picture:
    """
    A live picture: a cell drawn in a process from a seed. `layers` are the mask layers to show, all when empty;
    `outline` is what to outline on it (a hint's step), or None. With `decoy`, the kind of change, a circuit is drawn
    that differs from the cell by one wire. `wear` is that of the die, `stage` how far it has been taken apart; with
    `section` it is cut along a line: "auto", or its height y in λ. With `seam` its right half sits so many
    λ too high (below 0: too low), as after bad stitching.

    `closer` is the scale, in half-pixels per λ, at which it opens at least; `pointed` are letters and what each points
    at, `nets` ports whose nets are outlined, `defect` what is broken, `turn` which of eight orientations.
    """

    cell: str
    process: str
    seed: int
    difficulty: float = 0.2
    look: str = ""
    layers: tuple[str, ...] = ()
    outline: HintStep | None = None
    caption: str = ""
    decoy: str = ""
    wear: float = 0.0
    stage: str = ""
    section: str = ""
    seam: int = 0
    closer: int = 0
    pointed: tuple[tuple[str, str], ...] = ()
    nets: tuple[str, ...] = ()
    defect: str = ""
    turn: int = 0
    where: Where = field(default=Where(""), compare=False)


@value
class Page:
    """One page: some text, and pictures in an arrangement."""

    title: str
    text: str
    arrangement: Arrangement = Arrangement.ONE
    pictures: tuple[Picture, ...] = ()
    where: Where = field(default=Where(""), compare=False)


@value
class Item:
    """
    What to ask about. One of the cells, processes and kinds is taken for each question; no kinds means any that fits.

    `seed` fixes the drawing, None draws afresh each time. `help` is shown from the start, at no cost; `hints` are the
    author's own words. `count` is how many questions a lesson takes from this item. `wear` is that of the dies, from 0
    to 1, None where the learner chooses; `stage` how far they are taken apart. Difficulty lies between `difficulty` and
    `hardest` where that is given; of `seeds`, `wears`, `looks` and `stages` each is taken in turn. A kind that stands
    several times is asked so much oftener. `words` come before each question, the `note` with each verdict; `look` goes
    before the one that the learner chose.
    """

    cells: tuple[str, ...]
    processes: tuple[str, ...]
    kinds: tuple[str, ...] = ()
    difficulty: float = 0.3
    seed: int | None = None
    hints: tuple[str, ...] = ()
    help: tuple[HintStep, ...] = ()
    count: int | None = None
    wear: float | None = None
    hardest: float | None = None
    seeds: tuple[int, ...] = ()
    words: str = ""
    note: str = ""
    look: str = ""
    stage: str = ""
    wears: tuple[float, ...] = ()
    looks: tuple[str, ...] = ()
    stages: tuple[str, ...] = ()
    where: Where = field(default=Where(""), compare=False)


@value
class Photographed:
    """A place on a photograph, asked about like a cell: the mark file, its region ("" for all of it), what it is."""

    marks: Path
    region: str
    process: str
    structure: str


@value
class OwnLayout:
    """
    A layout that the author brings, shown like a cell in its one process: a cell of a `file`, or `drawn` shapes.
    `netlist` is a SPICE file that it is compared with.
    """

    name: str
    structure: str
    process: str
    ports: tuple[Port, ...]
    title: str = ""
    aliases: tuple[str, ...] = ()
    boundary: str = ""
    about: str = ""
    file: Path | None = None
    cell: str = ""
    netlist: Path | None = None
    drawn: Layout | None = None
    where: Where = field(default=Where(""), compare=False)


@value
class Deck:
    """
    A deck. `kit` names the open kit that its cells come from, "" for drawn cells; `cells` are its own cells,
    `layouts` its own layouts; `photographs` its places on photographs, by the names that stand for them among cells.

    `lesson` is the lesson's place in the syllabus, None for a plain deck; `objective` what the learner can do after it.
    `kept` decks are kept for checking what carries over: asked without verdicts, never practised.
    """

    name: str
    title: str
    about: str
    items: tuple[Item, ...]
    pages: tuple[Page, ...] = ()
    objective: str = ""
    lesson: int | None = None
    kit: str = ""
    look: str = ""
    count: int | None = None
    kept: bool = False
    cells: Mapping[str, Cell] = field(default_factory=dict)
    photographs: Mapping[str, Photographed] = field(default_factory=dict)
    layouts: Mapping[str, OwnLayout] = field(default_factory=dict)
    author: str = ""
    licence: str = ""
    prerequisites: tuple[str, ...] = ()
    brought: Mapping[str, Path] = field(default_factory=dict)
    """The processes and looks that lie beside it, by the names that stand for them."""

    def cell(self, name: str) -> Cell:
        """Return one of the deck's own cells, or one of the library."""
        return self.cells[name] if name in self.cells else load_cell(name)

    def suits(self, name: str, process: Process) -> bool:
        """Tell whether a cell, or a place on a photograph, can be shown in a process."""
        if name in self.layouts:
            return self.layouts[name].process == process.name
        return bool(self.kit) or name in self.photographs or self.cell(name).fits(process)

    def limited(self, name: str) -> bool:
        """Tell whether there are only so many pictures of a cell: real ones, which cannot be drawn afresh."""
        return bool(self.kit) or name in self.photographs or name in self.layouts

    @property
    def questions(self) -> int:
        """How many questions a sitting has when nobody says."""
        return usual_count([item.count for item in self.items]) if self.count is None else self.count
