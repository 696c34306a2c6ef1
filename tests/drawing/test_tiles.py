"""Arrays are planned as rows of tiles whose wires meet."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.drawing.tiles.plan import may_fold, may_turn, plan_of
from layoutdrill.process import load_process

PROCESS = load_process("silicon-gate-cmos")
ARRAYS = ("ram_array_3x4", "memory_array_2x3", "register_row_3", "load_row_2", "shift_register_3", "fifo_slice_2",
          "fifo_3x2")  # fmt: skip
OPPOSITE = {"bottom": "top", "top": "bottom"}


def planned(name, *, turned=False, folded=False):
    cell = load_cell(name)
    return plan_of(cell.netlist(PROCESS), cell.tiling(PROCESS), PROCESS, turned=turned, folded=folded)


def ways(name):
    tiling = load_cell(name).tiling(PROCESS)
    yield planned(name)
    if may_turn(tiling):
        yield planned(name, turned=True)
    if may_fold(tiling):
        yield planned(name, folded=True)


def edge(how, spot, side):
    """Return the array's nets along a side of a tile as it stands."""
    own = OPPOSITE.get(side, side) if spot.flipped else side
    return [spot.joined[port] for port in how.kinds[spot.kind].ports[own]]


@pytest.mark.parametrize("name", ARRAYS)
def test_tiles_that_touch_bring_the_same_nets_to_their_common_edge(name):
    """However an array lies, upright, turned or folded, its tiles fit their neighbours on all sides."""
    for how in ways(name):
        at = {(spot.column, spot.row): spot for spot in how.spots}
        assert len(at) == how.columns * how.rows
        for (column, row), spot in at.items():
            for other, here, there in (((column + 1, row), "right", "left"), ((column, row + 1), "top", "bottom")):
                if other in at:
                    assert edge(how, spot, here) == edge(how, at[other], there)


@pytest.mark.parametrize("name", ARRAYS)
def test_an_array_keeps_every_transistor_however_it_lies(name):
    """Every transistor of the netlist stands on one tile."""
    names = sorted(t.name for t in load_cell(name).netlist(PROCESS).transistors)
    for how in ways(name):
        assert sorted(t for spot in how.spots for t in spot.transistors) == names


def test_what_leaves_a_bit_of_a_shift_register_lies_level_with_what_enters_it():
    """The output on the right and the input on the left share a track; so do the ends of each clock line."""
    how = planned("shift_register_3")
    level = {frozenset((end.side, end.port) for end in group) for group in how.level}
    assert level == {
        frozenset({("left", "d"), ("right", "q")}),
        frozenset({("left", "clk"), ("right", "clk")}),
        frozenset({("left", "clkn"), ("right", "clkn")}),
    }


def test_a_row_shares_its_rails_only_where_every_second_one_is_upside_down():
    """Rows of a FIFO, which signals pass upward, have rails of their own unless the plan is folded."""
    assert not planned("fifo_3x2").shared_rails
    folded = planned("fifo_3x2", folded=True)
    assert folded.shared_rails
    assert [spot.flipped for spot in folded.spots if spot.column == 0] == [False, True, False]
    assert planned("ram_array_3x4").shared_rails
