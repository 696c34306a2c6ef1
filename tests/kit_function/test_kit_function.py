"""
Extracted kit cells against the kit's own functional Verilog and family names (SkyWater open 130 nm kit, Apache-2.0).

`check_function.py` prints the counts and each miss with its reason.
"""

import sys
from pathlib import Path

import pytest

from layoutdrill.cells.kit import find_kit
from layoutdrill.errors import LayoutdrillError

sys.path.insert(0, str(Path(__file__).parent))

from functions import OPEN, check_function, check_memory, check_name, primitives

pytestmark = pytest.mark.kit


@pytest.fixture(scope="module")
def kit():
    try:
        return find_kit()
    except LayoutdrillError as error:
        pytest.skip(f"not run: {error}")


@pytest.fixture(scope="module")
def udps(kit):
    return primitives(kit)


def test_tables_and_sequences(kit, udps):
    """333 combinational, 13 tri-state and 69 sequential cells do what their Verilog says, but for the open one."""
    seen = [check_function(kit, cell, udps) for cell in kit.cells]
    counts = {}
    for o in seen:
        counts[o.kind] = counts.get(o.kind, 0) + 1
    assert counts == {"combinational": 333, "tri-state": 13, "sequential": 69, "not applicable": 22}
    assert {o.cell for o in seen if o.misses} == set(OPEN)
    assert all(o.compared for o in seen if o.kind != "not applicable")


def test_memory(kit, udps):
    """Stable states and the edge test agree with the primitives of the model, except for the open cell."""
    seen = [o for cell in kit.cells if (o := check_memory(kit, cell, udps))]
    assert len(seen) == 414
    assert {o.cell for o in seen if o.misses} == set(OPEN)


def test_names(kit):
    """Every cell whose family name says its structure is called by it."""
    seen = [o for cell in kit.cells if (o := check_name(kit, cell))]
    assert len(seen) == 303
    assert [(o.cell, o.misses) for o in seen if o.misses] == []
