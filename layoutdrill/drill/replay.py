"""
Replay records: draw every stored drawing anew from its plan, and work the schedule out again from the answers alone.

Drawings are compared where the sitting was begun by this very version: another may draw otherwise, which is no fault.
"""

from collections.abc import Callable
from datetime import datetime

from layoutdrill import __version__
from layoutdrill.drill.again import makers_again
from layoutdrill.drill.history import attempts, syllabus
from layoutdrill.drill.opening import maker_of
from layoutdrill.drill.record import DAMAGE, AnswerRecord, SittingRecord
from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError
from layoutdrill.learning.standing import standings
from layoutdrill.value import value


@value
class Redrawn:
    """Drawings that came out as stored, those of other versions, and a line for each that came out otherwise."""

    same: int
    other_version: int
    faults: tuple[str, ...]


def redraw(records: Records, progress: Callable[[int, int], None] | None = None) -> Redrawn:
    """Draw anew what every answer was about; nothing is written."""
    sittings = [sitting for sitting in records.sittings() if sitting.answered]
    same = other = 0
    faults: list[str] = []
    for done, sitting in enumerate(sittings, 1):
        if sitting.version != __version__:
            other += sitting.answered
        else:
            differences = _faults(sitting, records)
            same += sitting.answered - len(differences)
            faults += differences
        if progress:
            progress(done, len(sittings))
    return Redrawn(same, other, tuple(faults))


def _faults(record: SittingRecord, records: Records) -> list[str]:
    """Tell the answers of a sitting whose drawings come out otherwise, or not at all."""
    named = f"sitting {record.id}"
    try:
        deck, makers = makers_again(record)
        answers = records.answers(sitting=record.id)
        sitting = Sitting(record, records, deck=deck, maker=maker_of(makers))
    except (LayoutdrillError, *DAMAGE) as error:
        return [f"{named}: {error}"] * record.answered
    return [
        f"{named}, question {answer.number + 1}: {fault}" for answer in answers if (fault := _fault(answer, sitting))
    ]


def _fault(answer: AnswerRecord, sitting: Sitting) -> str:
    """Ask the question anew in the look that it was shown in, or in the sitting's, where another stood in for it."""
    sitting.worn = answer.wear
    try:
        for look in dict.fromkeys((answer.look, sitting.look, "")):
            sitting.shown_in = look
            if sitting.ask_anew(answer.number).specimen.face.text() == answer.layout:
                return ""
    except LayoutdrillError as error:
        return str(error)
    return f"{answer.cell} in {answer.process} is drawn otherwise now"


def replayed(records: Records, now: datetime) -> int | None:
    """
    Work out twice, from the answers read anew, how every skill stands and when it is due; return how many skills have
    been begun, None where the two differ.
    """
    once, again = (standings(syllabus(), attempts(records), now) for _ in range(2))
    return sum(each.begun for each in once) if once == again else None
