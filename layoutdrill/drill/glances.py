"""
A rapid series at a glance: which skills, for how long their pictures are seen, and when the next one is due.

Nothing is written here; how the last series went is read from the records.
"""

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from layoutdrill.dice import Dice
from layoutdrill.drill.again import GLANCES
from layoutdrill.drill.answered import last_of
from layoutdrill.drill.history import syllabus
from layoutdrill.drill.plan import Draw
from layoutdrill.drill.record import DAMAGE
from layoutdrill.drill.records import kept_records
from layoutdrill.drill.today import answers_so_far, draws_of
from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.learning.glance import KINDS, SECONDS, next_seconds, offered, series
from layoutdrill.learning.mix import Why, trial_of
from layoutdrill.learning.standing import standings
from layoutdrill.value import value


@value
class Series:
    """A series to come: a draw for each picture, and how long each is seen; `due` tells that a week has passed."""

    draws: tuple[Draw, ...]
    seconds: float
    due: bool

    @property
    def words(self) -> str:
        return f"{plural(len(self.draws), 'picture')}, {self.seconds:g} s each"


def plan_series(now: datetime, *, seed: int, records: Path | None = None) -> Series:
    """Return the next series; without draws while nothing is mastered. Slow: it reads the lessons and the answers."""
    stand = standings(syllabus(), answers_so_far(records), now)
    seconds, last = _after_the_last(records)
    dice = Dice.from_text(f"glance {seed}")
    by_key = {each.skill.key: each for each in stand}
    trials = [trial_of(by_key[each.skill.key], Why.KEPT) for each in series(stand, seconds, dice)]
    draws = []
    for draw in draws_of(trials, dice):
        kinds = tuple(kind for kind in draw.kinds if kind in KINDS)
        draws.append(replace(draw, kind=dice.pick(kinds), kinds=kinds, help=(), glance=seconds))
    return Series(tuple(draws), seconds, bool(draws) and offered(last, now))


def must_have(series_: Series) -> Series:
    """Return a series that has pictures. Raises LayoutdrillError while nothing is mastered."""
    if not series_.draws:
        todo = "practise until a skill is mastered: layoutdrill today"
        raise LayoutdrillError("there is nothing yet to be known at a glance", todo=todo)
    return series_


def _after_the_last(records: Path | None) -> tuple[float, datetime | None]:
    """Return how long pictures are seen next, and when the last series was."""
    with kept_records(records) as file:
        try:
            last = None if file is None else last_of(file, GLANCES.name)
            if file is None or last is None:
                return SECONDS[0], None
            answers = file.answers(sitting=last.id)
            seen = float(json.loads(last.plan)[0]["glance"])
            right = sum(answer.earned >= 1 and not answer.skipped for answer in answers)
            return next_seconds(seen, right, len(answers)), datetime.fromisoformat(last.started)
        except (LayoutdrillError, IndexError, *DAMAGE):
            return SECONDS[0], None
