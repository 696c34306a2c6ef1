"""What a question is, for every kind: the specimen shown, the question, the answer, the verdict."""

from enum import StrEnum

from layoutdrill.cells.entry import Port
from layoutdrill.extract.model import Extraction
from layoutdrill.face.model import Face
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process
from layoutdrill.question.keys import Key
from layoutdrill.value import value


@value
class Specimen:
    """
    The thing under the microscope: a face, and what it is known to be.

    `cell` is the name in the library or kit; `structure` the canonical term; `netlist` what can be read from the face,
    with the names of its `extraction`; `boundary` says what belongs to the cell when devices are counted.

    `ports` say what its ports are for, where that is known.

    Where neighbours begin beyond the cell, `frame` is its border: `extraction` then holds their transistors too, and
    `netlist` the cell's alone. `wear` is that of the die, from 0 (textbook) to 1 (attic), `stage` how far it has been
    taken apart, "" where it has not. `marks` are what a page points out on it; questions have marks of their own.
    `taught` are the structures that the lesson shows, among which wrong choices are looked for first.
    """

    cell: str
    structure: str
    aliases: tuple[str, ...]
    face: Face
    netlist: Netlist
    boundary: str
    about: str = ""
    seed: int | None = None
    frame: Rect | None = None
    wear: float = 0.0
    ports: tuple[Port, ...] = ()
    stage: str = ""
    marks: "tuple[Mark, ...]" = ()
    taught: tuple[str, ...] = ()

    @property
    def process(self) -> Process:
        return self.face.process

    @property
    def extraction(self) -> Extraction:
        return self.face.extraction


class HintStep(StrEnum):
    """What a hint shows, in the order they are offered; WORDS only says something."""

    WORDS = "words"
    AID = "tracing aid"  # metal darkened where it lies deep, as no die shows it
    RAILS = "rails"  # the two supplies outlined
    DEVICES = "devices"  # every transistor outlined
    NETS = "nets"  # the nets numbered
    LIFT_METAL = "lift metal"  # the metal taken off
    NETLIST = "netlist"  # the netlist told


@value
class Hint:
    """One step of help: what to show, what to say, and the part of the credit that it costs."""

    step: HintStep
    text: str
    cost: float


@value
class Mark:
    """
    A lettered place on the picture (grid units). With `ring` what lies right there is the question: ring the place and
    set the letter beside it, never over it. `words` say in plain text what is seen there, where what lies there is
    asked for; "" where the layers that lie there may be told.
    """

    letter: str
    x: int
    y: int
    ring: bool = False
    words: str = ""


@value
class Grid:
    """
    A table to fill in: `heads` over the columns, the cells of each row that are given, and the letters that may stand
    in the last column, which is the learner's. The answer is its letters from the top down.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    letters: str


@value
class Listing:
    """
    A list that is built up row by row: `heads` over its columns, the words that may stand in the first (none where it
    is left out), and the names that are known from the picture.
    """

    heads: tuple[str, ...]
    kinds: tuple[str, ...]
    names: tuple[str, ...]


@value
class Question:
    """
    One question. `choices` are shown lettered a, b, c, d; empty where the answer is only typed or pointed.

    With `typed` a choice's letter is only a part of the answer, which is typed whole.

    `grid` is the table to fill in, where the answer is one; `listing` the list to build up.

    `scale` is the least scale (pixels per λ) at which the picture shows what is asked, 0 where any does.

    `look` is the look to show it in where the one that was chosen hides what is asked, else "".

    `facts` are told with the question because the picture cannot show them. `key` is all that grading needs, and
    has a JSON form, so that an old answer can be graded again.
    """

    kind: str
    prompt: str
    specimen: Specimen
    choices: tuple[str, ...]
    facts: tuple[str, ...]
    marks: tuple[Mark, ...]
    key: Key
    pointed: bool = False
    typed: bool = False
    hints: tuple[Hint, ...] = ()
    look: str = ""
    scale: int = 0
    grid: Grid | None = None
    listing: Listing | None = None


@value
class Answer:
    """What the learner said: text as typed (a letter stands for its choice), or a point in grid units."""

    text: str = ""
    point: tuple[int, int] | None = None


@value
class Verdict:
    """
    Credit from 0 to 1, what was right, which feature decides, and what to outline on the picture.

    `right` is the full answer in words; `transistors`, `nets` and `places` are to be outlined; `areas` is every place
    that would have been right, where the answer is a place. `confused_with` is the canonical term of the structure that
    was named by mistake, for the side-by-side, or "". `instead` says why not: what one would see were it as answered.
    """

    credit: float
    summary: str
    right: str
    decides: str
    transistors: tuple[str, ...] = ()
    nets: tuple[str, ...] = ()
    places: tuple[tuple[int, int], ...] = ()
    confused_with: str = ""
    areas: tuple[Rect, ...] = ()
    instead: str = ""

    @property
    def correct(self) -> bool:
        return self.credit >= 1
