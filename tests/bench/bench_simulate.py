"""Measure simulation and recognition: adder table, settling and recognising of growing arrays."""

import sys
from collections.abc import Callable
from math import log
from time import process_time

from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.table import table

N, P = Kind.N, Kind.P


def chain(count: int) -> Netlist:
    """Return NAND2 gates in a row, each fed by the one before and one of eight inputs: `count` transistors."""
    devices = []
    for i in range(count // 4):
        a, b, y, k = f"y{i}", f"in{i % 8}", f"y{i + 1}", f"k{i}"
        devices += [
            Transistor(f"P{i}a", P, a, "VDD", y),
            Transistor(f"P{i}b", P, b, "VDD", y),
            Transistor(f"N{i}a", N, a, y, k),
            Transistor(f"N{i}b", N, b, k, "VSS"),
        ]
    ports = ("VSS", "VDD", "y0", *(f"in{i}" for i in range(8)), f"y{count // 4}")
    return Netlist("chain", ports, tuple(devices))


def ram(words: int, bits: int) -> Netlist:
    """Return six-transistor cells on word lines and bit lines."""
    devices = []
    for w in range(words):
        for b in range(bits):
            q, qn, name = f"q{w}_{b}", f"qn{w}_{b}", f"{w}_{b}"
            devices += [
                Transistor(f"P{name}a", P, q, "VDD", qn),
                Transistor(f"N{name}a", N, q, "VSS", qn),
                Transistor(f"P{name}b", P, qn, "VDD", q),
                Transistor(f"N{name}b", N, qn, "VSS", q),
                Transistor(f"N{name}c", N, f"w{w}", f"b{b}", q),
                Transistor(f"N{name}d", N, f"w{w}", f"bn{b}", qn),
            ]
    lines = (*(f"w{w}" for w in range(words)), *(f"{x}{b}" for b in range(bits) for x in ("b", "bn")))
    return Netlist("ram", ("VSS", "VDD", *lines), tuple(devices))


def registers(count: int) -> Netlist:
    """Return a shift register of two-switch latches: `count` transistors, 16 to a bit."""
    devices: list[Transistor] = []

    def inverter(name: str, a: str, y: str) -> None:
        devices.extend((Transistor(f"P{name}", P, a, "VDD", y), Transistor(f"N{name}", N, a, "VSS", y)))

    def switch(name: str, a: str, b: str, on: str, off: str) -> None:
        devices.extend((Transistor(f"N{name}", N, on, a, b), Transistor(f"P{name}", P, off, a, b)))

    for i in range(count // 16):
        for half, on, off, d, q in (("m", "cn", "c", f"q{i}", f"m{i}"), ("s", "c", "cn", f"m{i}", f"q{i + 1}")):
            switch(f"{i}{half}i", d, f"{half}a{i}", on, off)
            inverter(f"{i}{half}a", f"{half}a{i}", f"{half}b{i}")
            inverter(f"{i}{half}b", f"{half}b{i}", q)
            switch(f"{i}{half}f", q, f"{half}a{i}", off, on)
    return Netlist("registers", ("VSS", "VDD", "q0", "c", "cn", f"q{count // 16}"), tuple(devices))


def adder() -> Netlist:
    """Return the 28-transistor complementary full adder (Weste & Harris)."""
    devices: list[Transistor] = []

    def add(kind: Kind, rail: str, rows: list[tuple[str, str, str]]) -> None:
        for gate, a, b in rows:
            ends = [rail if e == "rail" else f"{e}{kind}" if e[0] == "k" else e for e in (a, b)]
            devices.append(Transistor(f"{kind}{len(devices)}", kind, gate, ends[0], ends[1]))

    mirror = [
        ("ci", "cn", "k1"), ("a", "k1", "rail"), ("b", "k1", "rail"), ("a", "cn", "k2"), ("b", "k2", "rail"),
        ("cn", "sn", "k3"), ("a", "k3", "rail"), ("b", "k3", "rail"), ("ci", "k3", "rail"),
        ("a", "sn", "k4"), ("b", "k4", "k5"), ("ci", "k5", "rail"), ("cn", "co", "rail"), ("sn", "s", "rail"),
    ]  # fmt: skip
    add(N, "VSS", mirror)
    add(P, "VDD", mirror)
    return Netlist("adder", ("VSS", "VDD", "a", "b", "ci", "s", "co"), tuple(devices))


def timed(work: Callable[..., object], *values: object, repeat: int = 1) -> float:
    """Return the least CPU time in seconds of some runs."""
    best = float("inf")
    for _ in range(repeat):
        start = process_time()
        work(*values)
        best = min(best, process_time() - start)
    return best


def main() -> None:
    print(f"{'what':34}{'ms CPU':>10}{'exponent':>10}")
    full = adder()
    print(f"{'adder table, 8 rows':34}{1000 * timed(table, full, ['a', 'b', 'ci'], ['s', 'co'], repeat=5):10.1f}")
    print(f"{'adder recognised':34}{1000 * timed(recognise, full, repeat=5):10.1f}")
    sizes = [1_000, 10_000, 100_000] if "--quick" not in sys.argv else [1_000, 10_000]
    for title, make in (("NAND chain", chain), ("shift register", registers), ("RAM", lambda n: ram(n // 192, 32))):
        rows: dict[str, list[tuple[int, float]]] = {}
        for size in sizes:
            netlist = make(size)
            count = len(netlist.transistors)
            inputs = {p: i % 2 for i, p in enumerate(netlist.ports[2:]) if p[0] in "icwb" or p in ("y0", "q0")}
            circuit = Circuit(netlist, tuple(inputs))
            rows.setdefault("compiled", []).append((count, timed(Circuit, netlist, tuple(inputs))))
            rows.setdefault("settled", []).append((count, timed(settle, circuit, inputs)))
            rows.setdefault("recognised", []).append((count, timed(recognise, netlist)))
        for what, series in rows.items():
            for (count, seconds), before in zip(series, [None, *series], strict=False):
                grown = f"{log(seconds / before[1]) / log(count / before[0]):10.2f}" if before else ""
                print(f"{f'{title}, {count} transistors {what}':34}{1000 * seconds:10.1f}{grown}")


if __name__ == "__main__":
    main()
