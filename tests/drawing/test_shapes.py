"""Channels are straight, closed, bent or folded, and contacts have one cut or more, by seed and process."""

from collections import Counter
from functools import cache

import pytest

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.draw import drawing
from layoutdrill.drawing.row_pairs.placing.devices import Form, fold
from layoutdrill.drawing.row_pairs.placing.floor import straighten
from layoutdrill.drawing.shared import Request, technique_for
from layoutdrill.process import load_process
from tests.bench.bench_drawing import shapes_in
from tests.drawing.gates import cell
from tests.drawing.structure import fingerprint
from tests.sampling import WHOLE, covering, some, spread

SILICON, SAPPHIRE = load_process("silicon-gate-cmos"), load_process("metal-gate-sapphire")
BULK, NMOS, PMOS = load_process("metal-gate-cmos"), load_process("silicon-gate-nmos"), load_process("metal-gate-pmos")
BENT = {Form.RING, Form.HOOK, Form.ELBOW, Form.STEP}


def forms_of(made):
    found = {gate.device.form for strip in made.grid.floor.strips for gate in strip.gates}
    return found | {stand.device.form for stand in made.grid.floor.stands}


@cache
def made_of(name, process, seed, difficulty):
    """Return a drawing, made once; those who change it make their own."""
    return drawing(Request(cell(name, process), process, seed, difficulty=difficulty))


def many(name, process, seeds, difficulty=0.3):
    """Return the drawings of some seeds: half of them, in a whole sweep all."""
    seeds = seeds if WHOLE else seeds // 2
    drawings = (made_of(name, process, seed, difficulty) for seed in range(seeds))
    return [made for made in drawings if made is not None]


@pytest.mark.parametrize(
    ("process", "forms"),
    some([(SILICON, BENT), (load_process("silicon-gate-cmos-2m"), BENT)])
    + some([(process, {Form.HOOK, Form.ELBOW}) for process in (SAPPHIRE, BULK)]),
    ids=lambda value: getattr(value, "name", ""),
)
def test_every_bent_form_that_a_process_has_occurs_and_no_other(process, forms):
    """Rings and steps are drawn in poly only: metal that is gate and wire at once would shut the drain in."""
    seen = Counter(form for name in ("inverter", "nor2") for m in many(name, process, 40) for form in forms_of(m))
    assert set(seen) == {Form.STRAIGHT, *forms}
    assert 7 * sum(seen[form] for form in forms) >= seen.total()  # a sixth to a fifth was seen


@pytest.mark.parametrize("name", ["inverter", "nand3"])
@pytest.mark.parametrize("process", [NMOS, PMOS], ids=lambda p: p.name)
def test_transistors_of_given_size_stay_straight(name, process):
    """Ratioed logic says how wide its drivers are, and none is wide enough to go round a contact."""
    assert {form for made in many(name, process, 25) for form in forms_of(made)} == {Form.STRAIGHT}


@pytest.mark.parametrize(
    ("name", "process"),
    covering(
        [("inverter_pulled_up", p) for p in (SILICON, SAPPHIRE, BULK, NMOS)]
        + [("inverter_long_load", p) for p in (BULK, NMOS, PMOS)]
        + [("pull_up_long", NMOS), ("pull_down_long", PMOS)]
    ),
)
def test_long_channels_are_folded_more_often_than_not(name, process):
    """A channel of many squares lies in turns below one plate of gate; some are straight all the same."""
    drawings = many(name, process, 24)
    folded = sum(Form.SNAKE in forms_of(made) for made in drawings)
    assert len(drawings) <= 2 * folded < 2 * len(drawings)


@pytest.mark.parametrize("process", [SILICON, SAPPHIRE, BULK, NMOS, PMOS], ids=lambda p: p.name)
def test_tidy_drawings_are_plain(process):
    """Worked examples have straight channels and single cuts, whatever the seed."""
    for name in ("inverter", "inverter_long_load"):
        for made in many(name, process, 12, difficulty=0):
            assert forms_of(made) == {Form.STRAIGHT}
            assert (made.choices.cuts.straps, made.choices.cuts.ends, made.choices.cuts.heads) == (1, 1, 1)


@pytest.mark.parametrize("process", [SILICON, SAPPHIRE, BULK, NMOS, PMOS], ids=lambda p: p.name)
def test_a_fold_has_exactly_the_area_that_its_length_asks_for(process):
    """
    Square by square: length times width, no square twice, in one piece, and its plate is shorter by a quarter.

    That L of a folded channel is area over width is the convention of `extract`; common practice counts corners less.
    """
    t = technique_for(process)
    folded = 0
    for length in spread(range(t.channel, 160, 2), 30):
        for width in (4, 6, 8):
            for upright in (False, True):
                found = fold(length, width, t, upright=upright, dice=Dice(length + width))
                if found is None:
                    continue
                folded += 1
                squares = [(i, j) for a, b, c, d in found.boxes for i in range(a, b) for j in range(c, d)]
                assert len(set(squares)) == len(squares) == length * width
                assert 4 * found.plate <= 3 * length
                assert reached(set(squares)) == len(squares)
                for edge in (0, found.plate - 1):
                    assert sum(i == edge for i, _ in squares) == width
    assert folded > 30


def reached(squares):
    """Count the squares that hang together with the first."""
    start = min(squares)
    seen, edge = {start}, [start]
    while edge:
        i, j = edge.pop()
        for near in ((i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)):
            if near in squares and near not in seen:
                seen.add(near)
                edge.append(near)
    return len(seen)


def test_cuts_stand_side_by_side_in_about_half_of_the_drawings():
    """Each of them has room: cuts are squares of one size, a cut's side apart (SCMOS 5.3 and 6.3, from memory)."""
    made = many("nand2", SILICON, 40)
    side = technique_for(SILICON).contact
    doubled = 0
    for one in made:
        places = {(r.x0, r.y0) for r in one.layout.shapes["contact"]}
        doubled += any((x + 2 * side, y) in places or (x, y + 2 * side) in places for x, y in places)
    assert len(made) <= 4 * doubled <= 3 * len(made)


@pytest.mark.parametrize("process", some([SILICON, BULK, NMOS, PMOS], 2), ids=lambda p: p.name)
def test_wide_drivers_have_contacts_of_many_cuts(process):
    """Most output drivers have three cuts or more in a row on their fingers (common practice)."""
    side = technique_for(process).contact
    rows, drawings = 0, many("output_driver", process, 10)
    for made in drawings:
        places = {(r.x0, r.y0) for r in made.layout.shapes["contact"]}
        steps = ((2 * side, 0), (0, 2 * side))
        rows += any((x + dx, y + dy) in places and (x + 2 * dx, y + 2 * dy) in places
                    for x, y in places for dx, dy in steps)  # fmt: skip
    assert 2 * rows > len(drawings)


def test_a_ring_is_another_structure_than_two_fingers():
    """The same floor and wires with a straight channel in place of a bent one count as different."""
    compared = 0
    for seed in range(30):
        made = drawing(Request(cell("inverter", SILICON), SILICON, seed))
        before = fingerprint(made.grid, made.trees)
        for strip in made.grid.floor.strips:
            for gate in strip.gates:
                if gate.device.form in BENT:
                    straighten(gate)
                    compared += 1
                    assert fingerprint(made.grid, made.trees) != before
    assert compared > 10


def test_gates_step_sideways_between_the_rows():
    """In most flip-flops the poly of a gate joins both rows and steps aside on the way: dog-legs in the field."""
    drawings = many("ff_switches", SILICON, 14)
    *_, legs = shapes_in(drawings)
    assert legs > 3 * len(drawings)
