"""Published circuits: adders, multipliers and what recodes; from memory, each source named."""

from random import Random

from .kit import MEM, Board, P, S, bits, num


def cases():
    # Manchester
    b = Board()
    b.p("f", "k0", "VDD", "k0.pre")
    b.n("ci", "k0", "h0", "k0.g", w=8)
    b.n("f", "h0", "VSS", "k0.foot", w=8)
    b.inv("k0", "c0")
    for i in range(4):
        b.xor(f"a{i}", f"b{i}", y=f"p{i}")
        b.and_(f"a{i}", f"b{i}", y=f"g{i}")
        b.n(f"p{i}", f"k{i}", f"k{i + 1}", f"k{i + 1}.pass", w=8)
        b.p("f", f"k{i + 1}", "VDD", f"k{i + 1}.pre")
        b.n(f"g{i}", f"k{i + 1}", f"h{i + 1}", f"k{i + 1}.g", w=8)
        b.n("f", f"h{i + 1}", "VSS", f"k{i + 1}.foot", w=8)
        b.inv(f"k{i + 1}", f"c{i + 1}")
        b.xor(f"p{i}", f"c{i}", y=f"s{i}")

    def manchester():
        rng, steps = Random(2), []
        for _ in range(10):
            x, y, c = rng.randrange(16), rng.randrange(16), rng.randint(0, 1)
            steps += [
                ({"f": 0, "ci": c, **bits(x, "a", 4), **bits(y, "b", 4)}, {}),
                ({"f": 1}, {**bits(x + y + c, "s", 4), "c4": (x + y + c) >> 4}),
            ]
        return steps

    yield b.case(
        "carry_chain",
        ["f", "ci", *(f"{x}{i}" for x in "abs" for i in range(4)), "c4"],
        "4-bit Manchester adder",
        {"domino gate": 5, "XOR2": 4, "half adder": 4},
        source="carry chain, Kilburn and others 1959; precharged in CMOS, Weste & Eshraghian" + MEM,
        steps=manchester,
        slips=(("gate", "k2.pass", "p2"), ("drop", "k3.pre"), ("gate", "k2.g", "a2")),
    )
    # carry select
    b = Board()
    b.fa("a0", "b0", "ci", "s0", "c1")
    b.fa("a1", "b1", "c1", "s1", "c2")
    b.ha("a2", "b2", "t2", "d3")
    b.fa("a3", "b3", "d3", "t3", "d4")
    b.inv(b.nor("a2", "b2"), "e3")
    b.xnor("a2", "b2", y="u2")
    b.fa("a3", "b3", "e3", "u3", "e4")
    b.inv("c2", "c2n")
    for y, zero, one in (("s2", "t2", "u2"), ("s3", "t3", "u3"), ("co", "d4", "e4")):
        b.mux_tg("c2", "c2n", zero, one, y)
    ins = (*(f"{x}{i}" for x in "ab" for i in range(4)), "ci")

    def add4(v):
        t = num(v, "a", 4) + num(v, "b", 4) + v["ci"]
        return {**bits(t, "s", 4), "co": t >> 4}

    yield b.case(
        "carry_select",
        [*ins, *(f"s{i}" for i in range(4)), "co"],
        "4-bit parallel adder",
        {"full adder": 3, "inverting 2:1 multiplexer": 2, "2-bit ripple adder": 1},
        source="carry-select adder, Bedrij 1962" + MEM,
        inputs=ins,
        function=add4,
        slips=(("gate", "s3.t1.n", "c2n"), ("drop", "c1.cn3"), ("gate", "u2.p0", "a3")),
    )
    # Brent and Kung, 8 bits, sum only
    b = Board()
    pn, gn = {}, {}
    for i in range(8):
        pn[i] = b.xor(f"a{i}", f"b{i}", y=f"p{i}")
        if i < 7:
            gn[i] = b.and_(f"a{i}", f"b{i}", y=f"g{i}")
    made, through = dict(gn), dict(pn)

    def cell(i, j, black):
        made[i] = b.inv(b.aoi(made[i], (through[i], made[j]), y=f"n{i}{j}"), f"G{i}{j}")
        if black:
            through[i] = b.and_(through[i], through[j], y=f"P{i}{j}")

    for i, j, black in ((1, 0, 0), (3, 2, 1), (5, 4, 1), (3, 1, 0), (5, 3, 0), (2, 1, 0), (4, 3, 0), (6, 5, 0)):
        cell(i, j, black)
    b.buf("p0", "s0")
    for i in range(1, 8):
        b.xor(pn[i], made[i - 1], y=f"s{i}")
    ins = tuple(f"{x}{i}" for x in "ab" for i in range(8))
    yield b.case(
        "brent_kung",
        [*ins, *(f"s{i}" for i in range(8))],
        "8-bit parallel adder",
        {"AOI21": 23, "XOR2": 6, "half adder": 5},
        source="regular layout for parallel adders, Brent & Kung 1982" + MEM,
        inputs=ins,
        function=lambda v: bits((num(v, "a", 8) + num(v, "b", 8)) & 255, "s", 8),
        slips=(("drop", "n31.n2"), ("gate", "s5.p1", "p4"), ("gate", "n65.n2", "g5")),
    )
    # 3 × 3 array multiplier
    b = Board()
    for i in range(3):
        for j in range(3):
            b.and_(f"a{i}", f"b{j}", y="m0" if i + j == 0 else f"p{i}{j}")
    b.ha("p10", "p01", "m1", "c1")
    b.ha("p20", "p11", "s2", "c2")
    b.fa("s2", "p02", "c1", "m2", "k1")
    b.fa("p21", "p12", "c2", "s3", "k2")
    b.ha("s3", "k1", "m3", "l")
    b.fa("p22", "k2", "l", "m4", "m5")
    ins = tuple(f"{x}{i}" for x in "ab" for i in range(3))
    yield b.case(
        "array_multiplier",
        [*ins, *(f"m{i}" for i in range(6))],
        "3 × 3 multiplier",
        {"AND2": 9, "full adder": 3, "half adder": 3},
        source="array multiplier of carry-save rows, Braun 1963" + MEM,
        inputs=ins,
        function=lambda v: bits(num(v, "a", 3) * num(v, "b", 3), "m", 6),
        slips=(("drop", "m2.sn4"), ("gate", "k2.cn3", "p12"), ("flip", "m5.n0")),
    )
    # BCD adder
    b = Board()
    c = "ci"
    for i in range(4):
        b.fa(f"a{i}", f"b{i}", c, "s0" if i == 0 else f"z{i}", f"k{i}")
        c = f"k{i}"
    b.inv(b.gate(P("k3", S("z3", P("z2", "z1"))), "kn"), "co")
    b.ha("z1", "co", "s1", "e1")
    b.fa("z2", "co", "e1", "s2", "e2")
    b.xor("z3", "e2", y="s3")
    ins = (*(f"{x}{i}" for x in "ab" for i in range(4)), "ci")

    def bcd(v):
        t = num(v, "a", 4) + num(v, "b", 4) + v["ci"]
        over = int(t >= 10)
        return {**bits((t + 6 * over) & 15, "s", 4), "co": over}

    yield b.case(
        "bcd_adder",
        [*ins, *(f"s{i}" for i in range(4)), "co"],
        "decimal adder",
        {"2-bit ripple adder": 1, "4-bit ripple adder": 1, "XOR2": 1},
        source="decimal adder, Mano, Digital Design" + MEM,
        inputs=ins,
        function=bcd,
        slips=(("drop", "kn.p1"), ("gate", "k2.cn2", "a1"), ("gate", "kn.n2", "z1")),
    )
    # bit-serial adder, NMOS two-phase
    b = Board("nmos")
    b.gate(P(S("c", P("a", "b")), S("a", "b")), "cn")
    b.gate(P(S("cn", P("a", "b", "c")), S("a", "b", "c")), "sn")
    b.inv("sn", "s")
    b.n("f1", "cn", "m", "m.s")
    b.inv("m", "w")
    b.inv("w", "wn")
    b.n("f2", "wn", "t", "t.s")
    b.nor("t", "clr", y="c")

    def serial():
        rng, steps = Random(4), []
        for _ in range(3):
            x, y = rng.randrange(32), rng.randrange(32)
            steps += [
                ({"f1": 0, "f2": 0, "clr": 1, "a": 0, "b": 0}, {}),
                ({"f1": 1}, {}),
                ({"f1": 0}, {}),
                ({"f2": 1}, {}),
                ({"f2": 0}, {}),
                ({"clr": 0}, {}),
            ]
            for i in range(6):
                steps += [
                    ({"a": x >> i & 1, "b": y >> i & 1}, {"s": (x + y) >> i & 1}),
                    ({"f1": 1}, {}),
                    ({"f1": 0}, {}),
                    ({"f2": 1}, {}),
                    ({"f2": 0}, {}),
                ]
        return steps

    yield b.case(
        "serial_adder",
        "a b f1 f2 clr s",
        "serial adder",
        {"full adder": 1, "shift-register bit": 1},
        source="bit-serial arithmetic, Denyer & Renshaw 1985" + MEM,
        steps=serial,
        slips=(("gate", "t.s", "f1"), ("drop", "w.load"), ("strong", "cn.load")),
    )
