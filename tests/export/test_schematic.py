"""A schematic shows what is there: symbols in their usual shapes, every net joined, no two nets in one line."""

from collections import Counter
from itertools import combinations, pairwise
from xml.etree import ElementTree as ET

from layoutdrill.export.hierarchy import hierarchy
from layoutdrill.export.schematic import schematic_svg
from layoutdrill.netlist.spice import read_spice
from layoutdrill.recognise.whole import recognise
from tests.each import each
from tests.reading.netlists import all_cases

SVG = "{http://www.w3.org/2000/svg}"
NAND = "M1 y a k VSS nmos\nM2 k b VSS VSS nmos\nM3 y a VDD VDD pmos\nM4 y b VDD VDD pmos\n"
ADDER = (
    ".subckt nand a b y\n" + NAND + ".ends\n.global VDD VSS\n.subckt top a b c s k\nX1 a b p nand\nX2 a p q nand\n"
    "X3 b p r nand\nX4 q r h nand\nX5 h c t nand\nX6 h t u nand\nX7 c t v nand\nX8 u v s nand\nX9 p t k nand\n.ends\n"
)


def drawn(netlist):
    """Return the sheets of a schematic, each as (symbols and wires, texts)."""
    root = ET.fromstring(schematic_svg(hierarchy(recognise(netlist))))
    return [(sheet, [e.text for e in sheet.iter(SVG + "text")]) for sheet in root.iter(SVG + "g")]


def wires(sheet):
    """Return (net, (x, y), (x, y)) of each stretch of wire."""
    for element in sheet.iter(SVG + "polyline"):
        if "data-net" in element.attrib:
            points = [tuple(map(int, point.split(","))) for point in element.get("points").split()]
            for one, other in pairwise(points):
                yield element.get("data-net"), *sorted((one, other))


def overlap(one, other):
    """Tell whether two stretches run along each other, by more than a point."""
    (_, (ax, ay), (bx, by)), (_, (cx, cy), (dx, dy)) = one, other
    if ax == bx == cx == dx:
        return min(by, dy) > max(ay, cy)
    return ay == by == cy == dy and min(bx, dx) > max(ax, cx)


def parts(stretches):
    """Return in how many pieces the stretches of one net lie: an end that meets another joins them."""
    groups = []
    for _, a, b in stretches:
        hit = [g for g in groups if any(_meets(a, b, c, d) for c, d in g)]
        groups = [g for g in groups if g not in hit] + [[(a, b), *(s for g in hit for s in g)]]
    return len(groups)


def _meets(a, b, c, d):
    return any(_on(point, c, d) for point in (a, b)) or any(_on(point, a, b) for point in (c, d))


def _on(point, a, b):
    return a[0] <= point[0] <= b[0] and a[1] <= point[1] <= b[1]


def test_one_gate_is_drawn_by_its_transistors():
    """A NAND2: two p channels with rings in parallel, two n channels in series, both rails, each gate named."""
    netlist = read_spice(f".subckt gate a b y VDD VSS\n{NAND}.ends\n", "gate.sp")
    ((sheet, texts),) = drawn(netlist)
    assert Counter(texts) == Counter(["a", "a", "b", "b", "y", "VDD", "VSS"])
    rings = [c for c in sheet.iter(SVG + "circle") if c.get("fill") == "white"]
    assert len(rings) == 2
    plates = [p for p in sheet.iter(SVG + "polyline") if p.get("stroke-width") == "1.5"]
    assert len(plates) == 4


def test_an_adder_is_drawn_by_its_gates():
    """Nine D shapes with a ring each, the ports of the cell by name; then the NAND2 once by its transistors."""
    (adder, texts), (nand, inner) = drawn(read_spice(ADDER, "top.sp", subckt="top"))
    assert sum(1 for _ in adder.iter(SVG + "path")) == 9
    assert sum(1 for _ in adder.iter(SVG + "circle") if _.get("fill") == "white") == 9
    assert {"a", "b", "c", "s", "k"} <= set(texts)
    assert {"a", "b", "y"} <= set(inner)
    assert not list(nand.iter(SVG + "path"))


@each("at", range(0, 60, 6))
def test_wires_join_their_net_and_no_other(at):
    """Of own netlists: each net's wires hang together, and no two nets run along each other."""
    cases = all_cases()
    case = cases[at % len(cases)]
    for sheet, _ in drawn(case.netlist):
        stretches = list(wires(sheet))
        for net in {stretch[0] for stretch in stretches}:
            assert parts([s for s in stretches if s[0] == net]) == 1, (case.name, net)
        clash = [(a[0], b[0]) for a, b in combinations(stretches, 2) if a[0] != b[0] and overlap(a, b)]
        assert not clash, (case.name, clash)
