"""Progress as a screen: its rows follow from the answers, and each leads to practising just that."""

from layoutdrill.learning.progress import progress_of
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.drill_screen import DrillScreen
from layoutdrill.screens.progress_screen import ProgressScreen, progress_rows, told_first
from layoutdrill.screens.settings import load_settings
from tests.learning.make import NAND, NOR, SKILLS, at, attempt


def test_every_row_leads_somewhere():
    """Weakest, pair, lesson and skill rows carry what Enter opens."""
    told = [attempt(NAND, day=d) for d in (0, 0.1, 1, 9)]
    told += [attempt(NOR, day=d, right=False, said="NAND") for d in (0, 1, 2)]
    progress = progress_of(SKILLS, told, at(10))
    rows = progress_rows(progress, {1: "Layers", 3: "The same elsewhere"})
    assert next(row for row in rows if row.key == "number:3").text.startswith("no skill of its own")
    keys = [row.key for row in rows if row.key]
    assert keys[0] == "weak?:name: NOR|name: NAND"
    assert len(keys) == len(set(keys))
    assert "pair?:name: NOR|name: NAND" in keys
    assert "number:1" in keys
    assert all(key.partition(":")[0] in ("skill?", "weak?", "pair?", "number", "wrong", "check") for key in keys)
    assert "NOR" in told_first(progress)


async def listed(app, pilot):
    """Open the screen, and wait for its rows."""
    app.push_screen(ProgressScreen())
    for _ in range(200):
        await app.workers.wait_for_complete()
        await pilot.pause()
        if isinstance(app.screen, ProgressScreen) and app.screen.rows:
            return
    raise AssertionError("no row came")


async def test_a_skill_is_practised_from_its_row():
    """Opening a skill's row starts a drill whose questions train that skill."""
    app = BenchApp(StartRequest())
    async with app.run_test(size=(120, 40)) as pilot:
        await listed(app, pilot)
        app.screen.chosen("skill:see: contact")
        for _ in range(200):
            if isinstance(app.screen, DrillScreen):
                break
            await pilot.pause(0.05)
        assert isinstance(app.screen, DrillScreen)
        assert {draw.skill for draw in app.screen.sitting.plan} == {"see: contact"}


async def test_a_skill_leads_to_practice_to_its_mistakes_and_rests_until_taken_in_again():
    """
    A row to practise, one to read the lesson again, one to see the last mistakes; of a pair for each of the two. A
    lesson only looked into is left out of the days until taken in again: the row says so, the settings keep it, and
    the same row undoes it.
    """
    app = BenchApp(StartRequest())
    async with app.run_test(size=(120, 40)) as pilot:
        await listed(app, pilot)
        app.screen.chosen("pair?:name: NOR|name: NAND")
        await pilot.pause()
        assert [row.key for row in app.screen.rows] == [
            "pair:name: NOR|name: NAND",
            "number:8",
            "mistakes:name: NOR",
            "mistakes:name: NAND",
            "rest:8",
        ]
        await pilot.press("escape")
        for resting in (frozenset({8}), frozenset()):
            app.screen.chosen("rest:8")
            assert app.settings.resting == load_settings()[0].resting == resting
            app.screen.chosen("skill?:name: NOR")
            await pilot.pause()
            (row,) = [row for row in app.screen.rows if row.key == "rest:8"]
            assert row.name == ("Ask of lesson 8 again" if resting else "Leave lesson 8 out of Today")
            await pilot.press("escape")
    told = [attempt(NAND, day=0)]
    rows = progress_rows(progress_of(SKILLS, told, at(1)), {}, frozenset({NAND.lesson}))
    row = next(row for row in rows if row.key == f"number:{NAND.lesson}")
    assert row.text.startswith("left out of Today; 1 of 2 begun: ")
    assert "NAND" in row.text
