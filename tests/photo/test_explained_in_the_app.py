"""A mark file with a slip, explained on the screen: the slip is told, and ringed where it lies on the photograph."""

import shutil

from textual.widgets import Input

from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.explain_screen import ExplainScreen
from layoutdrill.screens.picture_view import PictureView


async def test_a_slip_is_ringed_on_the_photograph(album, tmp_path, monkeypatch):
    """One p transistor is marked with a gate that nothing drives: its channel is ringed, and the ring lies on it."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    for file in album.glob("nand2*"):
        shutil.copy(file, tmp_path)
    path = tmp_path / "nand2.marks.yaml"
    text = path.read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith("- transistor") and 'kind: "p"' in line)
    path.write_text(text.replace(line, line.replace('gate: "a"', 'gate: "lost"').replace('gate: "b"', 'gate: "lost"')))
    app = BenchApp(StartRequest())
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.pause()
        app.push_screen(ExplainScreen())
        await pilot.pause()
        screen = app.screen
        screen.query_one("#path", Input).value = str(path)
        await pilot.press("enter")
        for _ in range(200):
            await pilot.pause(0.05)
            if screen.found is not None:
                break
        await pilot.pause()
        assert "lost" in screen.found.words
        subject = screen.query_one(PictureView).subject
        channels = [rect for t, _ in subject.overlay.transistors for rect in subject.face.extraction.channel(t)]
        assert subject.overlay.spots
        assert all(any(rect.x0 <= x <= rect.x1 and rect.y0 <= y <= rect.y1 for rect in channels)
                   for x, y in subject.overlay.spots)  # fmt: skip
