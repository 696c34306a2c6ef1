"""Published circuits: gates and choosers; from memory, each source named."""

from random import Random

from .kit import MEM, Board, Kind, P, S


def cases():
    b = Board()
    b.aoi(("a", "b", "c"), ("d", "e", "f"), y="y")
    b.aoi(("g", "h"), ("i", "j"), y="z")
    yield b.case(
        "and_or_invert_pair",
        "a b c d e f g h i j y z",
        "AOI33, AOI22",
        {"AOI22": 1, "AOI33": 1},
        source="dual AND-OR-invert, '51 type data sheet" + MEM,
        inputs=tuple("abcdefghij"),
        function=lambda v: {
            "y": 1 - (v["a"] & v["b"] & v["c"] | v["d"] & v["e"] & v["f"]),
            "z": 1 - (v["g"] & v["h"] | v["i"] & v["j"]),
        },
        slips=(("gate", "y.p4", "a"), ("drop", "z.n1"), ("flip", "y.n0")),
    )
    b = Board("nmos")
    b.gate(P(S("a", "b", "c", "d"), S("e", "f"), S("g", "h", "i"), S("j", "k")), "y")
    b.inv("y", "z")
    yield b.case(
        "aoi_4232",
        "a b c d e f g h i j k z y",
        "AOI4322",
        {"AOI4322": 1},
        source="4-2-3-2-input AND-OR-invert, '64 type data sheet, as NMOS" + MEM,
        inputs=tuple("abcdefghijk"),
        function=lambda v: {
            "z": v["a"] & v["b"] & v["c"] & v["d"] | v["e"] & v["f"] | v["g"] & v["h"] & v["i"] | v["j"] & v["k"]
        },
        slips=(("strong", "y.load"), ("drop", "z.load"), ("gate", "y.n9", "y")),
    )
    b = Board()
    e = P(S("a", "b", P("c", "d", "e")), S(P("a", "b"), P(S("c", P("d", "e")), S("d", "e"))), S("c", "d", "e"))
    b.net(Kind.N, e, "yn", "VSS", "yn.n", 8)
    b.net(Kind.P, e, "yn", "VDD", "yn.p", 16)
    b.inv("yn", "y")
    yield b.case(
        "majority_of_five",
        "a b c d e y",
        "5-input majority gate",
        {"complex gate": 1},
        source="majority element, Akers 1962; mirror networks of a self-dual function, Weste & Harris" + MEM,
        inputs=tuple("abcde"),
        function=lambda v: {"y": int(sum(v.values()) > 2)},
        slips=(("drop", "yn.p7"), ("gate", "yn.n9", "c"), ("flip", "yn.n13")),
    )
    b = Board()
    for i in range(8):
        b.n(f"a{i}", "z", "VSS", f"z.n{i}", w=8)
    b.p("VSS", "z", "VDD", "z.load", w=4, l=8)
    b.inv("z", "y")
    yield b.case(
        "pseudo_or",
        [*(f"a{i}" for i in range(8)), "y"],
        "OR8",
        {"NOR8": 1},
        source="pseudo-nMOS wide NOR, Weste & Harris" + MEM,
        inputs=tuple(f"a{i}" for i in range(8)),
        function=lambda v: {"y": int(any(v.values()))},
        slips=(("strong", "z.load"), ("drop", "z.load"), ("flip", "z.n3")),
    )
    b = Board()
    for k in "ab":
        b.inv(k, k + "n")
    for j in "12":
        b.inv(f"g{j}", f"e{j}")
        b.aoi(*((f"e{j}", "b" if i & 2 else "bn", "a" if i & 1 else "an", f"d{j}{i}") for i in range(4)), y=f"yn{j}")
        b.inv(f"yn{j}", f"y{j}")
    ins = ("a", "b", "g1", "g2", *(f"d{j}{i}" for j in "12" for i in range(4)))
    yield b.case(
        "dual_mux_4",
        [*ins, "y1", "y2"],
        "2 × 4:1 multiplexer",
        {"AOI4444": 2},
        source="dual 4-line to 1-line selector, '153 type data sheet" + MEM,
        inputs=ins,
        function=lambda v: {f"y{j}": (1 - v[f"g{j}"]) & v[f"d{j}{v['a'] + 2 * v['b']}"] for j in "12"},
        slips=(("gate", "yn1.n9", "bn"), ("drop", "yn2.p6"), ("gate", "yn2.p1", "b")),
    )
    b = Board()
    for k in "abc":
        b.inv(k, k + "n")
    b.n("c", "y", "p", "t1", w=8)
    b.n("cn", "y", "q", "t2", w=8)
    b.n("cn", "yn", "p", "t3", w=8)
    b.n("c", "yn", "q", "t4", w=8)
    b.n("b", "p", "r", "t5", w=8)
    b.n("bn", "p", "s", "t6", w=8)
    b.n("bn", "q", "r", "t7", w=8)
    b.n("b", "q", "s", "t8", w=8)
    b.n("a", "r", "VSS", "t9", w=8)
    b.n("an", "s", "VSS", "t10", w=8)
    b.p("yn", "y", "VDD", "l1", w=3)
    b.p("y", "yn", "VDD", "l2", w=3)
    yield b.case(
        "cascode_xor3",
        "a b c y yn",
        "XNOR3 and XOR3",
        {"precharged gate": 2},
        source="differential cascode trees, Chu & Pulfrey 1986" + MEM,
        inputs=tuple("abc"),
        function=lambda v: {"yn": v["a"] ^ v["b"] ^ v["c"], "y": 1 - (v["a"] ^ v["b"] ^ v["c"])},
        slips=(("gate", "t6", "b"), ("drop", "l2"), ("cross", "t1", "t2")),
    )
    b = Board("nmos")
    for k in "ab":
        b.inv(k, k + "n")
    for i in range(4):
        b.n("a" if i & 1 else "an", f"g{i}", f"h{i}", f"u{i}")
        b.n("b" if i & 2 else "bn", f"h{i}", "x", f"v{i}")
    b.inv("x", "y")
    ins = ("a", "b", "g0", "g1", "g2", "g3")
    yield b.case(
        "function_block",
        [*ins, "y"],
        "inverting 4:1 multiplexer",
        {},
        source="function block of the OM data path, Mead & Conway 1980" + MEM,
        inputs=ins,
        function=lambda v: {"y": 1 - v[f"g{v['a'] + 2 * v['b']}"]},
        slips=(("gate", "v2", "bn"), ("drop", "u1"), ("drop", "y.load")),
    )
    b = Board()
    for g in range(3):
        x = b.xor_tg8(f"i{3 * g}", f"i{3 * g + 1}", y=f"x{g}")
        b.inv(b.xor_tg8(x, f"i{3 * g + 2}", y=f"w{g}"), f"z{g}")
    b.xor_tg8("z0", "z1", y="u")
    b.inv(b.xor_tg8("u", "z2", y="t"), "odd")
    b.inv("odd", "even")
    ins = tuple(f"i{k}" for k in range(9))
    yield b.case(
        "parity_9",
        [*ins, "odd", "even"],
        "9-bit parity tree",
        {"XOR2": 7, "XNOR2": 1},
        source="9-bit parity generator, '280 type data sheet; XOR of transmission gates, Weste & Eshraghian" + MEM,
        inputs=ins,
        function=lambda v: {"odd": sum(v.values()) & 1, "even": 1 - (sum(v.values()) & 1)},
        slips=(("gate", "x1.b.n", "i3"), ("drop", "w2.a.p"), ("flip", "u.b.p")),
    )
    # two domino gates in a row, keepers
    b = Board()
    b.p("f", "x", "VDD", "x.pre")
    b.net(Kind.N, P(S("a", "b"), S("c", "d")), "x", "xf", "x.n", 8)
    b.n("f", "xf", "VSS", "x.foot", w=8)
    b.inv("x", "y")
    b.p("y", "x", "VDD", "x.keep", w=2, l=4)
    b.p("f", "u", "VDD", "u.pre")
    b.net(Kind.N, S("y", P("e", "g")), "u", "uf", "u.n", 8)
    b.n("f", "uf", "VSS", "u.foot", w=8)
    b.inv("u", "z")
    b.p("z", "u", "VDD", "u.keep", w=2, l=4)

    def domino():
        rng, steps = Random(1), []
        for _ in range(8):
            v = {k: rng.randint(0, 1) for k in "abcdeg"}
            y = v["a"] & v["b"] | v["c"] & v["d"]
            steps += [({"f": 0, **v}, {"y": 0, "z": 0}), ({"f": 1}, {"y": y, "z": y & (v["e"] | v["g"])})]
        return steps

    yield b.case(
        "domino_pair",
        "f a b c d e g y z",
        "2 × domino gate",
        {"precharged gate": 2},
        source="domino CMOS, Krambeck, Lee & Law 1982" + MEM,
        steps=domino,
        slips=(("gate", "u.foot", "a"), ("drop", "x.pre"), ("gate", "u.keep", "u")),
    )
    # MacSorley / Booth recoder
    b = Board()
    b.xor("x0", "xm", y="one")
    b.inv("x1", "x1n")
    b.inv("x0", "x0n")
    b.inv("xm", "xmn")
    b.nand("x1n", "x0", "xm", y="t")
    b.nand("x1", "x0n", "xmn", y="u")
    b.nand("t", "u", y="two")
    b.nand("x0", "xm", y="v")
    b.and_("x1", "v", y="neg")

    def booth(v):
        d = -2 * v["x1"] + v["x0"] + v["xm"]
        return {"one": int(abs(d) == 1), "two": int(abs(d) == 2), "neg": int(d < 0)}

    yield b.case(
        "booth_recoder",
        "x1 x0 xm one two neg",
        "multiplier recoder",
        {"NAND2": 3, "NAND3": 2, "AND2": 1},
        source="recoding of the multiplier, MacSorley 1961" + MEM,
        inputs=("x1", "x0", "xm"),
        function=booth,
        slips=(("drop", "t.p1"), ("gate", "u.n1", "x0"), ("flip", "two.p0")),
    )
