"""The traps of YAML change no meaning in silence: a value stays what was written, or the error says what to do."""

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.yamldoc import loads
from tests.each import each

# Source of the traps: the YAML 1.1 type repository (bool, int, float, timestamp, merge) and the YAML 1.2.2 core schema.
KEPT = {
    "on": "on",
    "NO": "NO",
    "Yes": "Yes",
    "off": "off",
    "y": "y",
    "True": "True",
    "Null": "Null",
    "12:30": "12:30",
    "010": "010",
    "0x1F": "0x1F",
    "0o17": "0o17",
    "1_000": "1_000",
    "1e5": "1e5",
    ".5": ".5",
    "5.": "5.",
    ".inf": ".inf",
    ".nan": ".nan",
    "2026-01-01": "2026-01-01",
    "123456789012345678901": "123456789012345678901",
    "=": "=",
    "a*b + c": "a*b + c",
    "y = !(a*b)": "y = !(a*b)",
    "!true": None,
}
CONVERTED = {
    "true": True,
    "false": False,
    "null": None,
    "~": None,
    "7": 7,
    "-3": -3,
    "+4": 4,
    "0": 0,
    "0.25": 0.25,
    "-1.5": -1.5,
}


@each(("written", "kept"), [(w, k) for w, k in KEPT.items() if k is not None])
def test_a_plain_value_stays_text(written, kept):
    """What only looks like a number, a time, a date or a truth value is text."""
    assert loads(f"x: {written}\n", "t.yaml").root.fields(("x",))["x"].value == kept


@each(("written", "value"), CONVERTED.items())
def test_only_plain_words_and_numbers_are_converted(written, value):
    """true, false, null, whole numbers and decimal fractions are themselves; in quotes they are text."""
    found = loads(f"x: {written}\n", "t.yaml").root.fields(("x",))["x"].value
    assert found == value
    assert type(found) is type(value)
    assert loads(f'x: "{written}"\n', "t.yaml").root.fields(("x",))["x"].value == written


REFUSED = [
    ("x: !A B\n", "t.yaml:1:4: a tag (“!name”) is not allowed; put text that starts with “!” in quotes"),
    (
        "x: !!python/object:os.system 1\n",
        "t.yaml:1:4: a tag (“!name”) is not allowed; put text that starts with “!” in quotes",
    ),
    ("x: *A\n", "t.yaml:1:4: an alias (“*name”) is not allowed; write the value out, or quote the text"),
    ("x: &x A\n", "t.yaml:1:4: an anchor (“&x”) is not allowed; remove it, or put the text in quotes"),
    ("a: {b: 1}\nc:\n  <<: {d: 1}\n", "t.yaml:3:3: a merge key (“<<”) is not allowed; write the fields out"),
    ("a: 1\nb: 2\na: 3\n", 't.yaml:3:1: "a" is given twice; the first is on line 1; remove one'),
    ("a: 1\n'a': 3\n", 't.yaml:2:1: "a" is given twice; the first is on line 1; remove one'),
    ("? [a, b]\n: 1\n", "t.yaml:1:3: a key must be one word of text; write “key: value”"),
    ("", "t.yaml:1:1: the file is empty; write “key: value” lines"),
    ("# only a remark\n", "t.yaml:1:1: the file is empty; write “key: value” lines"),
    ("a: 1\n---\nb: 2\n", "t.yaml:2:1: a second document starts here; keep one in a file, and remove the line “---”"),
    (b"a: 1\nb: \xff\n", "t.yaml:2:4: not UTF-8 text; save the file as UTF-8"),
    ("a: 1\nb: \x07\n", "t.yaml:2:4: a character that cannot be printed (\\u0007); remove it"),
    ("a: \x00\n", "t.yaml:1:4: a character that cannot be printed (\\u0000); remove it"),
]


@each(("written", "said"), REFUSED)
def test_what_is_refused_is_told_with_its_place(written, said):
    """Each refusal says where, what, and what to do, in exactly these words."""
    with pytest.raises(LayoutdrillError) as caught:
        loads(written, "t.yaml")
    assert str(caught.value) == said


@each(
    "written",
    ["x: @y\n", "x: `y`\n", "x: a: b\n", "x: [a\n", "x: {a: 1\n", "x: 'a\n", "\tx: 1\n", "x: %y\n", "a: 1\n b: 2\n"],
)
def test_what_is_no_yaml_is_told_with_line_column_and_advice(written):
    """A syntax error has a place, and the advice to quote."""
    with pytest.raises(LayoutdrillError) as caught:
        loads(written, "t.yaml")
    assert caught.value.where.line is not None
    assert caught.value.where.column is not None
    assert "quote text that starts with" in caught.value.todo


def test_a_bomb_of_aliases_is_refused_before_it_is_built():
    """Nine levels of nine aliases (a billion values) are refused at the first anchor."""
    levels = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    levels += [f"a{n}: &a{n} [" + ", ".join([f"*a{n - 1}"] * 9) + "]" for n in range(1, 9)]
    with pytest.raises(LayoutdrillError, match="an anchor"):
        loads("\n".join(levels), "t.yaml")


@pytest.mark.parametrize(
    "written", ["[" * 100_000, "{a: " * 5_000 + "1", "".join("  " * n + "a:\n" for n in range(400)), "- " * 20_000]
)
def test_a_deep_document_is_refused(written):
    """Nesting beyond 24 levels is an error at the level that is too deep, however deep it goes on."""
    with pytest.raises(LayoutdrillError) as caught:
        loads(written, "t.yaml")
    assert caught.value.what == "nested deeper than 24 levels"


def test_a_large_document_is_refused():
    """Two megabytes are the most."""
    with pytest.raises(LayoutdrillError, match="larger than 2,000,000 bytes"):
        loads("x: " + "a" * 2_000_000, "t.yaml")


def test_a_byte_order_mark_and_windows_line_ends_change_nothing():
    """Editors on other systems add them; values and places stay the same."""
    root = loads(b"\xef\xbb\xbfa: 1\r\nb: |\r\n  one\r\n  two\r\n", "t.yaml").root
    assert root.fields(("a", "b"))["a"].value == 1
    lines = root.fields(("a", "b"))["b"].lines()
    assert [(line.value, line.where.line, line.where.column) for line in lines] == [("one", 3, 3), ("two", 4, 3)]


REFERENCES = [
    "- &a x",
    "a: &b c",
    "a: [&b c]",
    "a: {&b c: d}",
    "? &a b\n: c",
    "&a x: 1",
    "a:\n  &b c",
    '{"a":&b c}',
    "--- &a b",
    "a: [x,\n  &b y]",
    "a:    &b c",
    "- - &a x",
]


@each("written", REFERENCES)
@each("sign", ["&", "*", "!"])
def test_a_reference_is_found_wherever_it_can_stand(written, sign):
    """An anchor, alias or tag at the start of any kind of value or key; PyYAML's own events say that it is one."""
    text = written.replace("&", sign)
    with pytest.raises(LayoutdrillError) as caught:
        loads(text, "t.yaml")
    assert "is not allowed" in caught.value.what or "not YAML" in caught.value.what


@pytest.mark.parametrize(
    "written", ["a: b*c", "a: b & c", "a: x!", "a: y = !(b*c)", "a: '&b'", "a: |\n  &b\n  *c\n  !d"]
)
def test_what_only_looks_like_a_reference_is_text(written):
    """Inside text these signs mean nothing to YAML."""
    assert isinstance(loads(written, "t.yaml").root.mapping()["a"].value, str)


@pytest.mark.parametrize(("written", "said"), REFUSED)
def test_without_the_c_library_the_same_is_refused(written, said, monkeypatch):
    """Where PyYAML was built without it, the pure Python loader says the same, if not always at the same column."""
    monkeypatch.delattr("yaml.CSafeLoader", raising=False)
    with pytest.raises(LayoutdrillError) as caught:
        loads(written, "t.yaml")
    assert caught.value.what in said
