"""Find the sittings that were left before their end."""

from pathlib import Path

from layoutdrill.deck import load_deck
from layoutdrill.drill.record import SittingRecord
from layoutdrill.drill.records import kept_records
from layoutdrill.errors import LayoutdrillError


def unfinished(records: Path | None = None) -> tuple[SittingRecord, ...]:
    """Return the sittings that can be gone on with, newest first; none where there are no records yet."""
    with kept_records(records) as file:
        return () if file is None else file.sittings(unfinished=True)


def left_of(deck: str | None, records: Path | None = None) -> int:
    """
    Return the number of the sitting that was left last, of a deck or lesson where one is named; raises LayoutdrillError
    where there is none.
    """
    name = None if deck is None else load_deck(deck).name
    left = [sitting.id for sitting in unfinished(records) if name in (None, sitting.deck)]
    if not left:
        what = "nothing was left unfinished" if name is None else f"nothing of {name} was left unfinished"
        raise LayoutdrillError(what, todo="without --go-on a new sitting begins")
    return left[0]
