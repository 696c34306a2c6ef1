"""Every error of a deck is told at once, each with its place, what it is, and what to do."""

import pytest

from layoutdrill.deck import load_deck
from layoutdrill.deck.check import check_deck
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import load_process, process_names

DRAWN = ", ".join(name for name in process_names() if load_process(name).rules)


def told(tmp_path, text):
    path = tmp_path / "mine.yaml"
    path.write_text(text, encoding="utf-8")
    return [str(error).replace(f"{tmp_path}/", "") for error in check_deck(path)]


def test_all_errors_come_at_once_in_the_order_of_the_lines(tmp_path):
    """A deck with many slips lists them all, none hiding another."""
    deck = (
        "titel: My gates\n"
        "about: Gates.\n"
        "kinds: [nmae]\n"
        "items:\n"
        "  - cells: [nad2, nor2]\n"
        "    seed: maybe\n"
        "    difficulty: 3\n"
        "  - cell: [nand2]\n"
        "  - cells: [nand2]\n"
        "    processes: [open-130nm]\n"
        "    help: [rail]\n"
        "    count: 0\n"
        "pages:\n"
        "  - title: A\n"
        "    text: ''\n"
        "    side by side: [{cell: nand2}]\n"
        "  - title: B\n"
        "    text: b\n"
        "    picture: {cell: nor2, process: silicon-gate-cmos, layers: [polly]}\n"
    )
    assert told(tmp_path, deck) == [
        'mine.yaml:1:1: no field "titel" here; did you mean "title"?',
        'mine.yaml:1:1: field "title" is missing; add a line "title: …"',
        'mine.yaml:3:9: no kind of question "nmae"; did you mean "name"?',
        'mine.yaml:5:13: no cell "nad2"; did you mean "nand2"?',
        "mine.yaml:6:11: a seed or “fresh” expected, text found; give a whole number, or fresh",
        "mine.yaml:7:17: 3 is out of range; give a number from 0 to 1",
        'mine.yaml:8:5: no field "cell" here; did you mean "cells"?',
        'mine.yaml:8:5: field "cells" is missing; add a line "cells: …"',
        f'mine.yaml:10:17: no process to draw in "open-130nm"; known: {DRAWN}',
        'mine.yaml:11:12: no step of help "rail"; did you mean "rails"?',
        "mine.yaml:12:12: 0 is out of range; give a whole number from 1 to 500",
        "mine.yaml:15:11: the text is empty; write something, or leave the line out",
        "mine.yaml:16:19: one picture has nothing beside it; list two or more",
        'mine.yaml:19:64: no layer "polly"; did you mean "poly"?',
    ]


HEAD = "title: t\nabout: a\n"
SINGLE = [
    ("", "mine.yaml:1:1: a deck with nothing in it; add “items:” or “pages:”"),
    ("items: [{cells: []}]\n", "mine.yaml:3:17: no cell is named; list one or more, such as [nand2, nor2]"),
    ("items: x\n", "mine.yaml:3:8: a mapping expected, text found; write “key: value” lines"),
    (
        "lesson: 3\nitems: [{cells: [nand2]}]\n",
        ("mine.yaml:3:9: a lesson has no objective; add “objective:”, what one will be able to do"),
    ),
    ("kit: mine\nitems: [{cells: [nand2_1]}]\n", 'mine.yaml:3:6: no kit "mine"; known: sky130_fd_sc_hd'),
    ("look: inc\nitems: [{cells: [nand2]}]\n", 'mine.yaml:3:7: no look "inc"; did you mean "ink"?'),
    (
        "items:\n  - cells: [nand2]\n    hints: [Look, then count]\n",
        (
            "mine.yaml:5:12: a comma inside [ ] starts another hint"
            "; put each hint in quotes, or on a line of its own after “- ”"
        ),
    ),
    (
        "kit: sky130_fd_sc_hd\nitems:\n  - cells: [nand2_1]\n    processes: [silicon-gate-cmos]\n",
        ("mine.yaml:6:16: a kit's cells have one process; leave “processes” out"),
    ),
    (
        "pages:\n  - title: t\n    text: x\n    build up: {cell: nand2}\n",
        ('mine.yaml:6:15: field "steps" is missing; list them as “- {add: [active], say: …}”'),
    ),
    (
        "pages:\n  - title: t\n    text: x\n    picture: {cell: nand2}\n    build up: {cell: nand2}\n",
        ("mine.yaml:7:15: a page has one arrangement of pictures; leave “picture” or “build up” out"),
    ),
    (
        (
            "cells:\n  - {name: nand2, title: t, structure: s, look for: l, "
            "ports: {a: input, y: output}, function: y = !a}\n"
            "items: [{cells: [nand2]}]\n"
        ),
        ('mine.yaml:4:5: there is a cell "nand2" already; choose another name'),
    ),
    (
        "items: [{cells: [ram_array_4x99]}]\n",
        "mine.yaml:3:18: ram_array_4x99 is out of range; give sizes from 2 to 16",
    ),
    ("items: [{cells: [ram_aray_4x4]}]\n", 'mine.yaml:3:18: no cell "ram_aray_4x4"; did you mean "ram_array_4x4"?'),
    (  # the slip in the cell is told once, and not again where the cell is used
        (
            "cells:\n  - {name: lamp_gate, title: t, structure: s, look for: l, "
            "ports: {a: input, y: output}, function: y = !(a}\n"
            "items: [{cells: [lamp_gate]}]\n"
        ),
        "mine.yaml:4:105: this parenthesis is not closed; add a )",
    ),
]


@pytest.mark.parametrize(("rest", "said"), SINGLE)
def test_an_error_has_exactly_these_words(tmp_path, rest, said):
    """One slip, one line."""
    found = told(tmp_path, HEAD + rest)
    assert found == [said]


def test_a_file_that_is_no_yaml_is_one_error(tmp_path):
    """With its place."""
    (only,) = told(tmp_path, "title: [\n")
    assert only.startswith("mine.yaml:2:1: not YAML: ")


def test_a_deck_that_is_not_there():
    """A name gets a suggestion, a path says that there is no file."""
    (only,) = check_deck("first-gate")
    assert 'no deck "first-gate"; did you mean "first-gates"?' in str(only)
    (only,) = check_deck("nowhere/mine.yaml")
    assert str(only) == "nowhere/mine.yaml: no such file; check the path"


def test_loading_tells_the_first_error_and_how_many_more(tmp_path):
    """A drill stops at the first, and says how to see the rest."""
    path = tmp_path / "mine.yaml"
    path.write_text("title: t\nabout: a\nkinds: [x]\nlook: y\nitems: [{cells: [nand2]}]\n")
    with pytest.raises(LayoutdrillError) as caught:
        load_deck(path)
    assert str(caught.value).endswith(f"1 more: layoutdrill check {path}")
    assert caught.value.where.line == 3


def test_a_kind_that_cannot_be_asked_is_found_by_proving(tmp_path):
    """The text is right, but no question of the kind can be made: only drawing it shows that."""
    (only,) = told(
        tmp_path, HEAD + "items:\n  - cells: [pass_n]\n    processes: [metal-gate-sapphire]\n    kinds: [rails]\n"
    )
    assert only == (
        "mine.yaml:4:5: “rails” cannot be asked about pass_n in metal-gate-sapphire; take the kind or the cell out"
    )


def test_a_cell_that_cannot_be_drawn_is_told_at_its_item(tmp_path, monkeypatch):
    """The place is the deck's, whatever room the error comes from."""
    from layoutdrill.deck.specimen import SpecimenMaker

    def refuse(maker, cell, process, seed, difficulty):
        raise LayoutdrillError(f"{cell} has no room", todo="try another seed")

    monkeypatch.setattr(SpecimenMaker, "specimen", refuse)
    found = told(tmp_path, HEAD + "items:\n  - cells: [nand2]\n    processes: [silicon-gate-cmos]\n")
    assert found == ["mine.yaml:4:5: nand2 has no room; try another seed"]
