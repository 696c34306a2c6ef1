"""Every value knows its place, and a value of the wrong sort says so."""

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.yamldoc import load, loads
from tests.each import each


def fields(text):
    return loads(text, "t.yaml").root.mapping()


def test_places_count_lines_and_columns_from_one():
    """Nested values and list entries have the place where they start."""
    found = fields("a:\n  - b: 1\n    c: [x, yy]\n")
    entry = found["a"].items()[0]
    assert (entry.where.line, entry.where.column) == (2, 5)
    second = entry.mapping()["c"].items()[1]
    assert (second.where.line, second.where.column) == (3, 12)


def test_lines_of_a_block_know_their_places():
    """Blank lines and remarks are left out; further indent moves the column."""
    found = fields("n: |\n  n a VSS y  # pull-down\n\n  # remark\n    p a VDD y\nz: 1\n")
    assert [(n.value, n.where.line, n.where.column) for n in found["n"].lines()] == [
        ("n a VSS y", 2, 3),
        ("p a VDD y", 5, 5),
    ]


def test_lines_of_a_list_or_one_value_are_themselves():
    """A list gives its entries, one plain value itself."""
    found = fields("a: [x = 1, y = 2]\nb: z = 3\n")
    assert [n.value for n in found["a"].lines()] == ["x = 1", "y = 2"]
    assert [n.value for n in found["b"].lines()] == ["z = 3"]


WRONG = [
    (lambda n: n.text(), "7", 't.yaml:1:4: text expected, a number found; put it in quotes: "7"'),
    (lambda n: n.text(), "true", 't.yaml:1:4: text expected, true or false found; put it in quotes: "true"'),
    (
        lambda n: n.text(),
        "[a]",
        "t.yaml:1:4: text expected, a list found; write one line of text, in quotes when in doubt",
    ),
    (lambda n: n.integer(), "2.5", "t.yaml:1:4: whole number expected, a number found"),
    (lambda n: n.integer(1, 9), "10", "t.yaml:1:4: 10 is out of range; give a whole number from 1 to 9"),
    (lambda n: n.integer(1), "0", "t.yaml:1:4: 0 is out of range; give a whole number 1 or more"),
    (lambda n: n.integer(), "true", "t.yaml:1:4: whole number expected, true or false found"),
    (lambda n: n.number(0, 1), "3", "t.yaml:1:4: 3 is out of range; give a number from 0 to 1"),
    (lambda n: n.number(), "x", "t.yaml:1:4: number expected, text found"),
    (lambda n: n.boolean(), "yes", "t.yaml:1:4: true or false expected, text found"),
    (lambda n: n.mapping(), "x", "t.yaml:1:4: a mapping expected, text found; write “key: value” lines"),
    (
        lambda n: n.items(),
        "{a: 1}",
        "t.yaml:1:4: a list expected, a mapping found; start each entry on a line of its own with “- ”",
    ),
    (lambda n: n.word(("nand2", "nor2"), "cell"), "nad2", 't.yaml:1:4: no cell "nad2"; did you mean "nand2"?'),
    (lambda n: n.fields(("a",), ("bb",)), "{a: 1, b: 2}", 't.yaml:1:11: no field "b" here; did you mean "bb"?'),
    (lambda n: n.fields(("a",)), "{}", 't.yaml:1:4: field "a" is missing; add a line "a: …"'),
]


@each(("read", "written", "said"), WRONG)
def test_a_value_of_the_wrong_sort_says_so(read, written, said):
    """What, where and, when there is something to do, what to do."""
    with pytest.raises(LayoutdrillError) as caught:
        read(fields(f"x: {written}\n")["x"])
    assert str(caught.value) == said


def test_files_that_cannot_be_read(tmp_path):
    """A missing file and a folder are told apart."""
    with pytest.raises(LayoutdrillError, match="no such file; check the path"):
        load(tmp_path / "none.yaml")
    with pytest.raises(LayoutdrillError, match="this is a folder; name a YAML file"):
        load(tmp_path)
    with pytest.raises(LayoutdrillError, match="no file can have the name"):
        load(tmp_path / "a\0b.yaml")
