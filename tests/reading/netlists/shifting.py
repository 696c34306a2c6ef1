"""Shift registers, registers and shifters. References: Python lists that shift."""

import random
from dataclasses import replace

from .board import Board, bits


def _two_phase(inputs, stages):
    """Return steps of a two-phase register: the inverse comes out `stages` whole cycles late."""
    steps, line = [], []
    for value in inputs:
        steps.append(({"d": value, "f1": 0, "f2": 0}, {}))
        steps += [({"f1": 1}, {}), ({"f1": 0}, {}), ({"f2": 1}, {})]
        line.append(value)
        out = {"q": line[-stages]} if len(line) >= stages else {}
        steps.append(({"f2": 0}, out))
    return steps


DATA = (1, 0, 1, 1, 0, 0, 1, 0, 0, 1, 1, 1, 0, 1, 0, 0)


def cases():
    """Yield the cases."""
    b = Board()
    cn = b.inv("c", "cn")
    d = "d"
    for i in range(8):
        d, _ = b.dff(d, "c", cn, f"q{i}")

    def rising():
        steps, line = [], []
        for value in DATA:
            line.insert(0, value)
            seen = {f"q{i}": v for i, v in enumerate(line[:8])}
            steps += [({"c": 0, "d": value}, {}), ({"c": 1}, seen), ({"d": 1 - value}, seen)]
        return steps

    gates = [n for n in b.devices if ".in.n" in n]
    yield b.case(
        "rising", ["d", "c", *(f"q{i}" for i in range(8))], "8-bit shift register", {"register bit": 8},
        family="shift register", steps=rising,
        slips=(("gate", gates[3], "cn"), ("drop", gates[4].replace(".n", ".p")), ("drop", "cn.p0")),
    )  # fmt: skip
    for style, held, source in (
        ("nmos", True, "two-phase dynamic shift register (Mead & Conway 1980, from memory)"),
        ("enmos", False, "own"),
    ):
        b = Board(style)
        d = "d"
        for i in range(6):
            for phase in ("f1", "f2"):
                node = f"m{i}{phase}"
                b.n(phase, d, node, f"{node}.s")
                d = b.inv(node, "q" if i == 5 and phase == "f2" else f"x{i}{phase}")
        yield b.case(
            f"two_phase_{style}", "d f1 f2 q", "6-bit shift register", {"shift-register bit": 6},
            family="shift register", source=source, held_out=held, steps=lambda: _two_phase(DATA, 6),
            slips=(("gate", "m2f1.s", "f2"), ("drop", "x3f2.load"), ("twice", "x1f1.load")),
        )  # fmt: skip
    b = Board("pmos", "VSS", "VDD")
    d = "d"
    for i in range(4):
        for phase, other in (("f1", "f2"), ("f2", "f1")):
            node, y = f"m{i}{phase}", "q" if i == 3 and phase == "f2" else f"x{i}{phase}"
            b.p(phase, d, node, f"{node}.s")
            b.p(node, "VSS", y, f"{y}.p0", width=16)
            # the load is on only while the phase is that hands the level on, or it were shared with the next gate
            b.p(other, "VDD", y, f"{y}.load", length=8, width=2)
            d = y
    yield b.case(
        "clocked_loads", "d f1 f2 q", "4-bit shift register", {"shift-register bit": 4}, family="shift register",
        slips=(("gate", "m1f1.s", "f2"), ("drop", "x2f2.load"), ("flip", "x1f1.p0")),
    )  # fmt: skip
    for style, high, low in (("pmos", "VSS", "VDD"), ("enmos", "VDD", "VSS")):
        b = Board(style, high, low)
        for y, ins in (("x", "a"), ("y", "ab")):
            for i, net in enumerate(ins):
                b.switch(net, high, y, f"{y}.d{i}", width=16)
            b.switch("ph", low if style == "pmos" else high, y, f"{y}.load", length=12, width=3)
        if style == "enmos":
            for name in ("x.d0", "y.d0", "y.d1"):
                b.devices[name] = replace(b.devices[name], source=low)
        yield b.case(
            f"clocked_gates_{style}", "a b ph x y", "2 × clocked-load gate", {"clocked-load gate": 2},
            family="shift register", slips=(("flip", "y.d1"), ("gate", "x.load", "x"), ("twice", "y.d0")),
        )  # fmt: skip
    b = Board("pmos", "VSS", "VDD")
    d = "d"
    for i in range(3):
        for phase in ("f1", "f2"):
            node, y = f"m{i}{phase}", "q" if i == 2 and phase == "f2" else f"x{i}{phase}"
            b.p(phase, d, node, f"{node}.s")
            b.p(phase, y, phase, f"{y}.pre")
            b.p(node, y, phase, f"{y}.p0")
            d = y
    yield b.case(
        "ratioless", "d f1 f2 q", "3-bit ratioless shift register", {"ratioless stage": 6},
        family="shift register", slips=(("gate", "m1f1.s", "f2"), ("drop", "x1f2.pre"), ("flip", "x0f2.p0")),
    )  # fmt: skip
    b = Board("pmos", "VSS", "VDD")
    d = "d"
    for i in range(2):
        for j, (pre, read) in enumerate((("f1", "f2"), ("f3", "f4"))):
            y, k = "q" if (i, j) == (1, 1) else f"x{i}{j}", f"k{i}{j}"
            b.p(pre, y, "VDD", f"{y}.pre")
            b.p(read, y, k, f"{y}.eval")
            b.p(d, k, "VSS", f"{y}.p0")
            d = y
    yield b.case(
        "four_phase_rails", "d f1 f2 f3 f4 q", "2-bit four-phase shift register", {"four-phase stage": 4},
        family="shift register", slips=(("gate", "x10.eval", "f4"), ("drop", "x01.pre"), ("drop", "x10.p0")),
    )  # fmt: skip
    b = Board("pmos", "VSS", "VDD")
    d = "d"
    for i in range(4):
        for j, (pre, read) in enumerate((("f1", "f2"), ("f3", "f4"))):
            y, k = "q" if (i, j) == (3, 1) else f"x{i}{j}", f"k{i}{j}"
            b.p(pre, y, pre, f"{y}.pre")  # charged from its own phase
            b.p(read, y, k, f"{y}.eval")
            b.p(d, k, pre, f"{y}.p0")
            d = y
    yield b.case(
        "four_phase", "d f1 f2 f3 f4 q", "4-bit four-phase shift register", {"four-phase stage": 8},
        family="shift register", source="four-phase dynamic logic, ratioless (published in the 1960s; from memory)",
        held_out=True, slips=(("gate", "x10.eval", "f4"), ("drop", "x20.pre"), ("gate", "x11.p0", "x00")),
    )  # fmt: skip
    b = Board()
    cn, ln = b.inv("c", "cn"), b.inv("l", "ln")
    d = "d"
    for i in range(4):
        picked = b.inv(b.gate(("p", ("s", d, ln), ("s", f"p{i}", "l"))), f"d{i}")
        d, _ = b.dff(picked, "c", cn, f"q{i}")

    def loading():
        rng, steps, line = random.Random(3), [], [0] * 4
        for n in range(14):
            load, value, word = int(n % 5 == 0), rng.randint(0, 1), [rng.randint(0, 1) for _ in range(4)]
            line = word if load else [value, *line[:3]]
            ins = {"c": 0, "l": load, "d": value} | {f"p{i}": w for i, w in enumerate(word)}
            steps += [(ins, {}), ({"c": 1}, {f"q{i}": v for i, v in enumerate(line)})]
        return steps

    yield b.case(
        "loading", "d l c p0 p1 p2 p3 q0 q1 q2 q3", "4-bit loadable shift register",
        {"register bit": 4, "2:1 multiplexer": 4}, family="shift register", steps=loading,
        slips=(("drop", "d1.p0"), ("gate", "d2.n0", "ln"), ("drop", "ln.p0")),
    )  # fmt: skip
    b = Board()
    cn, en = b.inv("c", "cn"), b.inv("e", "en")
    for i in range(4):
        b.dff(b.mux_tg("e", en, f"q{i}", f"d{i}", f"m{i}"), "c", cn, f"q{i}")

    def enabled():
        rng, steps, word = random.Random(5), [], 0
        for n in range(12):
            new, e = rng.randrange(16), int(n == 0 or rng.random() < 0.5)
            word = new if e else word
            steps += [({"c": 0, "e": e} | bits(new, "d", 4), {}), ({"c": 1}, bits(word, "q", 4))]
        return steps

    yield b.case(
        "enabled", "d0 d1 d2 d3 e c q0 q1 q2 q3", "4-bit register with enable",
        {"register bit": 4, "2:1 multiplexer": 4}, family="register", steps=enabled,
        slips=(("drop", "d1-m1.tg.n"), ("gate", "q2-m2.tg.p", "en"), ("drop", "en.n0")),
    )  # fmt: skip
    b = Board()
    for k in ("x", "y"):
        s, r, m, n = (f"{k}{t}" for t in "srmn")
        b.nand(n, s, y=m)
        b.nand(m, f"{k}c", y=s)
        b.nand(s, f"{k}c", n, y=r)
        b.nand(r, f"{k}d", y=n)
        b.nand(s, f"{k}qn", y=f"{k}q")
        b.nand(r, f"{k}q", y=f"{k}qn")

    def edge():
        rng, steps = random.Random(8), []
        for _ in range(8):
            x, y = rng.randint(0, 1), rng.randint(0, 1)
            steps += [({"xc": 0, "yc": 0}, {}), ({"xd": x}, {}), ({"yd": y}, {}), ({"xc": 1}, {}),
                      ({"yc": 1}, {"xq": x, "yq": y, "xqn": 1 - x, "yqn": 1 - y})]  # fmt: skip
        return steps

    yield b.case(
        "six_gates", "xd xc yd yc xq xqn yq yqn", "2 × register bit", {"register bit": 2}, family="register",
        source="edge-triggered bit of six gates ('74 type, data sheet, from memory)", held_out=True, steps=edge,
        slips=(("drop", "xs.p0"), ("gate", "ym.n0", "yd"), ("flip", "xr.p1")),
    )  # fmt: skip
    b = Board()
    en = b.inv("e", "en")
    for i in range(4):
        b.latch(f"d{i}", "e", en, f"q{i}")

    def follows():
        rng, steps, word = random.Random(9), [], 0
        for n in range(10):
            new, e = rng.randrange(16), int(n % 2 == 0)
            word = new if e else word
            steps += [({"e": e}, {}), (bits(new, "d", 4), bits(word, "q", 4))]
        return steps

    tags = [n for n in b.devices if ".in." in n or ".back." in n]
    yield b.case(
        "transparent", "d0 d1 d2 d3 e q0 q1 q2 q3", "4-bit latch", {"latch": 4}, family="register", steps=follows,
        source="quad transparent latch ('75 type, data sheet; enable high: follows)", held_out=True,
        slips=(("gate", tags[1], "e"), ("drop", tags[2]), ("drop", "en.p0")),
    )  # fmt: skip
    b = Board("nmos")
    for i in range(4):
        for j in range(4):
            b.n(f"k{j}", f"d{(i - j) % 4}", f"y{i}", f"y{i}.{j}")
    ins = ("d0", "d1", "d2", "d3", "k0", "k1", "k2", "k3")

    yield b.case(
        "crossbar", [*ins, "y0", "y1", "y2", "y3"], "4-bit barrel shifter", {"pass transistor": 16}, family="shifter",
        source="barrel shifter as a crossbar of pass transistors (Mead & Conway 1980, from memory)", held_out=True,
        slips=(("gate", "y2.1", "k2"), ("drop", "y3.0"), ("end", "y1.2", "d3", "d2")),
    )  # fmt: skip
    b = Board()
    s0n, s1n = b.inv("s0", "s0n"), b.inv("s1", "s1n")
    for i in range(4):
        b.mux_tg("s0", s0n, f"d{i}", f"d{(i - 1) % 4}", f"x{i}")
    for i in range(4):
        b.mux_tg("s1", s1n, f"x{i}", f"x{(i - 2) % 4}", f"z{i}")
        b.buf(f"z{i}", f"y{i}")

    def rotate(v):
        k = v["s0"] + 2 * v["s1"]
        return {f"y{i}": v[f"d{(i - k) % 4}"] for i in range(4)}

    yield b.case(
        "rotator", "d0 d1 d2 d3 s0 s1 y0 y1 y2 y3", "4-bit barrel shifter", {"2:1 multiplexer": 8}, family="shifter",
        inputs=("d0", "d1", "d2", "d3", "s0", "s1"), function=rotate,
        slips=(("drop", "d1-x1.tg.n"), ("gate", "x2-z2.tg.p", "s0"), ("flip", "x3-z3.tg.n")),
    )  # fmt: skip
