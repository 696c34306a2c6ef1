"""
What is spoken of is in view: arithmetic on views and marks, without the app.

A page's picture shows all of the drawing, or what the page speaks of; a question its letters and rings, whole; a
verdict its rings and the place pointed at. Hundreds by hand: python -m tests.screens.test_in_view 500
"""

import sys
import tempfile
from collections import Counter
from pathlib import Path

import pytest

from layoutdrill.deck import lesson_names, load_deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import Answer, kinds
from layoutdrill.screens.focus import BESIDE, focus_of, focus_of_page, focus_of_verdict, spoken_of, words_beside
from layoutdrill.screens.outlines import verdict_overlay
from layoutdrill.screens.viewport import kept_on, snapped, starting

SIZES = {(80, 24): "80x24", (120, 40): "120x40"}


def room(size, specimen, *, judged=False):
    """Columns and rows of the picture in a window: the words stand beside it, or take up to half below it."""
    columns, rows = size
    if columns >= 110:
        return columns - 46, rows - 2
    if words_beside(specimen, columns, rows):
        return columns - BESIDE, rows - 2
    return columns, rows - 2 - (rows * 45 // 100 if judged else 8)


def fits(rect, per, columns, rows):
    """
    Whether a rectangle fits into a window at one half-pixel a λ: an edge at half a λ takes a half-pixel whole, and a
    view that begins with a whole row may lose half of one.
    """
    across = -(-rect.x1 // per) - rect.x0 // per
    down = -(-rect.y1 // per) - rect.y0 // per
    return across <= columns and down <= rows * 2 - 1


def shown(view, focus, per, columns, rows):
    """The first of what is wanted that can be in view at all is in view."""
    for rect in focus.wanted:
        if fits(rect, per, columns, rows):
            return view.shows(rect)
    return True


def question_moments(size, count, seed=2):
    """Yield (moment, is it in view) for questions of a deck, and for their verdicts on a wrong answer."""
    with tempfile.TemporaryDirectory() as folder:
        for deck in ("contact-crossing-transistor", "first-gates"):
            with Sitting.open_deck(deck, seed=seed, count=count, records=Path(folder) / "r") as sitting:
                for number in range(count):
                    question = sitting.prepare(number)
                    specimen = question.specimen
                    per = specimen.process.grid_per_lambda
                    box = snapped(specimen.face.box, per)
                    columns, rows = room(size, specimen)
                    focus = focus_of(question)
                    view = starting(box, per, columns, rows, focus)
                    yield f"{deck} {number + 1} {question.kind}", shown(view, focus, per, columns, rows)
                    corner = Answer(point=(box.x0, box.y0)) if question.pointed else Answer("b")
                    try:
                        verdict = kinds()[question.kind].grade(question, corner)
                    except LayoutdrillError:
                        continue
                    overlay = verdict_overlay(question, verdict, corner.point)
                    focus = focus_of_verdict(overlay, question)
                    columns, rows = room(size, specimen, judged=True)
                    view = kept_on(view.resized(columns, rows), focus)
                    yield f"{deck} {number + 1} verdict", shown(view, focus, per, columns, rows)
                    if overlay.spots or overlay.marks:
                        place = (overlay.spots or tuple((m.x, m.y) for m in overlay.marks))[0]
                        yield f"{deck} {number + 1} ring", view.side_of(*place) == ""


def page_moments(size, lessons):
    """Yield (moment, is it in view) for each picture of each page."""
    for name in lessons:
        deck = load_deck(name)
        maker = SpecimenMaker(deck)
        for number, page in enumerate(deck.pages, 1):
            for picture in page.pictures[:1]:
                specimen = maker.picture(picture)
                per = specimen.process.grid_per_lambda
                columns, rows = (size[0] - 46, size[1] - 3) if size[0] >= 110 else (size[0] - 34, size[1] - 3)
                said = f"{page.text} {picture.caption}"
                focus = focus_of_page(said, specimen)
                view = starting(snapped(specimen.face.box, per), per, columns, rows, focus)
                yield f"{name} page {number}", shown(view, focus, per, columns, rows)
                for thing, places in spoken_of(said, specimen).items():
                    seen = any(view.shows(rect) or _touched(view, rect) for rect in places)
                    yield f"{name} page {number} {thing}", seen


def _touched(view, rect):
    """Whether some of a long line is in sight."""
    return rect.overlaps(view.visible())


@pytest.mark.parametrize("size", SIZES, ids=SIZES.get)
def test_questions_and_verdicts_have_in_view_what_they_speak_of(size):
    """Letters and rings whole, the place pointed at beside the right one, wherever the window has room for them."""
    found = list(question_moments(size, 8))
    assert len(found) > 30
    assert [moment for moment, seen in found if not seen] == []


@pytest.mark.parametrize("size", SIZES, ids=SIZES.get)
def test_pages_have_in_view_what_they_speak_of(size):
    """A page on rails shows a rail, a page on taps a tap."""
    found = list(page_moments(size, lesson_names()[:4]))
    assert found
    assert [moment for moment, seen in found if not seen] == []


def main(count):
    """Print how many moments are in view."""
    for size, name in SIZES.items():
        found = [*question_moments(size, count // 2), *page_moments(size, lesson_names())]
        told = Counter(seen for _, seen in found)
        print(f"{name}: {told[True]} in view, {told[False]} not")
        print("\n".join(f"  {moment}" for moment, seen in found if not seen))


if __name__ == "__main__":
    main(int(sys.argv[1]))
