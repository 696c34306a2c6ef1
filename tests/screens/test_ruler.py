"""The scale bar on a picture. Arithmetic; that a bar bears its length is common practice (microscopy, maps)."""

import re

from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from layoutdrill.face.unit import Unit
from layoutdrill.process import load_process
from layoutdrill.screens.frame import BEYOND, BRIGHT, Note
from layoutdrill.screens.ruler import bar_of, draw_scale_bar, scale_bar
from tests.screens.fakes import specimen


@given(st.integers(4, 200), st.sampled_from((0.75, 1, 2, 4, 16)), st.sampled_from((0.0, 0.09, 1.5, 5.0)))
def test_the_scale_bar_is_never_cut_and_tells_the_truth(columns, scale, micrometres):
    """Bar and text lie in the window, the bar is as long as its text says, a round number of λ, and as many µm."""
    length, text = scale_bar(scale, "λ", micrometres, columns)
    out = Image.new("P", (columns, 20), 5)
    note = draw_scale_bar(out, length, text)
    if note is None:
        assert out.tobytes() == bytes([5]) * len(out.tobytes())
        return
    assert note.column - length > 0
    assert note.column + len(text) <= columns
    count, um = re.fullmatch(r"([0-9.]+) λ(?: = ([0-9.e+]+) µm)?", text).groups()
    assert length == round(float(count) * scale)
    assert f"{float(count):e}"[0] in "125"
    assert (um is None) == (micrometres == 0)
    assert um is None or abs(float(um) - float(count) * micrometres) <= 1e-3 * float(um)


def test_a_drawing_has_its_length_in_lambda_and_micrometres():
    """With λ of 1.5 µm, 10 λ are 15 µm; a photograph of which nobody said the size has its length in pixels alone."""
    shown = specimen().face
    process = load_process("silicon-gate-cmos")
    length, text = bar_of(shown, 1, 46)
    assert length == 10
    assert text == f"10 λ = {process.lambda_nm / 100:g} µm"

    class Photograph:
        unit = Unit(1, "px", down=True)

    Photograph.process = process
    assert re.fullmatch(r"[125]0* px", bar_of(Photograph, 1, 46)[1])


def test_the_scale_bar_stands_off_the_drawing():
    """Where a corner holds nothing of the drawing the bar is there, beside other notes; else only where asked for."""
    out = Image.new("P", (60, 20), 5)
    assert draw_scale_bar(out, 10, "5 λ", over=False) is None
    assert draw_scale_bar(out.copy(), 10, "5 λ") is not None
    out.paste(BEYOND, (0, 0, 60, 2))
    note = draw_scale_bar(out, 10, "5 λ", notes=[Note(0, 0, " left ")], over=False)
    assert note is not None
    assert (note.row, note.column > 30) == (0, True)
    assert out.getpixel((note.column - 2, 0)) == BRIGHT


def test_the_scale_bar_lies_on_nothing_that_is_asked():
    """A ring in each corner but one: the bar goes there; in every corner: there is none."""
    out = Image.new("P", (60, 20), 5)
    rings = [(0, 14, 12, 20), (48, 14, 60, 20), (0, 0, 12, 6), (48, 0, 60, 6)]
    for free in range(4):
        note = draw_scale_bar(out.copy(), 10, "5 λ", kept_clear=rings[:free] + rings[free + 1 :])
        assert note is not None
        assert (note.row > 5, note.column > 30) == (free < 2, free % 2 == 1)
    assert draw_scale_bar(out.copy(), 10, "5 λ", kept_clear=rings) is None
