"""What is exported is the circuit it came from: SPICE by comparison, Verilog by an independent simulator (iverilog)."""

import shutil
import subprocess
from itertools import product

import pytest

from layoutdrill.cli import main
from layoutdrill.export.hierarchy import hierarchy
from layoutdrill.export.spice import spice_text
from layoutdrill.export.verilog import verilog_text
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.netlist.spice import read_spice
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.sequence import sequence

IVERILOG, VVP = shutil.which("iverilog"), shutil.which("vvp")
needs_iverilog = pytest.mark.skipif(not (IVERILOG and VVP), reason="not run: iverilog is not installed")

INV = ".subckt inv a y\nM1 y a vss vss nmos\nM2 y a vdd vdd pmos\n.ends\n"
NAND = ".subckt nand a b y\nM1 y a k vss nmos\nM2 k b vss vss nmos\nM3 y a vdd vdd pmos\nM4 y b vdd vdd pmos\n.ends\n"
SWITCH = ".subckt tg a b on off\nM1 a on b vss nmos\nM2 a off b vdd pmos\n.ends\n"
LIBRARY = ".global vdd vss\n" + INV + NAND + SWITCH
FLIP_FLOP = (
    ".subckt dff d c q\nX0 c cn inv\nX1 d m cn c tg\nX2 m mb inv\nX3 mb mm inv\nX4 mm m c cn tg\n"
    "X5 mb s c cn tg\nX6 s q inv\nX7 q ss inv\nX8 ss s cn c tg\n.ends\n"
)
NMOS = "M{0} {1} {2} vss nmos L=2u W=8u\n"
CIRCUITS = {
    "full adder of nine NANDs": (
        LIBRARY + ".subckt top a b c s k\nX1 a b p nand\nX2 a p q nand\nX3 b p r nand\nX4 q r h nand\n"
        "X5 h c t nand\nX6 h t u nand\nX7 c t v nand\nX8 u v s nand\nX9 p t k nand\n.ends\n",
        ("a", "b", "c"), ("s", "k"), None,
    ),
    "multiplexer of switches": (
        LIBRARY + ".subckt top d0 d1 s y\nX1 s n inv\nX2 d0 m n s tg\nX3 d1 m s n tg\nX4 m w inv\nX5 w y inv\n.ends\n",
        ("d0", "d1", "s"), ("y",), None,
    ),
    "NMOS, depletion loads": (
        (".subckt top a b c y vdd vss\nM1 m a vss vss nmos L=2u W=8u\nM2 m b vss vss nmos L=2u W=8u\n"
         "M3 vdd m m vss ndep L=8u W=2u\nM4 y m k vss nmos L=2u W=8u\nM5 k c vss vss nmos L=2u W=8u\n"
         "M6 vdd y y vss ndep L=16u W=2u\n.ends\n"),
        ("a", "b", "c"), ("y",), None,
    ),
    "tri-state driver": (
        LIBRARY + ".subckt top d e y\nX1 e n inv\nM1 y d k vss nmos\nM2 k e vss vss nmos\nM3 y d l vdd pmos\n"
        "M4 l n vdd vdd pmos\n.ends\n",
        ("d", "e"), ("y",), None,
    ),
    "flip-flop": (
        f"{LIBRARY}{FLIP_FLOP}.subckt top d c q\nX1 d c q dff\n.ends\n", ("d", "c"), ("q",),
        [(0, 0), (0, 1), (0, 0), (1, 0), (1, 1), (0, 1), (0, 0), (0, 1), (1, 1), (1, 0), (1, 1)],
    ),
    "dynamic shift register": (
        LIBRARY + ".subckt top d p1 p2 q\nM1 d p1 m vss nmos\nX1 m w inv\nM2 w p2 s vss nmos\nX2 s q inv\n.ends\n",
        ("d", "p1", "p2"), ("q",),
        [(1, 1, 0), (1, 0, 0), (1, 0, 1), (0, 0, 0), (0, 1, 0), (0, 0, 0), (1, 0, 1), (1, 0, 0), (1, 1, 0), (1, 0, 0),
         (1, 0, 1)],
    ),
    "static memory cell": (
        LIBRARY + ".subckt top w b n q r\nM1 q r vss vss nmos L=2u W=8u\nM2 r q vss vss nmos L=2u W=8u\n"
        "M3 q r vdd vdd pmos L=2u W=3u\nM4 r q vdd vdd pmos L=2u W=3u\nM5 b w q vss nmos L=2u W=4u\n"
        "M6 n w r vss nmos L=2u W=4u\n.ends\n",
        ("w", "b", "n"), ("q", "r"),
        [(0, 0, 1), (1, 0, 1), (0, 0, 1), (0, 1, 0), (1, 1, 0), (0, 1, 0), (0, 0, 1), (1, 0, 1)],
    ),
}  # fmt: skip


def read(text):
    return read_spice(text, "top.sp", subckt="top")


@pytest.mark.parametrize("case", CIRCUITS)
def test_hierarchical_spice_is_the_same_circuit(case):
    """Read back and flattened: equal device for device, sizes and bodies too."""
    netlist = read(CIRCUITS[case][0])
    text = spice_text(hierarchy(recognise(netlist)))
    back = read_spice(text, "h.sp", subckt="top")
    result = compare(netlist, back, sizes=True, bodies=True, merge=Merge.NONE, ports=False)
    assert result.equal, result.text()


def bench(inputs, outputs, rows):
    """Return a test bench that puts rows on the inputs and prints the outputs after each."""
    names = ", ".join(f".{net}({net})" for net in (*inputs, *outputs))
    lines = [f"reg r_{net}; wire {net} = r_{net};" for net in inputs] + [f"wire {net};" for net in outputs]
    steps = []
    for row in rows:
        steps += [f"r_{net} = {level};" for net, level in zip(inputs, row, strict=True)]
        steps.append(f'#100 $display("{"%b" * len(outputs)}", {", ".join(outputs)});')
    return "\n".join(
        ["module bench;", *lines, f"top dut ({names});", "initial begin", *steps, "$finish;", "end", "endmodule", ""]
    )


def finished(*words):
    return subprocess.run(words, capture_output=True, text=True, timeout=20, check=True).stdout


@needs_iverilog
@pytest.mark.parametrize("case", CIRCUITS)
def test_verilog_does_what_the_switches_do(case, tmp_path):
    """Simulated by iverilog over every row, or a sequence: each level that is known here is the same there."""
    text, inputs, outputs, rows = CIRCUITS[case]
    netlist = read(text)
    rows = rows or list(product((0, 1), repeat=len(inputs)))
    path = tmp_path / "top.v"
    path.write_text(verilog_text(hierarchy(recognise(netlist))) + bench(inputs, outputs, rows))
    compiled = tmp_path / "top.vvp"
    finished(IVERILOG, "-g2001", "-o", str(compiled), str(path))
    shown = finished(VVP, "-n", str(compiled)).split()
    states = sequence(netlist, [dict(zip(inputs, row, strict=True)) for row in rows])
    compared = 0
    for seen, state in zip(shown, states, strict=True):
        for level, net in zip(seen, outputs, strict=True):
            told = state.level(net)
            if told.known:
                assert level == told.value, (case, shown)
                compared += 1
            elif told == "Z" and state.stored(net) == "X":
                assert level in "zx"
    assert compared >= len(rows) * len(outputs) // 2


TOGGLE = LIBRARY + (
    ".subckt gate a y n p\nM1 a n y vss nmos\nM2 a p y vdd pmos\n.ends\n"
    ".subckt both a b y\nM1 y a vdd vdd pmos\nM2 y b vdd vdd pmos\nM3 y a m vss nmos\nM4 m b vss vss nmos\n.ends\n"
    ".subckt turn a y\nM1 y a vdd vdd pmos\nM2 y a vss vss nmos\n.ends\n"
    ".subckt top ck rn q\nX1 ck ckn turn\nX2 qn d ckn ck gate\nX3 d rn m both\nX4 m mm turn\nX5 mm d ck ckn gate\n"
    "X6 m sl ck ckn gate\nX7 sl q turn\nX8 q rn qn both\nX9 qn sl ckn ck gate\n.ends\n"
)


@needs_iverilog
def test_two_stores_do_not_run_together_while_the_clock_turns(tmp_path):
    """A stage that toggles: were both its switches open for a moment, its stores would fight and stay unknown."""
    rows = [(0, 0), *((level, 1) for _ in range(4) for level in (0, 1))]
    path = tmp_path / "top.v"
    path.write_text(verilog_text(hierarchy(recognise(read(TOGGLE)))) + bench(("ck", "rn"), ("q",), rows))
    compiled = tmp_path / "top.vvp"
    finished(IVERILOG, "-g2001", "-o", str(compiled), str(path))
    assert "".join(finished(VVP, "-n", str(compiled)).split()) == "001100110"


def test_structures_that_are_alike_are_one_block():
    """Nine NANDs of an adder are one block; the reader sees it placed."""
    found = hierarchy(recognise(read(CIRCUITS["full adder of nine NANDs"][0])))
    nands = [block for block in found.blocks if block.term == "NAND2"]
    assert len(nands) == 1
    assert sum(place.block == nands[0].name for block in found.blocks for place in block.places) >= 9


def test_the_command_writes_each_form(tmp_path, capsys):
    """One line says what was written; another ending is refused."""
    path = tmp_path / "top.sp"
    path.write_text(CIRCUITS["flip-flop"][0])
    for ending in ("sp", "v", "svg"):
        out = tmp_path / f"out.{ending}"
        assert main(["export", str(path), "--cell", "top", "-o", str(out)]) == 0
        assert out.stat().st_size > 200
    assert "wrote" in capsys.readouterr().out
    assert main(["export", str(path), "--cell", "top", "-o", str(tmp_path / "out.txt")]) == 2
    assert "end its name with .sp, .v or .svg" in capsys.readouterr().err
