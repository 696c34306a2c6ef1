"""A guest's seat offers what its own screen can do, and no way to files, settings or other decks."""

from textual.widgets import OptionList

from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.doors import OTHER
from layoutdrill.screens.finder import DO, FinderScreen
from tests.screens.fakes import FakeSitting


async def rows_of(confined):
    """Return the keys of what the finder offers over a drill, and what happens when another place is asked for."""
    app = BenchApp(StartRequest(sitting=FakeSitting(), confined=confined))
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        app.push_screen(FinderScreen(app.screen))
        await app.workers.wait_for_complete()
        await pilot.pause()
        listed = app.screen.query_one(OptionList)
        while not confined and listed.option_count < 100:  # a worker reads decks and cells
            await pilot.pause(0.1)
        keys = [option.id for option in listed.options if option.id and not option.disabled]
        before = app.screen
        app.screen.chosen("explain:")
        await pilot.pause()
        return keys, app.screen is before


async def test_a_confined_app_opens_nothing_else():
    """Confined, only actions of the screen are offered and “explain” opens nothing; at home it does."""
    keys, stayed = await rows_of(confined=True)
    assert keys
    assert all(key.startswith(f"{DO}:") for key in keys)
    assert stayed
    keys, stayed = await rows_of(confined=False)
    assert {row.key for row in OTHER if row.key} <= set(keys)
    assert not stayed
