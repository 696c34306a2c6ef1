"""
What is spoken of is in view: arithmetic on views and marks, without the app.

A page's picture shows all of the drawing, or what the page speaks of; a question its letters and rings, whole; a
verdict its rings and the place pointed at. Hundreds by hand: python -m tests.screens.test_in_view 500
"""

import re
import sys
import tempfile
from collections import Counter
from functools import cache
from itertools import product
from pathlib import Path

import pytest

from layoutdrill.deck import Picture, deck_covers, lesson_covers, lesson_names, load_deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import Light
from layoutdrill.picture.looks import load_look
from layoutdrill.question import Answer, kinds
from layoutdrill.screens.focus import (
    BESIDE,
    DETAIL,
    focus_in,
    focus_of,
    focus_of_page,
    focus_of_verdict,
    out_of_sight,
    spoken_of,
    words_beside,
)
from layoutdrill.screens.lesson_room import caption_of, first_view, focus_on, one_at_a_time, reading_focus, rows_of
from layoutdrill.screens.lesson_screen import steps_of
from layoutdrill.screens.lines import unwrapped
from layoutdrill.screens.outlines import marks_overlay, pointed_at, verdict_overlay
from layoutdrill.screens.sighting import jumped, kept_on, out_of_view, panes_of, starting, whole_first
from layoutdrill.screens.subject import look_for_process, photographic
from layoutdrill.screens.viewport import snapped
from tests.sampling import covering

PAGES = ("before-the-microscope", "contact-crossing-transistor", "switches-and-stores", "flip-flops-and-registers")
DECKS = ("contact-crossing-transistor", "first-gates")
SIZES = {(80, 24): "80x24", (120, 40): "120x40"}


def room(size, *, judged=False):
    """Columns and rows of the picture in a window: the words stand beside it, or take up to half below it."""
    columns, rows = size
    if columns >= 110:
        return columns - 46, rows - 2
    if words_beside(columns, rows):
        return columns - BESIDE, rows - 2
    return columns, rows - 2 - (rows * 45 // 100 if judged else 8)


def fits(rect, per, columns, rows, scale=1):
    """
    Whether a rectangle fits into a window at so many half-pixels a λ: an edge at half a λ takes a half-pixel whole, and
    a view that begins with a whole row may lose half of one.
    """
    across = -(-rect.x1 // per) - rect.x0 // per
    down = -(-rect.y1 // per) - rect.y0 // per
    return across * scale <= columns and down * scale <= rows * 2 - 1


def shown(view, focus, per, columns, rows):
    """The first of what is wanted that can be in view at all is in view."""
    for rect in focus.wanted:
        if fits(rect, per, columns, rows, focus.furthest):
            return view.shows(rect)
    return True


@cache
def walked(deck, count, seed=2):
    """Questions of a deck, each with the verdict on a wrong answer, or None where that cannot be judged."""
    questions = []
    with (
        tempfile.TemporaryDirectory() as folder,
        Sitting.open_deck(deck, seed=seed, count=count, records=Path(folder) / "r") as sitting,
    ):
        for number in range(min(count, sitting.total)):
            question = sitting.prepare(number)
            box = question.specimen.face.box
            corner = Answer(point=(box.x0, box.y0)) if question.pointed else Answer("b")
            try:
                verdict = kinds()[question.kind].grade(question, corner)
            except LayoutdrillError:
                verdict = None
            questions.append((f"{deck} {number + 1} {question.kind}", question, corner, verdict))
    return questions


def question_moments(size, decks, count):
    """Yield (moment, is it in view) for questions of decks, and for their verdicts on a wrong answer."""
    for name, question, corner, verdict in (each for deck in decks for each in walked(deck, count)):
        specimen = question.specimen
        per = specimen.process.grid_per_lambda
        columns, rows = room(size)
        focus = focus_of(question)
        view = starting(snapped(specimen.face.box, per), per, columns, rows, focus)
        yield name, shown(view, focus, per, columns, rows)
        yield f"{name}, by jumps", reached(view, focus)
        yield f"{name}, letters out of sight are named", named(view, question)
        lit = focus_in(question, "reflected-light")
        view = starting(snapped(specimen.face.box, per), per, columns, rows, lit)
        yield f"{name}, photographed", shown(view, lit, per, columns, rows)
        yield f"{name}, photographed, by jumps", reached(view, lit)
        yield f"{name}, photographed, letters out of sight are named", named(view, question)
        if lit.near > 1 and fits(lit.wanted[0], per, columns, rows, lit.near):
            yield f"{name}, photographed, without aid", view.scale >= lit.near
        if verdict is None:
            continue
        overlay = verdict_overlay(question, verdict, corner.point)
        focus = focus_of_verdict(overlay, question)
        columns, rows = room(size, judged=True)
        view = kept_on(view.resized(columns, rows), focus)
        yield f"{name} verdict", shown(view, focus, per, columns, rows)
        yield f"{name} verdict, by jumps", reached(view, focus)
        if overlay.spots or overlay.marks:
            place = (overlay.spots or tuple((m.x, m.y) for m in overlay.marks))[0]
            yield f"{name} ring", view.side_of(*place) == ""


def reached(view, focus):
    """Whether one key leads to every place that is out of view, each in its turn."""
    away, last, seen = set(out_of_view(view, focus)), None, set()
    for _ in range(2 * len(panes_of(view, focus))):
        seen |= {place for place in away if place not in out_of_view(view, focus)}
        view, last = jumped(view, focus, last)
    seen |= {place for place in away if place not in out_of_view(view, focus)}
    return seen == away


def named(view, question):
    """Whether each letter that is drawn out of sight, wherever a stitched picture has it, is told to be so."""
    specimen = question.specimen
    look = question.look or look_for_process("stick-colours", specimen.process)
    drawn = specimen.face.followed(marks_overlay(question), Light(load_look(look), specimen.seed or 0))
    seen = view.visible().grown(specimen.process.grid_per_lambda)
    hidden = [tag.text for tag in drawn.marks if not seen.contains(tag.x, tag.y)]
    told = out_of_sight(view, question)
    return told.startswith("Too far") or all(re.search(rf"\b{a} (above|below|left|right)", told) for a in hidden)


def page_room(size, page, pictures, structures, *, abreast):
    """Columns and rows of each picture of a step: the words stand beside one, below two; captions are told whole."""
    wide = size[0] >= 110
    columns = (size[0] - 1) // 2 if abreast else size[0] - (46 if wide else BESIDE)
    told = [
        caption_of(p, structure, aid=photographic(p.look or "reflected-light"), abreast=abreast)
        for p, structure in zip(pictures, structures, strict=True)
    ]
    told += [unwrapped(p.caption) for p in page.pictures]
    rows = size[1] - 2 - (max(rows_of(text, columns) for text in told) if any(told) else 0)
    if abreast:
        inside = size[0] - (4 if wide else 2)
        words = 1 + sum(rows_of(part, inside) + 1 for part in unwrapped(page.text).split("\n\n")) - 1
        rows -= min(words, size[1] * (40 if wide else 45) // 100)
    return columns, rows


def page_moments(size, lessons):
    """Yield (moment, is it in view) for each picture of each step of each page."""
    for name, deck, step, picture, specimen, view, focus, pointed in page_views(size, lessons):
        where = f"{name} page {step.page + 1}.{step.at} {picture.caption}".strip()
        if pointed:
            yield f"{where} the first of what is pointed out", view.shows(pointed[0])
            yield f"{where} how close", view.scale >= picture.closer
            yield f"{where} all letters", reached(view, focus)
            yield f"{where} letters that have room together", shown(view, focus, *_window(view))
            continue
        if len(step.pictures) > 1:
            continue  # two abreast are compared as wholes; what they speak of in letters is looked at above
        yield where, shown(view, focus, *_window(view))
        for thing, places in spoken_of(f"{deck.pages[step.page].text} {picture.caption}", specimen).items():
            yield f"{where} {thing}", any(view.shows(rect) or _touched(view, rect) for rect in places)


def _window(view):
    return view.per_lambda, view.columns, view.rows


def page_views(size, lessons):
    """Yield each picture of each step as it opens; two abreast are shown at the smaller scale of both."""
    for name in lessons:
        deck = load_deck(name)
        maker = drawn_for(name)
        for step in steps_of(deck):
            page = deck.pages[step.page]
            specimens = [maker.picture(picture) for picture in step.pictures]
            if not specimens:
                continue
            apart = one_at_a_time(size, page, step.pictures, specimens)
            structures = [s.structure for s in specimens]
            columns, rows = page_room(size, page, step.pictures, structures, abreast=not apart and len(specimens) > 1)
            views = []
            for picture, specimen in zip(step.pictures, specimens, strict=True):
                pointed = pointed_at(picture, specimen)
                focus = focus_of_page(f"{page.text} {picture.caption}", specimen, picture.closer, pointed)
                per = specimen.process.grid_per_lambda
                view = starting(snapped(specimen.face.box, per), per, columns, rows, focus)
                views.append((picture, specimen, view, focus, pointed))
            least = min(view.scale for _, _, view, _, _ in views)
            for picture, specimen, view, focus, pointed in views:
                same = view if view.scale == least else view.scaled(least)
                yield name, deck, step, picture, specimen, same, focus, pointed


@cache
def drawn_for(name):
    """Return what draws a lesson's pictures, and keeps them."""
    return SpecimenMaker(load_deck(name))


def _touched(view, rect):
    """Whether some of a long line is in sight."""
    return rect.overlaps(view.visible())


@pytest.mark.parametrize(("deck", "size"), covering(product(DECKS, SIZES)))
def test_questions_and_verdicts_have_in_view_what_they_speak_of(deck, size):
    """Letters and rings whole, the place pointed at beside the right one, wherever the window has room for them."""
    moments = list(question_moments(size, [deck], 8))
    assert len(moments) > 50
    assert [moment for moment, seen in moments if not seen] == []


@pytest.mark.parametrize(("lesson", "size"), covering(product(PAGES, SIZES)))
def test_pages_have_in_view_what_they_speak_of(lesson, size):
    """
    A page on rails shows a rail, a page on taps a tap; a page that names places by letters shows the first, and the
    others too where there is room for all, else one key brings them.
    """
    moments = list(page_moments(size, [lesson]))
    assert len(moments) > 12
    assert [moment for moment, seen in moments if not seen] == []


NAMES = re.compile(r"\(([A-Z1-9])\)|\b(?:at|such as|and|switches,|left of|right of) ([A-Z])\b(?! [a-z]+s\b)")


@pytest.mark.parametrize("name", lesson_names())
def test_letters_that_a_page_names_are_pointed_out_and_none_else(name):
    """“A contact (B)” without a B on the picture, or a B that no word explains, leaves a learner searching."""
    for page in load_deck(name).pages:
        said = f"{page.text} {' '.join(picture.caption for picture in page.pictures)}"
        pointed = {letter for picture in page.pictures for letter, _ in picture.pointed}
        named = {one or other for one, other in NAMES.findall(said)}
        assert named <= pointed, (page.title, said)
        assert {letter for letter in pointed if not re.search(rf"\b{letter}\b", said)} == set(), page.title


MOST_ROWS = 4
"""Rows of a caption beside which a picture in 24 rows is still one."""


def test_captions_are_told_whole_and_leave_the_picture_its_room():
    """In the smallest window each caption, with what the tracing aid is, takes a few rows; none is cut."""
    columns = 80 - BESIDE
    longest = 0
    for name in lesson_names():
        for step in steps_of(load_deck(name)):
            abreast = len(step.pictures) > 1
            for picture in step.pictures:
                told = caption_of(picture, "", aid=photographic(picture.look or "reflected-light"), abreast=abreast)
                taken = rows_of(told, (80 - 1) // 2 if abreast else columns)
                assert taken <= MOST_ROWS, (name, step.page + 1, told)
                longest = max(longest, taken)
    assert longest > 1


@pytest.mark.parametrize("size", SIZES, ids=SIZES.get)
def test_a_page_that_tells_of_rims_opens_where_they_can_be_seen(size):
    """A via on a rail, a contact: whole, at three half-pixels a λ or more, and one key leads to others of them."""
    maker = SpecimenMaker(load_deck("contact-crossing-transistor"))
    picture = Picture("nor2", "silicon-gate-cmos-2m", 3, 0.0)
    specimen = maker.picture(picture)
    per = specimen.process.grid_per_lambda
    joints = specimen.face.scene.joints
    for said, roles in (
        ("The vias on the rails have a thin rim.", {"via"}),
        ("A contact has a dark rim.", {"contact"}),
    ):
        focus = focus_of_page(said, specimen)
        view = starting(snapped(specimen.face.box, per), per, size[0] - 34, size[1] - 3, focus)
        whole = [j.rect for j in joints if specimen.process.layers[j.layer].role in roles and view.shows(j.rect)]
        assert view.scale >= DETAIL - 1
        assert whole
        assert len(focus.places) > 1
        assert reached(view, focus)
    assert focus_of_page("Two transistors in a row.", specimen).least == 1


@pytest.mark.parametrize("size", SIZES, ids=SIZES.get)
def test_a_cut_opens_where_its_films_can_be_told(size):
    """A gate with its contact, from the diffusion up, at three half-pixels a λ or more; one key leads to the others."""
    cuts = [views for views in page_views(size, ["under-the-microscope"]) if views[3].section]
    assert len(cuts) == 2
    for _, _, _, _, specimen, view, focus, _ in cuts:
        face = specimen.face
        (channel,) = (
            r for t in specimen.netlist.transistors for r in face.extraction.channel(t.name) if r.y0 <= face.y < r.y1
        )
        assert view.scale >= 3
        assert view.shows(focus.wanted[0])
        assert focus.wanted[0].x0 < channel.x0 < channel.x1 < focus.wanted[0].x1
        assert any(
            focus.wanted[0].x0 <= joint.rect.x0 and joint.rect.x1 <= focus.wanted[0].x1 for joint in face.scene.joints
        )
        assert reached(view, focus)


@pytest.mark.parametrize("size", SIZES, ids=SIZES.get)
def test_what_is_told_to_be_read_on_a_page_can_be_gone_over(size):
    """While the table of a page's transistors is told, one key leads to each that is out of sight; then to none."""
    maker, away = drawn_for("complex-gates"), 0
    for page in load_deck("complex-gates").pages[3:8]:
        for picture in page.pictures:
            specimen = maker.picture(picture)
            focus = reading_focus(focus_on(page, picture, specimen), specimen)
            gates = [r for t in specimen.netlist.transistors for r in specimen.extraction.channel(t.name)[:1]]
            assert set(gates) <= set(focus.places)
            view = first_view((size[0] - BESIDE, size[1] - 6), page, picture, specimen).scaled(2)
            hidden = [rect for rect in gates if not view.visible().contains(*rect.centre)]
            assert set(hidden) <= set(out_of_view(view, focus))
            assert reached(view, focus)
            away += len(hidden)
    assert away or size != (80, 24)


def test_two_pictures_of_which_too_little_has_room_abreast_are_seen_one_at_a_time():
    """At 80×24 the planes of the lesson on arrays; at 200×60 two gates stand abreast."""
    deck, maker = load_deck("arrays"), drawn_for("arrays")
    page = next(page for page in deck.pages if page.title == "Bits under the microscope")
    specimens = [maker.picture(picture) for picture in page.pictures]
    assert one_at_a_time((80, 24), page, page.pictures, specimens)
    for picture, specimen in zip(page.pictures, specimens, strict=True):
        view = first_view((46, 20), page, picture, specimen)
        assert view.scale >= 1
        assert not whole_first(view, focus_on(page, picture, specimen), specimen.face.box)
    lesson, drawn = load_deck("switches-and-stores"), drawn_for("switches-and-stores")
    page = next(page for page in lesson.pages if len(page.pictures) == 2)
    assert not one_at_a_time((200, 60), page, page.pictures, [drawn.picture(picture) for picture in page.pictures])


def main(count):
    """Print how many moments of every page, and of that many questions from all decks, are in view."""
    decks = [cover.name for cover in (*lesson_covers(), *deck_covers()) if not cover.kit]
    for size, name in SIZES.items():
        moments = [*question_moments(size, decks, -(-count // len(decks))), *page_moments(size, lesson_names())]
        tally = Counter(seen for _, seen in moments)
        print(f"{name}: {tally[True]} in view, {tally[False]} not")
        print("\n".join(f"  {moment}" for moment, seen in moments if not seen))
    print(sum(len(walked(deck, -(-count // len(decks)))) for deck in decks), "questions of", len(decks), "decks")


if __name__ == "__main__":
    main(int(sys.argv[1]))
