"""Short looks at what is mastered, shorter after a good series."""

from datetime import timedelta

from layoutdrill.dice import Dice
from layoutdrill.learning.glance import MOST, SECONDS, next_seconds, offered, series
from layoutdrill.learning.standing import standings
from tests.learning.make import LATCH, NAND, NOR, START, at, attempt


def test_only_what_is_mastered_is_glanced_at():
    """Ten at most, all of mastered skills; nothing for a beginner."""
    told = [attempt(s, day=d) for s in (NAND, NOR) for d in (0, 0.1, 1, 9)]
    stand = standings((NAND, NOR, LATCH), told, at(10))
    shown = series(stand, 2.0, Dice(1))
    assert len(shown) == MOST
    assert {glance.skill for glance in shown} == {NAND, NOR}
    assert series(standings((NAND,), [], at(0)), 2.0, Dice(1)) == ()


def test_looks_grow_shorter_when_they_go_well():
    """2, 1, ½ s; back when fewer than half were right; once a week."""
    assert [next_seconds(s, 9, 10) for s in SECONDS] == [1.0, 0.5, 0.5]
    assert next_seconds(0.5, 3, 10) == 1.0
    assert next_seconds(1.0, 6, 10) == 1.0
    assert offered(None, START)
    assert not offered(START, START + timedelta(days=6))
    assert offered(START, START + timedelta(days=7))
