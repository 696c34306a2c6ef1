"""Orders of devices have as few gaps as can be."""

import itertools

import pytest

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.job import job_of
from layoutdrill.drawing.row_pairs.placing.devices import split
from layoutdrill.drawing.row_pairs.placing.ordering import Weights, broken, order, pair, turned
from layoutdrill.process import load_process
from tests.drawing.gates import gate
from tests.each import each

PROCESS = load_process("silicon-gate-cmos")

# Minimum diffusion gaps with aligned n and p columns, by exhaustive search over all orders (computed, not published;
# the problem is Uehara and van Cleemput's, 1981). The series and parallel order of inputs is as written.
GAPS = [
    ("a*b + c", 0),
    ("(a + b)*c", 0),
    ("a*b + c*d", 0),
    ("(a + b)*(c + d)", 0),
    ("a*b*c + d", 0),
    ("a*(b + c*d)", 0),
    ("a*(b + c) + d*e", 0),
    ("a*b*c + d*e*f", 0),
    ("a*b + c*d + e", 1),
    ("a*b + e + c*d", 0),
    ("(a + b)*(c + d) + e", 1),
    ("a*b + c*d + e*f", 1),
    ("(a + b)*(c + d)*(e + f)", 1),
    ("(a*b + c*d)*(e*f + g*h)", 1),
]


def slots_of(function, dice):
    job = job_of(gate(f"!({function})", PROCESS), PROCESS)
    return pair(split(job, {}, {}), dice, job.supply_nets), job.supply_nets


def breaks(slots):
    """Count the boundaries between neighbouring slots at which the diffusion of a row must end."""
    return sum(broken(a[0], b[0]) or broken(a[1], b[1]) for a, b in itertools.pairwise(slots))


@each(("function", "gaps"), GAPS)
def test_the_search_reaches_the_least_number_of_gaps(function, gaps):
    """Ten seeds find the minimum of the table at least once, and none goes below it."""
    found = []
    for seed in range(10):
        dice = Dice(seed)
        slots, supplies = slots_of(function, dice)
        steps = min(500, 12 * len(slots) ** 2 + 20 * len(slots))
        found.append(breaks(order(slots, dice, Weights(), supplies, steps)))
    assert min(found) == gaps


@pytest.mark.parametrize(("function", "gaps"), [row for row in GAPS if sum(c.isalpha() for c in row[0]) <= 4])
def test_the_table_is_right(function, gaps):
    """Trying every order and every way round of up to four pairs gives the same minimum."""
    slots, _ = slots_of(function, Dice(1))
    forms = [list(itertools.product(turns(n), turns(p))) for n, p in slots]
    least = min(
        breaks([choice[i] for i in range(len(slots))])
        for permuted in itertools.permutations(forms)
        for choice in itertools.product(*permuted)
    )
    assert least == gaps


def turns(device):
    return [device, turned(device)]


def test_an_order_keeps_every_device_once():
    """Ordering moves and turns devices; it loses and invents none."""
    dice = Dice(5)
    slots, supplies = slots_of("a*(b + c) + d*e", dice)
    ordered = order(slots, dice, Weights(), supplies, 300)

    def devices(pairs):
        return sorted((d.name, d.row, d.gate, *sorted((d.left, d.right))) for s in pairs for d in s if d)

    assert devices(ordered) == devices(slots)
