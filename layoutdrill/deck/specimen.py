"""Put a cell under the microscope: drawn and proved, or taken from an open kit and turned as the seed says."""

from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from layoutdrill.cells import Cell
from layoutdrill.cells.kit_structures import kit_boundary, kit_family, kit_structure
from layoutdrill.deck.model import KIT_PROCESS, Deck
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.process import load_process
from layoutdrill.question.model import Specimen

if TYPE_CHECKING:
    from layoutdrill.cells.kit import Kit

CROWDED = 0.7
"""From this difficulty on a drawing may show where the cell's neighbours begin."""
ORIENTATIONS = 8
_MOST_TRIES = 40


class Bench:
    """Makes the specimens of one deck. Each call stands alone; calls may come from several threads."""

    def __init__(self, deck: Deck, kit: Path | None = None) -> None:
        self.deck = deck
        self.kit_path = kit
        self._lock = Lock()
        self._kit: Kit | None = None

    def ready(self) -> None:
        """Raise LayoutdrillError, with what to do, where the deck's kit is not to be found."""
        if self.deck.kit:
            self.kit()

    def kit(self) -> "Kit":
        from layoutdrill.cells.kit import find_kit  # noqa: PLC0415 - drawn cells do without

        with self._lock:
            if self._kit is None:
                self._kit = find_kit(self.kit_path)
            return self._kit

    def structure(self, cell: str) -> str:
        """Return the canonical term of what a cell is, without drawing it; a kit's other cells go by their family."""
        if self.deck.kit:
            return kit_structure(cell) or kit_family(cell)
        return self.deck.cell(cell).structure

    def specimen(self, cell: str, process: str, seed: int, difficulty: float) -> Specimen:
        """Return the specimen; the same arguments give the same one."""
        if self.deck.kit:
            return from_kit(self.kit(), cell, seed)
        return drawn(self.deck.cell(cell), process, seed, difficulty)


def drawn(cell: Cell, process_name: str, seed: int, difficulty: float) -> Specimen:
    """
    Draw a cell and prove the drawing. At difficulty 0, that of worked examples, no transistor is split into fingers:
    the first such drawing from this seed on is taken, and the specimen's seed is the one that was used.
    """
    from layoutdrill.prove import proved  # noqa: PLC0415 - a kit's cells, and the pages of a deck, do without

    process = load_process(process_name)
    netlist = cell.netlist(process)
    found = proved(netlist, process, seed, difficulty=difficulty, neighbours=difficulty >= CROWDED)
    for _ in range(_MOST_TRIES if difficulty == 0 else 0):
        if found.extraction.netlist.count() == netlist.count():
            break
        seed += 1
        found = proved(netlist, process, seed, difficulty=difficulty)
    return Specimen(
        cell=cell.name,
        structure=cell.structure,
        aliases=cell.aliases,
        process=process,
        layout=found.layout,
        netlist=found.cell,
        extraction=found.extraction,
        boundary=cell.boundary,
        about=cell.look_for,
        seed=seed,
        frame=found.frame if found.strangers else None,
    )


def from_kit(kit: "Kit", cell: str, seed: int) -> Specimen:
    """Read a kit's cell, turned into one of the eight orientations, and extract it."""
    from layoutdrill.extract import extract  # noqa: PLC0415
    from layoutdrill.layout.gdsii import read_gdsii  # noqa: PLC0415

    process = load_process(KIT_PROCESS)
    full = kit.full_name(cell)
    layout = turned(read_gdsii(kit.gdsii(cell), process, full, f"{full}.gds"), seed)
    extraction = extract(layout, process)
    return Specimen(
        cell=cell,
        structure=kit_structure(cell),
        aliases=(),
        process=process,
        layout=layout,
        netlist=extraction.netlist,
        extraction=extraction,
        boundary=kit_boundary(),
        seed=seed,
    )


def turned(layout: Layout, seed: int) -> Layout:
    """Return a layout in one of the eight orientations, by the seed, with its lower left corner at 0, 0."""
    turn = seed % ORIENTATIONS
    placed = layout.transformed(Transform(turns=turn % 4, mirrored=turn >= 4))
    box = placed.box
    return placed if box is None else placed.transformed(Transform(dx=-box.x0, dy=-box.y0))
