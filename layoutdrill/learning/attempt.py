"""One answer as learning sees it: which skill, when, whether right, and with what help."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from math import inf

from layoutdrill.value import value

SLOW_FACTOR = 1.5
SLOW_BOUNDS = 3.0, 10.0
"""Seconds between which the limit of slow lies."""


@value
class Attempt:
    """
    One answer. `skill` is the skill's key; `aided` tells that help was shown from the start, `hints` how many more
    were taken; `said` is the structure or thing that was named by mistake, "" else; `variety` tells apart what a skill
    is practised on (process, look, wear); `unseen` that the picture was new; `confidence` runs from 1 (guessed) to 3
    (sure), None where it was not asked. Times are in UTC.
    """

    skill: str
    at: datetime
    right: bool
    seconds: float
    kind: str
    aided: bool = False
    hints: int = 0
    skipped: bool = False
    unseen: bool = True
    said: str = ""
    variety: str = ""
    confidence: int | None = None

    @property
    def day(self) -> date:
        return self.at.date()

    @property
    def earned(self) -> bool:
        """Whether it was right with no help at all."""
        return self.right and not self.aided and not self.hints and not self.skipped


def slow_limits(attempts: Iterable[Attempt], *, timed: bool = True) -> Mapping[str, float]:
    """
    Return for each kind of question the seconds beyond which an answer is slow: one and a half times the learner's own
    median of right answers, between 3 and 10 s. Without `timed` none is ever slow.
    """
    if not timed:
        return dict.fromkeys((each.kind for each in attempts), inf)
    times: dict[str, list[float]] = {}
    for each in attempts:
        if each.right and not each.skipped:
            times.setdefault(each.kind, []).append(each.seconds)
    low, high = SLOW_BOUNDS
    return {kind: min(high, max(low, SLOW_FACTOR * _median(values))) for kind, values in times.items()}


def in_time(attempt: Attempt, limits: Mapping[str, float]) -> bool:
    return attempt.seconds <= limits.get(attempt.kind, SLOW_BOUNDS[1])


def _median(values: list[float]) -> float:
    ordered, middle = sorted(values), len(values) // 2
    return ordered[middle] if len(ordered) % 2 else (ordered[middle - 1] + ordered[middle]) / 2
