"""Sets that grow together, and things put together by what they have in common."""

import itertools

from layoutdrill.dice import Dice
from layoutdrill.unions import Unions, grouped


def test_members_are_together_exactly_where_joins_lead_from_one_to_the_other():
    """Against walking the joins, pair by pair; the least member stands for a set, whatever the order of joins."""
    dice = Dice.from_text("unions")
    joins = [(dice.below(30), dice.below(30)) for _ in range(18)]
    sets = Unions()
    for a, b in joins:
        sets.join(a, b)
    reached = {n: {n} for n in range(30)}
    for _ in joins:
        for a, b in joins:
            whole = reached[a] | reached[b]
            for n in whole:
                reached[n] |= whole
    for a, b in itertools.combinations(range(30), 2):
        assert (sets.find(a) == sets.find(b)) == (b in reached[a])
    assert [sets.find(n) for n in range(30)] == [min(reached[n]) for n in range(30)]


def test_things_are_grouped_in_the_order_in_which_they_come():
    assert list(grouped([("b", 2), ("a", 1), ("b", 1)]).items()) == [("b", [2, 1]), ("a", [1])]
