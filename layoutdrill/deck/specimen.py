"""Put a cell under the microscope: drawn and proved, or taken from an open kit and turned as the seed says."""

from dataclasses import replace
from functools import cached_property
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from layoutdrill.cells import Cell, cell_names, load_cell
from layoutdrill.cells.kit_structures import kit_boundary, kit_family, kit_structure
from layoutdrill.deck.model import KIT_PROCESS, Deck, Picture
from layoutdrill.dice import Dice
from layoutdrill.errors import FaultError, LayoutdrillError
from layoutdrill.face import DrawnFace
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.process import Process, load_process
from layoutdrill.question.model import Specimen
from layoutdrill.question.ratioed_words import in_words

if TYPE_CHECKING:
    from layoutdrill.cells.decoys import Decoy
    from layoutdrill.cells.kit import Kit
    from layoutdrill.deck.claims import Claims
    from layoutdrill.deck.photographs import Album

CROWDED = 0.7
"""From this difficulty on a drawing may show where the cell's neighbours begin."""
ORIENTATIONS = 8
CHIPS = "chips"
"""The family of the cells that are whole chips."""
_MOST_TRIES = 40


class SpecimenMaker:
    """
    Makes the specimens of one deck. Each call stands alone; calls may come from several threads.

    What the author says of an own cell, layout or photograph is held against what is there before it is shown;
    `checked` says that this was done already, and what is wrong told.
    """

    def __init__(self, deck: Deck, kit: Path | None = None, *, checked: bool = False) -> None:
        self.deck = deck
        self.kit_path = kit
        self._checked = checked
        self._album: Album | None = None
        self._lock = Lock()
        self._kit: Kit | None = None
        self._claims: Claims | None = None

    def ready(self) -> None:
        """
        Raise LayoutdrillError, with what to do, where the deck's kit or a photograph is not to be found, or where
        something that the author says is not so.
        """
        self.files_ready()
        for name in (*self.deck.cells, *self.deck.layouts, *self.deck.photographs):
            self._hold(name)

    def files_ready(self) -> None:
        """Raise LayoutdrillError, with what to do, where the deck's kit or a photograph is not to be found."""
        if self.deck.kit:
            self.kit()
        if self.deck.photographs:
            self.album().ready()

    def _hold(self, name: str) -> None:
        """Raise LayoutdrillError where what the author says of a thing of the deck's own is not so."""
        deck = self.deck
        if self._checked or not (name in deck.cells or name in deck.layouts or name in deck.photographs):
            return
        from layoutdrill.deck.claims import Claims  # noqa: PLC0415 - most decks show the library's cells alone

        with self._lock:
            if self._claims is None:
                self._claims = Claims(deck)
            self._claims.hold(name)

    def album(self) -> "Album":
        from layoutdrill.deck.photographs import Album  # noqa: PLC0415 - few decks have photographs

        if self._album is None:
            self._album = Album(self.deck)
        return self._album

    def kit(self) -> "Kit":
        from layoutdrill.cells.kit import find_kit  # noqa: PLC0415 - drawn cells do without

        with self._lock:
            if self._kit is None:
                self._kit = find_kit(self.kit_path)
            return self._kit

    def structure(self, cell: str) -> str:
        """Return the canonical term of what a cell is, without drawing it; a kit's other cells go by their family."""
        if cell in self.deck.photographs:
            return self.deck.photographs[cell].structure or cell
        if cell in self.deck.layouts:
            return self.deck.layouts[cell].structure
        if self.deck.kit:
            return kit_structure(cell) or kit_family(cell)
        return self.deck.cell(cell).structure

    def specimen(self, cell: str, process: str, seed: int, difficulty: float) -> Specimen:
        """
        Return the specimen; the same arguments give the same one. Raises LayoutdrillError where it cannot be drawn or
        proved, or is not what the deck's author says.
        """
        self._hold(cell)
        if cell in self.deck.photographs:
            with self._lock:
                return self.album().specimen(cell, seed)
        if cell in self.deck.layouts:
            return own_layout(self.deck, cell, seed)
        if self.deck.kit:
            return from_kit(self.kit(), cell, seed)
        return replace(drawn(self.deck.cell(cell), process, seed, difficulty), taught=self._taught)

    @cached_property
    def _taught(self) -> tuple[str, ...]:
        """Return the structures that a lesson shows on its pages or asks about; a plain deck teaches none."""
        deck = self.deck
        if deck.lesson is None:
            return ()
        cells = [cell for item in deck.items for cell in item.cells]
        cells += [picture.cell for page in deck.pages for picture in page.pictures]
        return tuple(sorted({deck.cell(cell).structure for cell in cells if not self._of_its_own(cell)}))

    def _of_its_own(self, cell: str) -> bool:
        return cell in self.deck.layouts or cell in self.deck.photographs

    def part(self, cell: str, process: str, seed: int, difficulty: float, name: str) -> Specimen:
        """Return a part cut out of a specimen; decks have none. Raises LayoutdrillError where there is none such."""
        where = f"{cell} in {process} from seed {seed} at difficulty {difficulty:g}"
        raise LayoutdrillError(f"{where} has no part “{name}”", todo="begin another survey")

    def picture(self, picture: Picture) -> Specimen:
        """Return what a page's picture shows. Errors as those of `specimen`."""
        self._hold(picture.cell)
        if picture.cell in self.deck.photographs:
            with self._lock:
                return self.album().specimen(picture.cell)
        if picture.cell in self.deck.layouts:
            return own_layout(self.deck, picture.cell, 0)
        if self.deck.kit:
            return from_kit(self.kit(), picture.cell, picture.seed)
        return pictured(self.deck, picture)


def drawn(cell: Cell, process_name: str, seed: int, difficulty: float, decoy: "Decoy | None" = None) -> Specimen:
    """
    Draw a cell, or a decoy of it, and prove the drawing; an array is drawn as one, by its tiling.

    At difficulty 0, that of worked examples, no transistor is split into fingers: the first such drawing from this
    seed on is taken, and the specimen's seed is the one used.
    """
    from layoutdrill.prove import proved  # noqa: PLC0415 - a kit's cells, and the pages of a deck, do without

    process = load_process(process_name)
    if decoy is None and cell.family == CHIPS:
        return _chip(cell, process, seed, difficulty)
    netlist = cell.netlist(process) if decoy is None else decoy.netlist
    tiling = cell.tiling(process) if decoy is None else decoy.tiling
    crowded = difficulty >= CROWDED
    try:
        proof = proved(netlist, process, seed, difficulty=difficulty, neighbours=crowded, tiling=tiling)
    except FaultError:
        raise
    except LayoutdrillError:
        if tiling is None:
            raise
        tiling = None  # an array that no way of tiling suits may still go into one row pair
        proof = proved(netlist, process, seed, difficulty=difficulty, neighbours=crowded)
    for _ in range(_MOST_TRIES if difficulty == 0 else 0):
        if proof.extraction.netlist.count() == netlist.count():
            break
        seed += 1
        proof = proved(netlist, process, seed, difficulty=difficulty, tiling=tiling)
    return Specimen(
        cell=cell.name if decoy is None else netlist.name,
        structure=cell.structure if decoy is None else decoy.term,
        aliases=cell.aliases if decoy is None else (),
        face=DrawnFace(proof.layout, process, proof.extraction),
        netlist=proof.cell,
        boundary=cell.boundary,
        about=in_words(cell.look_for, cell.structure, process)
        if decoy is None
        else f"{decoy.says[:1].upper()}{decoy.says[1:]}.",
        seed=seed,
        frame=proof.frame if proof.strangers else None,
        ports=cell.ports,
    )


def _chip(cell: Cell, process: Process, seed: int, difficulty: float) -> Specimen:
    """Return a whole chip, drawn and proved now or before."""
    from layoutdrill.cells.chips import load_chip  # noqa: PLC0415 - few decks have chips
    from layoutdrill.prove.chips import proved_chip  # noqa: PLC0415 - the same

    die = proved_chip(load_chip(cell.name), process, seed, difficulty=difficulty)
    return Specimen(
        cell=cell.name,
        structure=cell.structure,
        aliases=cell.aliases,
        face=DrawnFace(die.layout, process, die.extraction),
        netlist=die.cell,
        boundary=cell.boundary,
        about=cell.look_for,
        seed=seed,
        ports=cell.ports,
    )


def decoys_of(cell: Cell, process_name: str) -> "tuple[Decoy, ...]":
    """Return circuits that differ from a cell by one wire; the same ones each time."""
    from layoutdrill.cells.decoys import decoys  # noqa: PLC0415 - few pages, and some mistakes, ask for one

    return decoys(cell, load_process(process_name), Dice.from_text(f"{cell.name} {process_name}"))


def pictured(deck: Deck, picture: Picture) -> Specimen:
    """
    Draw a page's picture, of a deck of drawn cells.

    Raises LayoutdrillError where no decoy of the wanted kind can be made of the cell.
    """
    cell = deck.cell(picture.cell)
    if not picture.decoy:
        return _finished(drawn(cell, picture.process, picture.seed, picture.difficulty), picture)
    decoys = decoys_of(cell, picture.process)
    for decoy in decoys:
        if decoy.edit == picture.decoy:
            return _finished(drawn(cell, picture.process, picture.seed, picture.difficulty, decoy), picture)
    known = ", ".join(sorted({decoy.edit for decoy in decoys})) or "another cell"
    what = f"no decoy “{picture.decoy}” can be made of {cell.name} in {picture.process}"
    raise LayoutdrillError(what, where=picture.where, todo=f"choose {known}")


def _finished(specimen: Specimen, picture: Picture) -> Specimen:
    if picture.defect or picture.turn or picture.pointed:
        from layoutdrill.deck.pointing import arranged  # noqa: PLC0415 - few pictures point at anything

        specimen = arranged(specimen, picture)
    return _cut(specimen, picture)


def _cut(specimen: Specimen, picture: Picture) -> Specimen:
    """Cut a drawing where the picture is a section, or shift its right half where it is to have a seam."""
    face = specimen.face
    if not isinstance(face, DrawnFace) or not (picture.section or picture.seam):
        return specimen
    if picture.section:
        from layoutdrill.face.section import SectionFace  # noqa: PLC0415 - few pictures are sections

        return replace(specimen, face=SectionFace.of_line(face, picture.section))
    from layoutdrill.face.split import SplitFace  # noqa: PLC0415 - few pictures have a seam

    per = face.unit.per
    middle = face.box.centre[0] // per * per
    return replace(specimen, face=SplitFace(face.layout, face.process, face.extraction, middle, picture.seam * per))


def one_wire_away(structure: str, specimen: Specimen) -> Specimen | None:
    """
    Return a drawing of a structure that differs from the specimen's cell by one wire, for the side-by-side after a
    mistake; its `about` says which. None where no such circuit is known.
    """
    from layoutdrill.question.naming import same_structure  # noqa: PLC0415 - after a mistake only

    if specimen.cell not in cell_names():
        return None
    cell = load_cell(specimen.cell)
    for decoy in decoys_of(cell, specimen.process.name):
        if decoy.renamed and same_structure(decoy.term, structure):
            return drawn(cell, specimen.process.name, specimen.seed or 1, 0.2, decoy)
    return None


def from_kit(kit: "Kit", cell: str, seed: int) -> Specimen:
    """Read a kit's cell, turned into one of the eight orientations, and extract it."""
    from layoutdrill.layout.gdsii import read_gdsii  # noqa: PLC0415 - only of the open cell kit

    process = load_process(KIT_PROCESS)
    full = kit.full_name(cell)
    layout = turned(read_gdsii(kit.gdsii(cell), process, full, f"{full}.gds"), seed)
    face = DrawnFace.of(layout, process)
    return Specimen(
        cell=cell,
        structure=kit_structure(cell),
        aliases=(),
        face=face,
        netlist=face.extraction.netlist,
        boundary=kit_boundary(),
        seed=seed,
    )


def own_layout(deck: Deck, name: str, seed: int) -> Specimen:
    """Read one of a deck's own layouts, turned into one of the eight orientations by the seed."""
    from layoutdrill.deck.layouts import layout_of_own, specimen_of_own  # noqa: PLC0415 - few decks bring one

    own = deck.layouts[name]
    return specimen_of_own(own, turned(layout_of_own(own), seed), seed)


def turned(layout: Layout, seed: int) -> Layout:
    """Return a layout in one of the eight orientations, by the seed, with its lower left corner at 0, 0."""
    turn = seed % ORIENTATIONS
    placed = layout.transformed(Transform(turns=turn % 4, mirrored=turn >= 4))
    box = placed.box
    return placed if box is None else placed.transformed(Transform(dx=-box.x0, dy=-box.y0))
