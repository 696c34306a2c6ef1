"""
Circuits stepped through in time against ngspice (an independent circuit simulator): loads, switches, charge, fights.

Each case has its lines, the levels of its inputs step by step, the nets looked at, and what capacitance a net has
besides 20 fF. The volts kept in `data/in_time.csv` are those of ngspice 39 at 95 % of each step of 1 µs (`.tran`,
level-1 models with the proportions of the simulator's own); `python tests/simulate/test_in_time.py keep` makes them.
"""

import csv
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from layoutdrill.netlist.model import Kind
from layoutdrill.netlist.spice import read_spice
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.sequence import sequence

NGSPICE = shutil.which("ngspice")
KEPT = Path(__file__).parent / "data" / "in_time.csv"
SUPPLY = 5.0
MODELS = """
.model nmos nmos level=1 vto=1 kp=25u gamma=0 lambda=0
.model pmos pmos level=1 vto=-1 kp=10u gamma=0 lambda=0
.model nmosd nmos level=1 vto=-3 kp=25u gamma=0 lambda=0
"""
CASES = {
    "NMOS NOR2, one side wide": (
        ["M1 y a VSS nmos L=2u W=8u", "M2 y b VSS nmos L=2u W=8u", "M3 VDD y y nmosd L=4u W=2u"],
        "a b",
        "00 10 01 11",
        "y",
        {},
    ),
    "NMOS NAND2, ratio 4 for each of two": (
        ["M1 y a k nmos L=2u W=16u", "M2 k b VSS nmos L=2u W=16u", "M3 VDD y y nmosd L=4u W=2u"],
        "a b",
        "00 10 01 11",
        "y",
        {},
    ),
    "NMOS NAND3 with drivers too narrow": (
        [
            "M1 y a k nmos L=6u W=2u",
            "M2 k b l nmos L=6u W=2u",
            "M4 l c VSS nmos L=6u W=2u",
            "M3 VDD y y nmosd L=2u W=4u",
        ],
        "a b c",
        "110 111",
        "y",
        {},
    ),
    "NMOS inverter behind a pass transistor": (
        ["M1 d g m nmos L=2u W=4u", "M2 y m VSS nmos L=2u W=16u", "M3 VDD y y nmosd L=4u W=2u"],
        "d g",
        "01 11 10 00",
        "m y",
        {},
    ),
    "two enhancement loads in chain": (
        [
            "M1 VDD VDD y nmos L=16u W=2u",
            "M2 y a VSS nmos L=2u W=8u",
            "M3 VDD VDD z nmos L=16u W=2u",
            "M4 z y VSS nmos L=2u W=16u",
        ],
        "a",
        "0 1",
        "y z",
        {},
    ),
    "charge sharing, store large": (
        ["M1 d p s nmos L=2u W=4u", "M2 s q t nmos L=2u W=4u"],
        "d p q",
        "110 100 001",
        "s",
        {"s": "400f", "t": "20f"},
    ),
    "dynamic node holds": (
        ["M1 d p s nmos L=2u W=4u", "M2 y s VSS nmos L=2u W=4u", "M3 y s VDD pmos L=2u W=10u"],
        "d p",
        "11 10 00 01 10",
        "y",
        {},
    ),
    "precharged NAND2 with foot": (
        [
            "M1 y c VDD pmos L=2u W=10u",
            "M2 y a k nmos L=2u W=8u",
            "M3 k b l nmos L=2u W=8u",
            "M4 l c VSS nmos L=2u W=8u",
        ],
        "c a b",
        "000 110 000 111 001 101",
        "y",
        {"y": "200f"},
    ),
    "bootstrapped inverter, high output": (
        ["M1 VDD g y nmos L=2u W=8u", "M2 VDD VDD g nmos L=2u W=4u", "M3 y a VSS nmos L=2u W=64u", "C1 g y 1p"],
        "a",
        "1 0 1",
        "y",
        {"y": "50f"},
    ),
    "transmission gates, two sources apart": (
        [
            "M1 a s y nmos L=2u W=4u",
            "M2 a sn y pmos L=2u W=10u",
            "M3 b sn y nmos L=2u W=4u",
            "M4 b s y pmos L=2u W=10u",
        ],
        "s sn a b",
        "0110 1010 0101 1001",
        "y",
        {},
    ),
    "transmission gates both open": (
        [
            "M1 a s y nmos L=2u W=4u",
            "M2 a sn y pmos L=2u W=10u",
            "M3 b s y nmos L=2u W=4u",
            "M4 b sn y pmos L=2u W=10u",
        ],
        "s sn a b",
        "1011 1000 1010",
        "y",
        {},
    ),
    "keeper half as wide as the stack": (
        [
            "M1 x c VDD pmos L=2u W=10u",
            "M2 x a k nmos L=2u W=8u",
            "M3 k c VSS nmos L=2u W=8u",
            "M4 o x VSS nmos L=2u W=4u",
            "M5 o x VDD pmos L=2u W=10u",
            "M6 x o VDD pmos L=8u W=4u",
        ],
        "c a",
        "00 10 00 11",
        "x o",
        {"x": "100f"},
    ),
    "latch written against a weak feedback inverter": (
        [
            "M1 d g m nmos L=2u W=8u",
            "M2 q m VSS nmos L=2u W=8u",
            "M3 q m VDD pmos L=2u W=20u",
            "M4 m q VSS nmos L=20u W=2u",
            "M5 m q VDD pmos L=20u W=2u",
        ],
        "d g",
        "01 00 10 11 10 00",
        "q",
        {},
    ),
    "two inverters joined, one eight times the other": (
        [
            "M1 y a VSS nmos L=2u W=32u",
            "M2 y a VDD pmos L=2u W=80u",
            "M3 y b VSS nmos L=2u W=4u",
            "M4 y b VDD pmos L=2u W=10u",
        ],
        "a b",
        "00 11 10 01",
        "y",
        {},
    ),
    "two inverters joined, alike": (
        [
            "M1 y a VSS nmos L=2u W=4u",
            "M2 y a VDD pmos L=2u W=10u",
            "M3 y b VSS nmos L=2u W=4u",
            "M4 y b VDD pmos L=2u W=10u",
        ],
        "a b",
        "00 11 10 01",
        "y",
        {},
    ),
    "p load, n stack of three": (
        [
            "M1 y VSS VDD pmos L=8u W=4u",
            "M2 y a k nmos L=2u W=12u",
            "M3 k b l nmos L=2u W=12u",
            "M4 l c VSS nmos L=2u W=12u",
        ],
        "a b c",
        "011 111",
        "y",
        {},
    ),
    "pull-up of 2 kilohms against a wide driver": (
        ["M1 y a VSS nmos L=2u W=200u", "R1 y VDD 2k"],
        "a",
        "0 1",
        "y",
        {},
    ),
    "divider of two resistors and a driver": (
        ["M1 y a VSS nmos L=2u W=2u", "R1 y VDD 10k", "R2 y VSS 10k"],
        "a",
        "0 1",
        "y",
        {},
    ),
    "cascode of a pass chain of four": (
        [
            "M1 d a k nmos L=2u W=4u",
            "M2 k b l nmos L=2u W=4u",
            "M3 l c m nmos L=2u W=4u",
            "M4 m e y nmos L=2u W=4u",
            "M5 z y VSS nmos L=2u W=4u",
            "M6 z y VDD pmos L=2u W=4u",
        ],
        "d a b c e",
        "11111 01111 11111 00111",
        "z",
        {},
    ),
    "super buffer": (
        [
            "M1 u a VSS nmos L=2u W=16u",
            "M2 VDD u u nmosd L=4u W=2u",
            "M3 y a VSS nmos L=2u W=32u",
            "M4 VDD u y nmosd L=2u W=8u",
        ],
        "a",
        "0 1 0",
        "y",
        {},
    ),
    "SR latch of NORs through all": (
        [
            "M1 q r VSS nmos",
            "M2 q n VSS nmos",
            "M3 n s VSS nmos",
            "M4 n q VSS nmos",
            "M5 i r VDD pmos L=2u W=10u",
            "M6 q n i pmos L=2u W=10u",
            "M7 j s VDD pmos L=2u W=10u",
            "M8 n q j pmos L=2u W=10u",
        ],
        "r s",
        "10 00 01 00 10",
        "q",
        {},
    ),
}


SHARED = ("charge sharing, store large", "precharged NAND2 with foot")
"""Cases in which a net shares its charge with a smaller one."""


def steps_of(case):
    _, inputs, rows, *_ = CASES[case]
    return [dict(zip(inputs.split(), map(int, row), strict=True)) for row in rows.split()]


def read(case):
    return read_spice("title\n" + "\n".join(CASES[case][0]) + "\n", "in_time.sp")


def deck(case):
    """Return the deck of a case: sources that step once a microsecond, and a measurement near the end of each step."""
    _, _, _, nets, more = CASES[case]
    netlist, steps = read(case), steps_of(case)
    name = lambda net: {"VSS": "0"}.get(net, net)  # noqa: E731
    lines = ["in time", MODELS, f"vh VDD 0 {SUPPLY}"]
    for t in netlist.transistors:
        ends = f"{name(t.drain)} {name(t.gate)} {name(t.source)} {'VDD' if t.kind is Kind.P else '0'}"
        lines.append(f"m{t.name} {ends} {t.model} l={t.length or 2000}n w={t.width or 4000}n")
    lines += [f"{e.kind[0]}{e.name} {name(e.nodes[0])} {name(e.nodes[1])} {e.value}" for e in netlist.elements]
    for net in steps[0]:
        points = [
            f"{at + late}u {SUPPLY * step[net]}" for at, step in enumerate(steps) for late in (0.001 * (at > 0), 1)
        ]
        lines.append(f"v{net} {net} 0 pwl({' '.join(points)})")
    inner = sorted({n for t in netlist.transistors for n in (t.gate, *t.ends)} - {"VDD", "VSS"} - set(steps[0]))
    lines += [f"cc{net} {net} 0 {more.get(net, '20f')}" for net in inner]
    wanted = [
        f"meas tran m{at}_{net} find v({net}) at={at + 0.95}u" for at in range(len(steps)) for net in nets.split()
    ]
    lines += [f".tran 2n {len(steps)}u uic", ".control", "run", *wanted, ".endc", ".end", ""]
    return "\n".join(lines)


def volts(case, folder: Path):
    """Return (step, net, volts) as ngspice measures them."""
    path = folder / "in_time.cir"
    path.write_text(deck(case))
    done = subprocess.run([NGSPICE, "-b", "-n", str(path)], capture_output=True, text=True, timeout=120, check=False)
    seen = dict(re.findall(r"^(m\d+_\S+)\s*=\s*(\S+)", done.stdout, re.MULTILINE))
    return [
        (at, net, float(seen[f"m{at}_{net}"])) for at in range(len(steps_of(case))) for net in CASES[case][3].split()
    ]


def kept():
    """Return the volts of each case as they were kept."""
    rows = csv.reader(line for line in KEPT.read_text().splitlines() if not line.startswith("#"))
    table = {}
    for case, step, net, seen in rows:
        table.setdefault(case, []).append((int(step), net, float(seen)))
    return table


@pytest.mark.parametrize("case", CASES)
def test_the_levels_are_those_of_the_volts(case):
    """A 0 lies below a quarter of the supply and a 1 above two thirds, driven or held; a fight between the two."""
    states = sequence(read(case), steps_of(case))
    volts = kept()[case]
    assert len(volts) == len(states) * len(CASES[case][3].split())
    for step, net, seen in volts:
        level = states[step].stored(net)
        if states[step].level(net) is Level.FIGHT:
            assert 0.25 * SUPPLY < seen < 0.66 * SUPPLY, (step, net, seen)
        elif not level.known:  # it knows no capacitances, so that shared charge is X: never a level that is not there
            assert case in SHARED, (step, net, seen)
            assert states[step].level(net) is Level.FLOATING, (step, net, seen)
        else:
            assert seen < 0.25 * SUPPLY if level is Level.LOW else seen > 0.66 * SUPPLY, (step, net, level, seen)


@pytest.mark.skipif(NGSPICE is None, reason="not run: ngspice is not installed")
def test_the_volts_kept_are_those_of_ngspice(tmp_path):
    """A third of the cases, run again: what is kept is what ngspice says, to a tenth of a volt."""
    table = kept()
    assert list(table) == list(CASES)
    for case in list(CASES)[::3]:
        for (step, net, seen), (other, same, before) in zip(volts(case, tmp_path), table[case], strict=True):
            assert (step, net) == (other, same)
            assert abs(seen - before) < 0.1, (case, step, net)


if __name__ == "__main__" and sys.argv[1:] == ["keep"]:
    with tempfile.TemporaryDirectory() as folder, KEPT.open("w", newline="") as file:
        file.write("# case, step, net, volts: see test_in_time.py\n")
        writer = csv.writer(file, lineterminator="\n")
        for case in CASES:
            writer.writerows((case, step, net, f"{seen:.2f}") for step, net, seen in volts(case, Path(folder)))
