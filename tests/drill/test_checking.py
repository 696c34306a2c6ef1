"""Decks kept for checking: no verdicts, no practice, their turns, and what carries over."""

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest

from layoutdrill.cli import main
from layoutdrill.deck import load_deck
from layoutdrill.deck.read import read_deck
from layoutdrill.deck.write import deck_text
from layoutdrill.drill.answered import mistakes
from layoutdrill.drill.checking import carried, checked, deck_again, deck_to_check, turns
from layoutdrill.drill.history import attempts, syllabus
from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.today import plan_today
from layoutdrill.learning.attempt import Attempt
from layoutdrill.learning.skills import BEYOND
from layoutdrill.locations import records_file
from layoutdrill.question import kinds
from layoutdrill.screens.sittings import day_planned
from layoutdrill.yamldoc import loads
from tests.drill.forge import mastered, write

pytestmark = pytest.mark.usefixtures("home")

DECK = """title: Kept apart
about: a
kept for checking: true
processes: [silicon-gate-cmos]
kinds: [name]
items: [{cells: [nand2], hints: [Look well.], help: [rails], seed: 1}, {cells: [nor2], seed: 2}]
"""


@pytest.fixture(name="asked")
def _asked(tmp_path):
    """The deck asked once: the first right, the second given up."""
    path, deck = tmp_path / "r", tmp_path / "apart.yaml"
    deck.write_text(DECK)
    with Sitting.open_deck(deck, count=2, seed=1, records=path) as sitting:
        question = sitting.prepare(0)
        told = [sitting.submit(question, kinds()[question.kind].solution(question), 2.0)]
        told.append(sitting.skip(sitting.prepare(1), 2.0))
        return path, told, sitting


def test_a_check_tells_nothing_and_helps_with_nothing(asked):
    """Neither what was right, nor whether; no hints, no help; no summary."""
    path, told, sitting = asked
    assert [verdict.summary for verdict in told] == ["Your answer is kept.", "Skipped."]
    assert not any(verdict.right or verdict.decides for verdict in told)
    assert not sitting.tells
    assert sitting.summary() is None
    assert not sitting.help(0)
    assert not sitting.prepare(0).hints
    (row,) = checked(path)
    assert (row.deck, row.right, row.asked) == ("apart", 1, 2)


def test_a_check_is_no_practice(asked):
    """Its answers are in the records, and no skill stands by them."""
    records = Records(asked[0])
    assert len(records.answers()) == 2
    assert attempts(records) == ()
    assert mistakes(records, 9, skill="name: NOR") == ()


def test_a_deck_is_asked_again_after_two_weeks_and_at_the_end(asked):
    """From the text in the records, wherever its file is by then."""
    path, now = asked[0], datetime.now(UTC)
    ours = [turn for turn in turns(now, records=path) if turn.sitting]
    assert ours == []
    (later,) = [turn for turn in turns(now + timedelta(days=15), records=path) if turn.sitting]
    assert later.why.startswith("15 days since")
    assert not [turn for turn in turns(now + timedelta(days=2), ended=True, records=path) if turn.sitting]
    (ended,) = [turn for turn in turns(now + timedelta(days=8), ended=True, records=path) if turn.sitting]
    assert ended.why.startswith("at the end")
    again = deck_again(later.sitting, path)
    assert again.kept
    assert again.items[0].cells == ("nand2",)
    with Sitting.open_deck(again, count=2, seed=2, records=path) as sitting:
        assert not sitting.tells


def test_once_the_lessons_are_learned_home_and_shell_offer_the_check_at_the_end(capsys):
    """A check was made in the middle; now all is mastered: both name it, and the plan says that practice has ended."""
    now, path = datetime.now(UTC), records_file()
    write(path, [{"skill": "", "at": now - timedelta(days=9)}], sort="check")
    with closing(sqlite3.connect(path)) as file, file:
        file.execute(
            "UPDATE sitting SET deck = 'next-die', title = 'The next die', started = ?",
            ((now - timedelta(days=9)).isoformat(),),
        )
    assert not [row for row in day_planned(1).rows if row.key.startswith("check:")]
    mastered(path, [(skill.key, skill.kinds[0]) for skill in syllabus() if skill.lesson != BEYOND])
    assert plan_today(now, seed=1).ended
    (row,) = [row for row in day_planned(1).rows if row.key.startswith("check:")]
    assert (row.key, row.text) == ("check:next-die", "at the end: what carries over")
    assert main(["today", "--tell"]) == 0
    assert "to check: The next die, at the end" in capsys.readouterr().out


def test_a_learner_may_ask_for_a_check_at_any_time(asked):
    """That whose turn has come; where none has, the one that ships."""
    now = datetime.now(UTC)
    assert deck_to_check(now, records=asked[0]).name == "next-die"
    with Sitting.open_deck(deck_to_check(now, records=asked[0]), count=1, seed=1, records=asked[0]) as sitting:
        sitting.skip(sitting.prepare(0), 1.0)
    assert deck_to_check(now, records=asked[0]).name == "next-die"
    assert deck_to_check(now + timedelta(days=15), records=asked[0]).title == "Kept apart"


def test_what_carries_over_stands_beside_practice(asked):
    """Practice of the two weeks before, unaided and on new pictures: two of three here."""
    (row,) = checked(asked[0])
    at = datetime.fromisoformat(row.started)
    told = [
        Attempt("name: NAND", at - timedelta(days=days), right, 3.0, "name", aided=aided)
        for days, right, aided in (
            (1, True, False),
            (2, True, False),
            (3, False, False),
            (4, True, True),
            (30, True, False),
        )
    ]
    (over,) = carried([row], told)
    assert (over.share.right, over.share.asked) == (1, 2)
    assert (over.practice.right, over.practice.asked) == (2, 3)


def test_a_deck_says_that_it_is_kept(tmp_path):
    """Written as it was read; a lesson cannot be."""
    path = tmp_path / "apart.yaml"
    path.write_text(DECK)
    deck = load_deck(path)
    assert deck.kept
    assert read_deck(loads(deck_text(deck), "again.yaml"), "apart")[0] == deck
    lesson = DECK.replace("title:", "lesson: 3\nobjective: o\ntitle:")
    _, errors = read_deck(loads(lesson, "l.yaml"), "l")
    assert [error.what for error in errors] == ["a lesson is there to practise"]
