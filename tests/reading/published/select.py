"""Published circuits: decoders, comparators, shifters, planes and buses; from memory, each source named."""

from random import Random

from .kit import MEM, Board, P, S, bits, num


def cases():
    # dual decoder
    b = Board()
    for j in range(2):
        b.inv(f"e{j}", f"en{j}")
        for i in range(2):
            b.inv(f"a{j}{i}", f"n{j}{i}")
        for k in range(4):
            b.nand(f"en{j}", *(f"a{j}{i}" if k >> i & 1 else f"n{j}{i}" for i in range(2)), y=f"y{j}{k}")
    ins = tuple(f"{x}" for j in range(2) for x in (f"e{j}", f"a{j}0", f"a{j}1"))
    yield b.case(
        "dual_decoder",
        [*ins, *(f"y{j}{k}" for j in range(2) for k in range(4))],
        "2 × 2-to-4 decoder",
        {"decoder column": 8},
        source="dual 2-to-4 decoder, '139 type data sheet" + MEM,
        inputs=ins,
        function=lambda v: {
            f"y{j}{k}": int(not (not v[f"e{j}"] and v[f"a{j}0"] + 2 * v[f"a{j}1"] == k))
            for j in range(2)
            for k in range(4)
        },
        slips=(("gate", "y02.n1", "a00"), ("drop", "y13.p0"), ("gate", "y11.n2", "a11")),
    )
    # priority encoder
    b = Board()
    b.inv("ei", "E")
    for k in range(1, 8):
        b.inv(f"i{k}", f"h{k}")
    b.gate(S("E", P("h4", "h5", "h6", "h7")), "a2")
    b.gate(S("E", P(S("h2", "i4", "i5"), S("h3", "i4", "i5"), "h6", "h7")), "a1")
    b.gate(S("E", P(S("h1", "i2", "i4", "i6"), S("h3", "i4", "i6"), S("h5", "i6"), "h7")), "a0")
    b.nand("E", *(f"i{k}" for k in range(8)), y="eo")
    b.nand("E", "eo", y="gs")
    ins = ("ei", *(f"i{k}" for k in range(8)))

    def priority(v):
        low = [k for k in range(8) if not v[f"i{k}"]]
        if v["ei"]:
            return {"a2": 1, "a1": 1, "a0": 1, "eo": 1, "gs": 1}
        top = max(low) if low else 0
        return {**{f"a{j}": 1 - (top >> j & 1) for j in range(3)}, "eo": int(bool(low)), "gs": int(not low)}

    yield b.case(
        "priority_encoder",
        [*ins, "a2", "a1", "a0", "eo", "gs"],
        "8-to-3 priority encoder",
        {"complex gate": 2, "NAND2": 1, "NAND9": 1},
        source="8-to-3 priority encoder, '148 type data sheet" + MEM,
        inputs=ins,
        function=priority,
        slips=(("gate", "a1.n2", "i6"), ("drop", "a0.p5"), ("flip", "a2.n3")),
    )
    # two slices of the '181
    b = Board()
    b.inv("m", "mn")
    for i in range(2):
        b.inv(f"b{i}", f"bn{i}")
        b.aoi(f"a{i}", (f"b{i}", "s0"), (f"bn{i}", "s1"), y=f"x{i}")
        b.aoi((f"a{i}", f"bn{i}", "s2"), (f"a{i}", f"b{i}", "s3"), y=f"y{i}")
        b.xor(f"x{i}", f"y{i}", y=f"h{i}")
    b.nand("mn", "cn", y="k0")
    b.aoi(("mn", "x0"), ("mn", "y0", "cn"), y="k1")
    for i in range(2):
        b.xor(f"h{i}", f"k{i}", y=f"f{i}")
    b.inv(b.aoi("x1", ("y1", "x0"), ("y1", "y0", "cn"), y="c2n"), "c2")
    ins = ("a0", "a1", "b0", "b1", "s0", "s1", "s2", "s3", "m", "cn")

    def slice_(v):
        x, y = num(v, "a", 2), num(v, "b", 2)
        one = x | (y if v["s0"] else 0) | (~y & 3 if v["s1"] else 0)
        two = (x & ~y & 3 if v["s2"] else 0) | (x & y if v["s3"] else 0)
        total = one + two + 1 - v["cn"]
        return {**bits(~(one ^ two) & 3 if v["m"] else total & 3, "f", 2), "c2": 1 - (total >> 2)}

    yield b.case(
        "alu_slices",
        [*ins, "f0", "f1", "c2"],
        "2-bit ALU",
        {"ALU slice": 2, "AOI321": 1},
        source="arithmetic logic unit, two bits of the '181 type data sheet" + MEM,
        inputs=ins,
        function=slice_,
        slips=(("gate", "y1.n1", "b1"), ("drop", "x0.p3"), ("gate", "k1.n1", "y0")),
    )
    # magnitude comparator
    b = Board()
    for i in range(4):
        b.inv(f"a{i}", f"an{i}")
        b.inv(f"b{i}", f"bn{i}")
        b.xnor(f"a{i}", f"b{i}", y=f"x{i}")
    for y, one, two, cas in (("gt", "a", "bn", "ig"), ("lt", "an", "b", "il")):
        t = [b.nand(*(f"x{k}" for k in range(i + 1, 4)), f"{one}{i}", f"{two}{i}", y=f"{y}t{i}") for i in range(4)]
        b.nand(*t, b.nand("x0", "x1", "x2", "x3", cas, y=f"{y}c"), y=y)
    b.and_("x0", "x1", "x2", "x3", "ie", y="eq")
    ins = (*(f"{x}{i}" for x in "ab" for i in range(4)), "ig", "il", "ie")

    def magnitude(v):
        x, y = num(v, "a", 4), num(v, "b", 4)
        if x == y:
            return {"gt": v["ig"], "lt": v["il"], "eq": v["ie"]}
        return {"gt": int(x > y), "lt": int(x < y), "eq": 0}

    yield b.case(
        "magnitude_comparator",
        [*ins, "gt", "lt", "eq"],
        "4-bit magnitude comparator",
        {"NAND5": 7, "4-bit equality comparator": 3, "NAND2": 14},
        source="4-bit magnitude comparator, '85 type data sheet" + MEM,
        inputs=ins,
        function=magnitude,
        slips=(("gate", "gtt1.n1", "x2"), ("drop", "ltt0.p3"), ("gate", "eq.n0", "gt")),
    )
    # equality in NMOS
    b = Board("nmos")
    for i in range(6):
        b.xor(f"a{i}", f"b{i}", y=f"x{i}")
    b.nor(*(f"x{i}" for i in range(6)), "en", y="y")
    ins = (*(f"{x}{i}" for x in "ab" for i in range(6)), "en")
    yield b.case(
        "equality",
        [*ins, "y"],
        "6-bit equality comparator",
        {"XOR2": 6, "NOR7": 1},
        source="6-bit identity comparator, after the '688 type data sheet, in NMOS" + MEM,
        inputs=ins,
        function=lambda v: {"y": int(not v["en"] and num(v, "a", 6) == num(v, "b", 6))},
        slips=(("strong", "x2.load"), ("gate", "y.n3", "x4"), ("drop", "x5.load")),
    )
    # barrel shifter
    b = Board("nmos")
    for i in range(2):
        b.inv(f"s{i}", f"n{i}")
    for k in range(4):
        b.nor(*(f"n{i}" if k >> i & 1 else f"s{i}" for i in range(2)), y=f"h{k}")
        for j in range(4):
            b.n(f"h{k}", f"x{(j + k) % 4}", f"z{j}", f"p{k}{j}")
    for j in range(4):
        b.inv(b.inv(f"z{j}", f"yn{j}"), f"y{j}")
    ins = ("s0", "s1", "x0", "x1", "x2", "x3")
    yield b.case(
        "barrel",
        [*ins, "y0", "y1", "y2", "y3"],
        "4-bit barrel shifter",
        {"2-to-4 decoder": 1, "4-bit barrel shifter": 2},
        source="barrel shifter of the OM data path, Mead & Conway 1980" + MEM,
        inputs=ins,
        function=lambda v: {f"y{j}": v[f"x{(j + num(v, 's', 2)) % 4}"] for j in range(4)},
        slips=(("gate", "p21", "h1"), ("end", "p13", "x0", "x1"), ("drop", "p32")),
    )
    # logarithmic shifter
    b = Board()
    row = [f"x{j}" for j in range(8)]
    for i in range(3):
        b.inv(f"s{i}", f"n{i}")
        row = [
            b.mux_tg(f"s{i}", f"n{i}", row[j], row[j + (1 << i)] if j + (1 << i) < 8 else "VSS", f"r{i}{j}")
            for j in range(8)
        ]
    for j in range(8):
        b.buf(row[j], f"y{j}")
    ins = ("s0", "s1", "s2", *(f"x{j}" for j in range(8)))
    yield b.case(
        "log_shifter",
        [*ins, *(f"y{j}" for j in range(8))],
        "8-bit barrel shifter",
        {"AND2": 7, "2:1 multiplexer": 17, "7-bit barrel shifter": 1},
        source="logarithmic shifter, Rabaey" + MEM,
        inputs=ins,
        function=lambda v: bits(num(v, "x", 8) >> num(v, "s", 3), "y", 8),
        slips=(("gate", "r13.t1.n", "n1"), ("end", "r02.t1.p", "x3", "x4"), ("drop", "r25.t0.p")),
    )
    # PLA, BCD to excess three
    b = Board("nmos")
    for k in "abcd":
        b.inv(k, k + "n")
    lit = {"A": "an", "B": "bn", "C": "cn", "D": "dn", "a": "a", "b": "b", "c": "c", "d": "d"}  # the inverse of each
    products = ["A", "BC", "BD", "bC", "bD", "Bcd", "CD", "cd", "d"]
    for n, t in enumerate(products):
        b.nor(*(lit[k] for k in t), y=f"t{n}")
    for y, ts in {"w": (0, 1, 2), "x": (3, 4, 5), "y": (6, 7), "z": (8,)}.items():
        b.inv(b.nor(*(f"t{n}" for n in ts), y=y + "n"), y)

    def excess(v):
        digit = 8 * v["a"] + 4 * v["b"] + 2 * v["c"] + v["d"]
        return {} if digit > 9 else {k: digit + 3 >> 3 - i & 1 for i, k in enumerate("wxyz")}

    yield b.case(
        "excess_three_pla",
        "a b c d w x y z",
        "PLA",
        {"NOR2": 7, "NOR3": 3},
        source="BCD to excess-3, Mano; NOR–NOR PLA, Mead & Conway 1980" + MEM,
        inputs=tuple("abcd"),
        function=excess,
        slips=(("gate", "t5.n1", "cn"), ("drop", "xn.load"), ("twice", "yn.load")),
    )
    # three analog switches with level shift
    b = Board()
    for i in range(3):
        b.inv(f"s{i}", f"sn{i}")
        b.p(f"s{i}", f"l{i}", "VDD", f"l{i}.p")
        b.p(f"sn{i}", f"m{i}", "VDD", f"m{i}.p")
        b.n(f"m{i}", f"l{i}", "VEE", f"l{i}.n", w=2)
        b.n(f"l{i}", f"m{i}", "VEE", f"m{i}.n", w=2)
        b.tg(f"x{i}", f"z{i}", f"l{i}", f"m{i}", f"t{i}")
        b.tg(f"y{i}", f"z{i}", f"m{i}", f"l{i}", f"u{i}")
    ins = tuple(f"{x}{i}" for i in range(3) for x in "sxy")
    yield b.case(
        "analog_changeover",
        [*ins, "z0", "z1", "z2"],
        "3 × 2:1 multiplexer, 3 × level shifter, 3 × inverter",
        {},
        source="triple 2-channel analog multiplexer, 4053 type data sheet" + MEM,
        inputs=ins,
        function=lambda v: {f"z{i}": v[f"{'xy'[v[f's{i}']]}{i}"] for i in range(3)},
        slips=(("gate", "t1.p", "l1"), ("gate", "m2.n", "m2"), ("drop", "u0.n")),
    )
    # bus transceiver
    b = Board()
    b.inv("oe", "on")
    b.inv("dir", "dn")
    b.and_("on", "dir", y="ea")
    b.inv("ea", "ean")
    b.and_("on", "dn", y="eb")
    b.inv("eb", "ebn")
    for i in range(4):
        b.tri(b.inv(f"a{i}", f"p{i}"), f"b{i}", "ea", "ean", k=2)
        b.tri(b.inv(f"b{i}", f"q{i}"), f"a{i}", "eb", "ebn", k=2)

    def transfer():
        rng, steps = Random(30), []
        for n in range(8):
            w, d = rng.randrange(16), n & 1
            src, dst = ("a", "b") if d else ("b", "a")
            steps += [
                ({"oe": 1, **{f"{x}{i}": None for x in "ab" for i in range(4)}}, {}),
                ({"dir": d, **bits(w, src, 4)}, {}),
                ({"oe": 0}, bits(w, dst, 4)),
            ]
        return steps

    yield b.case(
        "transceiver",
        ["oe", "dir", *(f"{x}{i}" for i in range(4) for x in "ab")],
        "4-bit transceiver",
        {"tri-state buffer": 8, "NAND2": 2},
        source="octal bus transceiver, '245 type data sheet, four bits" + MEM,
        steps=transfer,
        slips=(("gate", "b2.p", "ea"), ("gate", "a1.nd", "b1"), ("drop", "b3.pd")),
    )
