"""Free practice: whatever stays “any” is filled in so that every question can be asked."""

from itertools import product

import pytest

from layoutdrill.cells import cell_names, load_cell
from layoutdrill.cells.chips import chip_names
from layoutdrill.deck.known import drawn_processes
from layoutdrill.drill.plan import plan
from layoutdrill.drill.practice import kinds_for, practice_deck
from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import load_process
from layoutdrill.question import kinds
from layoutdrill.question.kind import Group
from tests.sampling import covering

PROCESSES = ((), *((name,) for name in drawn_processes()))
KINDS = ((), *((name,) for name, kind in kinds().items() if not kind.whole_die))


def test_whole_dies_are_practised_by_their_own_kind():
    """Who asks for the plan of a die is given dies, without naming one."""
    (item,) = practice_deck(cell_names(), (), ("block",), 0.3).items
    assert set(item.cells) == set(chip_names())


@pytest.mark.parametrize(("processes", "chosen", "much"), covering(product(PROCESSES, KINDS, ((0.1, 5), (0.9, 40)))))
def test_any_cell_goes_with_every_process_and_kind(processes, chosen, much):
    """Every pair of the plan is one that makes sense, and none is so slight that nothing can be read."""
    difficulty, count = much
    deck = practice_deck(cell_names(), processes, chosen, difficulty)
    draws = plan(deck, count, 7, lambda cell: load_cell(cell).structure)
    assert len(draws) == count
    for draw in draws:
        cell, process = load_cell(draw.cell), load_process(draw.process)
        has = {(rule.kind, rule.mode) for rule in process.transistors}
        assert {(t.kind, t.mode) for t in cell.netlist(process).transistors} <= has
        assert not processes or (draw.process,) == processes
        assert cell.netlist(process).count() > 1
        assert draw.kinds == chosen


CMOS = (
    "metal-gate-cmos", "metal-gate-sapphire", "silicon-gate-cmos", "silicon-gate-cmos-2m", "silicon-gate-cmos-pwell",
)  # fmt: skip
FITS = {
    "nand2": drawn_processes(),
    "transmission_gate": CMOS,  # an n and a p transistor side by side (Weste and Harris)
    "domino_and2": CMOS,  # precharged through a p transistor, pulled down through n (Weste and Harris)
    "super_buffer": ("silicon-gate-nmos",),  # two depletion loads (Mead and Conway)
    "ram_6t_p": ("metal-gate-pmos", "metal-gate-pmos-vgg"),  # a RAM cell of p transistors alone (common practice)
    "pass_n": (*CMOS, "silicon-gate-nmos", "silicon-gate-nmos-enhancement"),  # an n transistor
}
"""Where circuits make sense, by the kinds of transistor that they consist of."""


@pytest.mark.parametrize("processes", PROCESSES)
@pytest.mark.parametrize("name", FITS)
def test_a_cell_named_alone_is_practised_wherever_it_makes_sense(name, processes):
    """In the processes chosen, or any; where it makes sense in none of them, the message says where it does."""
    fitting = [p for p in processes or drawn_processes() if p in FITS[name]]
    if fitting:
        (item,) = practice_deck((name,), processes, (), 0.3).items
        assert sorted(item.processes) == sorted(fitting)
    else:
        with pytest.raises(LayoutdrillError, match=r"makes no sense in .*; choose .*, or any process"):
            practice_deck((name,), processes, (), 0.3)


OF_THE_EYE = [name for name, kind in kinds().items() if kind.group in (Group.SEE, Group.NAME) and not kind.whole_die]
"""Kinds that any cell gives something to ask; the others want circuits of their own sort."""


@pytest.mark.parametrize(("process", "kind"), covering(product(drawn_processes(), OF_THE_EYE)))
def test_the_kind_that_was_chosen_is_asked(tmp_path, process, kind):
    """With any cell, the drawings themselves let the chosen kind of the eye be asked."""
    with Sitting.open_deck(
        practice_deck(cell_names(), (process,), (kind,), 0.3), count=2, seed=3, records=tmp_path / "r"
    ) as sitting:
        assert [sitting.prepare(number).kind for number in range(2)] == [kind, kind]


def test_a_cell_without_what_a_kind_asks_for_is_refused():
    """A single transistor hangs on no rail; the message says what does not go together."""
    with pytest.raises(
        LayoutdrillError, match="“rails” cannot be asked about pass_n in silicon-gate-cmos; kinds that can: name, "
    ):
        practice_deck(("pass_n",), ("silicon-gate-cmos",), ("rails",), 0.3)


def test_only_what_can_be_asked_is_offered():
    """Of nand3 in metal-gate PMOS no address; each kind offered makes a deck, and what cannot be says what could."""
    offered = kinds_for("nand3", "metal-gate-pmos")
    assert "name" in offered
    assert "address" not in offered
    assert set(offered) < set(kinds_for("", "")) == set(kinds())
    for kind in offered:
        assert practice_deck(("nand3",), ("metal-gate-pmos",), (kind,), 0.3).items
    with pytest.raises(LayoutdrillError, match=r"kinds that can: .*name"):
        practice_deck(("nand3",), ("metal-gate-pmos",), ("address",), 0.3)
