"""A NAND marked by hand on its photograph: every key of marking, each mark on disk at once, oddities told."""

import pytest

from layoutdrill.deck.check_photographs import check_marks
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.compare import compare
from layoutdrill.photo.joining import joined
from layoutdrill.photo.looking import frame_of
from layoutdrill.photo.model import JoinPoint, Stage
from layoutdrill.photo.netlist import netlist_of, oddities
from layoutdrill.photo.read import load_marks
from layoutdrill.photo.session import MarkSession, begin, marks_path, picture_of
from layoutdrill.photo.shapes import Shapes
from layoutdrill.process import load_process
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.marking import TOOLS, measured, suggested
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.subject import NOTHING
from tests.photo.by_hand import KEYS, Hand
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


async def test_places_and_a_line_make_a_mark(tmp_path, monkeypatch):
    """Three clicks and a line are a transistor, on disk at once; two and “finish” a wire, which undo takes back."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    session, path, _ = begun(tmp_path)
    app = BenchApp(StartRequest(marking=session))
    async with app.run_test(size=(120, 40)) as pilot:
        hand = Hand(app, pilot)
        await pilot.pause()
        await hand.mark("transistor", (148, 104), (148, 70), (148, 160), says="n b VSS inner")
        assert [t.ends for t in load_marks(path).transistors] == [("VSS", "inner")]
        assert max(abs(x - y) for at in load_marks(path).transistors[0].at for x, y in [(at[0], 148)]) <= 1
        await hand.mark("wire", (500, 40), (500, 200), says="VDD metal 28", finish=True)
        assert load_marks(path).wires[0].width == 28
        await pilot.press("u")
        assert not load_marks(path).wires
        await pilot.press("n")
        await hand.say("inner n1")
    assert load_marks(path).transistors[0].ends == ("VSS", "n1")


async def test_any_one_mark_is_taken_away_and_brought_back(tmp_path, monkeypatch):
    """Those near the place are numbered, the nearest first; a line in the file takes one away, undo brings it back."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    session, path, _ = begun(tmp_path)
    for tool, places, words in (
        ("wire", ((40, 40), (40, 200), (90, 200)), "y metal"),
        ("contact", ((60, 206),), "y metal diffusion"),
        ("transistor", ((148, 104), (148, 70), (148, 160)), "n b VSS inner"),
        ("wire", ((500, 40), (500, 200)), "VDD metal 28"),
    ):
        session.add(TOOLS[tool].make(places, words))
    before, app = session.marks, BenchApp(StartRequest(marking=session))
    async with app.run_test(size=(120, 40)) as pilot:
        hand = Hand(app, pilot)
        await pilot.pause()
        await pilot.press("delete")
        await hand.put((60, 213))
        told = str(hand.screen.query_one("#said").content)
        assert "1  contact of y, metal to diffusion\n2  wire of y, metal" in told
        await hand.say("2")
        after = load_marks(path)
        assert [wire.net for wire in after.wires] == ["VDD"]
        assert (after.contacts, after.transistors) == (before.contacts, before.transistors)
        assert path.read_text().endswith("- remove: 5\n")
        await pilot.press("u")
        assert set(load_marks(path).wires) == set(before.wires)
        await pilot.press("b")
        await hand.put((300, 300))
        assert hand.screen.remark == "no mark lies near that place"
        await hand.put((148, 104))
        await hand.say("7")
        assert "type a number from 1 to 1" in hand.screen.remark
        await hand.say("1")
        await pilot.press("u", "u")
    assert load_marks(path).transistors == ()
    assert [wire.net for wire in load_marks(path).wires] == ["VDD", "y"]


def test_a_region_that_is_repeated_is_not_taken_away(tmp_path):
    """What another mark needs stays, and the file with it."""
    session, path, _ = begun(tmp_path)
    session.add(TOOLS["region"].make(((2, 2), (100, 100)), "bit"))
    session.add(TOOLS["repeat"].make(((10, 10), (210, 10)), "bit 3 1"))
    before = path.read_text()
    with pytest.raises(LayoutdrillError, match="that cannot be done to these marks"):
        session.remove(session.marks.regions[0])
    assert path.read_text() == before


SAID = (
    ("transistor", ((148, 104), (148, 70), (148, 160)), "n b VSS inner"),
    ("transistor", ((148, 232), (148, 180), (148, 270)), "n a inner y"),
    ("transistor", ((344, 168), (344, 140), (344, 205)), "p b y VDD"),
    ("transistor", ((344, 232), (344, 205), (344, 265)), "p a VDD y"),
    ("contact", ((140, 62),), "VSS metal diffusion"),
    ("point", ((48, 250),), "VSS metal"),
    ("port", ((120, 232),), "a input"),
    ("port", ((200, 104),), "b input"),
    ("port", ((245, 200),), "y output"),
    ("region", ((2, 2), (540, 330)), "gate, NAND2, contacts"),
)
"""What a reader of the picture puts down: n transistors stand in its left column, p ones in the right."""


def test_what_is_read_from_the_picture_is_the_circuit_that_was_drawn(tmp_path):
    """Every tool's line by its own words; the marks spell the NAND, and what nothing joins is told."""
    session, path, made = begun(tmp_path)
    for tool, places, words in SAID:
        session.add(TOOLS[tool].make(places, words))
    marks, process = load_marks(path), load_process("silicon-gate-cmos")
    assert marks == session.marks
    assert compare(netlist_of(marks, process), made.netlist).equal
    told = {odd.text for odd in oddities(marks, Shapes(marks, process, frame_of(marks)), process)}
    lack = "mark what leads from metal at (48, 250) to diffusion at (148, 79)"
    assert f"VSS is marked in 2 pieces that nothing marked joins: {lack}" in told
    session.undo()
    assert not session.marks.regions


# Source: Mead & Conway 1980: pieces of diffusion lie 3 λ apart or more, which is 24 pixels here.
@pytest.mark.parametrize(("end", "pieces"), [(70, 1), (95, 2)])
def test_an_end_beside_its_contact_is_one_piece_with_it(tmp_path, end, pieces):
    """Nearer than two pieces of diffusion may lie, they are one; farther, both places are told, and what would join."""
    session, _, _ = begun(tmp_path)
    session.add(TOOLS["contact"].make(((148, 40),), "VSS metal diffusion"))
    session.add(TOOLS["transistor"].make(((148, end + 34), (148, end), (148, end + 60)), "n b VSS inner"))
    marks, process = session.marks, load_process("silicon-gate-cmos")
    odd = [odd.text for odd in oddities(marks, Shapes(marks, process, frame_of(marks)), process)]
    told = [text for text in odd if text.startswith("VSS")]
    assert len(told) == pieces - 1
    if told:
        lack = "what leads from diffusion at (148, 40) to diffusion at (148, 104)"
        assert told == [f"VSS is marked in 2 pieces that nothing marked joins: mark {lack}"]


@pytest.mark.parametrize(
    ("tool", "places", "words", "said"),
    [
        ("wire", ((1, 1), (2, 2)), "a", "type NET LAYER"),
        ("wire", ((1, 1), (2, 2)), "a mettle", 'no layer "mettle"; did you mean "metal"?'),
        ("transistor", ((1, 1), (2, 2), (3, 3)), "q a b c", 'no kind of transistor "q"'),
        ("port", ((1, 1),), "a inptu", 'no role "inptu"; did you mean "input"?'),
        ("region", ((1, 1), (9, 9)), "r, NAND2, contact", 'did you mean "contacts"?'),
        ("repeat", ((1, 1), (1, 1)), "bit 4 1", "the pitch is nothing"),
    ],
)
def test_a_line_that_says_too_little_is_told(tool, places, words, said):
    with pytest.raises(LayoutdrillError) as told:
        TOOLS[tool].make(places, words)
    assert said in str(told.value)


def test_a_pitch_is_measured_over_the_whole_row():
    """The last of 8 cells tells the pitch eight times as well as the second."""
    mark = TOOLS["repeat"].make(
        ((10, 10), (10 + 7 * 12.5, 10.7), (10, 70)), "bit 8 3, shared VDD VSS, rows w, columns d e"
    )
    assert mark.right == pytest.approx((12.5, 0.1))
    assert mark.down == pytest.approx((0, 30))
    assert (mark.shared, mark.by_row, mark.by_column) == (("VDD", "VSS"), ("w",), ("d", "e"))
    assert measured(((0, 0), (30, 40)), "10") == ("50.0 px in 10: 5.00 px each", 5)


async def test_places_beside_the_picture_and_the_end_of_a_region(tmp_path, monkeypatch):
    """What is no place of the picture is refused; a corner put down twice ends a region, whose name may be typed."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    session, path, _ = begun(tmp_path)
    app = BenchApp(StartRequest(marking=session))
    async with app.run_test(size=(120, 40)) as pilot:
        hand = Hand(app, pilot)
        await pilot.pause()
        await pilot.press("a")
        hand.screen._put(-20, -50)  # no key leads there, a click into the dark border does
        assert hand.screen.places == []
        assert hand.screen.remark == "that lies beside gate.png: put it on the picture"
        await hand.put((200, 104))
        assert hand.screen.line.value == ""  # no net lies there: its name is not guessed
        await hand.say("b input")
        before = path.read_text()
        for tool, places, says, told in (
            ("point", ((48, 250),), "y metal2", "silicon-gate-cmos has no metal 2; name one of metal, poly"),
            ("transistor", ((148, 104), (148, 70), (148, 160)), "nd b VSS y", "has no n transistor of depletion mode"),
        ):
            await pilot.press(KEYS[tool])
            await hand.put(*places)
            await hand.say(says)
            assert told in hand.screen.remark
            await pilot.press("escape")
        assert path.read_text() == before
        await pilot.press("r")
        await hand.put((20, 20), (300, 300))
        assert not hand.screen.line.display
        assert "f: that is all of it; then type NAME" in str(hand.screen.query_one("#said").content)
        await hand.put((300, 300))
        await hand.say("foot, , wires")
    (region,) = load_marks(path).regions
    assert (region.name, len(region.outline)) == ("foot", 2)


def test_a_point_in_common_beside_a_picture_is_told(tmp_path):
    """It stands in the file from before, or was written by hand: the join would be trusted."""
    session, path, _ = begun(tmp_path, stages=True)
    file = session.marks.pictures[1].file
    for at in ((140, 62), (488, 205), (48, 264), (156, -20)):
        session.add(JoinPoint(file, at, at))
    told = [error for error in check_marks(load_marks(path)) if "beside" in error.what]
    assert [error.what for error in told] == [
        "the point in common at (156, -20) lies beside off.png",
        "the point in common at (156, -20) lies beside gate.png",
    ]
    assert {error.where.line for error in told} == {len(path.read_text().splitlines())}


async def test_two_stages_are_joined_side_by_side(tmp_path, monkeypatch):
    """Three points seen on both pictures join them; until then each is told to be missing."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    session, path, _ = begun(tmp_path, stages=True)
    session.add(TOOLS["transistor"].make(((148, 104), (148, 70), (148, 160)), "n b VSS inner"))
    app = BenchApp(StartRequest(marking=session))
    async with app.run_test(size=(140, 40)) as pilot:
        hand = Hand(app, pilot)
        await pilot.pause()
        await pilot.press("s")
        await pilot.pause()
        assert hand.screen.query_one("#second").display
        other = hand.screen.query_one("#picture_b", PictureView)
        assert other.subject.overlay == NOTHING  # nobody knows yet where the marks lie on it
        for place in ((140, 62), (488, 205), (48, 264)):
            await pilot.press("j")
            await hand.put(place)
            await hand.put(place, on="#picture_b")
        assert other.subject.overlay != NOTHING
        assert "off.png: joined; a fourth point shows" in str(hand.screen.query_one("#said").content)
    marks = load_marks(path)
    assert len(marks.joins) == 3
    assert joined(marks, marks.pictures[1]).residual < 1.5


def test_ends_that_are_not_marked_yet_get_a_name_each():
    """A transistor put down on bare picture is offered with three nets, never with its gate and ends on one."""
    free = (f"n{i}" for i in (2, 5, 6))
    assert suggested("transistor", ["", "VSS", ""], {"kind": "p"}, free) == "p n2 VSS n5"
    assert suggested("wire", ["", ""], {}, iter(["n1", "n2"])) == "n1 metal"
