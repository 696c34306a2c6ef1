"""Questions on real cells: the open kit's standard cells, in all orientations, judged by their masks."""

import pytest

from layoutdrill.cells.kit import find_kit
from layoutdrill.deck.specimen import from_kit
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.merge import merge_fingers, merge_stacks
from layoutdrill.netlist.model import Kind
from layoutdrill.question import fitting_kinds, kinds
from tests.each import each
from tests.question.conftest import CELL_KINDS
from tests.question.fairness import Oracle, grade, unfair
from tests.sampling import some, spread

pytestmark = pytest.mark.kit
CELLS = (
    "inv_2",
    "nand2_1",
    "nor3_1",
    "a21oi_1",
    "o22ai_1",
    "mux2_1",
    "xor2_1",
    "ebufn_1",
    "dlxtp_1",
    "dfxtp_1",
    "fa_1",
)


@pytest.fixture(name="kit", scope="module")
def _kit():
    try:
        return find_kit()
    except LayoutdrillError as error:
        pytest.skip(str(error))


@pytest.mark.parametrize("cell", spread(CELLS, 2))
def test_questions_on_real_cells_are_fair(kit, cell):
    """Right answers earn all, wrong ones less, and marks stand on what the key says."""
    specimen = from_kit(kit, cell, seed=len(cell))
    oracle = Oracle(specimen)
    found = []
    for name, kind in kinds().items():
        for turn in some(range(2)):
            question = kind.ask(specimen, Dice.from_text(f"{cell} {turn}"))
            if question is not None:
                found += [(name, turn, fault) for fault in unfair(kind, question, oracle)]
    assert not found


def test_every_kind_fits_real_cells(kit):
    """All but the kind that asks for the process: the kit's is not among those to be told from each other."""
    fitting, left, wanted = set(), [*CELLS], {*CELL_KINDS} - {"process"}
    while left and fitting != wanted:
        fitting |= set(fitting_kinds(from_kit(kit, left.pop(), 1)))
    assert fitting == wanted


@each("cell", CELLS)
def test_counts_are_the_kit_s_own(kit, cell):
    """The kit's own SPICE netlist, fingers merged, gives the number that the question takes for right."""
    kind = kinds()["count"]
    questions = (kind.ask(from_kit(kit, cell, 3), Dice(seed)) for seed in range(40))
    question = next(q for q in questions if q.key.what == "transistors")
    for merge in (merge_fingers, merge_stacks):
        reference = merge(kit.netlist(cell))
        n, p = reference.count(Kind.N), reference.count(Kind.P)
        assert grade(kind, question, f"{n} {p} {n + p}").correct
