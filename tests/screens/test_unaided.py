"""
Under the microscope, in the smallest window: an answer counts for its skill once the keys that the screen names are
pressed; without them it counts neither way, and the screen says so before one answers.

Common practice: what is read with an aid tells nothing of how one reads without it.
"""

from contextlib import closing

import pytest

from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.question import kinds
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.drill_picture import AIDED, UNAIDED_BY
from layoutdrill.screens.focus import focus_in
from tests.bench.unaided import LESSONS, asked, way
from tests.sampling import some
from tests.screens.test_drill_screen import words
from tests.screens.test_in_view import SIZES
from tests.screens.test_sure_and_glance import until


@pytest.mark.parametrize("lesson", some(LESSONS, 1))
def test_the_key_that_the_screen_names_shows_every_question_without_the_aid(lesson):
    """By arithmetic on views: it opens without the aid, or F4 goes over it so."""
    for question, subject in asked(lesson, 5):
        for size in SIZES:
            assert way(subject, focus_in(question, subject.look), size) in ("opens so", "by F4"), (question.kind, size)


@pytest.mark.parametrize("keys", [(), ("f4",), ("plus",)], ids=["at once", "F4", "closer"])
async def test_an_answer_counts_once_it_is_gone_over_close(keys, tmp_path, monkeypatch):
    """By keys at 80×24, a gate to be named: what is kept, and whether it was said before."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))
    monkeypatch.setenv("COLORTERM", "truecolor")  # with few colours no photograph is shown
    monkeypatch.delenv("NO_COLOR", raising=False)
    records = tmp_path / "r"
    with Sitting.open_deck("complex-gates", seed=2, count=12, look="reflected-light", records=records) as sitting:
        number = next(n for n in range(12) if not sitting.help(n) and sitting.prepare(n).kind == "name")
        for before in range(number):
            sitting.skip(sitting.prepare(before), 1.0)
        app = BenchApp(StartRequest(sitting=sitting))
        async with app.run_test(size=(80, 24)) as pilot:
            assert await until(pilot, lambda: app.screen.phase == "asking" and app.screen.picture.stands)
            screen = app.screen
            assert f"{AIDED} {UNAIDED_BY}" in words(app, "#beyond")
            for key in keys:
                await pilot.press(key)
            assert await until(pilot, lambda: screen.picture.stands)
            assert screen.aid_unasked == (not keys)
            right = kinds()[screen.asked.kind].solution(screen.asked).text
            await pilot.press("abcd"[screen.asked.choices.index(right)])
            assert await until(pilot, lambda: screen.phase == "judged")
            assert ("counts neither way" in words(app)) == (not keys)
    with closing(Records(records)) as file:
        kept = file.answers(sitting=sitting.id)[-1]
    assert kept.earned == 1
    assert bool(kept.hints) == (not keys)
