"""
Names told by what a circuit does or holds, each with a circuit close to it that is not that: latches that a line opens,
carries along a charged line, decades, parity of gates given both ways, logic beside a decoder.

Forms as in textbooks (Mead & Conway 1980; Weste & Eshraghian 1985) and data books of decade counters; from memory.
"""

import pytest

from layoutdrill.reading.slips import find_slips
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.supplies import find_supplies
from tests.reading.netlists.board import Board


def slips(netlist):
    return [(s.kind, s.nets) for s in find_slips(netlist, find_supplies(netlist))]


def crossed(style, enables, form="nor", inverted=False):
    """Two gates that read each other and, together with a line that opens them, one input each."""
    b = Board(style)
    inner, outer = ("s", "p") if form == "nor" else ("p", "s")
    other = b.inv("r", "s") if inverted else "s"
    b.gate((outer, "qn", (inner, enables[0], "r")), "q")
    b.gate((outer, "q", (inner, enables[1], other)), "qn")
    inputs = ["r"] if inverted else ["r", "s"]
    return b.case("crossed", [*inputs, *dict.fromkeys(enables), "q", "qn"], "").netlist


@pytest.mark.parametrize(("style", "form"), [("nmos", "nor"), ("cmos", "nor"), ("cmos", "nand")])
def test_crossed_gates_that_a_line_opens_are_a_gated_latch(style, form):
    """With one line for both, set and reset or one data input; with a line for each they are something else."""
    level = 1 if form == "nor" else 0
    whole = recognise(crossed(style, "cc", form))
    assert whole.heading == "gated SR latch"
    (latch,) = whole.structures
    sets, resets = ("s", "r") if form == "nor" else ("r", "s")
    assert latch.function == f"while c is {level}, {sets} at {level} sets q and {resets} at {level} resets it"
    assert recognise(crossed(style, "cc", form, inverted=True)).heading == "latch"
    assert "latch" not in recognise(crossed(style, "ce", form)).heading
    assert slips(crossed(style, "cc", form)) == []


def carries(opened):
    """Charged nets in a row, each with a way down of its own; `opened` gates the switches between."""
    b = Board("nmos")
    count = len(opened)
    for i in range(count + 1):
        b.n("f", "VDD", f"c{i}", f"pre{i}")
        b.n(f"g{i}", f"c{i}", "VSS", f"low{i}")
    for i, line in enumerate(opened):
        b.n(line, f"c{i}", f"c{i + 1}", f"pass{i}")
    b.inv(f"c{count}", "out")
    return b.case("carries", ["f", "out", *dict.fromkeys(opened), *(f"g{i}" for i in range(count + 1))], "").netlist


def test_charged_nets_in_a_row_carry():
    """Not where one line opens two of the switches: so shifters and buses do."""
    assert recognise(carries(["p0", "p1", "p2"])).heading == "3-bit Manchester carry chain"
    assert "carry" not in recognise(carries(["p0", "p1", "p0"])).heading
    assert slips(carries(["p0", "p1", "p2"])) == []


def decade(order, last):
    """Bits of 1, 2, 4 and 8 placed in some order; the highest goes back with the lowest, after 9 or not at all."""
    b = Board("cmos")
    cn = b.inv("c", "cn")
    for i in order:
        b.dff_reset(f"d{i}", "c", cn, "rn", f"q{i}")
    n3 = b.inv("q3", "n3")
    b.inv("q0", "d0")
    b.xor("q1", b.and_("q0", n3) if last else "q0", y="d1")
    low = b.and_("q0", "q1")
    b.xor("q2", low, y="d2")
    eight = b.and_(low, "q2")
    b.xor("q3", b.or_(eight, b.and_("q0", "q3")) if last else eight, y="d3")
    return b.case("decade", "c rn q0 q1 q2 q3", "").netlist


@pytest.mark.parametrize("order", [(0, 1, 2, 3), (0, 1, 3, 2), (3, 2, 1, 0)])
def test_a_decade_is_one_however_its_bits_are_ordered(order):
    """In a decade the bits of 4 and of 8 turn over equally often, so that alone does not tell which counts more."""
    assert recognise(decade(order, last=True)).heading == "decade counter"
    assert recognise(decade(order, last=False)).heading == "4-bit synchronous counter"


def both_ways(gate):
    """Three sums of gates that are given each input both ways, in a tree; the last by `gate`."""
    b = Board("cmos")
    for y, (a, o) in {"u": ("d0", "d1"), "v": ("d2", "d3"), "y": ("u", "v")}.items():
        an, on = b.inv(a), b.inv(o)
        b.gate(gate(a, o, an, on) if y == "y" else ("p", ("s", a, o), ("s", an, on)), y)
    return b.case("sums", "d0 d1 d2 d3 y", "").netlist


def test_gates_given_both_ways_sum():
    """An AOI22 of two inputs and their inverses is an XOR, of other pairs it is none."""
    assert recognise(both_ways(lambda a, o, an, on: ("p", ("s", a, o), ("s", an, on)))).heading == "4-bit parity tree"
    assert "parity" not in recognise(both_ways(lambda a, o, an, on: ("p", ("s", a, o), ("s", a, on)))).heading


CUBES = ("0000", "1---", "--10", "-1-1", "-0-0", "-011", "-110", "-10-", "--11", "0-00")
"""Products of the inputs d to a, each of several of the ten digits or of numbers past them."""
SHAPES = ("abcdef", "bc", "abdeg", "abcdg", "bcfg", "acdfg", "acdefg", "abc", "abcdefg", "abcdfg")


def segments(shapes):
    """Two planes of NORs: products that several segments share, where they fit, else of the one digit."""
    b = Board("nmos")
    for k in "dcba":
        b.inv(k, f"{k}n")
    made = {}
    for s in "abcdefg":
        dark = {n for n, shape in enumerate(shapes) if s not in shape}
        fit = [c for c in CUBES if (over := covered(c)) & dark and over & set(range(10)) <= dark]
        left = dark - {n for c in fit for n in covered(c)}
        for cube in (chosen := [*fit, *(f"{n:04b}" for n in sorted(left))]):
            if cube not in made:
                reads = [f"{k}n" if v == "1" else k for k, v in zip("dcba", cube, strict=True) if v != "-"]
                made[cube] = b.nor(*reads, y=f"p{len(made)}") if len(reads) > 1 else b.inv(reads[0], f"p{len(made)}")
        b.nor(*(made[c] for c in chosen), y=f"s{s}") if len(chosen) > 1 else b.inv(made[chosen[0]], f"s{s}")
    return b.case("digits", ["a", "b", "c", "d", *(f"s{s}" for s in "abcdefg")], "").netlist


def covered(cube):
    return {n for n in range(16) if all(v in ("-", bit) for v, bit in zip(cube, f"{n:04b}", strict=True))}


def test_a_display_decoder_is_one_though_its_gates_share_products():
    """Two planes that light no digits are a PLA."""
    assert recognise(segments(SHAPES)).heading == "seven-segment decoder"
    assert recognise(segments([SHAPES[n] for n in (3, 1, 4, 5, 9, 2, 6, 0, 8, 7)])).heading != "seven-segment decoder"


def lines(codes, beside):
    """NOR lines on two address bits, and one more gate on the same two nets."""
    b = Board("nmos")
    nets = [("a", b.inv("a", "an")), ("c", b.inv("c", "cn"))]
    for k, code in enumerate(codes):
        b.nor(*(pair[bit] for pair, bit in zip(nets, code, strict=True)), y=f"w{k}")
    if beside:
        b.nor("a", "c", y="z")
    return b.case("lines", ["a", "c", *(f"w{k}" for k in range(len(codes))), *(["z"] if beside else [])], "").netlist


def test_a_gate_beside_a_whole_decoder_is_no_slip():
    """Each address is answered, so no line is on a wrong one; where one is not, the line next to it is told."""
    every = [(0, 0), (0, 1), (1, 0), (1, 1)]
    assert slips(lines(every, beside=True)) == []
    assert [k for k, _ in slips(lines([(0, 0), (0, 1), (1, 0), (1, 0)], beside=False))] == ["same address"]
    wrong = slips(lines([(0, 0), (0, 1), (1, 0), (1, 0)], beside=True))
    assert wrong == [("same address", ("w2", "w3"))]
