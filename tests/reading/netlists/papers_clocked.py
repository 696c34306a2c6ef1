"""Out of papers and data sheets: registers, counters, dynamic stages; see `papers`. References: plain Python."""

import random

from layoutdrill.netlist.model import Kind

from .board import Board, bits


def _clocked():
    # 12: 7474/4013: D flip-flop with set and reset
    b = Board()
    cn = b.inv("c", "cn")
    b.tg("d", "m", cn, "c", tag="m.in")
    b.nor("m", "s", y="mn")
    b.nor("mn", "r", y="mm")
    b.tg("mm", "m", "c", cn, tag="m.back")
    b.tg("mn", "t", "c", cn, tag="t.in")
    b.nor("t", "r", y="q0")
    b.nor("q0", "s", y="tt")
    b.tg("tt", "t", cn, "c", tag="t.back")
    b.buf("q0", "q")

    def flop():
        steps = [({"c": 0, "d": 0, "s": 0, "r": 1}, {"q": 0}), ({"r": 0}, {"q": 0})]
        rng = random.Random(3)
        for _ in range(8):
            v = rng.randint(0, 1)
            steps += [({"d": v}, {}), ({"c": 1}, {"q": v}), ({"c": 0}, {"q": v})]
        return [*steps, ({"s": 1}, {"q": 1}), ({"s": 0}, {"q": 1}), ({"r": 1}, {"q": 0})]

    yield b.case(
        "set_reset_bit",
        "d c s r q",
        "register bit with set and reset",
        {},
        family="register",
        steps=flop,
        source="D flip-flop with set and reset (4013 type, data sheet)",
        held_out=True,
        slips=(("drop", "mn.n1"), ("gate", "t.in.p", "c"), ("gate", "mm.n1", "s")),
    )

    # 13: hex register with clear ('174), 6 bits
    b = Board()
    cn = b.inv("c", "cn")
    for i in range(6):
        b.dff_reset(f"d{i}", "c", cn, "rn", f"q{i}")

    def hexa():
        rng, steps = random.Random(4), [({"c": 0, "rn": 0}, bits(0, "q", 6)), ({"rn": 1}, {})]
        for _ in range(5):
            w = rng.randrange(64)
            steps += [(bits(w, "d", 6), {}), ({"c": 1}, bits(w, "q", 6)), ({"c": 0}, bits(w, "q", 6))]
        return steps

    yield b.case(
        "hex_register",
        ["c", "rn", *(f"d{i}" for i in range(6)), *(f"q{i}" for i in range(6))],
        "6-bit register",
        {"register bit": 6},
        family="register",
        steps=hexa,
        held_out=True,
        source="hex D flip-flop with clear ('174 type, data sheet)",
        slips=(("drop", "q3.p0"), ("flip", "q1.n0"), ("gate", "q4.n0", "d4")),
    )

    # 14: shift-and-store (4094), 4 bits
    b = Board()
    cn, sn, on = b.inv("c", "cn"), b.inv("st", "sn"), b.inv("oe", "on")
    d = "d"
    for i in range(4):
        q, _ = b.dff(d, "c", cn, f"q{i}")
        _, kn = b.latch(q, "st", sn, f"k{i}")
        b.tri(kn, f"y{i}", "oe", on)
        d = q

    def store():
        rng, steps, line = random.Random(6), [({"c": 0, "st": 0, "oe": 1, "d": 0}, {})], []
        for n in range(9):
            v = rng.randint(0, 1)
            line = [v, *line][:4]
            steps += [({"d": v}, {}), ({"c": 1}, {}), ({"c": 0}, {})]
            if n > 3:
                steps += [({"st": 1}, {f"y{i}": x for i, x in enumerate(line)}), ({"st": 0}, {})]
        return steps

    yield b.case(
        "shift_and_store",
        "d c st oe y0 y1 y2 y3 q3",
        "4-bit shift-and-store register",
        {"tri-state inverter": 4},
        family="shift register",
        steps=store,
        held_out=True,
        source="shift-and-store bus register (4094 type, data sheet)",
        slips=(("gate", "y1.nd", "k1"), ("drop", "k2.p0"), ("gate", "y3.p", "oe")),
    )

    # 15: up/down counter, 4 bits synchronous ('191 core)
    b = Board()
    cn = b.inv("c", "cn")
    b.inv("u", "un")
    for i in range(4):
        if i < 3:
            b.inv(f"q{i}", f"n{i}")
        if i == 0:
            b.dff_reset("n0", "c", cn, "rn", "q0")
        else:
            up = b.and_("u", *(f"q{k}" for k in range(i)))
            dn = b.and_("un", *(f"n{k}" for k in range(i)))
            t = b.or_(up, dn, y=f"t{i}")
            b.dff_reset(b.xor(f"q{i}", t, y=f"d{i}"), "c", cn, "rn", f"q{i}")

    def updown():
        rng, steps, n = random.Random(8), [({"c": 0, "rn": 0, "u": 1}, bits(0, "q", 4)), ({"rn": 1}, {})], 0
        for _ in range(18):
            u = rng.randint(0, 1)
            n = (n + (1 if u else -1)) % 16
            steps += [({"u": u}, {}), ({"c": 1}, bits(n, "q", 4)), ({"c": 0}, {})]
        return steps

    yield b.case(
        "up_down",
        "c u rn q0 q1 q2 q3",
        "4-bit up/down counter",
        {"register bit": 4},
        family="counter",
        steps=updown,
        source="synchronous up/down counter ('191 type, data sheet)",
        held_out=True,
        slips=(("drop", "d2.p1"), ("gate", "t2.n0", "u"), ("flip", "n1.n0")),
    )

    # 16: BCD synchronous decade counter
    b = Board()
    cn = b.inv("c", "cn")
    b.inv("q0", "n0")
    b.inv("q3", "n3")
    b.dff_reset("n0", "c", cn, "rn", "q0")
    b.dff_reset(b.xor("q1", b.and_("q0", "n3", y="t1"), y="d1"), "c", cn, "rn", "q1")
    b.dff_reset(b.xor("q2", b.and_("q0", "q1", y="t2"), y="d2"), "c", cn, "rn", "q2")
    d3 = b.inv(b.gate(("p", ("s", "q0", "q1", "q2"), ("s", "q3", "n0")), "dn3"), "d3")
    b.dff_reset(d3, "c", cn, "rn", "q3")

    def decade():
        steps = [({"c": 0, "rn": 0}, bits(0, "q", 4)), ({"rn": 1}, {})]
        for n in range(1, 23):
            steps += [({"c": 1}, bits(n % 10, "q", 4)), ({"c": 0}, {})]
        return steps

    yield b.case(
        "decade_paper",
        "c rn q0 q1 q2 q3",
        "decade counter",
        {"register bit": 4},
        family="counter",
        steps=decade,
        source="synchronous decade counter ('160 type core, Mano, Digital Design)",
        held_out=True,
        slips=(("drop", "t1.p0"), ("gate", "dn3.n2", "q3"), ("flip", "d1.p0")),
    )

    # 17: PISO shift register, 4 bits, synchronous load ('165 / 4021 sort), NMOS two-phase dynamic
    b = Board("nmos")
    b.inv("ld", "ldn")
    q = "si"
    for i in range(4):
        dn = b.gate(("p", ("s", "ld", f"p{i}"), ("s", "ldn", q)), f"dn{i}")
        b.n("f1", dn, f"m{i}", f"m{i}.s")
        w = b.inv(f"m{i}", f"w{i}")
        b.n("f2", w, f"s{i}", f"s{i}.s")
        q = b.inv(b.inv(f"s{i}", f"v{i}"), f"q{i}")

    def piso():
        rng, steps, line = random.Random(9), [], [0] * 4
        for n in range(10):
            ld, word, si = int(n == 0 or rng.random() < 0.3), [rng.randint(0, 1) for _ in range(4)], rng.randint(0, 1)
            line = word if ld else [si, *line[:3]]
            steps += [
                ({"f1": 0, "f2": 0, "ld": ld, "si": si, **{f"p{i}": x for i, x in enumerate(word)}}, {}),
                ({"f1": 1}, {}),
                ({"f1": 0}, {}),
                ({"f2": 1}, {f"q{i}": x for i, x in enumerate(line)}),
            ]
        return steps

    yield b.case(
        "parallel_in",
        "si ld f1 f2 p0 p1 p2 p3 q3",
        "4-bit loadable shift register",
        {},
        family="shift register",
        steps=piso,
        held_out=True,
        source="parallel-in shift register (4021 type, data sheet), as two-phase NMOS",
        slips=(("drop", "w2.load"), ("gate", "s1.s", "f1"), ("drop", "dn3.n3")),
    )

    # 18: quad NOR latch with tri-state outputs (4043)
    b = Board()
    en = b.inv("e", "en")
    for i in range(4):
        b.nor(f"r{i}", f"x{i}", y=f"q{i}")
        b.nor(f"s{i}", f"q{i}", y=f"x{i}")
        b.tri(f"x{i}", f"y{i}", "e", en)

    def nors():
        rng, steps = random.Random(12), []
        for _ in range(6):
            w = rng.randrange(16)
            steps += [
                ({"e": 1, **bits(w, "s", 4), **bits(w ^ 15, "r", 4)}, bits(w, "y", 4)),
                ({**bits(0, "s", 4), **bits(0, "r", 4)}, bits(w, "y", 4)),
            ]
        return steps

    yield b.case(
        "quad_nor_latch",
        ["e", *(f"{x}{i}" for i in range(4) for x in "sry")],
        "4 × SR latch, 4 × tri-state inverter, inverter",
        {"tri-state inverter": 4},
        family="latch",
        steps=nors,
        source="quad NOR latch with three-state outputs (4043 type, data sheet)",
        held_out=True,
        slips=(("gate", "q1.n1", "s1"), ("drop", "y2.pd"), ("drop", "x3.p0")),
    )

    # 19: ISCAS s27
    b = Board()
    cn = b.inv("ck", "ckn")
    b.inv("g0", "g14")
    b.and_("g14", "g6", y="g8")
    b.nor("g1", "g7", y="g12")
    b.or_("g12", "g8", y="g15")
    b.or_("g3", "g8", y="g16")
    b.nand("g16", "g15", y="g9")
    b.nor("g5", "g9", y="g11")
    b.nor("g14", "g11", y="g10")
    b.nor("g2", "g12", y="g13")
    b.inv("g11", "g17")
    b.dff("g10", "ck", cn, "g5")
    b.dff("g11", "ck", cn, "g6")
    b.dff("g13", "ck", cn, "g7")
    yield b.case(
        "s27",
        "ck g0 g1 g2 g3 g17",
        "3-bit state register",
        {"register bit": 3},
        family="register",
        source="circuit s27 of the ISCAS-89 benchmarks (Brglez, Bryan and Kozminski 1989)",
        held_out=True,
        slips=(("drop", "g9.p0"), ("gate", "g13.n0", "g14"), ("flip", "g17.n0")),
    )

    # 20: phase detector with two flip-flops reset together (4046 type, comparator II simplified): NAND form
    b = Board()
    b.nand("r", "up", y="a1")
    b.nand("v", "dn", y="b1")
    b.nand("a1", "a3", y="a2")
    b.nand("a2", "z", y="a3")
    b.nand("b1", "b3", y="b2")
    b.nand("b2", "z", y="b3")
    b.nand("a1", "a2", "b1", "b2", y="z")
    b.nand("a1", "a2", "z", y="up")
    b.nand("b1", "b2", "z", y="dn")
    yield b.case(
        "phase_detector",
        "r v up dn",
        "phase detector",
        {},
        family="oscillator",
        held_out=True,
        source="phase and frequency detector of nine gates (4044 type, data sheet)",
        slips=(("drop", "z.p0"), ("gate", "up.n0", "r"), ("flip", "a3.p1")),
    )

    # 21: NORA stage: n-block then p-block then clocked latch
    b = Board()
    fn = b.inv("f", "fn")
    b.p("f", "x", "VDD", "x.pre")
    b.network(Kind.N, ("p", ("s", "a", "b"), "c"), "x", "k", "x.n")
    b.n("f", "k", "VSS", "x.foot")
    b.n(fn, "y", "VSS", "y.pre")
    b.network(Kind.P, ("p", "x", "d"), "y", "l", "y.p", width=8)
    b.p(fn, "l", "VDD", "y.head")
    b.tri("y", "q", "f", fn)
    yield b.case(
        "n_p_pipeline",
        "f a b c d q",
        "precharged gate, predischarged gate, tri-state inverter, inverter",
        {"tri-state inverter": 1},
        family="dynamic",
        source="dynamic CMOS without races (Gonçalves and De Man 1983)",
        held_out=True,
        slips=(("gate", "y.pre", "f"), ("drop", "x.foot"), ("gate", "q.p", "f")),
    )

    # 22: C-element, symmetric, static (van Berkel)
    b = Board()
    b.p("a", "p1", "VDD", "p1.a")
    b.p("b", "p1", "y", "p1.b")
    b.p("b", "p2", "VDD", "p2.b")
    b.p("a", "p2", "y", "p2.a")
    b.p("q", "p1", "p2", "pq")
    b.n("a", "n1", "VSS", "n1.a")
    b.n("b", "n1", "y", "n1.b")
    b.n("b", "n2", "VSS", "n2.b")
    b.n("a", "n2", "y", "n2.a")
    b.n("q", "n1", "n2", "nq")
    b.inv("y", "q")
    yield b.case(
        "symmetric_c",
        "a b q",
        "C-element",
        {},
        family="handshake",
        held_out=True,
        source="symmetric C-element (van Berkel 1992)",
        steps=lambda: [
            ({"a": 0, "b": 0}, {"q": 0}),
            ({"a": 1}, {"q": 0}),
            ({"b": 1}, {"q": 1}),
            ({"a": 0}, {"q": 1}),
            ({"b": 0}, {"q": 0}),
            ({"b": 1}, {"q": 0}),
            ({"a": 1}, {"q": 1}),
        ],
        slips=(("drop", "n2.a"), ("gate", "pq", "y"), ("flip", "nq")),
    )


def cases():
    """Yield the cases."""
    yield from _clocked()
