"""
Extraction and comparison against cells of the open kit, each tenth and all that differ; all 437: check_kit.py, as
.ci/run does (SkyWater open 130 nm standard cells, Apache-2.0):
the netlists there were made by other people with other tools.
"""

import pytest

from layoutdrill.cells.kit import find_kit
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import FindingKind
from layoutdrill.netlist.compare import Merge, compare
from tests.kit import check_kit
from tests.netlist.reference import isomorphic
from tests.sampling import WHOLE, spread

pytestmark = pytest.mark.kit


@pytest.fixture(scope="module")
def cells():
    try:
        kit = find_kit()
    except LayoutdrillError as error:
        pytest.skip(f"not run: {error}")
    taken = {*spread(kit.cells, len(kit.cells) // 10), *check_kit.JOINED, *check_kit.NOT_TO_CDL}
    return check_kit.cells(tuple(sorted(taken)))


def test_every_cell_is_the_circuit_of_its_spice_netlist(cells):
    """Connections, ports, L, W and bodies, nothing merged: the kit's .spice files."""
    assert len(cells) >= 43
    assert not WHOLE or (len(cells), sum(c.found.netlist.count() for c in cells)) == check_kit.COUNTS
    assert [c.name for c in cells if not check_kit.to_spice(c).equal] == []


def test_the_open_cell_is_told_as_an_open_and_nothing_else_is(cells):
    """One cell's VGND lies in two pieces (the kit's .spice has an inner net there, its .cdl has VGND)."""
    told = [(c.name, f.kind) for c in cells for f in c.found.findings]
    assert told == [("lpflow_lsbuf_lh_isowell_4", FindingKind.OPEN)]
    (cell,) = [c for c in cells if c.name == "lpflow_lsbuf_lh_isowell_4"]
    assert "VGND#2" in cell.found.netlist.nets
    assert check_kit.to_cdl(cell, Merge.STACKS).differences == (
        "net VGND: one net in B, two in A, VGND (with M15, M2 and M5) and VGND#2 (with M13 and M3)",
    )


def test_all_but_two_cells_are_the_circuit_of_their_design_netlist(cells):
    """With the private nodes of parallel stacks merged: the kit's .cdl files; each miss has its reason."""
    misses = {c.name for c in cells if not check_kit.to_cdl(c, Merge.STACKS).equal}
    assert misses == set(check_kit.NOT_TO_CDL)


def test_without_merging_stacks_nine_more_cells_differ_from_their_design_netlist(cells):
    """Fingers merged only: the drawing has no wire between the stacks, and is not said to have one."""
    misses = {c.name for c in cells if not check_kit.to_cdl(c, Merge.FINGERS).equal} - set(check_kit.NOT_TO_CDL)
    assert misses == check_kit.JOINED


def test_every_cell_survives_being_written_and_read_back(cells):
    assert [c.name for c in cells if not check_kit.written_back(c).equal] == []


def test_single_changes_are_rejected(cells):
    """Nine kinds of change (3,834 over all cells); what is not rejected must be isomorphic by networkx (VF2)."""
    outcome = list(check_kit.trials(cells, explain=False))
    assert len(outcome) >= 7 * len(cells)
    assert len({t.change for t in outcome}) == 9
    assert [t for t in outcome if not t.rejected and not t.explained] == []
    assert sum(t.rejected for t in outcome) >= 7 * len(cells)


def test_single_changes_are_rejected_with_only_the_rails_labelled(cells):
    """The same changes, with no port known by name: nothing but another circuit, or networkx finds it the same."""
    outcome = list(check_kit.trials(cells[::3], seed=1, explain=False, ports=False))
    assert [t for t in outcome if not t.rejected and not t.explained] == []
    assert sum(t.rejected for t in outcome) >= 7 * len(cells[::3])


def test_equal_is_isomorphic_by_another_judge(cells):
    """For the cells of up to twelve transistors the verdict against .spice is also that of networkx (VF2)."""
    small = [c for c in cells if 0 < c.spice.count() <= 12]
    assert len(small) > 10
    for cell in small:
        equal = compare(cell.found.netlist, cell.spice, sizes=True, bodies=True, merge=Merge.NONE).equal
        assert equal is isomorphic(cell.found.netlist, cell.spice)


def test_rails_alone_are_enough_to_match_a_cell(cells):
    """With no port labelled but the rails, every cell still matches its .spice netlist (the open one apart)."""
    misses = [c.name for c in cells if not compare(c.found.netlist, c.spice, ports=False, sizes=True).equal]
    assert misses == ["lpflow_lsbuf_lh_isowell_4"]
