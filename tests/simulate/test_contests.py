"""
Paths that pull against each other, against ngspice (an independent circuit simulator): who wins is a matter of sizes.

The models have the proportions of the simulator's own: thresholds of a fifth of the supply, a depletion threshold of
three fifths, electrons 2.5 times as quick as holes.
"""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from layoutdrill.netlist.model import Kind, Mode
from layoutdrill.netlist.spice import read_spice
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.settle import settle

NGSPICE = shutil.which("ngspice")
needs_ngspice = pytest.mark.skipif(NGSPICE is None, reason="not run: ngspice is not installed")

SUPPLY = 5.0
MODELS = """
.model nmos nmos level=1 vto=1 kp=25u gamma=0 lambda=0
.model pmos pmos level=1 vto=-1 kp=10u gamma=0 lambda=0
.model nmosd nmos level=1 vto=-3 kp=25u gamma=0 lambda=0
"""


def read(lines):
    return read_spice("title\n" + "\n".join(lines) + "\n", "contest.sp")


def volts(circuits, folder: Path):
    """Return the voltages of net y of each (netlist, inputs, first guesses), from one run of ngspice."""
    deck = ["contests", MODELS, f"vh VDD 0 {SUPPLY}"]
    for at, (netlist, inputs, guesses) in enumerate(circuits):
        name = lambda net, at=at: {"VDD": "VDD", "VSS": "0"}.get(net, f"{net}_{at}")  # noqa: E731
        for t in netlist.transistors:
            body = "VDD" if t.kind is Kind.P else "0"
            nodes = f"{name(t.drain)} {name(t.gate)} {name(t.source)} {body}"
            deck.append(f"m{t.name}_{at} {nodes} {t.model} l={t.length}n w={t.width}n")
        resistors = [e for e in netlist.elements if e.kind == "resistor"]
        deck += [f"r{e.name}_{at} {name(e.nodes[0])} {name(e.nodes[1])} {e.value}" for e in resistors]
        deck += [f"v{net}_{at} {name(net)} 0 {SUPPLY * value}" for net, value in inputs.items()]
        deck += [f".nodeset v({name(net)})={SUPPLY * value}" for net, value in guesses.items()]
        deck.append(f"rfloat_{at} y_{at} 0 1e12")
    path = folder / "contests.cir"
    path.write_text("\n".join([*deck, ".op", ".control", "op", "print all", ".endc", ".end", ""]))
    done = subprocess.run([NGSPICE, "-b", "-n", str(path)], capture_output=True, text=True, timeout=120, check=False)
    found = dict(re.findall(r"^(\S+) = (-?[0-9.]+e[-+][0-9]+)\s*$", done.stdout, re.MULTILINE))
    return [float(found[f"y_{at}"]) for at in range(len(circuits))]


KEEPER = ["M1 y a k nmos L=2u W={n}u", "M2 k k VSS nmos L=2u W=2u"]
CASES = {
    # A load whose gate a bootstrap capacitor holds up, against its own driver of eight squares; other drivers are wide.
    "bootstrap stage": (
        ["M1 VDD boot y nmos L=2u W=4u", "M2 y a VSS nmos L=2u W=32u", "M3 z a VSS nmos L=2u W=2u",
         "M4 VDD VDD boot nmos L=2u W=4u", "C1 boot y 1p"],
        {"a": 1, "boot": 1}, {}, Level.LOW,
    ),
    "strong keeper, weak driver": (
        ["M1 y a VSS nmos L=20u W=2u", "M2 y q VDD pmos L=2u W=20u", "M3 q y VSS nmos L=2u W=4u",
         "M4 q y VDD pmos L=2u W=8u"],
        {"a": 1}, {"y": 1, "q": 0}, Level.HIGH,
    ),
    "weak keeper, strong driver": (
        ["M1 y a VSS nmos L=2u W=20u", "M2 y q VDD pmos L=20u W=2u", "M3 q y VSS nmos L=2u W=4u",
         "M4 q y VDD pmos L=2u W=8u"],
        {"a": 1}, {"y": 1, "q": 0}, Level.LOW,
    ),
    "pull-up of 500 ohms": (["M1 y a VSS nmos L=2u W=2u", "R1 y VDD 500"], {"a": 1}, {}, Level.HIGH),
    "pull-up of 100 kilohms": (["M1 y a VSS nmos L=2u W=2u", "R1 y VDD 100k"], {"a": 1}, {}, Level.LOW),
    "depletion load, ratio 4": (
        ["M1 y a VSS nmos L=2u W=4u", "M2 VDD y y nmosd L=4u W=2u"], {"a": 1}, {}, Level.LOW,
    ),
    "depletion load stronger than its driver": (
        ["M1 y a VSS nmos L=8u W=2u", "M2 VDD y y nmosd L=2u W=16u"], {"a": 1}, {}, Level.HIGH,
    ),
    "enhancement load, ratio 10": (
        ["M1 y a VSS nmos L=2u W=10u", "M2 VDD VDD y nmos L=4u W=2u"], {"a": 1}, {}, Level.LOW,
    ),
    "even pass transistors": (
        ["M1 VDD a y nmos L=2u W=4u", "M2 y a VSS nmos L=2u W=4u"], {"a": 1}, {}, Level.FIGHT,
    ),
    "n and p of one strength": (
        ["M1 y a VSS nmos L=2u W=4u", "M2 y b VDD pmos L=2u W=10u"], {"a": 1, "b": 0}, {}, Level.FIGHT,
    ),
}  # fmt: skip


def settled(lines, inputs, guesses):
    """Settle with nets first set as guessed, and then let go."""
    netlist = read(lines)
    if not guesses:
        return settle(netlist, inputs).level("y")
    before = dict.fromkeys(inputs, 0)
    states = sequence(netlist, [{**before, **guesses}, dict.fromkeys(guesses), inputs])
    return states[-1].level("y")


@needs_ngspice
def test_the_cases_of_sized_contests_agree(tmp_path):
    """Bootstrap, keeper, pull-up and loads: a 0 lies below a quarter of the supply in ngspice, a 1 above two thirds."""
    seen = volts([(read(lines), inputs, guesses) for lines, inputs, guesses, _ in CASES.values()], tmp_path)
    for (case, (lines, inputs, guesses, wanted)), level in zip(CASES.items(), seen, strict=True):
        assert settled(lines, inputs, guesses) == wanted, (case, level)
        if wanted is Level.LOW:
            assert level < 0.25 * SUPPLY, (case, level)
        elif wanted is Level.HIGH:
            assert level > 0.66 * SUPPLY, (case, level)
        else:
            assert 0.05 * SUPPLY < level < 0.95 * SUPPLY, (case, level)


@needs_ngspice
def test_loads_of_many_sizes_agree(tmp_path):
    """Every load against every driver: what is read 0 or 1 is that in ngspice, and what is read ! lies between."""
    loads = {
        "nmosd": "M2 VDD y y nmosd L={l}u W={w}u",
        "nmos": "M2 VDD VDD y nmos L={l}u W={w}u",
        "pmos": "M2 y VSS VDD pmos L={l}u W={w}u",
    }
    circuits = []
    for load in loads.values():
        for length, width in ((2, 16), (2, 4), (4, 2), (16, 2), (2, 2)):
            for driver in ("L=2u W=2u", "L=2u W=16u", "L=12u W=2u"):
                lines = [f"M1 y a VSS nmos {driver}", load.format(l=length, w=width)]
                circuits.append((lines, {"a": 1}, {}))
    for ohms in ("200", "1k", "5k", "20k", "80k", "1meg"):
        circuits += [([f"M1 y a VSS nmos {driver}", f"R1 y VDD {ohms}"], {"a": 1}, {}) for driver in
                     ("L=2u W=2u", "L=2u W=16u", "L=12u W=2u")]  # fmt: skip
    seen = volts([(read(lines), *rest) for lines, *rest in circuits], tmp_path)
    told = [settled(*circuit) for circuit in circuits]
    for circuit, level, volt in zip(circuits, told, seen, strict=True):
        if level is Level.LOW:
            assert volt < 0.25 * SUPPLY, (circuit, volt)
        elif level is Level.HIGH:
            assert volt > 0.65 * SUPPLY, (circuit, volt)
        else:
            assert 0.18 * SUPPLY < volt < 0.75 * SUPPLY, (circuit, level, volt)
    assert told.count(Level.LOW) >= 20
    assert told.count(Level.HIGH) >= 5
    assert told.count(Level.FIGHT) >= 5


@needs_ngspice
def test_a_ram_cell_is_written_as_its_sizes_say(tmp_path):
    """Driver wider than access, access wider than load: the write goes through; with a load too strong it does not."""
    cell = [
        "M1 q y VSS nmos L=2u W=8u", "M2 y q VSS nmos L=2u W=8u", "M3 q y VDD pmos L=2u W={p}u",
        "M4 y q VDD pmos L=2u W={p}u", "M5 bl wl y nmos L=2u W=4u", "M6 bn wl q nmos L=2u W=4u",
    ]  # fmt: skip
    for wide, wanted in ((2, Level.LOW), (80, Level.HIGH)):
        lines = [line.format(p=wide) for line in cell]
        netlist = read(lines)
        inputs = {"bl": 0, "bn": 1, "wl": 1}
        steps = [
            {"bl": 1, "bn": 0, "wl": 1, "y": 1, "q": 0},
            {"y": None, "q": None, "wl": 0},
            {"bl": 0, "bn": 1},
            inputs,
        ]
        (seen,) = volts([(netlist, inputs, {"y": 1, "q": 0})], tmp_path)
        assert sequence(netlist, steps)[-1].level("y") == wanted, (wide, seen)
        assert (seen < SUPPLY / 2) == (wanted is Level.LOW), (wide, seen)


def test_without_sizes_roles_decide():
    """Loads lose and keepers give way, as their place in the circuit says (the ladder of strengths)."""
    assert settle(read(["M1 y a VSS nmos", "M2 VDD y y nmosd"]), {"a": 1}).level("y") == Level.LOW
    assert settle(read(["M1 y a VSS nmos", "R1 y VDD rpoly"]), {"a": 1}).level("y") == Level.LOW
    assert settle(read(["M1 y a VSS nmos", "M2 y b VDD pmos"]), {"a": 1, "b": 0}).level("y") == Level.FIGHT


def test_depletion_loads_are_no_enhancement():
    """A depletion load conducts with its gate on its source; its model is what says so."""
    assert read(["M1 y y VDD ndep"]).transistors[0].mode is Mode.DEPLETION
