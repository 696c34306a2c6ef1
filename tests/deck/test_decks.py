"""Decks say what they say: the shipped ones are sound, and the canonical text reads back as the same deck."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.cells.kit import find_kit
from layoutdrill.deck import deck_covers, deck_names, deck_text, lesson_covers, lesson_names, load_deck
from layoutdrill.deck.check import check_deck
from layoutdrill.deck.files import deck_path
from layoutdrill.deck.read import read_deck
from layoutdrill.deck.specimen import SpecimenMaker, drawn, from_kit, turned
from layoutdrill.deck.write import scalar
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.netlist.compare import compare
from layoutdrill.printable import unprintable_at
from layoutdrill.process import load_process
from layoutdrill.yamldoc import loads
from tests.sampling import examples, some

DECKS = {name: load_deck(name) for name in deck_names()}
DRAWN = sorted((name for name in DECKS if not DECKS[name].kit), key=lambda name: len(DECKS[name].items))


@pytest.mark.parametrize("name", some(DRAWN))
def test_a_shipped_deck_has_nothing_to_mend(name):
    """Every item and picture is drawn, proved and askable. All decks: `layoutdrill check`, as .ci/run does."""
    assert [str(error) for error in check_deck(name)] == []


@pytest.mark.kit
def test_the_kit_s_deck_has_nothing_to_mend():
    """Every cell is in the kit, read, extracted and askable."""
    try:
        find_kit()
    except LayoutdrillError as error:
        pytest.skip(str(error))
    assert [str(error) for error in check_deck("open-cells")] == []


def test_a_deck_of_the_kit_says_how_to_get_it(tmp_path):
    """Without the kit there is one error, with the command that fetches it."""
    (only,) = check_deck("open-cells", kit=tmp_path / "none.whl")
    assert "pip download" in str(only)


def test_the_syllabus_is_numbered_without_a_gap():
    """Each has a place, an objective, pages with pictures, and items whose help fades away to none."""
    lessons = [load_deck(name) for name in lesson_names()]
    assert [lesson.lesson for lesson in lessons] == list(range(1, len(lessons) + 1))
    for lesson in lessons:
        assert lesson.objective
        assert any(page.pictures for page in lesson.pages)
        helps = [len(item.help) for item in lesson.items]
        assert helps[0] > 0
        assert helps[-1] == 0


@pytest.mark.parametrize("name", deck_names())
def test_the_canonical_text_is_the_same_deck(name):
    """Written and read again, a deck is equal to itself, and its text is the same text."""
    deck = load_deck(name)
    again, errors = read_deck(loads(deck_text(deck), "again.yaml"), name, deck_path(name).parent)
    assert errors == []
    # What lies beside it is called by its digest there, and found in what was kept, not in a folder.
    assert replace(again, brought=deck.brought) == deck
    assert deck_text(again) == deck_text(deck)


OWN = """\
title: "Yes: no, 010"
about: |-
  Two lines,
  with # and : in them.
cells:
  - name: lamp
    title: lamp gate
    structure: OAI31
    aliases: [lamp gate, "no"]
    ports: {a: input, b: input, c: input, on: enable, y: output}
    function: y = !((a + b + c) * on)
    boundary: all of it
    look for: three in series
    mistaken for: {oai31: "nothing, it is one"}
  - name: pair
    title: pair
    structure: cross-coupled inverters
    ports: {q: signal, qn: complement of q}
    does: keeps
    netlist: |
      inverter a=q y=qn
      n qn VSS q
      p qn VDD q
    look for: a loop
    processes: [metal-gate-sapphire]
  - name: two
    title: two stages
    structure: AND2
    ports: {a: input, b: input, y: output}
    function: y = a*b
    stages: |
      m = !(a*b)
      y = !m
    look for: two stages
items:
  - cells: [lamp, pair, two]
    processes: [metal-gate-sapphire]
    hints: ["a, b", 'it''s "quoted"']
    help: [rails, lift metal]
    seed: 4
    count: 2
"""


def test_a_deck_s_own_cells_survive_writing():
    """Function, stages, netlist, ports, aliases and all, and the netlists that come of them."""
    deck, errors = read_deck(loads(OWN, "own.yaml"), "own")
    assert errors == []
    again, errors = read_deck(loads(deck_text(deck), "again.yaml"), "own")
    assert errors == []
    process = load_process("metal-gate-sapphire")
    for name in ("lamp", "pair", "two"):
        assert again.cell(name).netlist(process).text() == deck.cell(name).netlist(process).text()
        assert again.cell(name).aliases == deck.cell(name).aliases
        assert again.cell(name).ports == deck.cell(name).ports
    assert again.items == deck.items
    assert (again.title, again.about) == (deck.title, deck.about)
    assert deck.cell("lamp").netlist(process).count() == 8  # two per literal (Weste & Harris, from memory)


def test_an_own_cell_is_drawn_and_asked_like_any_other():
    """From the author's function to a proved drawing."""
    deck, _ = read_deck(loads(OWN, "own.yaml"), "own")
    specimen = SpecimenMaker(deck).specimen("lamp", "metal-gate-sapphire", 1, 0.2)
    process = load_process("metal-gate-sapphire")
    assert specimen.structure == "OAI31"
    assert compare(deck.cell("lamp").netlist(process), specimen.netlist).equal or specimen.netlist.count() > 8


LETTERS = st.integers(0x20, 0xFFFD).map(chr).filter(lambda letter: unprintable_at(letter) is None)
MARKS = st.sampled_from(" :#'\"\\-[]{}&*!|>%@`,?~0n")
"""Of the basic plane whatever can be printed, and often what YAML takes for more than a letter."""


@settings(max_examples=examples(300), deadline=None)
@given(st.lists(st.one_of(LETTERS, MARKS), min_size=1, max_size=30).map("".join))
def test_any_text_survives_quoting(text):
    """Whatever an author writes comes back, with the traps of YAML among it."""
    assert loads(f"x: {scalar(text)}\n", "t.yaml").root.mapping()["x"].value == text


@pytest.mark.parametrize(
    "text",
    [
        "no: yes",
        "a # b",
        "- x",
        "true",
        "12:30",
        "&a",
        "*a",
        "!a",
        "@a",
        "%a",
        "`a`",
        "7",
        "'a",
        '"a',
        "a\\b",
        "a: ",
        " a",
        "a ",
        "[a",
        "{a",
        "a, b",
        "?",
        "|",
        ">",
    ],
)
def test_the_traps_survive_quoting(text):
    """One by one."""
    assert loads(f"x: {scalar(text)}\n", "t.yaml").root.mapping()["x"].value == text
    assert loads(f"x: [{scalar(text)}]\n", "t.yaml").root.mapping()["x"].items()[0].value == text


def test_worked_examples_split_no_transistor():
    """At difficulty 0 each transistor of the cell is one channel on the drawing."""
    from layoutdrill.cells import load_cell

    for name in ("inverter", "nand2", "aoi21"):
        for process in ("silicon-gate-cmos", "metal-gate-sapphire"):
            cell = load_cell(name)
            assert drawn(cell, process, 1, 0).netlist.count() == cell.netlist(load_process(process)).count()


@pytest.mark.kit
def test_a_kit_s_cell_stays_the_same_cell_in_all_eight_orientations():
    """Eight different drawings, one netlist: the kit's own SPICE."""
    try:
        kit = find_kit()
    except LayoutdrillError as error:
        pytest.skip(str(error))
    specimens = [from_kit(kit, "a21oi_1", seed) for seed in range(8)]
    assert len({str(sorted(s.face.layout.shapes["poly"])) for s in specimens}) == 8
    reference = kit.netlist("a21oi_1")
    for specimen in specimens:
        assert compare(reference, specimen.netlist).equal
        assert (specimen.face.layout.box.x0, specimen.face.layout.box.y0) == (0, 0)


def test_turning_does_not_change_what_is_extracted():
    """A drawn cell turned eight ways is the same netlist."""
    from layoutdrill.cells import load_cell

    whole = drawn(load_cell("nor2"), "silicon-gate-cmos", 3, 0.2)
    for seed in range(8):
        assert compare(whole.netlist, extract(turned(whole.face.layout, seed), whole.process).netlist).equal


def test_a_cover_says_what_its_deck_says():
    """Read without the questions, each deck's cover is the same as that of the whole deck."""
    covers = (*deck_covers(), *lesson_covers())
    assert [cover.name for cover in covers] == list(deck_names())
    for cover in covers:
        deck = load_deck(cover.name)
        told = (deck.title, deck.about, deck.objective, deck.lesson, deck.kit, deck.questions)
        assert (cover.title, cover.about, cover.objective, cover.lesson, cover.kit, cover.questions) == told
