"""Expressions found for truth tables are right and short."""

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from layoutdrill.simulate.expression import equivalent, parse, text, truth
from layoutdrill.simulate.minimal import cover, literal_count, minimal
from tests.each import each


@given(st.integers(1, 5).flatmap(lambda n: st.tuples(st.just(n), *[st.integers(0, (1 << (1 << n)) - 1)] * 2)))
def test_the_expression_has_the_table(case):
    """For any table and any free rows, the expression agrees on every row that is not free."""
    count, ones, free = case
    names = "abcde"[:count]
    found = truth(minimal(ones, names, free), names)
    assert (found ^ ones) & ~free & ((1 << (1 << count)) - 1) == 0


@given(st.integers(0, (1 << 128) - 1))
def test_wide_tables_too(ones):
    """Above the exact limit, the greedy cover still agrees on every row."""
    assert truth(minimal(ones, "abcdefg"), "abcdefg") == ones


@each(
    ("given_form", "shown"),
    [
        ("!(a*b)", "!(a*b)"),
        ("!a*!b*!c", "!(a + b + c)"),
        ("!(a*b + c)", "!(a*b + c)"),
        ("!((a+b)*c)", "!((a + b)*c)"),
        ("a*!b + !a*b", "a ^ b"),
        ("!(a^b^c)", "!(a ^ b ^ c)"),
        ("s*b + !s*a", "a*!s + b*s"),
        ("!(!(a))", "a"),
        ("!(a*b + a*c + d)", "!(a*(b + c) + d)"),
    ],
)
def test_readable_forms(given_form, shown):
    """Gates come out in the form that the trade writes them in (common practice), up to the order of terms."""
    expression = parse(given_form)
    names = sorted({c for c in given_form if c.isalpha()})
    found = minimal(truth(expression, names), names)
    assert equivalent(found, expression)
    assert sorted(text(found)) == sorted(shown)


def test_covers_are_as_small_as_any():
    """For all 256 functions of three variables no smaller sum of products exists (every subset of cubes is tried)."""
    cubes = [(fixed, values) for fixed, values in product(range(8), range(8)) if values & ~fixed == 0]
    rows = {cube: sum(1 << r for r in range(8) if r & cube[0] == cube[1]) for cube in cubes}
    least = {0: 0}
    frontier = [0]
    for _ in range(4):  # no function of three variables needs more than four products
        nxt = []
        for mask in frontier:
            for cube in cubes:
                cost = least[mask] + cube[0].bit_count() + 1
                wider = mask | rows[cube]
                if cost < least.get(wider, 99):
                    least[wider] = cost
                    nxt.append(wider)
        frontier = nxt
    for ones in range(1, 256):
        assert sum(c[0].bit_count() + 1 for c in cover(ones, 0, 3)) == least[ones], ones


def test_literals_are_counted():
    """Every mention of a variable counts as one literal."""
    assert literal_count(parse("!(a*b + c)")) == 3
