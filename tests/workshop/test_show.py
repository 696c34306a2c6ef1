"""A question before the room: nothing told at first, one thing more at each press."""

from textual.widgets import Static

from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.show_screen import STEPS
from layoutdrill.workshop.asking import truth


async def test_each_press_reveals_a_step_and_the_last_the_answer(made):
    """The answer is not on the screen before the last step, and goes again when that is taken back."""
    app = BenchApp(StartRequest(shown=made, number=2))
    right = truth(made, 2).right
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.pause()
        seen = []
        for _ in STEPS:
            text = str(app.screen.query_one("#said", Static).render())
            assert f"Answer: {right}" not in text
            seen.append(app.screen.picture.subject.overlay)
            await pilot.press("enter")
            await pilot.pause()
        assert f"Answer: {right}" in str(app.screen.query_one("#said", Static).render())
        assert len({repr(overlay) for overlay in seen}) == len(seen)
        await pilot.press("backspace")
        assert f"Answer: {right}" not in str(app.screen.query_one("#said", Static).render())
        await pilot.press("n")
        assert app.screen.number == 3
        assert app.screen.revealed == 0
