"""Out of papers and data sheets: adders, decoders, switches and gates; see `papers`. References: plain Python."""

import random

from .board import Board, bits, number


def _gates():
    # 1: prefix adder, 4 bits, carries by prefix cells (Kogge and Stone 1973)
    b = Board()
    p, g = {}, {}
    for i in range(4):
        p[i] = b.xor(f"a{i}", f"b{i}", y=f"p{i}")
        g[i] = b.and_(f"a{i}", f"b{i}", y=f"g{i}")
    through, made = dict(p), dict(g)
    for d in (1, 2):
        next_p, next_g = dict(through), dict(made)
        for i in range(d, 4):
            next_g[i] = b.inv(b.gate(("p", made[i], ("s", through[i], made[i - d])), f"Gn{d}{i}"), f"G{d}{i}")
            if i >= 2 * d:  # below that no carry still needs it
                next_p[i] = b.and_(through[i], through[i - d], y=f"P{d}{i}")
        through, made = next_p, next_g
    b.buf("p0", "s0")
    for i in range(1, 4):
        b.xor(p[i], made[i - 1], y=f"s{i}")
    b.buf(made[3], "c4")
    ins = tuple(f"{x}{i}" for x in "ab" for i in range(4))

    def add(v):
        t = number(v, "a", 4) + number(v, "b", 4)
        return {**bits(t, "s", 4), "c4": t >> 4}

    yield b.case(
        "prefix_adder",
        [*ins, "s0", "s1", "s2", "s3", "c4"],
        "4-bit parallel adder",
        {},
        family="adder",
        source="parallel-prefix adder (Kogge and Stone 1973)",
        held_out=True,
        inputs=ins,
        function=add,
        slips=(("drop", "s2.p0"), ("gate", "Gn13.n0", "p0"), ("flip", "G12.n0")),
    )

    # 2: full adder of transmission gates
    b = Board()
    b.inv("a", "an")
    b.inv("b", "bn")
    b.xor_tg("a", "an", "b", "bn", y="h")
    b.inv("h", "hn")
    b.inv("c", "cn")
    b.xor_tg("h", "hn", "c", "cn", y="s")
    b.mux_tg("h", "hn", "a", "c", y="co")
    yield b.case(
        "adder_tg",
        "a b c s co",
        "full adder",
        {},
        family="adder",
        held_out=True,
        source="adder of transmission gates (Weste and Eshraghian)",
        inputs=("a", "b", "c"),
        function=lambda v: {"s": v["a"] ^ v["b"] ^ v["c"], "co": int(v["a"] + v["b"] + v["c"] > 1)},
        slips=(("drop", "an.p0"), ("gate", "a-co.tg.n", "h"), ("flip", "cn.n0")),
    )

    # 3: carry-save row of 3 bits
    b = Board()
    for i in range(3):
        cn = b.gate(("p", ("s", f"a{i}", f"b{i}"), ("s", f"d{i}", ("p", f"a{i}", f"b{i}"))), f"cn{i}")
        b.inv(cn, f"c{i}")
        sn = b.gate(("p", ("s", f"a{i}", f"b{i}", f"d{i}"), ("s", cn, ("p", f"a{i}", f"b{i}", f"d{i}"))), f"sn{i}")
        b.inv(sn, f"s{i}")
    ins = tuple(f"{x}{i}" for x in "abd" for i in range(3))

    def csa(v):
        o = {}
        for i in range(3):
            t = v[f"a{i}"] + v[f"b{i}"] + v[f"d{i}"]
            o |= {f"s{i}": t & 1, f"c{i}": t >> 1}
        return o

    yield b.case(
        "carry_save",
        [*ins, *(f"{x}{i}" for x in "sc" for i in range(3))],
        "3 × full adder",
        {"full adder": 3},
        family="adder",
        source="carry-save adder (Wallace 1964)",
        held_out=True,
        inputs=ins,
        function=csa,
        slips=(("drop", "cn1.n2"), ("gate", "sn0.p3", "c0"), ("flip", "s2.p0")),
    )

    # 4: quad XOR ('86)
    b = Board()
    for i in range(4):
        b.xor_nand(f"a{i}", f"b{i}", y=f"y{i}")
    ins = tuple(f"{x}{i}" for i in range(4) for x in "ab")
    yield b.case(
        "quad_xor",
        [*ins, "y0", "y1", "y2", "y3"],
        "4 × XOR2",
        {"XOR2": 4},
        family="logic",
        held_out=True,
        source="quad exclusive OR ('86 type, data sheet)",
        inputs=ins,
        function=lambda v: {f"y{i}": v[f"a{i}"] ^ v[f"b{i}"] for i in range(4)},
        slips=(("drop", "y1.p1"), ("gate", "y2.n0", "a3"), ("flip", "y0.n1")),
    )

    # 5: BCD to seven segments (4511 type, lamp test and blanking left out), each segment as a complex gate
    b = Board()
    for k in "abcd":
        b.inv(k, f"{k}n")  # a = 1, b = 2, c = 4, d = 8
    table = {
        0: "abcdef",
        1: "bc",
        2: "abdeg",
        3: "abcdg",
        4: "bcfg",
        5: "acdfg",
        6: "cdefg",
        7: "abc",
        8: "abcdefg",
        9: "abcfg",
    }
    nets = {}
    for digit in range(10):
        nets[digit] = b.nor(*(f"{k}n" if digit >> i & 1 else k for i, k in enumerate("abcd")), y=f"m{digit}")
    for s in "abcdefg":
        dark = [nets[n] for n in range(10) if s not in table[n]]
        b.nor(*dark, y=f"s{s}") if len(dark) > 1 else b.inv(dark[0], f"s{s}")

    def seven(v):
        n = v["a"] + 2 * v["b"] + 4 * v["c"] + 8 * v["d"]
        return {f"s{s}": int(n > 9 or s in table[n]) for s in "abcdefg"}

    yield b.case(
        "seven_segments",
        ["a", "b", "c", "d", *(f"s{s}" for s in "abcdefg")],
        "seven-segment decoder",
        {},
        family="decoder",
        source="BCD to seven-segment decoder (4511 type, data sheet: 6 and 9 without tails)",
        held_out=True,
        inputs=tuple("abcd"),
        function=seven,
        slips=(("drop", "m4.p0"), ("gate", "m3.n0", "a"), ("drop", "cn.n0")),
    )

    # 6: 4 to 16 decoder with two enables ('154)
    b = Board()
    b.nor("g1", "g2", y="e")
    for i in range(4):
        b.inv(f"a{i}", f"n{i}")
        b.inv(f"n{i}", f"t{i}")
    for k in range(16):
        b.nand(*(f"t{i}" if k >> i & 1 else f"n{i}" for i in range(4)), "e", y=f"y{k}")
    ins = ("a0", "a1", "a2", "a3", "g1", "g2")

    def sixteen(v):
        on = not v["g1"] and not v["g2"]
        return {f"y{k}": int(not (on and number(v, "a", 4) == k)) for k in range(16)}

    yield b.case(
        "decoder_16",
        [*ins, *(f"y{k}" for k in range(16))],
        "4-to-16 decoder",
        {},
        family="decoder",
        source="4-to-16 line decoder ('154 type, data sheet)",
        held_out=True,
        inputs=ins,
        function=sixteen,
        slips=(("gate", "y5.n1", "t1"), ("drop", "y9.p2"), ("gate", "y12.p4", "a0")),
    )

    # 7: 8-channel analog switch with 3-to-8 decoder (4051 type, levels unshifted)
    b = Board()
    for i in range(3):
        b.inv(f"a{i}", f"n{i}")
    b.inv("inh", "en")
    for k in range(8):
        b.nand(*(f"a{i}" if k >> i & 1 else f"n{i}" for i in range(3)), "en", y=f"w{k}")
        b.inv(f"w{k}", f"v{k}")
        b.tg(f"x{k}", "z", f"v{k}", f"w{k}", tag=f"z.{k}")

    def analog():
        rng, steps = random.Random(5), []
        for _ in range(10):
            word, at = [rng.randint(0, 1) for _ in range(8)], rng.randrange(8)
            steps.append(({"inh": 0, **{f"x{k}": w for k, w in enumerate(word)}, **bits(at, "a", 3)}, {"z": word[at]}))
        return steps

    yield b.case(
        "analog_8",
        ["a0", "a1", "a2", "inh", *(f"x{k}" for k in range(8)), "z"],
        "8:1 multiplexer",
        {"3-to-8 decoder": 1},
        family="multiplexer",
        steps=analog,
        held_out=True,
        source="8-channel multiplexer of transmission gates (4051 type, data sheet)",
        slips=(("gate", "z.3.p", "w4"), ("drop", "z.6.n"), ("drop", "w2.n3")),
    )

    # 8: quad bilateral switch (4066 simple form)
    b = Board()
    for i in range(4):
        b.inv(f"c{i}", f"cn{i}")
        b.tg(f"x{i}", f"y{i}", f"c{i}", f"cn{i}", tag=f"sw{i}")
    yield b.case(
        "switches_paper",
        [f"{x}{i}" for i in range(4) for x in "cxy"],
        "4 × transmission gate",
        {},
        family="multiplexer",
        held_out=True,
        source="quad bilateral switch (4016 type, data sheet)",
        steps=lambda: [
            (
                {"c0": 1, "c1": 1, "c2": 1, "c3": 1, "x0": 1, "x1": 0, "x2": 1, "x3": 0},
                {"y0": 1, "y1": 0, "y2": 1, "y3": 0},
            )
        ],
        slips=(("drop", "cn1.n0"), ("gate", "sw2.p", "c2"), ("flip", "sw0.p")),
    )

    # 9: majority of three voter with mirror gate
    b = Board()
    for k in ("1", "2"):
        b.inv(b.gate(("p", ("s", f"a{k}", f"b{k}"), ("s", f"c{k}", ("p", f"a{k}", f"b{k}"))), f"n{k}"), f"y{k}")
    yield b.case(
        "voters",
        "a1 b1 c1 y1 a2 b2 c2 y2",
        "2 × majority gate",
        {},
        family="logic",
        held_out=True,
        source="majority voter (von Neumann 1956)",
        inputs=("a1", "b1", "c1", "a2", "b2", "c2"),
        function=lambda v: {f"y{k}": int(v[f"a{k}"] + v[f"b{k}"] + v[f"c{k}"] > 1) for k in "12"},
        slips=(("drop", "n1.p1"), ("gate", "n2.n2", "a2"), ("flip", "y2.p0")),
    )

    # 10: binary to Gray and back
    b = Board()
    b.buf("b3", "g3")
    for i in range(3):
        b.xor(f"b{i}", f"b{i + 1}", y=f"g{i}")
    ins = ("b0", "b1", "b2", "b3")
    yield b.case(
        "gray",
        [*ins, "g0", "g1", "g2", "g3"],
        "4-bit binary-to-Gray converter",
        {"XOR2": 3},
        family="logic",
        source="reflected binary code (Gray 1953)",
        held_out=True,
        inputs=ins,
        function=lambda v: bits(number(v, "b", 4) ^ number(v, "b", 4) >> 1, "g", 4),
        slips=(("drop", "g1.p0"), ("gate", "g0.n2", "b3"), ("flip", "g2.n0")),
    )

    # 11: differential cascode: XOR (Heller and others 1984)
    b = Board()
    b.inv("a", "an")
    b.inv("b", "bn")
    b.p("yn", "y", "VDD", "y.p")
    b.p("y", "yn", "VDD", "yn.p")
    b.n("a", "y", "u", "y.1", width=8)
    b.n("an", "y", "v", "y.2", width=8)
    b.n("an", "yn", "u", "yn.1", width=8)
    b.n("a", "yn", "v", "yn.2", width=8)
    b.n("b", "u", "VSS", "u.n", width=8)
    b.n("bn", "v", "VSS", "v.n", width=8)
    yield b.case(
        "cascode_xor",
        "a b y yn",
        "XOR2 and XNOR2",
        {},
        family="logic",
        held_out=True,
        source="differential cascode voltage switch logic (Heller and others 1984)",
        inputs=("a", "b"),
        function=lambda v: {"y": v["a"] ^ v["b"], "yn": 1 - (v["a"] ^ v["b"])},
        slips=(("drop", "yn.p"), ("gate", "y.2", "a"), ("flip", "u.n")),
    )


def cases():
    """Yield the cases."""
    yield from _gates()
