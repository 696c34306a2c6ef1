"""Decoders of series rows, and trees of switches, are drawn as regular arrays and proved whole."""

from collections import Counter, defaultdict
from dataclasses import replace
from itertools import pairwise

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.tiling import Part
from layoutdrill.drawing.arrays import draw_array
from layoutdrill.drawing.series.plan import plan_of
from layoutdrill.drawing.series.task import path_over
from layoutdrill.drawing.shared import Request
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.layout.model import Layout
from layoutdrill.layout.text import layout_text
from layoutdrill.netlist.compare import compare
from layoutdrill.process import load_process
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.prove import proved
from layoutdrill.prove.proof import faults_of
from tests.each import each
from tests.sampling import WHOLE, some, spread

COMPLEMENTARY = ("silicon-gate-cmos", "silicon-gate-cmos-2m", "metal-gate-sapphire", "metal-gate-cmos")
PROCESSES = (*COMPLEMENTARY, "silicon-gate-nmos", "metal-gate-pmos")
SERIES = [*((p, "nand") for p in PROCESSES[:-1]), ("metal-gate-pmos", "nor")]
FORMS = SERIES + [(p, "tree") for p in PROCESSES]
by_form = pytest.mark.parametrize(("process", "form"), FORMS)
by_some = pytest.mark.parametrize(("process", "form"), some(FORMS[::5], 2))
by_series = pytest.mark.parametrize(("process", "form"), SERIES)


def made(name, process, seed, difficulty=0.3):
    """Return the proved drawing with its netlist as meant."""
    cell, rules = load_cell(name), load_process(process)
    netlist, tiling = cell.netlist(rules), cell.tiling(rules)
    assert Part.LINK in tiling.parts
    return proved(netlist, rules, seed, difficulty=difficulty, tiling=tiling), netlist


def drawn(name, process, seed):
    """Return a drawing that was not proved, with its netlist and process."""
    cell, rules = load_cell(name), load_process(process)
    found = draw_array(Request(cell.netlist(rules), rules, seed), cell.tiling(rules))
    assert found is not None
    return found, cell.netlist(rules), rules


WAYS = [(process, form, own) for process, form in FORMS for own in ("", "_own")]
SIZES = ((2, 0.0), (3, 1.0), (4, 0.3), (3, 0.0), (2, 1.0), (2, 0.3), (3, 0.7), (5, 0.3))
"""Address lines and how crowded."""


@each(("process", "form", "own"), WAYS)
def test_series_arrays_are_proved_from_tidy_to_crowded(process, form, own):
    """From 2 to 5 address lines the first drawing breaks no rule and is read back whole, every port named once."""
    at = WAYS.index((process, form, own))
    for lines, difficulty in some(SIZES[at % 3 :] + SIZES[: at % 3]):
        name = f"decoder{lines}_{form}{own}"
        found, netlist = made(name, process, lines, difficulty)
        assert found.attempts == 1
        assert compare(netlist, found.cell, bodies=True).equal
        assert sorted(label.text for label in found.layout.labels) == sorted(netlist.ports)


@by_some
def test_the_largest_arrays_are_proved(process, form):
    """64 rows are drawn like 4."""
    own = "_own" if process in ("silicon-gate-cmos", "metal-gate-cmos", "metal-gate-pmos") else ""
    found, netlist = made(f"decoder6_{form}{own}", process, 6)
    assert found.cell.count() == netlist.count()


# Source: the sums for n address lines, common practice: ratioed n·2ⁿ + 2ⁿ + 2n, complementary 2n·2ⁿ + 2n (both with
# the inverters of the lines), tree 2(2ⁿ − 1); n = 3 gives 38, 54 and 14.
@by_form
def test_transistors_are_as_many_as_the_sums_say(process, form):
    """What is read in the drawing of a decoder of three lines has as many transistors as arithmetic gives."""
    if form == "tree":
        assert made("decoder3_tree", process, 1)[0].cell.count() == 14
    else:
        expected = 54 if process in COMPLEMENTARY else 38
        assert made(f"decoder3_{form}_own", process, 1)[0].cell.count() == expected


@by_some
def test_each_address_line_drives_its_share(process, form):
    """In a series array a line and its complement each drive half of the rows; in a tree each level twice the last."""
    found, _ = made(f"decoder3_{form}", process, 2)
    gates = Counter(t.gate for t in found.cell.transistors)
    per_row = 2 if process in COMPLEMENTARY else 1
    for bit in range(3):
        share = 1 << (2 - bit) if form == "tree" else 4 * per_row
        assert gates[f"a{bit}"] == gates[f"a{bit}n"] == share


@by_series
def test_rows_and_lines_lie_on_a_pitch(process, form):
    """Transistors of one line, and those of one row, lie in line; rows follow one another at one or two distances."""
    found, netlist = made(f"decoder4_{form}", process, 3)
    cell, lines = found.cell, {f"a{bit}{n}" for bit in range(4) for n in ("", "n")}
    n_kind = any(t.kind is Kind.N for t in cell.transistors)
    chain = [t for t in cell.transistors if t.gate in lines and (t.kind is Kind.N) == n_kind]
    assert len(chain) == 64
    centres = {t.name: found.extraction.channel(t.name)[0].centre for t in chain}
    by_line, by_row = defaultdict(list), defaultdict(list)
    rows = _rows(chain, netlist)
    for t in chain:
        by_line[t.gate].append(centres[t.name])
        by_row[rows[t.name]].append(centres[t.name])
    across = next(axis for axis in (0, 1) if len({c[axis] for c in by_line["a0"]}) == 1)
    assert all(len({c[across] for c in places}) == 1 for places in by_line.values())
    assert all(len({c[1 - across] for c in places}) == 1 for places in by_row.values())
    heights = sorted({places[0][1 - across] for places in by_row.values()})
    assert len(heights) == 16
    assert len({b - a for a, b in pairwise(heights)}) <= 2


def _rows(chain, netlist):
    """Return the row of each transistor in series, by following its chain to a port."""
    ports = {net for net in netlist.ports if net.startswith("y")}
    found: dict[str, str] = {}
    ends = {t.name: set(t.ends) for t in chain}
    for y in ports:
        reached, grew = {y}, True
        while grew:
            grew = False
            for t in chain:
                if t.name not in found and ends[t.name] & reached:
                    found[t.name], grew = y, True
                    reached |= ends[t.name] - {"VSS", "VDD"}
    return found


@by_some
def test_a_seed_gives_one_drawing_and_seeds_differ(process, form):
    """The same seed gives the same text of the layout; all seeds but one at most give different ones."""
    seeds = 10 if WHOLE else 5
    texts = [layout_text(drawn(f"decoder2_{form}", process, seed)[0].layout) for seed in range(seeds)]
    assert layout_text(drawn(f"decoder2_{form}", process, 0)[0].layout) == texts[0]
    assert len(set(texts)) >= seeds - 1


@by_form
@each("own", ["", "_own"])
def test_the_proof_bites(process, form, own):
    """Without any one window, any piece of silicon at a channel, or any contact of a signal, the drawing is refused."""
    found, netlist, rules = drawn(f"decoder2_{form}{own}", process, 5)
    layout = found.layout
    extraction = extract(layout, rules)
    assert faults_of(netlist, rules, layout, extraction, found) == ()
    channels = [r for t in extraction.netlist.transistors for r in extraction.channel(t.name)]
    masks = {"active", "pplus", "nplus"} & set(layout.shapes)
    parts = [("window", r) for r in layout.shapes.get("window", ())]
    parts += [(m, r) for m in masks for r in layout.shapes[m] if any(r.touches(c) for c in channels)]
    parts += [("contact", r) for r in layout.shapes["contact"] if _needed(r, layout, extraction, rules.supplies)]
    if process.startswith("metal"):
        assert sum(mask == "window" for mask, _ in parts) == netlist.count()
    assert len(parts) >= netlist.count()
    for mask, rect in spread(parts, 2):
        rest = tuple(r for r in layout.shapes[mask] if r != rect)
        less = Layout(layout.name, {**layout.shapes, mask: rest}, layout.labels)
        assert faults_of(netlist, rules, less, extract(less, rules), found), (mask, rect)


def _needed(contact, layout, extraction, supplies):
    """Tell whether a contact is the only one between its metal and what lies below, and no supply's."""
    conductors = extraction.nets_at(*contact.centre)
    if any(net in supplies for _, net in conductors):
        return False
    near = [r for r in layout.shapes["contact"] if r != contact and 0 in (r.x0 - contact.x0, r.y0 - contact.y0)]
    return not any(extraction.nets_at(*r.centre) == conductors for r in near)


@by_form
def test_a_crossing_on_the_other_line_does_not_pass(process, form):
    """An array in which one transistor hangs on the complement in place of the line is not what was drawn."""
    found, netlist, rules = drawn(f"decoder3_{form}", process, 4)
    extraction = extract(found.layout, rules)
    other = {"a1": "a1n", "a1n": "a1"}
    at = [i for i, t in enumerate(netlist.transistors) if t.gate in other and t.mode is Mode.ENHANCEMENT]
    for i in some((at[0], at[-1])):
        wrong = list(netlist.transistors)
        wrong[i] = replace(wrong[i], gate=other[wrong[i].gate])
        assert faults_of(replace(netlist, transistors=tuple(wrong)), rules, found.layout, extraction, found)


@by_series
def test_the_order_of_a_chain_counts(process, form):
    """Two transistors of one row exchanged is another netlist, since what lies between them differs in its gates."""
    found, netlist, rules = drawn(f"decoder3_{form}", process, 4)
    extraction = extract(found.layout, rules)
    row = plan_of(load_cell(f"decoder3_{form}").tiling(rules)).rows[5]
    first, last = row.series[0].name, row.series[-1].name
    gates = {t.name: t.gate for t in netlist.transistors}
    swapped = {first: gates[last], last: gates[first]}
    wrong = tuple(replace(t, gate=swapped.get(t.name, t.gate)) for t in netlist.transistors)
    assert faults_of(replace(netlist, transistors=wrong), rules, found.layout, extraction, found)


def test_rows_that_are_not_alike_are_refused_with_the_reason():
    """A row whose transistor is wider than that of the others does not fit a regular array."""
    cell, rules = load_cell("decoder2_nand"), load_process("silicon-gate-nmos")
    netlist = cell.netlist(rules)
    wide = tuple(replace(t, width=2 * t.width) if t.name == "M5" else t for t in netlist.transistors)
    with pytest.raises(LayoutdrillError, match="not all alike"):
        proved(replace(netlist, transistors=wide), rules, 1, tiling=cell.tiling(rules))


@pytest.mark.parametrize("name", ["ram_array_2x2", "memory_array_2x2", "decoder3_nor", "rom_flash", "pla_flash"])
def test_other_arrays_are_left_to_others(name):
    """Arrays of like cells and crosspoint planes are no series arrays."""
    assert Part.LINK not in load_cell(name).tiling(load_process("silicon-gate-cmos")).parts


def test_a_path_runs_in_silicon_under_lines_that_act_and_in_wire_over_the_rest():
    """Lines 0, 1 and 4 of 6 act: two runs, two bridges, contacts where they meet and where a wire comes in."""
    runs, bridges, contacts = path_over({0, 1, 4}, 0, 6, {1})
    assert runs == [(0, 2), (4, 5)]
    assert bridges == [(2, 4), (5, 6)]
    assert contacts == [1, 2, 4, 5]
