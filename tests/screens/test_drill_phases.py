"""What can be done in each phase of a question."""

import pytest

from layoutdrill.question.model import Hint, HintStep, Verdict
from layoutdrill.screens.drill_phases import Moment, possible_now
from tests.screens.fakes import count_question, name_question, point_question

EVERY = frozenset({"help", "leave", "quit", "look", "lift", "zoom_in", "scroll_up"})


def now(phase, question=None, hints=0, verdict=None, *, typing=False, fixed=False):
    return possible_now(EVERY, Moment(phase, question, hints, verdict, typing, fixed))


def test_only_the_choices_there_are_can_be_chosen():
    """Two choices, two letters; none, none."""
    from dataclasses import replace

    two = replace(name_question(), choices=("a thing", "another"))
    assert {name for name in now("asking", two) if name.startswith("choose_")} == {"choose_a", "choose_b"}
    assert not {name for name in now("asking", count_question()) if name.startswith("choose_")}


def test_a_pointed_question_is_placed_or_typed_in_coordinates():
    """While its coordinates are being typed, Enter is the line's."""
    assert {"place", "type"} <= now("asking", point_question())
    assert "place" not in now("asking", point_question(), typing=True)
    assert "type" in now("asking", count_question())
    assert "stop_typing" in now("asking", count_question(), typing=True)


def test_no_more_hints_than_there_are():
    """After the last, none is offered."""
    assert "hint" in now("asking", name_question(), 1)
    assert "hint" not in now("asking", name_question(), 2)


def test_what_a_hint_sells_is_not_given_away():
    """Lifting metal waits for its hint; the look stays where everybody is asked in the same."""
    from dataclasses import replace

    question = replace(name_question(), hints=(Hint(HintStep.LIFT_METAL, "metal off", 0.2),))
    assert "lift" not in now("asking", question)
    assert "lift" in now("asking", question, 1)
    assert "look" in now("asking", question, 1)
    assert not {"look", "next_look"} & now("asking", question, 1, fixed=True)
    assert {"lift", "look"} <= now("judged", question)


@pytest.mark.parametrize("phase", ["judged", "failed"])
def test_one_key_leads_on(phase):
    """From a verdict, and from a question that could not be made."""
    assert "onward" in now(phase, name_question())
    assert "onward" not in now("asking", name_question())


def test_side_by_side_only_after_a_mix_up():
    """There must be something to set beside it."""
    assert "compare" in now("judged", name_question(), 0, Verdict(0, "", "", "", confused_with="NOR2"))
    assert "compare" not in now("judged", name_question(), 0, Verdict(0, "", "", "", confused_with="contact"))
    assert "compare" not in now("judged", name_question(), 0, Verdict(1, "", "", ""))


def test_at_the_end_nothing_is_left_to_look_at():
    """The footer then tells the way on and the way back."""
    assert now("done") == {"help", "leave", "quit", "scroll_up", "onward"}


def test_a_place_that_must_be_seen_is_ringed_and_its_letter_stands_aside():
    """A letter on the spot would hide the very thing asked about."""
    from dataclasses import replace

    from layoutdrill.picture.overlay import rings_of
    from layoutdrill.question.model import Mark
    from layoutdrill.screens.outlines import marks_overlay

    question = replace(name_question(), marks=(Mark("P", 10, 12, ring=True), Mark("Q", 4, 4)))
    overlay = marks_overlay(question)
    assert rings_of(overlay) == ((10, 12),)
    assert [(tag.text, tag.ring) for tag in overlay.marks] == [("P", True), ("Q", False)]
