"""A series at a glance: only what is mastered, from memory, shorter when it goes well, weekly, no practice."""

from datetime import UTC, datetime, timedelta

import pytest

from layoutdrill.drill.glances import plan_series
from layoutdrill.drill.history import attempts, syllabus
from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError
from layoutdrill.learning.glance import KINDS, MOST
from layoutdrill.question import Answer, kinds
from tests.drill.forge import mastered

pytestmark = pytest.mark.usefixtures("home")


def known():
    """Two skills of the syllabus that are named at sight."""
    return [(skill.key, "name") for skill in syllabus() if "name" in skill.kinds][:2]


def test_nothing_is_glanced_at_before_it_is_mastered(tmp_path):
    """It says what to do instead."""
    with pytest.raises(LayoutdrillError, match="nothing yet to be known at a glance; practise"):
        Sitting.open_glances(seed=1, records=tmp_path / "r")


def test_a_series_is_of_what_is_mastered_and_comes_weekly(tmp_path):
    """Ten pictures for two seconds each, without help; after a good series they are seen for one."""
    path = tmp_path / "r"
    mastered(path, known())
    now = datetime.now(UTC)
    assert plan_series(now, seed=1, records=path).due
    with Sitting.open_glances(seed=1, records=path) as sitting:
        assert sitting.total == MOST
        assert {draw.skill for draw in sitting.plan} == {key for key, _ in known()}
        assert {sitting.seen_for(number) for number in range(MOST)} == {2.0}
        assert all(draw.kind in KINDS and not draw.help for draw in sitting.plan)
        for number in range(2):
            question = sitting.prepare(number)
            assert question.choices
            assert not question.hints
            assert sitting.submit(question, kinds()[question.kind].solution(question), 1.0).credit == 1
    series = plan_series(now, seed=2, records=path)
    assert (series.seconds, series.due) == (1.0, False)
    assert plan_series(now + timedelta(days=8), seed=2, records=path).due


def test_a_series_is_no_practice(tmp_path):
    """What was missed at a glance leaves a skill as it stood; the sitting can be gone on with."""
    path = tmp_path / "r"
    mastered(path, known())
    records = Records(path)
    before = attempts(records)
    with Sitting.open_glances(seed=3, records=path) as sitting:
        question = sitting.prepare(0)
        wrong = next(c for c in question.choices if kinds()[question.kind].grade(question, Answer(c)).credit == 0)
        sitting.submit(question, Answer(wrong), 1.0)
    assert attempts(records) == before
    with Sitting.resume(records=path) as again:
        assert again.position == 1
        assert again.seen_for(1) == 2.0
