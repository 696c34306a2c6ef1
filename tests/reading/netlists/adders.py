"""Adders in several styles. References: the sum of the numbers, in Python integers."""

from .board import Board, bits, number


def _sum4(v):
    total = number(v, "a", 4) + number(v, "b", 4) + v.get("c0", 0)
    return bits(total, "s", 4) | {"c4": total >> 4}


IN4 = tuple(f"{x}{i}" for x in "ab" for i in range(4))
PORTS4 = [*IN4, "c0", "s0", "s1", "s2", "s3", "c4"]


def mirror_bit(b, x, y, c, total, carry):
    """Put the mirror full adder: 24 transistors and two inverters."""
    cn = b.new("cn")
    k, m = b.new("k"), b.new("m")
    b.n(c, cn, k, f"{cn}.n0")
    b.n(x, k, "VSS", f"{cn}.n1")
    b.n(y, k, "VSS", f"{cn}.n2")
    k2, m2 = b.new("k"), b.new("m")
    b.n(x, cn, k2, f"{cn}.n3")
    b.n(y, k2, "VSS", f"{cn}.n4")
    b.p(c, cn, m, f"{cn}.p0")
    b.p(x, m, "VDD", f"{cn}.p1")
    b.p(y, m, "VDD", f"{cn}.p2")
    b.p(x, cn, m2, f"{cn}.p3")
    b.p(y, m2, "VDD", f"{cn}.p4")
    sn = b.new("sn")
    k, m = b.new("k"), b.new("m")
    b.n(cn, sn, k, f"{sn}.n0")
    b.p(cn, sn, m, f"{sn}.p0")
    for i, g in enumerate((x, y, c)):
        b.n(g, k, "VSS", f"{sn}.n{i + 1}")
        b.p(g, m, "VDD", f"{sn}.p{i + 1}")
    ks, ms = [sn, b.new("k"), b.new("k"), "VSS"], [sn, b.new("m"), b.new("m"), "VDD"]
    for i, g in enumerate((x, y, c)):
        b.n(g, ks[i], ks[i + 1], f"{sn}.n{i + 4}")
        b.p(g, ms[i], ms[i + 1], f"{sn}.p{i + 4}")
    b.inv(cn, carry)
    b.inv(sn, total)


def gates_bit(b, x, y, c, total, carry):
    """Put a full adder of two XOR and three NAND2."""
    h = b.xor_nand(x, y)
    b.xor_nand(h, c, total)
    b.nand(b.nand(x, y), b.nand(h, c), y=carry)


def switch_bit(b, x, y, c, total, carry):
    """Put a full adder of transmission gates: the half sum steers sum and carry."""
    xn, yn = b.inv(x), b.inv(y)
    h = b.xor_tg(x, xn, y, yn)
    hn = b.xor_tg(x, xn, yn, y)
    cn = b.inv(c)
    b.inv(b.mux_tg(h, hn, cn, c), total)
    b.inv(b.mux_tg(h, hn, b.inv(x), b.inv(c)), carry)


def complex_bit(b, x, y, c, total, carry):
    """Put a full adder of two complex gates, as in ratioed logic."""
    cn = b.gate(("p", ("s", x, y), ("s", c, ("p", x, y))), f"{carry}_n")
    sn = b.gate(("p", ("s", cn, ("p", x, y, c)), ("s", x, y, c)))
    b.inv(cn, carry)
    b.inv(sn, total)


def _ripple(b, bit, count=4):
    for i in range(count):
        bit(b, f"a{i}", f"b{i}", f"c{i}", f"s{i}", f"c{i + 1}")


def cases():
    """Yield the cases."""
    b = Board()
    _ripple(b, mirror_bit)
    names = [n for n in b.devices if n.startswith("cn_")]
    yield b.case(
        "mirror", PORTS4, "4-bit ripple adder", {"full adder": 4}, family="adder", inputs=(*IN4, "c0"), function=_sum4,
        source="mirror adder (Weste & Harris, from memory)", held_out=True,
        slips=(("gate", names[0], "a1"), ("drop", names[7]), ("flip", names[11])),
    )  # fmt: skip
    b = Board()
    _ripple(b, gates_bit)
    yield b.case(
        "gates", PORTS4, "4-bit ripple adder", {"full adder": 4}, family="adder", inputs=(*IN4, "c0"), function=_sum4,
        slips=(("drop", "c2.p0"), ("gate", "s1.n0", "a1"), ("flip", "c3.p1")),
    )  # fmt: skip
    b = Board()
    _ripple(b, switch_bit)
    gates = [n for n in b.devices if ".tg" in n]
    yield b.case(
        "switches", PORTS4, "4-bit ripple adder", {"full adder": 4}, family="adder", inputs=(*IN4, "c0"),
        function=_sum4, slips=(("drop", gates[3]), ("gate", gates[5], "a2"), ("flip", gates[0])),
    )  # fmt: skip
    for style in ("nmos", "pmos"):
        b = Board(style, "VSS" if style == "pmos" else "VDD", "VDD" if style == "pmos" else "VSS")
        _ripple(b, complex_bit)
        yield b.case(
            f"complex_{style}", PORTS4, "4-bit ripple adder", {"full adder": 4}, family="adder",
            inputs=(*IN4, "c0"), function=_sum4,
            slips=(("drop", "c2_n.load"), ("drop", "s1.load"), ("join", "s0", "s2")),
        )  # fmt: skip
    b = Board()
    b.xor("a0", "b0", "s0")
    b.and_("a0", "b0", y="c1")
    for i in (1, 2):
        gates_bit(b, f"a{i}", f"b{i}", f"c{i}", f"s{i}", f"c{i + 1}")
    ins = tuple(f"{x}{i}" for x in "ab" for i in range(3))

    def sum3(v):
        total = number(v, "a", 3) + number(v, "b", 3)
        return bits(total, "s", 3) | {"c3": total >> 3}

    yield b.case(
        "half_first", [*ins, "s0", "s1", "s2", "c3"], "3-bit ripple adder", {"full adder": 2, "half adder": 1},
        family="adder", inputs=ins, function=sum3,
        slips=(("drop", "c1.p0"), ("gate", "s0.n0", "b1"), ("twice", "c2.n0")),
    )  # fmt: skip
    yield _lookahead()
    yield _manchester()
    b = Board()
    carry = "c0"
    for i in range(4):
        b.xor(f"a{i}", carry, f"s{i}")
        carry = b.and_(f"a{i}", carry, y=f"c{i + 1}")

    def plus_one(v):
        total = number(v, "a", 4) + v["c0"]
        return bits(total, "s", 4) | {"c4": total >> 4}

    ins = ("a0", "a1", "a2", "a3", "c0")
    yield b.case(
        "incrementer", [*ins, "s0", "s1", "s2", "s3", "c4"], "4-bit incrementer", {"half adder": 4}, family="adder",
        inputs=ins, function=plus_one, slips=(("drop", "s2.p1"), ("gate", "s1.n0", "a3"), ("flip", "c2.n0")),
    )  # fmt: skip
    b = Board()
    for i in range(4):
        b.xor(f"b{i}", "m", f"x{i}")
        gates_bit(b, f"a{i}", f"x{i}", "m" if i == 0 else f"c{i}", f"s{i}", f"c{i + 1}")

    def either(v):
        x = number(v, "b", 4) ^ (15 if v["m"] else 0)
        total = number(v, "a", 4) + x + v["m"]
        return bits(total, "s", 4) | {"c4": total >> 4}

    yield b.case(
        "subtractor", [*IN4, "m", "s0", "s1", "s2", "s3", "c4"], "4-bit adder-subtractor",
        {"full adder": 4, "XOR2": 4}, family="adder", inputs=(*IN4, "m"), function=either,
        slips=(("drop", "x2.p0"), ("gate", "s3.p1", "a0"), ("join", "x0", "x1")),
    )  # fmt: skip


def _lookahead():
    b = Board()
    g, p = {}, {}
    for i in range(4):
        g[i] = b.and_(f"a{i}", f"b{i}", y=f"g{i}")
        p[i] = b.or_(f"a{i}", f"b{i}", y=f"p{i}")
    carries = ["c0"]
    for i in range(4):
        terms = [("s", *(p[k] for k in range(i, j, -1)), g[j]) if j < i else g[j] for j in range(i, -1, -1)]
        terms.append(("s", *(p[k] for k in range(i, -1, -1)), "c0"))
        cn = b.gate(("p", *terms), f"c{i + 1}_n")
        carries.append(b.inv(cn, f"c{i + 1}"))
    for i in range(4):
        half = b.nor(g[i], b.inv(p[i]), y=f"h{i}")  # p and not g: the half sum
        b.xor(half, carries[i], f"s{i}")
    return b.case(
        "lookahead", PORTS4, "4-bit parallel adder", {}, family="adder", inputs=(*IN4, "c0"), function=_sum4,
        source="4-bit adder with carry look-ahead (the textbook form, Weste & Harris, from memory)", held_out=True,
        slips=(("drop", "c3_n.p2"), ("gate", "c4_n.n1", "g0"), ("flip", "s2.n0")),
    )  # fmt: skip


def _manchester():
    b = Board("nmos")
    for i in range(4):
        p = b.xor(f"a{i}", f"b{i}", f"p{i}")
        # the chain carries the inverse: charged on ck, pulled down where a carry is generated
        gen = b.nor(b.inv(f"a{i}"), b.inv(f"b{i}"), y=f"gen{i}")
        b.n("ck", "VDD", f"cn{i + 1}", f"cn{i + 1}.pre")
        low = b.nor(b.inv(gen), "ck", y=f"go{i}")
        b.n(low, f"cn{i + 1}", "VSS", f"cn{i + 1}.n")
        b.n(p, f"cn{i}", f"cn{i + 1}", f"cn{i + 1}.pass")
        b.inv(f"cn{i}", f"c{i}")
        b.xor(p, f"c{i}", f"s{i}")
    b.inv("cn4", "c4")
    return b.case(
        "manchester", [*IN4, "cn0", "ck", "s0", "s1", "s2", "s3", "c4"], "4-bit Manchester adder",
        {"half adder": 4, "XOR2": 4}, family="adder", held_out=True,
        source="carry chain of pass transistors (Mead & Conway 1980, from memory)",
        slips=(("drop", "cn2.pre"), ("gate", "cn3.pass", "p0"), ("drop", "s1.load")),
    )  # fmt: skip
