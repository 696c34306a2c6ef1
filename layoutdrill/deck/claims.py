"""
Hold what a deck's author says of an own cell, layout or place on a photograph against what is there: nothing is asked
about by a name or function that is not so. A name of the library's is no claim of an author's.
"""

from collections.abc import Iterator
from pathlib import Path

from layoutdrill.deck.model import Deck
from layoutdrill.errors import LayoutdrillError


class Claims:
    """What the author of one deck says, each thing held against what is there once."""

    def __init__(self, deck: Deck) -> None:
        self.deck = deck
        self._held: dict[str, LayoutdrillError | None] = {}

    def hold(self, name: str) -> None:
        """Raise LayoutdrillError, the one that `check` tells first, where what is said of a thing is not so."""
        if name not in self._held:
            self._held[name] = next(self._slips(name), None)
        error = self._held[name]
        if error is not None:
            raise error

    def _slips(self, name: str) -> Iterator[LayoutdrillError]:
        if name in self.deck.photographs:
            return self._of_photograph(name)
        if name in self.deck.layouts:
            from layoutdrill.deck.check_layouts import check_layout  # noqa: PLC0415 - few decks bring one

            return check_layout(self.deck.layouts[name])
        if name in self.deck.cells:
            from layoutdrill.deck.own_cells import check_own_cells  # noqa: PLC0415 - most decks have none

            cell = self.deck.cells[name]
            return check_own_cells({name: cell}, Path(cell.where.file))
        return iter(())

    def _of_photograph(self, name: str) -> Iterator[LayoutdrillError]:
        from layoutdrill.deck.check_photographs import check_region  # noqa: PLC0415 - few decks have one
        from layoutdrill.photo.read import load_marks  # noqa: PLC0415 - the same
        from layoutdrill.photo.repeats import written_out  # noqa: PLC0415 - the same

        place = self.deck.photographs[name]
        marks = written_out(load_marks(place.marks))
        region = marks.region(place.region)
        return iter(()) if region is None else check_region(marks, region)
