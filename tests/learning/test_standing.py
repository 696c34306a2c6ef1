"""Help that fades, mastery that is earned over days, and what is weak."""

import pytest

from layoutdrill.learning.attempt import slow_limits
from layoutdrill.learning.standing import aid_of, is_mastered, standings
from tests.learning.make import NAND, NOR, at, attempt


def mastered(told):
    return is_mastered(told, slow_limits(told))


def test_help_goes_by_halves_and_a_step_back_after_two_errors():
    """Worked by hand: 1, ½, 0 over two right; one error changes nothing, a second brings ½ back."""
    told = []
    levels = [aid_of(told)]
    for right in (True, True, True, False, False, True, False):
        told.append(attempt(right=right, aided=True))
        levels.append(aid_of(told))
    assert levels == [1.0, 0.5, 0.0, 0.0, 0.0, 0.5, 0.0, 0.0]


def test_mastery_takes_three_days_with_a_week_between():
    """Right on days 0, 1 and 9: mastered on the ninth, not before; with only two days' gap not."""
    told = [attempt(day=0), attempt(day=0.1), attempt(day=1)]
    assert not mastered(told)
    assert not mastered([*told, attempt(day=3)])
    assert mastered([*told, attempt(day=9)])


def test_what_was_kept_for_a_week_is_not_lost_by_being_asked_again_soon():
    """Right after eight days, then again after two: still mastered. Wrong after the next week: lost, if only once."""
    kept = [attempt(day=d) for d in (0, 0.1, 1, 9, 11, 12)]
    assert mastered(kept)
    assert not mastered([*kept, attempt(day=20, right=False), attempt(day=20.1), attempt(day=21), attempt(day=22)])


@pytest.mark.parametrize(
    "spoilt",
    [
        {"unseen": False},
        {"aided": True},
        {"hints": 1},
        {"right": False},
        {"seconds": 60.0},
    ],
)
def test_what_was_seen_helped_wrong_or_slow_does_not_count(spoilt):
    """With two of the last four spoilt there is no mastery."""
    told = [attempt(day=0), attempt(day=0.1), attempt(day=1, **spoilt), attempt(day=9, **spoilt)]
    assert not mastered(told)


def test_without_time_limits_what_is_slow_is_mastered_too():
    """Where they are switched off, only whether it was right counts."""
    told = [attempt(NAND, day=day, seconds=40.0) for day in (0, 1, 3, 12)]
    assert not standings((NAND,), told, at(13))[0].mastered
    assert standings((NAND,), told, at(13), timed=False)[0].mastered


def test_mastery_needs_four_varieties():
    """The same look four times is one thing learned, not a skill."""
    told = [attempt(day=d, variety="same") for d in (0, 0.1, 1, 9)]
    assert not mastered(told)


def test_looks_that_were_read_with_help_count_among_the_four():
    """Two looks with help, two without: what is asked on the days it is due can be mastered within a month."""
    helped = [attempt(day=d, aided=True) for d in (0, 1)]
    assert mastered([*helped, *(attempt(day=d) for d in (2, 4, 15))])
    assert not mastered([*helped, *(attempt(day=d, variety="same") for d in (2, 4, 15))])


def test_mastery_can_be_lost_again():
    """Two wrong of the last four, and it is gone."""
    told = [attempt(day=d) for d in (0, 0.1, 1, 9)]
    assert mastered(told)
    assert not mastered([*told, attempt(day=30, right=False), attempt(day=31, right=False)])


def test_a_standing_tells_what_is_begun_weak_and_due():
    """One skill answered wrong and one never: the first is weak and due, the second not begun."""
    told = [attempt(NAND, day=0, right=False), attempt(NAND, day=0.1)]
    nand, nor = standings((NAND, NOR), told, at(5))
    assert nand.begun
    assert nand.weak
    assert nand.due(at(5))
    assert not nor.begun
    assert nor.memory is None
    assert not nor.due(at(5))
    assert nand.waited(at(5)) == pytest.approx(4.9)
    assert nand.waited(at(-1)) == 0
    assert nor.waited(at(5)) == 0
