"""
Decks that are kept for checking: asked first, last and now and then, without verdicts, and never practised.

What a learner can do there is what carries over from practice: photographs above all.
"""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from layoutdrill.deck import Deck, deck_covers, load_deck
from layoutdrill.deck.read import read_deck
from layoutdrill.drill.answered import checked_in
from layoutdrill.drill.record import Checked
from layoutdrill.drill.records import Records
from layoutdrill.errors import LayoutdrillError
from layoutdrill.learning.attempt import Attempt
from layoutdrill.learning.progress import Carried
from layoutdrill.learning.shares import Share
from layoutdrill.locations import records_file
from layoutdrill.value import value
from layoutdrill.yamldoc import loads

EVERY = timedelta(days=14)
"""How long after a check the next one comes."""
AT_THE_END = timedelta(days=7)
"""How old the last check must be for one at the end: an earlier one says as much."""
BESIDE = timedelta(days=14)
"""Practice of so long before a check stands beside it."""


@value
class Turn:
    """A deck whose turn has come: the name of one that ships, else the sitting whose deck it was; and why."""

    deck: str
    sitting: int
    title: str
    why: str


def turns(now: datetime, *, ended: bool = False, records: Path | None = None) -> tuple[Turn, ...]:
    """
    Return the decks to check with now: those that never were, those of two weeks ago or more, and once practice has
    `ended`, the lessons being learned, those not checked with for a week. Slow: it reads the decks' covers.
    """
    last: dict[str, Checked] = {each.deck: each for each in checked(records)}
    shipped = {cover.name: cover for cover in deck_covers() if cover.kept}
    due: list[Turn] = []
    for name, cover in shipped.items():
        if name not in last:
            due.append(Turn(name, 0, cover.title, "before you practise, to compare with later: no verdicts"))
    for name, each in last.items():
        since = now - _at(each.started)
        why = "at the end: what carries over" if ended and since >= AT_THE_END else ""
        if not why and since >= EVERY:
            why = f"{since.days} days since the last time: what carries over"
        if why:
            due.append(Turn(name if name in shipped else "", each.sitting, each.title, why))
    return tuple(due)


def deck_to_check(now: datetime, *, ended: bool = False, records: Path | None = None) -> Deck:
    """
    Return the deck to check with for one who asks: that whose turn has come, else the first that ships. Raises
    LayoutdrillError where none is kept for checking.
    """
    due = turns(now, ended=ended, records=records)
    if due:
        return load_deck(due[0].deck) if due[0].deck else deck_again(due[0].sitting, records)
    kept = next((cover.name for cover in deck_covers() if cover.kept), None)
    if kept is None:
        raise LayoutdrillError("no deck is kept for checking", todo="write “kept for checking: true” into a deck")
    return load_deck(kept)


def deck_again(sitting: int, records: Path | None = None) -> Deck:
    """Return the deck of a sitting as it was then, to be asked once more. Raises LayoutdrillError."""
    file = Records(records or records_file())
    try:
        record = file.sitting(sitting)
    finally:
        file.close()
    anywhere = Path(Path.cwd().anchor)  # the files that it names are told by their whole paths
    deck, errors = read_deck(loads(record.deck_text, f"records, sitting {record.id}"), record.deck, anywhere)
    if errors:
        raise errors[0]
    return deck


def checked(records: Path | None = None) -> tuple[Checked, ...]:
    """Return how the decks kept for checking went so far, the oldest first; none where the records cannot be read."""
    path = records or records_file()
    if not path.exists():
        return ()
    try:
        file = Records(path)
    except LayoutdrillError:
        return ()
    try:
        return checked_in(file)
    finally:
        file.close()


def carried(checks: Sequence[Checked], attempts: Sequence[Attempt]) -> tuple[Carried, ...]:
    """Return each check with how practice went in the two weeks before it, unaided and on new pictures."""
    rows: list[Carried] = []
    for each in checks:
        at = _at(each.started)
        beside = [a for a in attempts if at - BESIDE <= a.at <= at and a.unseen and not a.aided]
        practice = Share("practice", sum(a.earned for a in beside), len(beside))
        rows.append(Carried(each.title, at, Share(each.deck, each.right, each.asked), practice, each.sitting))
    return tuple(rows)


def _at(started: str) -> datetime:
    try:
        at = datetime.fromisoformat(started)
    except ValueError:
        return datetime.min.replace(tzinfo=UTC)
    return at.astimezone(UTC) if at.tzinfo else at.replace(tzinfo=UTC)
