"""
Schematics in characters. The shapes are those of the textbooks: series pull-down for NAND, dual pull-up (Weste and
Harris, CMOS VLSI Design, ch. 1, from memory); the ring at a p gate and the heavy bar of a depletion load are common
practice.
"""

import pytest

from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.netlist.stages import One, Parallel, Series, reduced
from layoutdrill.screens.schematic import schematic


def n(name, gate, a, b):
    return Transistor(name, Kind.N, gate, a, b)


def p(name, gate, a, b):
    return Transistor(name, Kind.P, gate, a, b)


RAILS = ("VSS", "VDD")

INVERTER = """\
  ━━━┯━━━ VDD
     │
a ─○┤┃
     │
     ├──── y
     │
a ──┤┃
     │
  ━━━┷━━━ VSS"""


def test_an_inverter():
    """Pull-up above, output, pull-down below."""
    net = Netlist("inverter", ("a", "y"), (n("1", "a", "VSS", "y"), p("2", "a", "VDD", "y")))
    assert schematic(net, RAILS) == INVERTER


def test_a_nand_has_its_n_transistors_in_series_and_its_p_side_by_side():
    """The dual of each other."""
    net = Netlist(
        "nand2",
        ("a", "b", "y"),
        (n("1", "a", "VSS", "x"), n("2", "b", "x", "y"), p("3", "a", "VDD", "y"), p("4", "b", "VDD", "y")),
    )
    lines = schematic(net, RAILS).splitlines()
    assert any("a ─○┤┃  b ─○┤┃" in text for text in lines)
    at = next(i for i, text in enumerate(lines) if "y" in text)
    below = [text for text in lines[at:] if "┤┃" in text]
    assert [text.strip() for text in below] == ["b ──┤┃", "a ──┤┃"]


def test_a_depletion_load_is_heavy():
    """Its gate is tied to the output."""
    load = Transistor("3", Kind.N, "y", "VDD", "y", mode=Mode.DEPLETION)
    net = Netlist("nmos nor2", ("a", "b", "y"), (n("1", "a", "VSS", "y"), n("2", "b", "VSS", "y"), load))
    text = schematic(net, RAILS)
    assert "y ──┤█" in text
    assert "a ──┤┃  b ──┤┃" in text


def test_a_transmission_gate_is_a_row_of_its_own():
    """It passes a signal, so it stands in no pull-up or pull-down."""
    net = Netlist("tg", ("a", "y", "s", "sn"), (n("1", "s", "a", "y"), p("2", "sn", "a", "y")))
    assert schematic(net, RAILS) == "a ──┤ ├── y   transmission gate: n’s gate is net s, p’s gate is net sn"


def test_nets_called_on_and_off_read_as_nets():
    """“n gate on” would say that the n channel conducts."""
    net = Netlist("tg", ("a", "y", "on", "off"), (n("1", "on", "a", "y"), p("2", "off", "a", "y")))
    assert schematic(net, RAILS).endswith("n’s gate is net on, p’s gate is net off")


def test_a_bridge_is_told_though_it_is_neither_series_nor_parallel():
    """Nothing is left out: what cannot be drawn is a row."""
    bridge = (
        n("1", "a", "VSS", "u"),
        n("2", "b", "VSS", "v"),
        n("3", "c", "u", "v"),
        n("4", "d", "u", "y"),
        n("5", "e", "v", "y"),
    )
    text = schematic(Netlist("bridge", ("a", "b", "c", "d", "e", "y"), bridge), RAILS)
    assert all(f"gate is net {gate}" in text for gate in "abcde")


def edges(*triples):
    return [(a, b, One(n(name, name, a, b))) for name, a, b in triples]


def test_series_keeps_its_order_from_top_to_bottom():
    """The order is the drawing's, whichever way round each transistor was named."""
    tree = reduced(edges(("1", "top", "x"), ("2", "z", "x"), ("3", "z", "bottom")), "top", "bottom")
    assert isinstance(tree, Series)
    assert [part.transistor.name for part in tree.parts] == ["1", "2", "3"]


def test_parallel_of_series():
    """ab + c: two in series beside one."""
    tree = reduced(edges(("1", "t", "x"), ("2", "x", "b"), ("3", "b", "t")), "t", "b")
    assert isinstance(tree, Parallel)
    assert sorted(type(part).__name__ for part in tree.parts) == ["One", "Series"]


def test_a_dangling_piece_gives_no_tree():
    """A transistor that leads nowhere must not vanish into a neat drawing."""
    assert reduced(edges(("1", "t", "b"), ("2", "t", "x")), "t", "b") is None


@pytest.mark.parametrize("name", ["nand3", "aoi22", "oai21", "xor2_compact", "mux2_tg", "latch_static"])
def test_every_transistor_of_a_library_cell_is_in_its_schematic(name):
    """Each gate name stands in the drawing as often as transistors hang on it."""
    from layoutdrill.cells import load_cell
    from layoutdrill.process import load_process

    process = load_process("silicon-gate-cmos")
    net = load_cell(name).netlist(process)
    text = schematic(net, process.supplies, 400)
    symbols = text.count("┤┃") + text.count("┤█")
    passed = sum(row.count(" gate ") for row in text.splitlines() if "──┤ ├──" in row)
    assert symbols + passed == len(net.transistors)


def test_fingers_are_drawn_once_with_their_number():
    """Two fingers of one transistor are one symbol, and what ×2 means stands below."""
    net = Netlist("i", ("a", "y"), (n("1", "a", "VSS", "y"), n("2", "a", "y", "VSS"), p("3", "a", "VDD", "y")))
    text = schematic(net, RAILS)
    assert text.count("a×2 ──┤┃") == 1
    assert text.count("a ─○┤┃") == 1
    assert "one transistor in that many fingers" in text


def test_a_gate_wider_than_the_room_is_told_in_rows():
    """Nothing is cut or wrapped: six transistors side by side in thirty columns become six rows."""
    inputs = "abcdef"
    pull = tuple(p(f"p{i}", i, "VDD", "y") for i in inputs)
    chain = tuple(n(f"n{i}", i, "VSS" if at == 0 else f"m{at}", f"m{at + 1}" if at < 5 else "y")
                  for at, i in enumerate(inputs))  # fmt: skip
    net = Netlist("wide", (*inputs, "y"), (*pull, *chain))
    rows = schematic(net, RAILS, 30).splitlines()
    assert len([row for row in rows if "its gate is net" in row]) == 12
    assert "━━━ VDD" in schematic(net, RAILS, 96)
