"""Expressions are read, printed and compared."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layoutdrill.errors import Where
from layoutdrill.simulate.expression import (
    And,
    Const,
    ExpressionError,
    Not,
    Or,
    Var,
    Xor,
    difference,
    equivalent,
    evaluate,
    parse,
    parse_equation,
    text,
    truth,
    variables,
)
from tests.each import each

names = st.sampled_from("abcd")
expressions = st.recursive(
    st.one_of(names.map(Var), st.booleans().map(Const)),
    lambda inner: st.one_of(
        inner.map(Not),
        st.lists(inner, min_size=2, max_size=3).map(lambda t: And(tuple(t))),
        st.lists(inner, min_size=2, max_size=3).map(lambda t: Or(tuple(t))),
        st.lists(inner, min_size=2, max_size=3).map(lambda t: Xor(tuple(t))),
    ),
    max_leaves=12,
)


@given(expressions)
def test_what_is_printed_reads_back_the_same(expression):
    """Printing and reading again gives an equivalent expression with the same text."""
    again = parse(text(expression))
    assert text(again) == text(expression)
    assert equivalent(again, expression)


@given(expressions)
def test_masks_agree_with_row_by_row_values(expression):
    """The bit-mask truth table equals evaluation row by row (the definition of the connectives)."""
    order = ("a", "b", "c", "d")
    mask = truth(expression, order)
    for row in range(16):
        values = {name: bool(row >> (3 - i) & 1) for i, name in enumerate(order)}
        assert (mask >> row & 1) == evaluate(expression, values)


@given(expressions, expressions)
def test_a_difference_is_a_real_one(first, second):
    """Where two expressions differ, the assignment told makes them differ."""
    found = difference(first, second)
    if found is None:
        full = dict.fromkeys("abcd", False)
        assert evaluate(first, full) == evaluate(second, full)
    else:
        full = dict.fromkeys("abcd", False) | found
        assert evaluate(first, full) != evaluate(second, full)


@each(
    "spelling",
    ["!(a*b + c)", "~(a&b|c)", "(a b + c)'", "(ab + c)'", "NOT (a and b or c)", "!(c + b·a)", "¬(a∧b∨c)",
     "!((a)(b)||c)", "(!a + !b)*!c", "(a' + b')c'", "1 ^ (A.B + C)"],
)  # fmt: skip
def test_the_same_gate_in_many_spellings(spelling):
    """Every accepted way of writing an and-or-invert gate means the same (common practice)."""
    assert equivalent(parse(spelling, ("a", "b", "c")), Not(Or((And((Var("a"), Var("b"))), Var("c")))))


def test_rank_of_the_operators():
    """Not binds before and, and before exclusive or, that before or (common practice, as in C and Verilog)."""
    assert equivalent(parse("a + b ^ c * !d"), parse("a + (b ^ (c * (!d)))"))
    assert text(parse("((a)+((b*c)))")) == "a + b*c"
    assert text(parse("!((a))*(b+c)")) == "!a*(b + c)"


def test_an_equation_has_a_name():
    """An equation is read into its output's name and its expression."""
    equation = parse_equation("y = !(a1*b + c)")
    assert equation.name == "y"
    assert variables(equation.expression) == ("a1", "b", "c")
    assert parse_equation("a*b").name == ""


@each(
    ("wrong", "column", "words"),
    [
        ("a +", 4, "ends too early"),
        ("(a + b", 1, "not closed"),
        ("a % b", 3, '"%" means nothing'),
        ("a + )", 5, "where a name should"),
        ("a) + b", 2, "not expected"),
        ("", 1, "no expression"),
        ("y = a + * b", 9, "where a name should"),
        ("y = nad", 5, 'no signal "nad"'),
        ("3 = a", 1, "not a name"),
    ],
)
def test_a_mistake_is_placed(wrong, column, words):
    """Each mistake is told with the column where it stands."""
    with pytest.raises(ExpressionError) as caught:
        parse_equation(wrong, ("a", "b", "nand"))
    assert caught.value.column == column
    assert words in str(caught.value)


def test_a_mistake_in_a_file_has_the_files_column():
    """The column told counts from the start of the file's line, not of the expression."""
    with pytest.raises(ExpressionError) as caught:
        parse("a + % b", where=Where("cells.yaml", 7, 11))
    assert str(caught.value).startswith("cells.yaml:7:15: ")
