"""The order of a sitting: no three in a row, look-alikes near, no picture twice, help that fades first."""

import itertools
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.cells import load_cell
from layoutdrill.deck import Deck, Item, deck_names, lesson_names
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.dice import Dice
from layoutdrill.drill.plan import Draw, mixed, plan, shares
from tests.drawings import deck_of
from tests.sampling import examples, some


def draws_of(name, count, seed):
    deck = deck_of(name)
    return plan(deck, count, seed, SpecimenMaker(deck).structure)


def runs(draws):
    longest, run, last = 0, 0, None
    for draw in draws:
        run = run + 1 if draw.structure == last else 1
        last, longest = draw.structure, max(longest, run)
    return longest


# Source: no three in a row of one class (the drill's rule 4; common practice in perceptual learning).
@pytest.mark.parametrize("name", deck_names())
def test_no_structure_comes_three_times_in_a_row(name):
    """In every shipped deck, for many seeds, where the counts allow it; what has help is in its own order."""
    for seed in some(range(20), 5):
        for count in (5, 12, 20):
            draws = [draw for draw in draws_of(name, count, seed) if not draw.help]
            most = max(Counter(draw.structure for draw in draws).values(), default=0)
            assert runs(draws) <= 2 or most > 2 * (len(draws) - most + 1), (seed, count)


@settings(max_examples=examples(200), deadline=None)
@given(st.lists(st.sampled_from("abcde"), min_size=1, max_size=40), st.integers(0, 10_000))
def test_any_mixture_that_can_be_kept_apart_is(structures, seed):
    """Whenever some order without a third exists, one is found (the most frequent m of n needs m <= 2·(n - m + 1))."""
    draws = [Draw(s, "p", s, n, 0.3, "name") for n, s in enumerate(structures)]
    ordered = mixed(draws, Dice(seed))
    assert Counter(ordered) == Counter(draws)
    most = max(Counter(structures).values())
    if most <= 2 * (len(structures) - most + 1):
        assert runs(ordered) <= 2


# Source: interleave look-alikes (Kornell & Bjork 2008; Carvalho & Goldstone 2014).
def test_look_alikes_come_near_each_other():
    """NAND3 follows or precedes something it is mistaken for more often than chance would have it."""
    cells = ["nand2", "nor2", "xor2_tg", "xnor2_tg", "latch_static", "mux2_tg", "aoi21", "oai21"]
    pairs = {
        frozenset((load_cell(c).structure, load_cell(look.cell).structure))
        for c in cells
        for look in load_cell(c).mistaken_for
    }
    near = chance = 0
    for seed in range(200):
        draws = [Draw(c, "p", load_cell(c).structure, n, 0.3, "name") for n, c in enumerate(cells * 3)]
        ordered = mixed(draws, Dice(seed))
        draws = Dice(seed).shuffled(draws)
        near += sum(frozenset((a.structure, b.structure)) in pairs for a, b in itertools.pairwise(ordered))
        chance += sum(frozenset((a.structure, b.structure)) in pairs for a, b in itertools.pairwise(draws))
    assert near > 1.5 * chance


@pytest.mark.parametrize("name", deck_names())
def test_no_picture_comes_twice(name):
    """Each question has a drawing of its own: another cell, process or seed."""
    for seed in range(10):
        draws = draws_of(name, 40, seed)
        assert len({(draw.cell, draw.process, draw.seed) for draw in draws}) == len(draws)


def test_a_fixed_seed_serves_once():
    """The author's drawing is shown, and only once; the other questions of the item are drawn afresh."""
    deck = Deck("d", "t", "a", (Item(("nand2",), ("silicon-gate-cmos",), ("name",), seed=4),))
    seeds = [draw.seed for draw in plan(deck, 6, 1, SpecimenMaker(deck).structure)]
    assert seeds.count(4) == 1
    assert len(set(seeds)) == 6


def test_a_kit_gives_no_more_questions_than_it_has_pictures():
    """One cell has eight orientations."""
    deck = Deck("d", "t", "a", (Item(("nand2_1",), ("open-130nm",), ("name",)),), kit="sky130_fd_sc_hd")
    assert sorted(draw.seed for draw in plan(deck, 30, 1, SpecimenMaker(deck).structure)) == list(range(8))


# Source: fade the help step by step (Renkl 2002).
@pytest.mark.parametrize("name", lesson_names())
def test_help_comes_first_and_fades(name):
    """The questions with the most help come first, and after the last with help there is none."""
    for seed in range(5):
        helps = [len(draw.help) for draw in draws_of(name, deck_of(name).questions, seed)]
        assert helps[0] > 0
        assert helps == sorted(helps, reverse=True)


@given(st.lists(st.integers(1, 9), min_size=1, max_size=12), st.integers(0, 200))
def test_questions_are_dealt_out_in_proportion(counts, total):
    """They add up, and no item is more than one away from its exact share."""
    items = [Item(("nand2",), ("p",), count=count) for count in counts]
    dealt = shares(items, total)
    assert sum(dealt) == total
    for count, got in zip(counts, dealt, strict=True):
        assert abs(got - total * count / sum(counts)) < 1


def test_all_cells_of_an_item_take_turns():
    """No cell is asked a second time before every other has been."""
    deck = Deck("d", "t", "a", (Item(("inverter", "nand2", "nor2", "aoi21"), ("silicon-gate-cmos",), ("name",)),))
    for seed in range(10):
        assert set(Counter(draw.cell for draw in plan(deck, 8, seed, SpecimenMaker(deck).structure)).values()) == {2}
