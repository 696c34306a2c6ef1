"""
Extracted kit cells against the kit's own functional Verilog and family names (SkyWater open 130 nm kit, Apache-2.0).

`check_function.py` prints the counts and each miss with its reason.
"""

import sys
from collections import Counter
from pathlib import Path

import pytest

from layoutdrill.cells.kit import find_kit
from layoutdrill.errors import LayoutdrillError
from tests.sampling import WHOLE, spread

sys.path.insert(0, str(Path(__file__).parent))

from functions import OPEN, check_function, check_memory, check_name, primitives

pytestmark = pytest.mark.kit
SAMPLE = 30
COUNTS = {"combinational": 333, "tri-state": 13, "sequential": 69, "not applicable": 22}


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
    """
    333 combinational, 13 tri-state and 69 sequential cells do what their Verilog says, but for the open one.

    Here some of each; all: check_function.py, as .ci/run does.
    """
    seen = [check_function(kit, cell, udps) for cell in dict.fromkeys((*spread(kit.cells, SAMPLE), *OPEN))]
    counts = Counter(o.kind for o in seen)
    assert counts == COUNTS if WHOLE else set(counts) == set(COUNTS)
    assert {o.cell for o in seen if o.misses} == set(OPEN)
    assert all(o.compared for o in seen if o.kind != "not applicable")


def test_memory(kit, udps):
    """Stable states and the edge test agree with the primitives of the model, except for the open cell."""
    seen = [o for cell in (*spread(kit.cells, SAMPLE), *OPEN) if (o := check_memory(kit, cell, udps))]
    assert len(seen) >= (414 if WHOLE else SAMPLE // 2)
    assert {o.cell for o in seen if o.misses} == set(OPEN)


def test_names(kit):
    """Every cell whose family name says its structure is called by it."""
    seen = [o for cell in spread(kit.cells, 2 * SAMPLE) if (o := check_name(kit, cell))]
    assert len(seen) >= (303 if WHOLE else SAMPLE)
    assert [(o.cell, o.misses) for o in seen if o.misses] == []
