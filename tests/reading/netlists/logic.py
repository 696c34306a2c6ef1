"""Comparators, parity, multiplexers, encoders, decoders. References: one line of Python each."""

from .board import Board, number


def _majority(b, x, y, c, out):
    return b.inv(b.gate(("p", ("s", x, y), ("s", c, ("p", x, y)))), out)


def _compare():
    ins = tuple(f"{x}{i}" for x in "ab" for i in range(4))
    b = Board()
    same = [b.xnor(f"a{i}", f"b{i}", f"e{i}") for i in range(4)]
    b.and_(*same, y="eq")
    yield b.case(
        "equal", [*ins, "eq"], "4-bit equality comparator", {"XNOR2": 4}, family="comparator", inputs=ins,
        function=lambda v: {"eq": int(number(v, "a", 4) == number(v, "b", 4))},
        slips=(("drop", "e1.p2"), ("gate", "e2.n0", "b0"), ("flip", "e3.n1")),
    )  # fmt: skip
    b = Board()
    for i in range(4):
        an, bn = b.inv(f"a{i}"), b.inv(f"b{i}")
        b.nor(an, f"b{i}", y=f"g{i}")
        b.nor(f"a{i}", bn, y=f"l{i}")
        b.nor(f"g{i}", f"l{i}", y=f"e{i}")

    def chain(mine, cascade):
        terms = (("s", *(f"e{k}" for k in range(3, i, -1)), mine[i]) for i in (2, 1, 0))
        return ("p", mine[3], *terms, ("s", "e3", "e2", "e1", "e0", cascade))

    b.inv(b.gate(chain([f"g{i}" for i in range(4)], "ig")), "og")
    b.inv(b.gate(chain([f"l{i}" for i in range(4)], "il")), "ol")
    b.and_("e3", "e2", "e1", "e0", "ie", y="oe")

    def magnitude(v):
        x, y = number(v, "a", 4), number(v, "b", 4)
        return {"og": int(x > y or (x == y and v["ig"])), "ol": int(x < y or (x == y and v["il"])),
                "oe": int(x == y and v["ie"])}  # fmt: skip

    yield b.case(
        "magnitude", [*ins, "ig", "il", "ie", "og", "ol", "oe"], "4-bit magnitude comparator", {}, family="comparator",
        inputs=(*ins, "ig", "il", "ie"), function=magnitude,
        source="4-bit magnitude comparator with cascade inputs ('85 type, data sheet, from memory; plain cascade)",
        held_out=True, slips=(("drop", "g2.p0"), ("gate", "l1.n0", "b1"), ("flip", "e0.n1")),
    )  # fmt: skip
    b = Board("nmos")
    for i in range(4):
        _majority(b, f"a{i}", b.inv(f"b{i}"), f"c{i}", f"c{i + 1}")
    yield b.case(
        "greater", [*ins, "c0", "c4"], "4-bit magnitude comparator", {"minority gate": 4}, family="comparator",
        inputs=(*ins, "c0"),
        function=lambda v: {"c4": int(number(v, "a", 4) + v["c0"] > number(v, "b", 4))},
        slips=(("drop", "c2.load"), ("join", "c1", "c3"), ("gate", "c3.n0", "a1")),
    )  # fmt: skip


def _parity():
    for name, put in (("gates", "xor"), ("nand", "xor_nand")):
        b = Board()
        level = [f"d{i}" for i in range(8)]
        while len(level) > 1:
            pairs = list(zip(level[::2], level[1::2], strict=True))
            level = [
                getattr(b, put)(x, y, "y" if len(pairs) == 1 else f"x{len(pairs)}{i}") for i, (x, y) in enumerate(pairs)
            ]
        ins = tuple(f"d{i}" for i in range(8))
        yield b.case(
            f"parity_{name}", [*ins, "y"], "8-bit parity tree", {"XOR2": 7}, family="parity", inputs=ins,
            function=lambda v: {"y": sum(v.values()) & 1},
            slips=(("drop", "x40.p0"), ("gate", "x21.n0", "d3"), ("flip", "x42.p1")),
        )  # fmt: skip
    b = Board()
    x, xn = "d0", b.inv("d0")
    for i in range(1, 5):
        d, dn = f"d{i}", b.inv(f"d{i}")
        t = b.xor_tg(x, xn, d, dn, "y" if i == 4 else f"x{i}")
        tn = b.xor_tg(x, xn, dn, d, "yn" if i == 4 else f"z{i}")
        x, xn = t, tn
    ins = tuple(f"d{i}" for i in range(5))
    yield b.case(
        "parity_switches", [*ins, "y", "yn"], "5-bit parity tree", {}, family="parity", inputs=ins,
        function=lambda v: {"y": sum(v.values()) & 1, "yn": 1 - (sum(v.values()) & 1)},
        slips=(("drop", "d2-x2.tg.n"), ("gate", "d3-x3.tg.p", "x1"), ("flip", "d1-z1.tg.n")),
    )  # fmt: skip
    b = Board()
    thirds = []
    for k in range(3):
        x, y, z = (f"d{3 * k + i}" for i in range(3))
        xn, yn, zn = b.inv(x), b.inv(y), b.inv(z)
        thirds.append(b.nand(b.nand(x, yn, zn), b.nand(xn, y, zn), b.nand(xn, yn, z), b.nand(x, y, z), y=f"t{k}"))
    x, y, z = thirds
    xn, yn, zn = b.inv(x), b.inv(y), b.inv(z)
    odd = b.nand(b.nand(x, yn, zn), b.nand(xn, y, zn), b.nand(xn, yn, z), b.nand(x, y, z), y="odd")
    b.inv(odd, "even")
    ins = tuple(f"d{i}" for i in range(9))
    yield b.case(
        "parity_nine", [*ins, "odd", "even"], "9-bit parity tree", {"XOR3": 4}, family="parity", inputs=ins,
        function=lambda v: {"odd": sum(v.values()) & 1, "even": 1 - (sum(v.values()) & 1)},
        source="nine-bit odd and even parity generator of 3-input sections ('280 type, data sheet, from memory)",
        held_out=True, slips=(("drop", "t1.p0"), ("gate", "t2.n1", "d1"), ("flip", "odd.p2")),
    )  # fmt: skip


def _multiplex():
    ins = (*(f"d{i}" for i in range(8)), "s0", "s1", "s2")

    def pick(v):
        return {"y": v[f"d{v['s0'] + 2 * v['s1'] + 4 * v['s2']}"]}

    b = Board("nmos")
    for i in range(3):
        b.inv(f"s{i}", f"s{i}n")
    level = [f"d{i}" for i in range(8)]
    for i in range(3):
        nxt = []
        for k in range(0, len(level), 2):
            y = b.new("t")
            b.n(f"s{i}n", level[k], y, f"t{i}{k}")
            b.n(f"s{i}", level[k + 1], y, f"t{i}{k + 1}")
            nxt.append(y)
        level = nxt
    b.inv(b.inv(level[0]), "y")
    yield b.case(
        "mux_tree", [*ins, "y"], "8:1 multiplexer", {}, family="multiplexer", inputs=ins, function=pick,
        slips=(("gate", "t13", "s0"), ("drop", "s1n.load"), ("end", "t20", b.devices["t20"].source, "d7")),
    )  # fmt: skip
    b = Board()
    for i in range(3):
        b.inv(f"s{i}", f"s{i}n")
    level = [f"d{i}" for i in range(8)]
    for i in range(3):
        level = [
            b.mux_tg(f"s{i}", f"s{i}n", x, y, f"m{i}{k}")
            for k, (x, y) in enumerate(zip(level[::2], level[1::2], strict=True))
        ]
    b.buf(level[0], "y")
    yield b.case(
        "mux_gates", [*ins, "y"], "8:1 multiplexer", {"2:1 multiplexer": 7}, family="multiplexer", inputs=ins,
        function=pick, slips=(("drop", "d2-m01.tg.p"), ("gate", "d5-m02.tg.n", "s1"), ("flip", "m10-m20.tg.n")),
    )  # fmt: skip
    b = Board()
    for s in ("s0", "s1"):
        b.inv(b.inv(s, f"{s}n"), f"{s}b")
    for side in "xy":
        terms = []
        gn = b.inv(f"{side}g")
        for k in range(4):
            codes = [f"s{i}b" if k >> i & 1 else f"s{i}n" for i in range(2)]
            terms.append(b.nand(f"{side}{k}", *codes, gn, y=f"{side}t{k}"))
        b.nand(*terms, y=f"{side}q")
    ins = (*(f"{side}{k}" for side in "xy" for k in range(4)), "xg", "yg", "s0", "s1")

    def dual_pick(v):
        k = v["s0"] + 2 * v["s1"]
        return {f"{side}q": int(v[f"{side}{k}"] and not v[f"{side}g"]) for side in "xy"}

    yield b.case(
        "mux_dual", [*ins, "xq", "yq"], "2 × 4:1 multiplexer", {"4:1 multiplexer": 2}, family="multiplexer",
        inputs=ins, function=dual_pick,
        source="dual 4-to-1 data selector with strobe ('153 type, data sheet, from memory)", held_out=True,
        slips=(("drop", "xt1.p1"), ("gate", "yt2.n0", "y1"), ("flip", "xq.p2")),
    )  # fmt: skip
    b = Board()
    sn = b.inv("s", "sn")
    for i in range(4):
        b.tri(f"a{i}", f"z{i}", sn, "s")
        b.tri(f"b{i}", f"z{i}", "s", sn)
        b.inv(f"z{i}", f"y{i}")
    ins = (*(f"{x}{i}" for x in "ab" for i in range(4)), "s")
    yield b.case(
        "mux_tristate", [*ins, "y0", "y1", "y2", "y3"], "4 × 2:1 multiplexer", {"2:1 multiplexer": 4},
        family="multiplexer", inputs=ins,
        function=lambda v: {f"y{i}": v[f"b{i}"] if v["s"] else v[f"a{i}"] for i in range(4)},
        slips=(("drop", "z1.pd"), ("gate", "z2.n", "s"), ("flip", "z3.nd")),
    )  # fmt: skip


def _priority():
    b = Board()
    b.or_("d3", "d2", y="y1")
    b.or_("d3", b.and_("d1", b.inv("d2", "n2")), y="y0")
    b.or_("d3", "d2", "d1", "d0", y="any")
    ins = ("d0", "d1", "d2", "d3")

    def first(v):
        top = max((i for i in range(4) if v[f"d{i}"]), default=0)
        return {"y0": top & 1, "y1": top >> 1, "any": int(any(v.values()))}

    yield b.case(
        "priority", [*ins, "y1", "y0", "any"], "4-to-2 priority encoder", {}, family="priority encoder", inputs=ins,
        function=first, slips=(("drop", "n2.p0"), ("gate", "y0.n0", "d2"), ("flip", "any.p0")),
    )  # fmt: skip
    b = Board()
    en = b.inv("ei", "en")
    d = {i: b.inv(f"d{i}", f"p{i}") for i in range(1, 8)}
    inv = {i: b.inv(d[i], f"n{i}") for i in (2, 4, 5, 6)}
    b.gate(("p", ("s", d[7], en), ("s", d[6], en), ("s", d[5], en), ("s", d[4], en)), "a2")
    b.gate(
        ("p", ("s", d[7], en), ("s", d[6], en), ("s", d[3], inv[4], inv[5], en), ("s", d[2], inv[4], inv[5], en)), "a1"
    )
    b.gate(
        ("p", ("s", d[7], en), ("s", d[5], inv[6], en), ("s", d[3], inv[4], inv[6], en),
         ("s", d[1], inv[2], inv[4], inv[6], en)), "a0",
    )  # fmt: skip
    b.nand(*(f"d{i}" for i in range(8)), en, y="eo")
    b.nand("eo", en, y="gs")
    ins = (*(f"d{i}" for i in range(8)), "ei")

    def encoder(v):
        low = [i for i in range(8) if not v[f"d{i}"]]
        on = not v["ei"] and low
        code = 7 - max(low) if on else 7
        return {f"a{i}": code >> i & 1 for i in range(3)} | {"gs": int(not on), "eo": int(bool(v["ei"] or low))}

    yield b.case(
        "priority_eight", [*ins, "a0", "a1", "a2", "gs", "eo"], "8-to-3 priority encoder", {},
        family="priority encoder", inputs=ins, function=encoder,
        source="8-line to 3-line priority encoder, active low ('148 type, data sheet, from memory)", held_out=True,
        slips=(("drop", "a2.p1"), ("gate", "a1.n4", "n6"), ("flip", "eo.p3")),
    )  # fmt: skip


def _decode():
    b = Board()
    for i in range(3):
        b.inv(b.inv(f"a{i}", f"a{i}n"), f"a{i}b")
    en = b.nor(b.inv("g1"), b.or_("g2", "g3"), y="en")
    for k in range(8):
        b.nand(*(f"a{i}b" if k >> i & 1 else f"a{i}n" for i in range(3)), en, y=f"y{k}")
    ins = ("a0", "a1", "a2", "g1", "g2", "g3")

    def line(v):
        on = v["g1"] and not v["g2"] and not v["g3"]
        return {f"y{k}": int(not (on and k == number(v, "a", 3))) for k in range(8)}

    yield b.case(
        "decoder_enabled", [*ins, *(f"y{k}" for k in range(8))], "3-to-8 decoder", {"decoder column": 8},
        family="decoder", inputs=ins, function=line,
        source="3-to-8 line decoder with three enables ('138 type, M74HC138 data sheet)", held_out=True,
        slips=(("gate", "y3.n1", "a1n"), ("drop", "y5.p2"), ("flip", "y6.n0")),
    )  # fmt: skip
    b = Board()
    for i in range(4):
        b.inv(b.inv(f"a{i}", f"a{i}n"), f"a{i}b")
    for k in range(10):
        b.nand(*(f"a{i}b" if k >> i & 1 else f"a{i}n" for i in range(4)), y=f"y{k}")
    ins = tuple(f"a{i}" for i in range(4))
    yield b.case(
        "decoder_ten", [*ins, *(f"y{k}" for k in range(10))], "4-to-10 decoder", {"decoder column": 10},
        family="decoder", inputs=ins,
        function=lambda v: {f"y{k}": int(k != number(v, "a", 4)) for k in range(10)},
        source="BCD to decimal decoder ('42 type, data sheet, from memory)", held_out=True,
        slips=(("gate", "y3.n2", "a2b"), ("gate", "y9.n0", "a0n"), ("drop", "y1.p3")),
    )  # fmt: skip
    b = Board("nmos")
    for i in range(3):
        b.inv(f"a{i}", f"a{i}n")
    for k in range(8):
        b.nor(*(f"a{i}n" if k >> i & 1 else f"a{i}" for i in range(3)), y=f"y{k}")
    ins = tuple(f"a{i}" for i in range(3))
    yield b.case(
        "decoder_nor", [*ins, *(f"y{k}" for k in range(8))], "3-to-8 decoder", {"decoder column": 8},
        family="decoder", inputs=ins, function=lambda v: {f"y{k}": int(k == number(v, "a", 3)) for k in range(8)},
        slips=(("gate", "y3.n2", "a2n"), ("drop", "y4.n0"), ("drop", "y7.load")),
    )  # fmt: skip


def _single():
    b = Board()
    b.nand("i1", "i3", y="w10")
    b.nand("i3", "i6", y="w11")
    b.nand("i2", "w11", y="w16")
    b.nand("w11", "i7", y="w19")
    b.nand("w10", "w16", y="o22")
    b.nand("w16", "w19", y="o23")
    ins = ("i1", "i2", "i3", "i6", "i7")

    def reference(v):
        w11 = 1 - (v["i3"] & v["i6"])
        w16, w19 = 1 - (v["i2"] & w11), 1 - (w11 & v["i7"])
        return {"o22": 1 - ((1 - (v["i1"] & v["i3"])) & w16), "o23": 1 - (w16 & w19)}

    yield b.case(
        "six_nands", [*ins, "o22", "o23"], "6 × NAND2", {"NAND2": 6}, family="gates", inputs=ins, function=reference,
        source="circuit c17 of the ISCAS-85 benchmarks (Brglez & Fujiwara 1985)", held_out=True,
        slips=(("drop", "w16.p0"), ("gate", "o23.n1", "w10"), ("flip", "w19.p1")),
    )  # fmt: skip
    b = Board()
    ins = tuple("abcdefghijkl")
    tree = (
        "p",
        ("s", "a", "b", "c"),
        ("s", ("p", "d", "e"), ("p", "f", "g", "h")),
        ("s", "i", ("p", "j", ("s", "k", "l"))),
    )
    b.gate(tree, "y")

    def wide(v):
        low = (
            (v["a"] & v["b"] & v["c"])
            | ((v["d"] | v["e"]) & (v["f"] | v["g"] | v["h"]))
            | (v["i"] & (v["j"] | (v["k"] & v["l"])))
        )
        return {"y": 1 - low}

    yield b.case(
        "wide_gate", [*ins, "y"], "complex gate", {}, family="gates", inputs=ins, function=wide,
        slips=(("gate", "y.n4", "f"), ("drop", "y.p7"), ("flip", "y.n9")),
    )  # fmt: skip
    b = Board("nmos")
    y, k = "a", ""
    for i in range(3):
        k = b.inv(y, "y" if i == 2 else f"x{i}")
        y = k
    yield b.case(
        "three_inverters", "a y", "3 inverters in a row", {"inverter": 3}, family="gates", inputs=("a",),
        function=lambda v: {"y": 1 - v["a"]}, slips=(("drop", "x1.load"), ("drop", "x0.n0"), ("twice", "x1.load")),
    )  # fmt: skip


def cases():
    """Yield the cases."""
    for group in (_compare, _parity, _multiplex, _priority, _decode, _single):
        yield from group()
