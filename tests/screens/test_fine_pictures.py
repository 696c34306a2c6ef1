"""Fine pictures: asked for only where chosen, answers never keys, laid where half-blocks are, gone at the end."""

from dataclasses import replace

import pytest
from PIL import Image

from layoutdrill.geometry.rect import Rect
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.fine_picture import FineLayer, apart, fine_piece, fineness, part_in, rectangles
from layoutdrill.screens.graphics import Asked, Graphics, Late, ask, may_ask, understood
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.settings import Settings, load_settings
from layoutdrill.screens.viewport import Viewport
from tests.picture.test_placement import Terminal
from tests.picture.test_sixel import shown
from tests.screens.fakes import FakeSitting, doubled
from tests.screens.test_drill_screen import settled, words

KITTY, SIXEL = "\x1b_Gi=31;OK\x1b\\", "\x1b[?62;4;22c"
CELL = "\x1b[6;19;9t"


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))


def test_half_blocks_unless_chosen(tmp_path):
    """The setting's default asks nothing; "fine" is read from the file; anything else is told with what there is."""
    assert Settings().pictures == "half-blocks"
    (tmp_path / "settings.yaml").write_text("pictures: fine\n", "utf-8")
    assert load_settings()[0].pictures == "fine"
    (tmp_path / "settings.yaml").write_text("pictures: finer\n", "utf-8")
    settings, error = load_settings()
    assert settings.pictures == "half-blocks"
    assert "fine" in str(error)


def test_who_cannot_be_asked_is_not(capfd):
    """Not below a multiplexer, not over a network, and not where there is no terminal: nothing is written."""
    assert may_ask({"TERM": "xterm-kitty"})
    for name in ("TMUX", "STY", "SSH_CONNECTION", "SSH_TTY"):
        assert not may_ask({name: "1"})
    assert ask({"TMUX": "1"}) == Asked()
    assert ask({}) == Asked()
    assert capfd.readouterr() == ("", "")


def test_what_a_terminal_says_is_understood():
    """Device attribute 4 is sixels (VT330/VT340 manual); CSI 6 ; high ; wide t is a cell (XTerm control sequences)."""
    assert understood(KITTY + CELL + "\x1b[?62c") == Graphics(kitty=True, wide=9, high=19)
    assert understood(CELL + SIXEL) == Graphics(kitty=False, wide=9, high=19)
    assert understood(SIXEL, (7, 15)) == Graphics(kitty=False, wide=7, high=15)
    assert understood("\x1b[?62;22c") is None
    assert understood("\x1b_Gi=31;ENOTSUPPORTED\x1b\\\x1b[?1;2c") is None
    assert understood("") is None


@pytest.mark.parametrize("cut", range(1, len(KITTY + CELL + SIXEL)))
def test_a_late_answer_is_no_key(cut):
    """Cut anywhere, and with keys before and after, an answer leaves the keys alone; and is still understood."""
    said = KITTY + CELL + SIXEL
    late = Late(until=10, clock=lambda: 0.0)
    typed = late.typed("a" + said[:cut]) + late.typed(said[cut:] + "b") + late.typed("c")
    assert typed == "abc"
    assert late.graphics == Graphics(kitty=True, wide=9, high=19)


def test_keys_that_begin_like_an_answer_are_keys():
    """Escape alone, arrows and an unfinished answer come through, one read later at the latest."""
    late = Late(until=10, clock=lambda: 0.0)
    assert late.typed("\x1b") + late.typed("") == "\x1b"
    assert late.typed("\x1b[A\x1b[6~") + late.typed("") == "\x1b[A\x1b[6~"
    assert late.typed("\x1b_Gi=3") + late.typed("") == "\x1b_Gi=3"
    assert Late(until=10, clock=lambda: 11.0).typed(SIXEL) == SIXEL


def piece_for(view, times):
    region = view.tile()
    wide = region.width * view.scale // view.per_lambda * times
    high = region.height * view.scale // view.per_lambda * times
    image = Image.new("RGB", (wide, high))
    image.putdata([(x % 256, y % 256, (x // 256) * 16 + y // 256) for y in range(high) for x in range(wide)])
    return fine_piece(("key",), image, region, view, (1, 2, 3)), image


@pytest.mark.parametrize("scale", [1, 2, 3, 4])
def test_every_cell_shows_its_part_of_the_drawing(scale):
    """
    However the window lies, the upper left pixel of each half-block's part is the one drawn for that half-pixel: the
    terminal's picture and the half-blocks show the same places.
    """
    whole = Viewport(Rect(0, 0, 120, 94), 2, 40, 12, scale).clamped()
    for view in (whole, whole.panned(7, 6), whole.panned(300, 300), whole.panned(-300, 2)):
        piece, image = piece_for(view, 3)
        (x0, y0, x1, y1), part = part_in(piece, view)
        left, top = view.spot(piece.region.x0, piece.region.y1 - 1)
        cut = piece.image.crop((part.x, part.y, part.x + part.width, part.y + part.height))
        assert cut.size == (3 * (x1 - x0), 6 * (y1 - y0))
        for column in range(x0, x1):
            for half in range(2 * y0, 2 * y1):
                x, y = 3 * (column - left), 3 * (half - top)
                drawn = 0 <= y < image.height
                wanted = image.getpixel((x, y)) if drawn else (1, 2, 3)
                assert cut.getpixel((3 * (column - x0), 3 * (half - 2 * y0))) == wanted


def test_what_stands_on_the_picture_is_left_free():
    """The rectangles cover every cell but those kept, none twice."""
    kept = tuple(frozenset(c) for c in ((), (), (3, 4), (3, 4), (0, 7), ()))
    found = rectangles((1, 1, 8, 6), kept)
    cells = [(x, y) for x0, y0, x1, y1 in found for x in range(x0, x1) for y in range(y0, y1)]
    assert len(cells) == len(set(cells))
    assert set(cells) == {(x, y) for x in range(1, 8) for y in range(1, 6)} - {(3, 2), (4, 2), (3, 3), (4, 3), (7, 4)}
    assert len(found) == 5
    plain, out = Image.new("P", (6, 4)), Image.new("P", (6, 4))
    out.putpixel((2, 3), 9)
    assert apart(plain, out, [(0, 4, 9), (7, 0, 1)], 2) == (frozenset(range(4, 13)), frozenset({2}))


def test_sent_once_and_panned_by_its_rectangle():
    """Panning sends some hundred bytes and no image; a still of sixels is as large as the window's cells."""
    view = Viewport(Rect(0, 0, 400, 200), 2, 40, 12, 2).clamped()
    piece, _ = piece_for(view, 3)
    layer, terminal, kept = FineLayer(piece=piece), Terminal(), (frozenset(),) * 12
    first = layer.shown(view, (0, 1), kept)
    terminal.take(first)
    assert len(terminal.images) == 1
    assert layer.shown(view, (0, 1), kept) == ""
    moved = view.panned(4, 2)
    again = layer.shown(moved, (0, 1), kept)
    assert len(again) < 150 < len(first)
    before = terminal.sees(layer.number, 1).tobytes()
    terminal.take(again)
    assert terminal.sees(layer.number, 1).tobytes() != before
    still = FineLayer(piece=piece).still(Graphics(kitty=False, wide=5, high=11), view, (0, 1))
    start = still.index("\x1bP")
    assert shown(still[start : still.index("\x1b\\", start) + 2]).size == (40 * 5, 12 * 11)
    terminal.take(layer.gone())
    assert terminal.images == {}
    assert layer.gone() == ""


def test_no_finer_than_pays():
    """Never more pixels than the terminal has, nor than some million, nor beyond 16 in a λ."""
    view = Viewport(Rect(0, 0, 240, 160), 2, 120, 40, 2).clamped()
    assert fineness(Graphics(kitty=True, wide=6, high=12), view, view.tile()) == 6
    small = Viewport(Rect(0, 0, 60, 60), 2, 120, 40, 2).clamped()
    assert fineness(Graphics(kitty=True, wide=40, high=80), small, small.tile()) == 8
    wide = Viewport(Rect(0, 0, 9000, 9000), 2, 400, 200, 2).clamped()
    assert fineness(Graphics(kitty=True, wide=20, high=40), wide, wide.tile()) < 5


@pytest.mark.parametrize("kitty", [True, False])
async def test_in_the_app_it_comes_follows_and_goes(kitty, monkeypatch):
    """
    The picture goes out once it rests, follows a closer look, gives way to a screen over it, comes back, and nothing of
    it is left when the app ends. Without an answer of the terminal nothing of it is ever written.
    """
    out = []
    monkeypatch.setattr("layoutdrill.screens.fine_picture.MOST_PIXELS", 120_000)
    monkeypatch.setattr(PictureView, "_write", lambda _view, text: out.append(text) if text else None)
    app = BenchApp(StartRequest(sitting=FakeSitting()))
    terminal = Terminal()

    async def rest(pilot, comes=True):
        """Wait until the picture rests: something was written, where that is to come, and then nothing more."""
        before, still = -1, 0
        for _ in range(300):
            await settled(app, pilot)
            await pilot.pause(0.05)
            still = still + 1 if len(out) == before and (out or not comes) else 0
            before = len(out)
            if still == 6:
                break
        for text in out:
            terminal.take(text)
        text = "".join(out)
        out.clear()
        return text

    async with app.run_test(size=(120, 40)) as pilot:
        await settled(app, pilot)
        assert await rest(pilot, comes=False) == ""
        app.asked = Asked(Graphics(kitty=kitty, wide=8, high=16))
        picture = app.screen.query_one(PictureView)
        heading = picture.fine_scale
        picture.zoom(1)
        text = await rest(pilot)
        assert picture.fine_scale > heading
        assert ("\x1bP" in text) != kitty
        assert len(terminal.images) == int(kitty)
        await pilot.press("plus")
        assert ("\x1bP" in await rest(pilot)) != kitty
        assert len(terminal.images) == int(kitty)
        await pilot.press("question_mark")
        await rest(pilot, comes=kitty)  # a still goes with what is painted over it, an image by a word of its own
        assert terminal.images == {}
        await pilot.press("escape")
        assert ("\x1bP" in await rest(pilot)) != kitty
        assert len(terminal.images) == int(kitty)
    for text in out:
        terminal.take(text)
    assert (terminal.images, terminal.places) == ({}, {})


async def test_stages_objectives_and_the_cut_by_key():
    """
    While a question is open no stage shows more than is asked of; the turret turns; with the verdict the die comes
    apart, and a ring's section stands with its films in words, until the picture is back with its outlines.
    """
    sitting = FakeSitting(position=2)
    judge = sitting.submit
    sitting.submit = lambda *given, **more: replace(judge(*given, **more), areas=doubled((5, 4, 7, 8)))
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(app, pilot)
        picture = app.screen.query_one(PictureView)
        picture.change(lambda subject: replace(subject, look="reflected-light"))
        await settled(app, pilot)
        await pilot.press("z", "O")
        await settled(app, pilot)
        assert picture.subject.stage == ""
        assert picture.subject.objective == "5x"
        await pilot.press("left", "enter")
        await settled(app, pilot)
        await pilot.press("z")
        await settled(app, pilot)
        assert picture.subject.stage == "glass off"
        assert "glass off" in words(app, "#heading")
        cut, before = app.screen.cut(), picture.subject
        assert cut is not None
        await pilot.press("u")
        await settled(app, pilot)
        assert picture.subject != before
        assert "Cut along y" in words(app, "#more")
        assert all(name.replace(" um", " µm") in words(app, "#more") for _, name in cut.section.names())
        assert "legend" not in app.screen.possible()
        await pilot.press("u")
        await settled(app, pilot)
        assert picture.subject.stage == "glass off"
        assert "Cut along y" not in words(app, "#more")
