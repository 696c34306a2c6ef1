"""Pads, clocks, oscillators, resets, self-timed circuits, and stages that hold by charge."""

from layoutdrill.netlist.model import Kind, Mode

from .board import Board


def _z(value):
    return {"pad": value}


def _pads():
    b = Board()
    en = b.inv("e", "en")
    b.nand("d", "e", y="up")
    b.nor("d", en, y="dn")
    b.p("up", "pad", "VDD", "pad.p", width=60)
    b.n("dn", "pad", "VSS", "pad.n", width=40)
    yield b.case(
        "pad_tristate", "d e pad", "tri-state pad", {}, family="pad",
        steps=lambda: [({"d": 0, "e": 1}, _z(0)), ({"d": 1}, _z(1)), ({"d": 0}, _z(0))],
        slips=(("drop", "up.p0"), ("gate", "dn.n1", "e"), ("drop", "pad.n")),
    )  # fmt: skip
    b = Board()
    en = b.inv("e", "en")
    b.nand("d", "e", y="up")
    b.nor("d", en, y="dn")
    b.p("up", "pad", "VDD", "pad.p", width=60)
    b.n("dn", "pad", "VSS", "pad.n", width=40)
    b.r("pad", "in")
    b.p("VDD", "in", "VDD", "in.clamp", width=40)
    b.n("VSS", "in", "VSS", "in.clamp'2", width=40)
    b.buf("in", "q")
    yield b.case(
        "pad_both_ways", "d e pad q", "bidirectional pad", {"input protection": 1}, family="pad",
        slips=(("drop", "dn.p0"), ("gate", "up.n0", "en"), ("drop", "q.p0")),
    )  # fmt: skip
    b = Board()
    b.r("pad", "in", "1k")
    b.diode("in", "VDD")
    b.diode("VSS", "in")
    b.buf("in", "q")
    yield b.case(
        "pad_input", "pad q", "input pad", {"input protection": 1}, family="pad", inputs=("pad",),
        source="input protection of a series resistor and two diodes (a US filing of 1970)", held_out=True,
        function=lambda v: {"q": v["pad"]},
        slips=(("drop", "q.p0"), ("gate", "q.n0", "VSS"), ("flip", "q.n0")),
    )  # fmt: skip
    b = Board()
    b.n(b.buf("d", "g"), "pad", "VSS", "pad.n", width=40)
    yield b.case(
        "pad_open_drain", "d pad", "open-drain pad", {}, family="pad",
        slips=(("drop", "g.p0"), ("flip", "g.n0"), ("gate", "pad.n", "VSS")),
    )  # fmt: skip
    b = Board("nmos")
    b.n(b.nor("d", "e", y="g"), "pad", "VSS", "pad.n", width=40)
    yield b.case(
        "pad_open_drain_nmos", "d e pad", "open-drain pad", {}, family="pad",
        slips=(("drop", "g.load"), ("twice", "g.load"), ("gate", "g.n1", "pad")),
    )  # fmt: skip
    b = Board()
    b.r("VDD", "pad", "50k")
    y = "y"
    k, m = "k", "m"
    b.n("pad", y, k, "y.n0")
    b.n("pad", k, "VSS", "y.n1")
    b.n(y, "VDD", k, "y.nf")
    b.p("pad", y, m, "y.p0")
    b.p("pad", m, "VDD", "y.p1")
    b.p(y, "VSS", m, "y.pf")
    b.inv(y, "q")
    yield b.case(
        "pad_schmitt", "pad q", "input pad", {"Schmitt inverter": 1}, family="pad", inputs=("pad",),
        function=lambda v: {"q": v["pad"]}, source="CMOS Schmitt inverter of six transistors (course slides)",
        held_out=True, slips=(("gate", "y.nf", "q"), ("drop", "y.p1"), ("end", "y.pf", "VSS", "VDD")),
    )  # fmt: skip
    b = Board()
    a = "d"
    for i in range(4):
        y = "pad" if i == 3 else f"x{i}"
        b.put(f"{y}.n0", Kind.N, a, y, "VSS", width=4 * 3**i)
        b.put(f"{y}.p0", Kind.P, a, y, "VDD", width=8 * 3**i)
        a = y
    yield b.case(
        "pad_output", "d pad", "output pad", {"inverter": 4}, family="pad", inputs=("d",),
        function=lambda v: {"pad": v["d"]},
        slips=(("drop", "x1.p0"), ("flip", "x2.n0"), ("gate", "pad.p0", "x1")),
    )  # fmt: skip
    b = Board()
    for k in range(3):
        b.tri(f"d{k}", "bus", f"e{k}", b.inv(f"e{k}", f"e{k}n"))
    b.inv("bus", "q")
    b.put("bus.nk", Kind.N, "q", "bus", "VSS", length=20, width=3)
    b.put("bus.pk", Kind.P, "q", "bus", "VDD", length=20, width=3)

    def bus():
        idle = {f"e{k}": 0 for k in range(3)}
        return [
            (idle | {"d0": 0, "d1": 1, "d2": 0, "e0": 1}, {"q": 0}), ({"e0": 0}, {"q": 0}), ({"e1": 1}, {"q": 1}),
            ({"e1": 0}, {"q": 1}), ({"d1": 0}, {"q": 1}), ({"e2": 1}, {"q": 0}),
        ]  # fmt: skip

    yield b.case(
        "bus_keeper", "d0 d1 d2 e0 e1 e2 q", "bus with keeper", {"tri-state inverter": 3}, family="pad", steps=bus,
        slips=(("gate", "bus.n", "e1"), ("drop", "q.p0"), ("drop", "e2n.n0")),
    )  # fmt: skip


def _clocks():
    b = Board("nmos")
    b.inv("c", "cn")
    b.nor("c", "f2", y="x1")
    b.nor("cn", "f1", y="x2")
    b.buf("x1", "f1")
    b.buf("x2", "f2")

    def phases():
        steps = []
        for _ in range(3):
            steps += [({"c": 0}, {"f1": 1, "f2": 0}), ({"c": 1}, {"f1": 0, "f2": 1})]
        return steps

    yield b.case(
        "two_phase", "c f1 f2", "two-phase clock generator", {"NOR2": 2}, family="clock", steps=phases,
        source="non-overlapping phases by two cross-coupled NOR (Mead & Conway 1980, from memory)", held_out=True,
        slips=(("drop", "x1.load"), ("gate", "x2.n1", "f2"), ("drop", "cn.load")),
    )  # fmt: skip
    for style, count in (("cmos", 5), ("nmos", 7)):
        b = Board(style)
        for i in range(count):
            b.inv(f"x{i}", f"x{(i + 1) % count}")
        b.inv("x0", "y")
        yield b.case(
            f"ring_{count}", "y", "ring oscillator", {"inverter": count + 1}, family="oscillator",
            slips=(("drop", "x2.n0"), ("gate", "x3.n0", "x1"), ("drop", "x1.p0" if style == "cmos" else "x1.load")),
        )  # fmt: skip
    b = Board()
    b.nand("e", "x4", y="x0")
    for i in range(4):
        b.inv(f"x{i}", f"x{i + 1}")
    b.buf("x4", "y")
    yield b.case(
        "ring_gated", "e y", "ring oscillator", {"NAND2": 1}, family="oscillator",
        slips=(("drop", "x0.p0"), ("gate", "x3.n0", "x1"), ("flip", "x2.p0")),
    )  # fmt: skip
    b = Board()
    b.inv("a", "k")
    b.inv("k", "y")
    b.r("k", "m", "100k")
    b.c("y", "m", "100p")
    b.r("m", "a", "1meg")
    yield b.case(
        "rc", "y", "RC oscillator", {"inverter": 2}, family="oscillator",
        source="two-inverter RC oscillator (application notes of the 4000 series, from memory)", held_out=True,
        slips=(("drop", "k.p0"), ("drop", "y.n0"), ("flip", "k.n0")),
    )  # fmt: skip
    b = Board()
    b.inv("xin", "xout")
    b.r("xin", "xout", "10meg")
    b.c("xin", "VSS", "22p")
    b.c("xout", "VSS", "22p")
    b.buf("xout", "y")
    yield b.case(
        "crystal", "xin xout y", "crystal oscillator", {}, family="oscillator",
        source="inverter, feedback resistor and two capacitors at a crystal's pins (application notes, from memory)",
        held_out=True, slips=(("drop", "xout.p0"), ("flip", "xout.n0"), ("drop", "y.p0")),
    )  # fmt: skip
    b = Board()
    b.r("VDD", "a", "1meg")
    b.c("a", "VSS", "1n")
    k, m = "k", "m"
    b.n("a", "y", k, "y.n0")
    b.n("a", k, "VSS", "y.n1")
    b.n("y", "VDD", k, "y.nf")
    b.p("a", "y", m, "y.p0")
    b.p("a", m, "VDD", "y.p1")
    b.p("y", "VSS", m, "y.pf")
    b.inv("y", "rn")
    yield b.case(
        "power_on", "rn", "power-on reset", {"Schmitt inverter": 1}, family="reset",
        slips=(("drop", "y.n1"), ("drop", "rn.p0"), ("end", "y.nf", "VDD", "VSS")),
    )  # fmt: skip
    b = Board()
    b.inv("a", "x0")
    b.inv("x0", "x1")
    b.inv("x1", "x2")
    b.and_("a", "x2", y="y")
    yield b.case(
        "edge_pulse", "a y", "edge pulse generator", {"inverter": 4}, family="reset", inputs=("a",),
        function=lambda v: {"y": 0}, slips=(("drop", "x1.n0"), ("gate", "x2.p0", "x0"), ("flip", "x0.p0")),
    )  # fmt: skip


def _timeless():
    b = Board()
    b.network(Kind.N, ("s", "a", "b"), "yn", "VSS", "yn.n")
    b.network(Kind.P, ("s", "a", "b"), "yn", "VDD", "yn.p")
    b.inv("yn", "y")
    b.put("yn.nk", Kind.N, "y", "yn", "VSS", length=16, width=3)
    b.put("yn.pk", Kind.P, "y", "yn", "VDD", length=16, width=3)

    def element():
        order = [(0, 0), (0, 1), (1, 1), (1, 0), (0, 0), (1, 0), (1, 1), (0, 1), (0, 0)]
        steps, y = [], 0
        for p, q in order:
            y = p if p == q else y
            steps.append(({"a": p, "b": q}, {"y": y}))
        return steps

    yield b.case(
        "c_element", "a b y", "C-element", {}, family="self-timed", steps=element,
        source="C-element with a weak inverter as keeper (Muller 1959; Mead & Conway 1980, ch. 7, from memory)",
        held_out=True, slips=(("gate", "yn.p1", "y"), ("drop", "y.p0"), ("flip", "yn.n0")),
    )  # fmt: skip
    b = Board()
    b.nand("r1", "x2", y="x1")
    b.nand("r2", "x1", y="x2")
    for i, j in ((1, 2), (2, 1)):
        b.p(f"x{i}", f"g{i}", f"x{j}", f"g{i}.p0", width=8)  # the other loop's net is its supply
        b.n(f"x{i}", f"g{i}", "VSS", f"g{i}.n0")

    def grants():
        return [({"r1": 0, "r2": 0}, {"g1": 0, "g2": 0}), ({"r1": 1}, {"g1": 1, "g2": 0}),
                ({"r2": 1}, {"g1": 1, "g2": 0}), ({"r1": 0}, {"g1": 0, "g2": 1})]  # fmt: skip

    yield b.case(
        "arbiter", "r1 r2 g1 g2", "arbiter", {}, family="self-timed", steps=grants,
        source="mutual exclusion element (Seitz, in Mead & Conway 1980, ch. 7, from memory)", held_out=True,
        slips=(("drop", "x1.p0"), ("end", "g1.p0", "x2", "x1"), ("gate", "g2.n0", "x1")),
    )  # fmt: skip
    b = Board()
    for i in range(4):
        an = b.inv(f"a{i}", f"an{i}")
        b.n(f"a{i}", f"y{i}", "VSS", f"y{i}.n0", width=8)
        b.n(an, f"z{i}", "VSS", f"z{i}.n0", width=8)
        b.p(f"z{i}", f"y{i}", "VDDH", f"y{i}.p0")
        b.p(f"y{i}", f"z{i}", "VDDH", f"z{i}.p0")
    yield b.case(
        "shifters", "a0 a1 a2 a3 z0 z1 z2 z3 VDDH", "4 × level shifter", {"level shifter": 4}, family="pad",
        steps=lambda: [({f"a{i}": v >> i & 1 for i in range(4)}, {f"z{i}": v >> i & 1 for i in range(4)})
                       for v in (0, 5, 10, 15, 3)],
        slips=(("gate", "y1.p0", "y1"), ("drop", "an2.p0"), ("end", "z3.p0", "VDDH", "VSS")),
    )  # fmt: skip


def _charge():
    b = Board("nmos")
    b.inv("a", "an")
    b.n("VDD", "VDD", "g", "g.load", length=2, width=4)
    b.put("g.boot", Kind.N, "g", "y", "y", width=30)
    b.n("g", "VDD", "y", "y.load", length=2, width=10)
    b.n("an", "y", "VSS", "y.n0", width=40)
    yield b.case(
        "bootstrap", "a y", "bootstrap driver", {"capacitor": 1}, family="dynamic",
        slips=(("drop", "y.load"), ("drop", "an.load"), ("flip", "y.n0")),
    )  # fmt: skip
    b = Board()
    first = ""
    for i, own in enumerate((("a", "b"), ("c", "d"))):
        ins = (*own, first) if first else own
        y = f"x{i}"
        b.p("ck", y, "VDD", f"{y}.pre", width=8)
        foot = f"k{i}"
        b.network(Kind.N, ("p", ("s", *ins[:2]), *ins[2:]), y, foot, f"{y}.n")
        b.n("ck", foot, "VSS", f"{y}.foot")
        first = b.inv(y, f"y{i}")

    def domino():
        steps = []
        for v in range(16):
            x = {n: v >> i & 1 for i, n in enumerate("abcd")}
            y0 = x["a"] & x["b"]
            y1 = (x["c"] & x["d"]) | y0
            steps += [
                ({"ck": 0, "a": 0, "b": 0, "c": 0, "d": 0}, {"y0": 0, "y1": 0}),
                (x, {}),
                ({"ck": 1}, {"y0": y0, "y1": y1}),
            ]
        return steps

    yield b.case(
        "domino", "ck a b c d y0 y1", "2 × domino gate", {"domino gate": 2}, family="dynamic", steps=domino,
        slips=(("drop", "x1.pre"), ("gate", "x0.foot", "a"), ("flip", "x1.n0")),
    )  # fmt: skip
    b = Board("nmos")
    for i in range(4):
        b.n(f"f{i % 2 + 1}", f"d{i}", f"m{i}", f"m{i}.s")
        b.inv(f"m{i}", f"y{i}")
    yield b.case(
        "dynamic_latches", "d0 d1 d2 d3 f1 f2 y0 y1 y2 y3", "2 × 2-bit dynamic latch", {"dynamic latch": 4},
        family="dynamic", slips=(("drop", "y1.load"), ("twice", "y2.load"), ("join", "y0", "y2")),
    )  # fmt: skip
    b = Board("nmos")
    b.n("f1", "d", "m", "m.s")
    b.put("y.up", Kind.N, "mn", "VDD", "y", mode=Mode.DEPLETION, length=2, width=8)
    b.inv("m", "mn")
    b.n("m", "y", "VSS", "y.n0", width=16)
    yield b.case(
        "super_buffer", "d f1 y", "super buffer behind a pass transistor", {"super buffer": 1}, family="dynamic",
        source="inverting super buffer (Mead & Conway 1980, from memory)", held_out=True,
        slips=(("drop", "mn.load"), ("gate", "y.n0", "mn"), ("drop", "y.up")),
    )  # fmt: skip


def cases():
    """Yield the cases."""
    for group in (_pads, _clocks, _timeless, _charge):
        yield from group()
