"""The whole deck format: ranges, weights, own words, layouts, photographs; one table for loader, schema, guide."""

from pathlib import Path

import pytest

from layoutdrill.deck import load_deck
from layoutdrill.deck.check import check_deck
from layoutdrill.deck.fields import CELL, DECK, ITEM, LAYOUT, PAGE, PHOTO_ITEM, PICTURE
from layoutdrill.deck.json_schema import deck_schema
from layoutdrill.deck.model import Deck, Item
from layoutdrill.deck.read import read_deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.deck.write import deck_text
from layoutdrill.drill.plan import plan, shares
from layoutdrill.errors import LayoutdrillError
from layoutdrill.locations import shipped
from layoutdrill.netlist.compare import compare
from layoutdrill.yamldoc import loads
from tests.photo.specimens import photograph

HEAD = "title: t\nabout: a\n"
INVERTER = """
layouts:
  - name: pad_inverter
    structure: inverter
    process: silicon-gate-nmos
    ports: {a: input, y: output}
    shapes:
      active: [[0, 0, 4, 40]]
      poly: [[-4, 10, 8, 12], [-2, 22, 6, 30], [1, 18, 3, 24]]
      implant: [[-3, 20, 7, 32]]
      buried: [[0, 17, 4, 22]]
      contact: [[1, 1, 3, 3], [1, 14, 3, 16], [1, 36, 3, 38]]
      metal: [[-6, 0, 12, 4], [0, 13, 14, 17], [-6, 35, 12, 39]]
    labels: {VSS: [metal, -5, 2], VDD: [metal, -5, 37], a: [poly, -3, 11], y: [metal, 12, 15]}
"""


def deck_of(text, folder="."):
    deck, errors = read_deck(loads(text, "mine.yaml"), "mine", Path(folder))
    assert not errors, [str(error) for error in errors]
    return deck


def test_ranges_weights_and_rows_of_cells_say_what_repetition_would():
    text = (
        HEAD
        + "items:\n  - {cells: [nand2..nand4, nor2], kinds: {name: 3, count: 1},\n"
        + "     difficulty: [0.1, 0.4], seed: [3, 5]}\n"
    )
    deck = deck_of(text)
    (item,) = deck.items
    assert item.cells == ("nand2", "nand3", "nand4", "nor2")
    assert item.kinds == ("name", "name", "name", "count")
    draws = plan(deck, 40, 1, SpecimenMaker(deck).structure)
    share = sum(draw.kind == "name" for draw in draws) / len(draws)
    assert share == pytest.approx(0.75, abs=0.03)
    assert all(0.1 <= draw.difficulty <= 0.4 for draw in draws)
    assert len({draw.difficulty for draw in draws}) > 5
    assert {3, 5} <= {draw.seed for draw in draws}
    again = deck_of(deck_text(deck))
    assert again.items == deck.items


@pytest.mark.parametrize(
    ("counts", "asked", "dealt"), [((None, 3, 2), 6, (1, 3, 2)), ((None, None), 12, (6, 6)), ((4, 2), 6, (4, 2))]
)
def test_an_item_without_a_count_is_asked_beside_those_with_one(counts, asked, dealt):
    """It counts as one; where none has a count there are 12 questions at least."""
    items = tuple(Item(("nand2",), ("silicon-gate-cmos",), count=count) for count in counts)
    deck = Deck("mine", "t", "a", items)
    assert deck.questions == asked
    assert shares(deck.items, deck.questions) == dealt


def test_an_author_s_words_notes_and_look_reach_the_draw():
    text = HEAD + "author: A. Writer\nlicence: CC0-1.0\nprerequisites: [contact]\nitems:\n"
    text = text.replace("[contact]", f"[{min(p.stem for p in (shipped('decks') / 'lessons').glob('*.yaml'))}]")
    text += "  - {cells: nand2, words: The beacon's gate., note: Seen on every board., look: stick-colours}\n"
    deck = deck_of(text)
    (draw,) = plan(deck, 1, 1, SpecimenMaker(deck).structure)
    assert (draw.words, draw.note, draw.look) == ("The beacon's gate.", "Seen on every board.", "stick-colours")
    assert (deck.author, deck.licence) == ("A. Writer", "CC0-1.0")
    again = deck_of(deck_text(deck))
    assert (again.author, again.licence, again.prerequisites, again.items) == (
        deck.author, deck.licence, deck.prerequisites, deck.items
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("format: 2\nitems: [{cells: nand2}]\n", "mine.yaml:3:9: format 2 of decks is not known here"),
        ("items: [{cells: nand2..nor4}]\n", "is no row of cells; write it as nand2..nand4"),
        ("items: [{cells: nand2..nand900}]\n", "is no row of cells"),
        ("items: [{cells: nand2, difficulty: [0.5, 0.2]}]\n", "a range is two numbers, the lower first"),
        ("items: [{cells: nand2, kinds: {nam: 2}}]\n", 'no kind of question "nam"; did you mean "name"?'),
        ("items: [{photo: a.png}]\n", "is no mark file; its name ends in .marks.yaml"),
        ("items: [{photo: a.marks.yaml}]\n", "no file a.marks.yaml"),
        ("items: [{photo: ../a.marks.yaml}]\n", "lies outside the deck's folder"),
        ("items: [{photo: a.marks.yaml, cells: nand2}]\n", 'no field "cells" here'),
        (
            "layouts: [{name: b, structure: x, process: silicon-gate-cmos, ports: {}}]\n",
            "a layout is a file, or shapes",
        ),
        (
            "layouts: [{name: b, structure: x, process: silicon-gate-cmos, ports: {}, file: /etc/a.gds}]\n",
            "lies outside",
        ),
        (INVERTER.replace("active: [[0, 0, 4, 40]]", "active: [[0, 0, 0.3, 40]]"), "lies off the grid"),
        (INVERTER.replace("active: [[0, 0, 4, 40]]", "aktive: [[0, 0, 4, 40]]"), 'has no layer "aktive"'),
    ],
)
def test_slips_in_the_new_fields_are_told_with_their_place(tmp_path, text, said):
    path = tmp_path / "mine.yaml"
    path.write_text(HEAD + text, encoding="utf-8")
    errors = [str(error).replace(f"{tmp_path}/", "") for error in check_deck(path)]
    assert any(said in error and error.startswith("mine.yaml:") for error in errors), errors


def test_rectangles_in_a_deck_are_a_layout_that_is_read_and_asked(tmp_path):
    """A hand-drawn depletion-load inverter: two transistors, turned as the seed says, the same circuit each way."""
    path = tmp_path / "mine.yaml"
    path.write_text(HEAD + INVERTER + "items: [{cells: pad_inverter}]\n", encoding="utf-8")
    assert check_deck(path) == []
    deck = load_deck(path)
    maker = SpecimenMaker(deck)
    one, other = (maker.specimen("pad_inverter", "silicon-gate-nmos", seed, 0.3) for seed in (0, 5))
    assert one.netlist.count() == 2
    assert compare(one.netlist, other.netlist).equal
    assert one.face.text() != other.face.text()
    again, errors = read_deck(loads(deck_text(deck), "again"), "mine", Path("/"))
    assert not errors
    assert again.layouts["pad_inverter"].drawn == deck.layouts["pad_inverter"].drawn


def test_an_own_layout_under_a_wrong_name_is_told(tmp_path):
    path = tmp_path / "mine.yaml"
    path.write_text(
        HEAD + INVERTER.replace("structure: inverter", "structure: NAND2") + "items: [{cells: pad_inverter}]\n"
    )
    told = next(error for error in check_deck(path) if "structure NAND2, but these transistors are" in str(error))
    with pytest.raises(LayoutdrillError) as refused:
        SpecimenMaker(load_deck(path)).ready()
    assert str(refused.value) == str(told)


def test_a_deck_of_photographs_is_checked_planned_and_written(tmp_path):
    photograph(tmp_path, "nand2", stages=True)
    path = tmp_path / "mine.yaml"
    path.write_text(HEAD + "items: [{photo: nand2.marks.yaml, kinds: [name, count]}]\n", encoding="utf-8")
    assert check_deck(path) == []
    deck = load_deck(path)
    draws = plan(deck, 12, 1, SpecimenMaker(deck).structure)
    assert 0 < len(draws) <= 8
    again, errors = read_deck(loads(deck_text(deck), "records"), "mine", Path("/"))
    assert (errors, again.items) == ([], deck.items)
    path.write_text(HEAD + "items: [{photo: nand2.marks.yaml, kinds: [sequence]}]\n", encoding="utf-8")
    (cannot,) = check_deck(path)
    assert "“sequence” cannot be asked about nand2/nand2 as it is marked" in cannot.what
    marks = tmp_path / "nand2.marks.yaml"
    right = marks.read_text(encoding="utf-8")
    wrong = right.replace('structure: "NAND2", aliases: ["2-input nand", "two-input nand"]', 'structure: "NOR2"')
    marks.write_text(wrong, encoding="utf-8")
    with pytest.raises(LayoutdrillError, match="structure NOR2, but these transistors are a NAND2"):
        SpecimenMaker(load_deck(path)).ready()
    marks.write_text(right, encoding="utf-8")
    (tmp_path / "nand2.png").write_bytes((tmp_path / "nand2-off.png").read_bytes())
    assert any("nand2.png is not the picture that was marked" in str(error) for error in check_deck(path))
    (tmp_path / "nand2.png").unlink()
    assert any("no such picture file" in str(error) for error in check_deck(path))


def test_the_schema_is_made_of_the_loader_s_own_table():
    schema = deck_schema()
    assert set(schema["properties"]) == {field.name for field in DECK}
    items = schema["$defs"]["item"]["oneOf"]
    assert [set(one["properties"]) for one in items] == [{f.name for f in table} for table in (ITEM, PHOTO_ITEM)]

    def references(node):
        if isinstance(node, dict):
            yield from ([node["$ref"]] if "$ref" in node else [])
            for value in node.values():
                yield from references(value)
        elif isinstance(node, list):
            for value in node:
                yield from references(value)

    assert {ref.removeprefix("#/$defs/") for ref in references(schema)} <= set(schema["$defs"])


def test_the_author_s_guide_tells_every_field():
    guide = (shipped("decks") / "AUTHORING.md").read_text(encoding="utf-8")
    for table in (DECK, ITEM, PHOTO_ITEM, PAGE, PICTURE, LAYOUT, CELL):
        for field in table:
            assert f"`{field.name}`" in guide, field.name
