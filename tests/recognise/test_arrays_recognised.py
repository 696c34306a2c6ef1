"""
Every array of the library, and every logic style, is recognised by its own name or a listed equivalent, ports by role.

The library's names and roles are written independently of recognition, which never sees them.
"""

import sys
from pathlib import Path
from random import Random

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.netlist.roles import Role
from layoutdrill.process import load_process
from layoutdrill.recognise.whole import recognise
from tests.cells.processes import CMOS, FITTING, TEXTS, made
from tests.prove.test_library import own_names, roles_differ
from tests.sampling import covering

sys.path.insert(0, str(Path(__file__).parents[1] / "simulate"))

from circuits import circuit, gate, inverter

from tests.each import each


@pytest.fixture(scope="module")
def styles(tmp_path_factory):
    """Return one process of each logic style."""
    folder = tmp_path_factory.mktemp
    return {n: made(folder(n), text) if text else load_process("metal-gate-sapphire") for n, text in TEXTS.items()}


@each(("name", "kind"), covering(FITTING))
def test_arrays_have_their_name_and_roles(name, kind, styles):
    """From the netlist alone; each transistor is in one outermost structure, and in one only."""
    cell = load_cell(name)
    netlist = cell.netlist(styles[kind])
    found = recognise(netlist)
    assert set(found.names) & own_names(cell), found.names
    assert list(roles_differ(cell, found)) == []
    assert found.leftover == ()
    names = [n for s in found.structures for n in s.transistors]
    assert len(names) == len(set(names)) == netlist.count()


# Source: arithmetic; a tree of n levels has 2 + 4 + … + 2ⁿ switches.
@pytest.mark.parametrize("levels", [2, 3, 4, 5, 6])
def test_a_tree_is_counted_by_its_switches(levels, styles):
    """Not by the ways through it, of which there are more."""
    (tree,) = recognise(load_cell(f"decoder{levels}_tree").netlist(styles[CMOS])).structures
    assert tree.term == f"{levels}-to-{2**levels} decoder"
    assert len(tree.transistors) == len(tree.parts) == 2 * (2**levels - 1)
    assert {part.term for part in tree.parts} == {"pass transistor"}


def branches(gates=False, levels=3, moved=None):
    """Return a tree from d to y0 … as lines, of pass transistors or transmission gates; one control perhaps moved."""
    lines = []
    for level in range(levels):
        for code in range(2 ** (level + 1)):
            ends = (
                ("d" if level == 0 else f"t{level}_{code // 2}"),
                (f"y{code}" if level == levels - 1 else f"t{level + 1}_{code}"),
            )
            on, off = (
                (f"s{level}", f"s{level}n") if (code % 2) ^ ((level, code) == moved) else (f"s{level}n", f"s{level}")
            )
            lines += gate(*ends, on, off) if gates else [f"n {on} {ends[0]} {ends[1]}"]
    return lines


def tree_ports(levels=3):
    """Return the ports of such a tree, selects in both senses."""
    selects = " ".join(f"s{k} s{k}n" for k in range(levels))
    return f"d {selects} {' '.join(f'y{k}' for k in range(2**levels))} VDD VSS"


# Source: a tree of switches leads one line to one of many (common practice); the other way round it is a multiplexer.
@pytest.mark.parametrize("gates", [False, True])
def test_trees_of_both_sorts_of_switch(gates):
    """Pass transistors and transmission gates, complements from outside; either way round between ports."""
    found = recognise(circuit(tree_ports(), *branches(gates)))
    assert found.names == ("3-to-8 decoder", "8:1 multiplexer")
    assert found.role("s1") is Role.ADDRESS
    assert {p.complement_of for p in found.ports if p.role is Role.ADDRESS} == {None, "s0", "s1", "s2"}


def test_a_tree_with_one_control_wrong_is_no_decoder():
    """One switch moved to the other control of its pair: two ends open together, and one never."""
    found = recognise(circuit(tree_ports(), *branches(moved=(2, 5))))
    assert "decoder" not in found.term
    assert "8" not in found.term


def test_a_tree_from_driven_ends_is_a_multiplexer():
    """Its eight ends driven by inverters, its root read by one: the signal goes the other way."""
    drivers = [line for k in range(4) for line in inverter(f"x{k}", f"y{k}")]
    ports = "x0 x1 x2 x3 s0 s0n s1 s1n z VDD VSS"
    found = recognise(circuit(ports, *drivers, *branches(gates=True, levels=2), *inverter("d", "z")))
    assert "decoder" not in found.term
    assert not any("decoder" in s.term for s in found.all())


def series(y, nets):
    """Return a static NAND of any number of inputs."""
    chain = [y, *(f"{y}k{i}" for i in range(len(nets) - 1)), "VSS"]
    return [f"n {g} {chain[i]} {chain[i + 1]}" for i, g in enumerate(nets)] + [f"p {g} VDD {y}" for g in nets]


@each("seed", range(8))
def test_lines_are_paired_by_their_use(seed):
    """Whatever the lines are called and in whatever order they come: each NAND has one of every pair."""
    rng = Random(seed)
    count = rng.choice([3, 4])
    names = rng.sample(["p", "q", "r", "s", "t", "u", "v", "w", "x", "z"], 2 * count)
    pairs = list(zip(names[::2], names[1::2], strict=True))
    codes = rng.sample(range(2**count), rng.choice([2**count, 2 ** (count - 1) + 1]))
    lines = [line for k in codes for line in series(f"y{k}", [pair[k >> i & 1] for i, pair in enumerate(pairs)])]
    rng.shuffle(lines)
    found = recognise(circuit(f"{' '.join(names)} {' '.join(f'y{k}' for k in codes)} VDD VSS", *lines))
    assert found.term == f"{count}-to-{len(codes)} decoder"
    seen = {frozenset((p.net, p.complement_of)) for p in found.ports if p.complement_of}
    assert seen == {frozenset(pair) for pair in pairs}
    assert sum("is taken to be the complement of" in note for note in found.notes) == count


# Source: the array multiplier (textbooks): partial products are the ANDs of every bit of one word with every bit of
# the other, which for two bits look like a decoder of two lines and their complements.
def test_partial_products_are_no_decoder():
    """Where something inside reads the four products, the lines are not taken for complements."""
    lines = [line for a in "ab" for c in "pq" for line in series(f"{a}{c}", [a, c])]
    more = series("z", ["aq", "bp"])
    found = recognise(circuit("a b p q ap bq z VDD VSS", *lines, *more))
    assert not any("decoder" in s.term for s in found.all())
    assert not any(p.complement_of for p in found.ports)


def test_one_transistor_elsewhere_is_no_decoder():
    """One input of one gate on the other line of its pair makes two gates alike, which no decoder has."""
    codes = [(k >> 2 & 1, k >> 1 & 1, k & 1) for k in (0, 1, 2, 3, 4, 5, 6, 6)]
    lines = [line for k, code in enumerate(codes)
             for line in series(f"y{k}", [f"{n}{bit}" for n, bit in zip("abc", code, strict=True)])]  # fmt: skip
    ports = "a0 a1 b0 b1 c0 c1 " + " ".join(f"y{k}" for k in range(8))
    assert recognise(circuit(f"{ports} VDD VSS", *lines)).term == "8 × NAND3"


def test_a_fifo_is_made_of_its_slices(styles):
    """Three slices, each with its own marker and its own word, the word of one into the next."""
    found = recognise(load_cell("fifo_3x4").netlist(styles[CMOS]))
    assert found.term == "FIFO"
    (fifo,) = found.structures
    assert fifo.term == "3 × 4 FIFO"
    assert [s.term for s in fifo.parts] == ["FIFO slice"] * 3
    for s in fifo.parts:
        word, marker = s.parts
        assert (word.term, marker.term) == ("register row", "marker")
        assert [part.term for part in word.parts] == ["latch"] * 4
    given = [set(s.nets(Role.OUTPUT)) for s in fifo.parts]
    taken = [set(s.nets(Role.DATA)) for s in fifo.parts]
    assert [len(given[k] & taken[k + 1]) for k in (0, 1)] == [4, 4]
