"""
DC levels against ngspice (an independent circuit simulator), level-1 models, one operating point for every input row.

ngspice solves the circuit's equations and knows no logic. Driven levels must lie on the same side of the middle, 0s and
1s from full switches near the rail, poor levels about one threshold off it.
"""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from circuits import circuit, gate, inverter

from layoutdrill.netlist.model import Kind, Mode
from layoutdrill.simulate.drops import drops
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.states import input_rows

NGSPICE = shutil.which("ngspice")
pytestmark = pytest.mark.skipif(NGSPICE is None, reason="not run: ngspice is not installed")

SUPPLY, VT, DEPLETION = 5.0, 1.0, -3.0
MODELS = f"""
.model nmos nmos level=1 vto={VT} kp=50u gamma=0 lambda=0
.model pmos pmos level=1 vto={-VT} kp=20u gamma=0 lambda=0
.model nmosd nmos level=1 vto={DEPLETION} kp=50u gamma=0 lambda=0
"""

CASES = {
    "inverter": (circuit("a y VDD VSS", *inverter("a", "y")), "a", {}),
    "NAND2": (circuit("a b y VDD VSS", "p a VDD y", "p b VDD y", "n a y k", "n b k VSS"), "a b", {}),
    "NOR3": (circuit("a b c y VDD VSS", "n a y VSS", "n b y VSS", "n c y VSS", "p a VDD k", "p b k l", "p c l y"),
             "a b c", {}),
    "AOI21": (circuit("a b c y VDD VSS", "n a y k", "n b k VSS", "n c y VSS", "p a VDD m", "p b VDD m", "p c m y"),
              "a b c", {}),
    "OAI21": (circuit("a b c y VDD VSS", "n a y k", "n b y k", "n c k VSS", "p a VDD m", "p b m y", "p c VDD y"),
              "a b c", {}),
    "XOR2, switches": (
        circuit("a b y VDD VSS", *inverter("a", "an"), *inverter("b", "bn"), *gate("b", "y", "an", "a"),
                *gate("bn", "y", "a", "an")), "a b", {},
    ),
    "2:1 multiplexer": (
        circuit("s d0 d1 y VDD VSS", *inverter("s", "sn"), *gate("d0", "y", "sn", "s"), *gate("d1", "y", "s", "sn")),
        "s d0 d1", {},
    ),
    "2:1 multiplexer, pass": (circuit("s sn d0 d1 y VDD VSS", "n sn d0 y", "n s d1 y"), "s d0 d1", {"sn": "s"}),
    "NMOS inverter": (circuit("a y VDD VSS", "d y y VDD 8/2", "n a y VSS 2/4"), "a", {}),
    "NMOS NAND2": (circuit("a b y VDD VSS", "d y y VDD 16/2", "n a y k 2/4", "n b k VSS 2/4"), "a b", {}),
    "NMOS NOR2": (circuit("a b y VDD VSS", "d y y VDD 8/2", "n a y VSS 2/4", "n b y VSS 2/4"), "a b", {}),
    "enhancement load": (circuit("a y VDD VSS", "n VDD VDD y 16/2", "n a y VSS 2/8"), "a", {}),
    "p load": (circuit("a b y VDD VSS", "p VSS VDD y 8/2", "n a y VSS 2/4", "n b y VSS 2/4"), "a b", {}),
    "pass transistor, then inverter": (circuit("d g y VDD VSS", "n g d m", *inverter("m", "y")), "d g", {}),
    "level restorer": (circuit("d g y VDD VSS", "n g d a 2/8", *inverter("a", "y"), "p y VDD a 8/2"), "d g", {}),
    "mirror carry": (
        circuit("a b c y VDD VSS", "n c y k", "n a k VSS", "n b k VSS", "n a y l", "n b l VSS",
                "p c y m", "p a m VDD", "p b m VDD", "p a y o", "p b o VDD"), "a b c", {},
    ),
}  # fmt: skip


def deck(netlist, rows):
    """Return one deck with a copy of the circuit for each row of inputs."""
    lines = ["levels", MODELS, f"vh VDD 0 {SUPPLY}", "vl VSS 0 0"]
    ports = set()
    for r, row in enumerate(rows):
        name = lambda net, r=r: net if net in ("VDD", "VSS") else f"{net}_{r}"  # noqa: E731
        for t in netlist.transistors:
            size = f"l={t.length or 2000}n w={t.width or 4000}n"
            body = "VDD" if t.kind is Kind.P else "VSS"
            model = t.model if t.mode is Mode.DEPLETION else f"{t.kind}mos"
            lines.append(f"m{t.name}_{r} {name(t.drain)} {name(t.gate)} {name(t.source)} {body} {model} {size}")
            ports |= {name(end) for end in t.ends}
        lines += [f"v{net}_{r} {net}_{r} 0 {SUPPLY * value}" for net, value in row.items()]
    lines += [f"rs{i} {net} 0 1e12" for i, net in enumerate(sorted(ports - {"VDD", "VSS"}))]
    return "\n".join([*lines, ".op", ".control", "op", "print all", ".endc", ".end", ""])


def solve(netlist, rows, folder):
    """Return the voltages by node, as ngspice prints them."""
    path = folder / "levels.cir"
    path.write_text(deck(netlist, rows))
    done = subprocess.run([NGSPICE, "-b", "-n", str(path)], capture_output=True, text=True, timeout=60, check=False)
    found = re.findall(r"^(\S+) = (-?[0-9.]+e[-+][0-9]+)\s*$", done.stdout, re.MULTILINE)
    assert found, done.stdout + done.stderr
    return {name.lower(): float(value) for name, value in found}


@pytest.mark.parametrize("case", CASES)
def test_levels_agree(case, tmp_path):
    """Each driven level is the one that ngspice finds; a poor level is about as poor."""
    netlist, inputs, tied = CASES[case]
    rows = list(input_rows([*inputs.split(), *tied], tied))
    volts = solve(netlist, rows, tmp_path)
    compared = 0
    for r, row in enumerate(rows):
        state = settle(netlist, row)
        lost = drops(state)
        for net in netlist.nets:
            level = state.level(net)
            if net in row or net in ("VDD", "VSS") or not level.known or f"{net}_{r}" not in volts:
                continue
            seen = volts[f"{net}_{r}"]
            short = seen if level == "0" else SUPPLY - seen
            if net == "y" or net in lost:
                assert (seen > SUPPLY / 2) == (level == "1"), (row, net, seen)
                compared += 1
                if net in lost:
                    assert 0.5 * VT < short < (lost[net] + 0.6) * VT, (row, net, seen)
                elif not any(t.mode is Mode.DEPLETION or t.gate in ("VDD", "VSS") for t in netlist.transistors):
                    assert short < 0.3 * VT, (row, net, seen)
    assert compared >= len(rows) // 2
