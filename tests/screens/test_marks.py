"""Marks on the picture: they stand for what the words and the table say, and hide nothing that is asked."""

import re
from functools import cache

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.deck import load_deck
from layoutdrill.deck.specimen import SpecimenMaker, drawn
from layoutdrill.dice import Dice
from layoutdrill.picture.overlay import overlay_letters
from layoutdrill.picture.view import View
from layoutdrill.question import kinds
from layoutdrill.question.model import Answer, HintStep
from layoutdrill.screens.focus import focus_of, focus_of_rails, focus_of_verdict, out_of_sight, words_beside
from layoutdrill.screens.outlines import (
    joined_overlay,
    marks_overlay,
    numbers_of,
    page_overlay,
    reading_overlay,
    step_overlay,
    verdict_overlay,
)
from layoutdrill.screens.sighting import jumped, starting
from layoutdrill.screens.viewport import snapped
from layoutdrill.screens.wording import devices_of


@cache
def specimen():
    return drawn(load_cell("nand2"), "silicon-gate-cmos", 4, 0.2)


def asked(kind, seeds=range(1, 60)):
    """The first question of a kind that the specimen allows."""
    questions = (kinds()[kind].ask(specimen(), Dice(seed)) for seed in seeds)
    return next(question for question in questions if question is not None)


@pytest.mark.parametrize("kind", ["spot", "polarity", "rails", "same net", "point"])
def test_numbers_of_the_table_stand_on_the_picture(kind):
    """After every verdict each transistor of the table has its number on the picture, outlined or bare."""
    question = asked(kind)
    verdict = kinds()[kind].grade(question, kinds()[kind].solution(question))
    overlay = verdict_overlay(question, verdict)
    numbers = dict((*overlay.transistors, *overlay.numbered))
    assert numbers == numbers_of(question.specimen)
    table = devices_of(question.specimen).plain
    assert all(f"\n{number} " in table for number in numbers.values())


def test_supplies_are_named_beside_a_verdict_and_on_no_contact():
    """The table says which ends lie on VDD and VSS, so the picture does too."""
    question = asked("name")
    verdict = kinds()["name"].grade(question, kinds()["name"].solution(question))
    overlay = verdict_overlay(question, verdict)
    supplies = [rail for rail in question.specimen.process.rails if rail in question.specimen.netlist.nets]
    assert [tag.text for tag in overlay.rails] == supplies
    for tag in overlay.rails:
        assert tag.text in {net for _, net in question.specimen.extraction.nets_at(tag.x, tag.y)}
        assert not any(joint.rect.contains(tag.x, tag.y) for joint in question.specimen.face.scene.joints)


def test_ones_own_place_stands_beside_the_right_one_and_both_are_wanted_in_view():
    """A cross where one pointed wrongly; none where it was right."""
    question = asked("point")
    corner = (question.specimen.face.box.x0, question.specimen.face.box.y0)
    wrong = kinds()["point"].grade(question, Answer(point=corner))
    overlay = verdict_overlay(question, wrong, corner)
    assert overlay.yours == corner
    assert wrong.places
    assert any(rect.contains(*corner) for rect in focus_of_verdict(overlay, question).places)
    right = kinds()["point"].solution(question)
    assert verdict_overlay(question, kinds()["point"].grade(question, right), right.point).yours is None


@pytest.mark.parametrize("step", [HintStep.RAILS, HintStep.NETS])
def test_strokes_of_help_keep_off_contacts_and_gates(step):
    """What is asked or counted there stays to be seen; numbers of nets are not those of transistors."""
    shown = specimen()
    overlay = step_overlay(step, shown)
    assert {joint.rect for joint in shown.face.scene.joints} <= set(overlay.shunned)
    assert {r for t in shown.netlist.transistors for r in shown.extraction.channel(t.name)} <= set(overlay.shunned)
    both = joined_overlay(step_overlay(HintStep.DEVICES, shown), overlay)
    assert not {text for _, text in both.nets} & {number for _, number in both.transistors}


def test_with_the_rails_shown_the_key_leads_to_what_is_asked_first():
    """What is asked about comes before the supplies' lines, which help."""
    question = asked("spot")
    places = focus_of_rails(question).places
    assert places[: len(question.marks)] == focus_of(question).places
    assert len(places) > len(question.marks)


def test_one_key_changes_between_two_pictures_that_have_no_room_together():
    """
    At 80×24 the words stand beside, and the left picture is seen alone, whole; one key brings the right one whole into
    its place, and the left one back. Where there is room for both they are seen side by side.
    """
    question = asked("turned or not")
    assert words_beside(80, 24)
    per = question.specimen.process.grid_per_lambda
    focus, box = focus_of(question), snapped(question.specimen.face.box, per)
    left, right = focus.places
    view, last = starting(box, per, 46, 22, focus), None
    for picture in (left, right, left, right):
        assert view.alone == picture
        assert view.whole
        assert view.shows(picture)
        view, last = jumped(view, focus, last)
    assert (focus.name_of(left), focus.name_of(right)) == ("left", "right")
    large = starting(box, per, 140, 58, focus)
    assert large.alone is None
    assert large.shows(left)
    assert large.shows(right)


def test_pictures_to_choose_from_bear_the_letters_of_the_choices():
    """
    Each of the four has its letter at both ends of its left side, in the gap, on the picture as it is drawn and on the
    overview; and it is said which of them is in sight.
    """
    question = asked("two stages")
    per = question.specimen.process.grid_per_lambda
    pictures = kinds()["two stages"].pictures(question)
    assert list(pictures) == ["left", "a", "b", "c", "d"]
    letters = marks_overlay(question).ports
    for name in "abcd":
        own = [tag for tag in letters if tag.text == name]
        assert len(own) == 2
        assert all(pictures[name].x0 - 4 * per <= tag.x < pictures[name].x0 for tag in own)
        assert not any(rect.contains(tag.x, tag.y) for tag in own for rect in pictures.values())
    box = snapped(question.specimen.face.box, per)
    drawn = overlay_letters(
        question.specimen.extraction, question.specimen.process, View(box, 1), marks_overlay(question)
    )
    assert {text for _, _, text in drawn} == set("abcd")
    focus = focus_of(question)
    view, last = starting(box, per, 46, 22, focus), None
    for name, after in zip(("left", *"abcd"), (*"abcd", "left"), strict=True):
        told = out_of_sight(view, question)
        assert re.match(rf"This is (the {name} picture|picture {name}), \d of 5", told)
        assert f"F4: {after} in its place" in told
        assert view.shows(pictures[name])
        view, last = jumped(view, focus, last)


def test_what_is_to_be_read_leaves_what_the_page_names_itself():
    """A load called L on the line VGG keeps both names beside the numbers of the table: the text speaks of them."""
    deck = load_deck("loads-and-ratio")
    maker, named = SpecimenMaker(deck), 0
    for picture in (picture for page in deck.pages for picture in page.pictures if picture.nets):
        specimen = maker.picture(picture)
        shown = page_overlay(picture, specimen)
        read = reading_overlay(shown, specimen)
        assert set(shown.nets) <= set(read.nets)
        assert read.marks == shown.marks
        texts = dict(read.transistors)
        for name, word in shown.transistors:
            assert texts[name].split()[-1] == word
            named += not word.isdecimal()
        assert all(text.split()[0].isdecimal() for text in texts.values())
        assert not {tag.text for tag in read.ports} & {net for net, _ in read.nets}
    assert named
