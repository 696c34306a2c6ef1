"""The scheduling library behind its adapter: ratings, intervals and replay."""

from datetime import timedelta

import pytest

from layoutdrill.learning.attempt import in_time, slow_limits
from layoutdrill.learning.memory import LONGEST, Grade, grades, remembered
from tests.learning.make import START, attempt


def intervals(rated):
    """Return the days until due after each rating, answering always on the day it is due."""
    told, days, when = [], [], START
    for grade in rated:
        told.append((when, grade))
        memory = remembered(told)
        days.append((memory.due - when).days)
        when = memory.due
    return days


def test_right_answers_stretch_the_gap_to_sixty_days():
    """2, 11, 46 days as the library gives without steps (measured with fsrs 6.3); then our own longest gap holds."""
    assert intervals([Grade.RIGHT] * 5) == [2, 11, 46, LONGEST, LONGEST]


def test_slow_answers_stretch_it_less_and_a_lapse_shortens_it():
    """1, 3, 7, 12 days when always slow; a miss after 46 days brings it back within days (measured with fsrs 6.3)."""
    assert intervals([Grade.SLOW] * 4) == [1, 3, 7, 12]
    assert intervals([Grade.RIGHT] * 3 + [Grade.MISSED])[-1] <= 4


def test_only_the_days_first_unaided_answer_rates():
    """A second answer of the day, and one with help from the start, change nothing; help taken is a miss."""
    told = [
        attempt(day=0.0, aided=True),
        attempt(day=0.1),
        attempt(day=0.2, right=False),
        attempt(day=1.0, hints=1),
        attempt(day=2.0, seconds=50.0),
        attempt(day=3.0, skipped=True),
    ]
    limits = slow_limits(told)
    assert [grade for _, grade in grades(told, limits)] == [Grade.RIGHT, Grade.MISSED, Grade.SLOW, Grade.MISSED]


def test_four_right_answers_in_one_day_are_worth_one():
    """Asked four times on a day, the next day it is due is that of one answer."""
    many = [attempt(day=0.01 * n) for n in range(4)]
    assert remembered(grades(many, {})) == remembered(grades(many[:1], {}))


@pytest.mark.parametrize(
    ("times", "limit"), [([4.0] * 5, 6.0), ([1.0] * 5, 3.0), ([30.0] * 5, 10.0), ([2.0, 4.0, 100.0], 6.0)]
)
def test_slow_is_half_as_long_again_as_ones_own_median(times, limit):
    """1.5 × the median of right answers, never below 3 s nor above 10 s."""
    told = [attempt(day=n, seconds=seconds) for n, seconds in enumerate(times)]
    assert slow_limits(told) == {"name": limit}
    assert in_time(attempt(seconds=limit), {"name": limit})
    assert not in_time(attempt(seconds=limit + 0.1), {"name": limit})


def test_replay_is_exact_and_a_clock_that_went_back_does_no_harm():
    """The same ratings give the same memory; before the last answer nothing has been forgotten yet."""
    rated = [(START + timedelta(days=d), Grade.RIGHT) for d in (0, 2, 13)]
    memory = remembered(rated)
    assert memory == remembered(list(rated))
    assert remembered([]) is None
