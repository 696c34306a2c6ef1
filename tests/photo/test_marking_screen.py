"""A NAND marked by hand on its photograph: every key of marking, each mark on disk at once, oddities told."""

from layoutdrill.netlist.compare import compare
from layoutdrill.photo.joining import joined
from layoutdrill.photo.model import Stage
from layoutdrill.photo.netlist import netlist_of
from layoutdrill.photo.read import load_marks
from layoutdrill.photo.session import MarkSession, begin, marks_path, picture_of
from layoutdrill.process import load_process
from layoutdrill.screens.app import BenchApp, StartRequest
from tests.photo.by_hand import Hand
from tests.photo.specimens import photographed, specimen


def begun(tmp_path, *, stages=False):
    made = specimen("nand2", "silicon-gate-cmos")
    picture = tmp_path / "gate.png"
    photographed(made, picture)
    path = marks_path(picture)
    begin(path, picture, "silicon-gate-cmos", 8)
    session = MarkSession(path)
    if stages:
        off = tmp_path / "off.png"
        photographed(made, off, "metal off")
        session.add(picture_of(off, tmp_path, Stage.METAL_OFF))
    return session, path, made


async def test_a_gate_is_marked_by_mouse_and_line(tmp_path, monkeypatch):
    """Four transistors by three clicks each, their ports, a region: the marks spell the circuit that was drawn."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    session, path, made = begun(tmp_path)
    app = BenchApp(StartRequest(marking=session))
    async with app.run_test(size=(120, 40)) as pilot:
        hand = Hand(app, pilot)
        await pilot.pause()
        # Read from the picture: n transistors stand in the left column, p ones in the right, gates run across.
        await hand.mark("transistor", (148, 104), (148, 70), (148, 160), says="n a VSS inner")
        assert len(load_marks(path).transistors) == 1  # on disk before the next
        await hand.mark("transistor", (148, 232), (148, 180), (148, 270), says="n b inner y")
        await hand.mark("transistor", (344, 168), (344, 140), (344, 205), says="p a y VDD")
        await hand.mark("transistor", (344, 232), (344, 205), (344, 265), says="p b VDD y")
        await hand.mark("wire", (500, 40), (500, 200), says="VDD metal 28", finish=True)
        await hand.mark("contact", (140, 62), says="VSS metal diffusion")
        await hand.mark("point", (48, 250), says="VSS metal")
        for net, place, role in (("a", (200, 104), "input"), ("b", (120, 232), "input"), ("y", (245, 200), "output")):
            await hand.mark("port", place, says=f"{net} {role}")
        await hand.mark("region", (2, 2), (540, 330), says="gate, NAND2, contacts", finish=True)
        await pilot.press("u")
        assert not load_marks(path).regions
        await hand.mark("region", (2, 2), (540, 330), says="gate, NAND2", finish=True)
        await hand.mark("rename", says="inner n1")
        await pilot.pause(0.2)
        told = {finding.text for finding in hand.screen.oddities}
        assert "VSS is marked in 2 pieces that nothing marked joins" in told
    marks = load_marks(path)
    process = load_process("silicon-gate-cmos")
    assert "n1" in marks.nets
    assert compare(netlist_of(marks, process), made.netlist).equal
    assert marks.regions[0].structure == "NAND2"


async def test_two_stages_are_joined_side_by_side(tmp_path, monkeypatch):
    """Three points seen on both pictures join them; until then each is told to be missing."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    session, path, _ = begun(tmp_path, stages=True)
    app = BenchApp(StartRequest(marking=session))
    async with app.run_test(size=(140, 40)) as pilot:
        hand = Hand(app, pilot)
        await pilot.pause()
        await pilot.press("s")
        await pilot.pause()
        assert hand.screen.query_one("#second").display
        for place in ((140, 62), (488, 205), (48, 156), (376, 264)):
            await pilot.press("j")
            await hand.put(place)
            await hand.put(place, on="#picture_b")
    marks = load_marks(path)
    assert len(marks.joins) == 4
    assert joined(marks, marks.pictures[1]).residual < 1.5
