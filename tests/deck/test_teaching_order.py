"""The lessons stand in an order in which nothing is asked before it is taught, and help never gives the answer."""

from itertools import pairwise

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.deck import lesson_names
from layoutdrill.deck.specimen import drawn
from layoutdrill.dice import Dice
from layoutdrill.drill.asking import asked
from layoutdrill.drill.plan import plan
from layoutdrill.picture.looks import PHOTOGRAPHIC, load_look
from layoutdrill.recognise.terms import term
from tests.drawings import deck_of
from tests.sampling import spread

ORDER = (
    "before-the-microscope", "under-the-microscope", "contact-crossing-transistor", "n-and-p", "n-and-p-elsewhere",
    "rails", "inverter", "series-and-parallel", "complex-gates", "switches-and-stores", "loads-and-ratio",
    "flip-flops-and-registers", "arrays", "pads-and-drivers", "rows-and-channels", "odd-things", "processes-together",
    "after-the-reading", "faults", "plan-of-a-chip", "a-whole-block",
)  # fmt: skip
ASKED_FROM = {
    "turned or not": "before-the-microscope",
    "spot": "under-the-microscope",
    "same net": "contact-crossing-transistor",  # a net goes on at contacts, and not at crossings
    "polarity": "n-and-p",
    "count": "n-and-p-elsewhere",
    "rails": "rails",
    "name": "inverter",
    "point": "inverter",
    "table": "series-and-parallel",
    "transcribe": "inverter",
    "function": "series-and-parallel",
    "ratio": "loads-and-ratio",
    "sequence": "switches-and-stores",
    "address": "arrays",
    "dust or contact": "under-the-microscope",
    "across a seam": "before-the-microscope",
    "two stages": "before-the-microscope",
    "measurement": "switches-and-stores",
    "other convention": "loads-and-ratio",
    "process": "processes-together",
    "undecided": "processes-together",
    "reading check": "after-the-reading",
    "fault": "faults",
    "block": "plan-of-a-chip",
    "board log": "a-whole-block",
}
"""The lesson that introduces each kind of question."""
GIVES_AWAY = {
    "spot": {"devices", "nets", "netlist"}, "count": {"devices", "netlist"}, "polarity": {"netlist"},
    "rails": {"rails", "nets", "netlist"}, "same net": {"nets", "netlist"}, "point": {"devices", "nets", "netlist"},
    "name": {"netlist"}, "turned or not": {"netlist"}, "table": {"netlist"}, "function": {"netlist"},
    "sequence": {"netlist"}, "ratio": {"netlist"}, "address": {"netlist"}, "transcribe": {"devices", "nets", "netlist"},
    "dust or contact": set(), "across a seam": {"nets", "netlist"}, "two stages": set(), "measurement": {"netlist"},
    "other convention": {"netlist"}, "process": set(), "undecided": set(), "reading check": {"nets", "netlist"},
    "fault": {"netlist"}, "block": set(), "board log": set(),
}  # fmt: skip
"""What would outline or tell the answer of each kind of question."""


def mask_colours(deck, picture):
    return load_look(picture.look or deck.look).style not in PHOTOGRAPHIC


def place(picture):
    return picture.cell, picture.decoy, picture.process, picture.seed, picture.difficulty


def said(deck):
    """Return all words of a lesson's pages, in lower case."""
    texts = [deck.about, deck.title]
    for page in deck.pages:
        texts += [page.title, page.text, *(picture.caption for picture in page.pictures)]
    return " ".join(" ".join(texts).split()).lower()


def words_for(structure):
    """Return what a structure may be called in a lesson: its term, without digits too, and its other names."""
    entry = term(structure)
    names = {structure.lower(), structure.lower().rstrip("0123456789"), *(alias.lower() for alias in entry.aliases)}
    return {name for name in names if name}


def test_the_lessons_stand_in_the_order_of_teaching():
    """From the board to the signed reading, as one who has read many dies would have it."""
    assert tuple(lesson_names()) == ORDER


@pytest.mark.parametrize("lesson", ORDER)
def test_no_lesson_asks_what_none_has_taught(lesson):
    """Kinds of questions, processes and names of structures: each is introduced in this lesson or in one before it."""
    so_far = [deck_of(name) for name in ORDER[: ORDER.index(lesson) + 1]]
    deck = so_far[-1]
    taught = {kind for kind, first in ASKED_FROM.items() if ORDER.index(first) <= ORDER.index(lesson)}
    pictured = {picture.process for each in so_far for page in each.pages for picture in page.pictures}
    text = " ".join(said(each) for each in so_far)
    for item in deck.items:
        assert set(item.kinds) <= taught, item.kinds
        assert set(item.processes) <= pictured, item.processes
        if "name" in item.kinds:
            for cell in item.cells:
                structure = load_cell(cell).structure
                assert any(word in text for word in words_for(structure)), (lesson, cell, structure)


@pytest.mark.parametrize("lesson", ORDER)
def test_help_fades_over_a_third_and_never_outlines_the_answer(lesson):
    """Worked examples first, then less and less help (Renkl 2002); no step of help shows what is asked."""
    deck = deck_of(lesson)
    if not deck.items:
        return
    helped = sum(item.count or 1 for item in deck.items if item.help)
    assert 3 * helped >= deck.questions, (helped, deck.questions)
    for item in deck.items:
        for kind in item.kinds:
            assert not {step.value for step in item.help} & GIVES_AWAY[kind], (kind, item.help)
    amounts = [len(item.help) for item in deck.items]
    assert amounts[0] >= max(amounts)
    assert any(not item.help for item in deck.items)


@pytest.mark.parametrize("lesson", ORDER)
def test_a_page_in_mask_colours_is_followed_by_the_same_place_under_the_microscope(lesson):
    """Each drawing is met again as a photograph, before anything else."""
    deck = deck_of(lesson)
    pairs = list(pairwise([*deck.pages, None]))
    for page, following in pairs:
        if any(mask_colours(deck, picture) for picture in page.pictures):
            assert following is not None, page.title
            assert {place(p) for p in page.pictures} == {place(p) for p in following.pictures}, page.title
            assert not any(mask_colours(deck, picture) for picture in following.pictures), page.title


@pytest.mark.parametrize("lesson", spread(ORDER, 6))
def test_questions_without_help_are_asked_on_photographs(lesson):
    """Of each item one question, drawn as a sitting draws it: the look is that of the microscope."""
    deck = deck_of(lesson)
    assert load_look(deck.look).style in PHOTOGRAPHIC
    seen = set()
    for draw in plan(deck, deck.questions, 3, lambda cell: deck.cell(cell).structure):
        if draw.help or draw.kinds in seen:
            continue
        seen.add(draw.kinds)
        specimen = drawn(deck.cell(draw.cell), draw.process, draw.seed, draw.difficulty)
        question = asked(draw, specimen, Dice.from_text(f"{lesson} {draw.seed}"), deck.look, deck.look)
        assert not question.look or load_look(question.look).style in PHOTOGRAPHIC, (draw, question.look)
    assert seen or not deck.items


@pytest.mark.parametrize("lesson", ORDER)
def test_parallel_is_never_called_side_by_side(lesson):
    """Transistors in series also lie side by side in a row; only pictures stand side by side."""
    text = said(deck_of(lesson)).replace("the two side by side", "")
    assert "side by side" not in text
    for wrong in ("always a transistor", "a wire that ends inside the drawing is no rail", "runs to gates is a signal",
                  "word lines across", "narrowest wire"):  # fmt: skip
        assert wrong not in text
