"""Put a cell under the microscope: drawn and proved, or taken from an open kit; turned as the seed says."""

from pathlib import Path
from random import Random

from layoutdrill.cells import Cell
from layoutdrill.deck.model import KIT_PROCESS, Deck
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.process import load_process
from layoutdrill.question.model import Specimen


class Bench:
    """Makes the specimens of one deck. Safe to use from a worker thread; each call stands alone."""

    def __init__(self, deck: Deck, kit: Path | None = None) -> None:
        self.deck = deck
        self.kit_path = kit
        self._kit: object | None = None

    def structure(self, cell: str) -> str:
        """Return the canonical term of what a cell is, without drawing it."""
        return cell if self.deck.kit else self.deck.cell(cell).structure

    def specimen(self, cell: str, process: str, seed: int, difficulty: float) -> Specimen:
        """Return the specimen; the same arguments give the same one."""
        if self.deck.kit:
            return self._from_kit(cell, seed)
        return drawn(self.deck.cell(cell), process, seed, difficulty)

    def _from_kit(self, cell: str, seed: int) -> Specimen:
        raise NotImplementedError(cell, seed, KIT_PROCESS)


def drawn(cell: Cell, process_name: str, seed: int, difficulty: float) -> Specimen:
    """Draw a cell and prove the drawing."""
    from layoutdrill.prove import proved  # type: ignore[attr-defined]  # noqa: PLC0415 - the pages of a deck do without

    process = load_process(process_name)
    found = proved(cell.netlist(process), process, seed, difficulty=difficulty)
    return Specimen(
        cell=cell.name,
        structure=cell.structure,
        aliases=cell.aliases,
        process=process,
        layout=found.layout,
        netlist=found.extraction.netlist,
        extraction=found.extraction,
        boundary=cell.boundary,
        about=cell.look_for,
        seed=seed,
    )


def turned(layout: Layout, seed: int) -> Layout:
    """Return a layout in one of the eight orientations, chosen by the seed, with its lower left corner at 0,0."""
    rng = Random(f"turn {seed}")  # noqa: S311
    placed = layout.transformed(Transform(turns=rng.randrange(4), mirrored=bool(rng.randrange(2))))
    box = placed.box
    return placed if box is None else placed.transformed(Transform(dx=-box.x0, dy=-box.y0))
