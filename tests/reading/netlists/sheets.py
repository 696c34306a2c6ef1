"""
Ten more circuits out of data sheets and textbooks, read for the first time when all others were named.

All from memory. At that first reading 7 were named as wanted, all had their parts, none was accused of a slip, and all
30 slips were told. References: plain Python arithmetic and counting.
"""

from .board import Board, bits, number


def _quad_mux():
    b = Board()
    sn, en = b.inv("s", "sn"), b.inv("g", "en")
    for i in range(4):
        b.inv(b.gate(("p", ("s", f"a{i}", sn, en), ("s", f"b{i}", "s", en)), f"y{i}n"), f"y{i}")
    ins = (*(f"{x}{i}" for x in "ab" for i in range(4)), "s", "g")

    def choose(v):
        return {f"y{i}": 0 if v["g"] else v[f"{'ab'[v['s']]}{i}"] for i in range(4)}

    return b.case(
        "quad_mux", [*ins, "y0", "y1", "y2", "y3"], "4 × 2:1 multiplexer", {"2:1 multiplexer": 4},
        family="multiplexer", source="quad 2:1 multiplexer with enable ('157 type, data sheet)", held_out=True,
        inputs=ins, function=choose, slips=(("drop", "y1n.p0"), ("gate", "y2n.n0", "b2"), ("flip", "y3.n0")),
    )  # fmt: skip


def _counted(width):
    steps = [({"c": 0, "rn": 0}, bits(0, "q", width)), ({"rn": 1}, {})]
    for n in range(1, (1 << width) + 2):
        steps += [({"c": 1}, bits(n % (1 << width), "q", width)), ({"c": 0}, {})]
    return steps


def _ripple_reset():
    b = Board()
    clock = "c"
    for i in range(4):
        cn = b.inv(clock, f"cn{i}")
        b.dff_reset(f"d{i}", clock, cn, "rn", f"q{i}")
        b.inv(f"q{i}", f"d{i}")
        clock = f"d{i}"
    return b.case(
        "ripple_reset", "c rn q0 q1 q2 q3", "4-bit ripple counter", {"toggle flip-flop": 4}, family="counter",
        source="ripple counter with reset ('393 type, data sheet)", held_out=True, steps=lambda: _counted(4),
        slips=(("drop", "d1.p0"), ("gate", "cn2.n0", "q1"), ("drop", "cn3.p0")),
    )  # fmt: skip


def _serial_in():
    b = Board()
    cn, d = b.inv("c", "cn"), b.and_("a", "b", y="d")
    for i in range(4):
        b.dff_reset(d, "c", cn, "rn", f"q{i}")
        d = f"q{i}"

    def shifted():
        steps, line = [({"c": 0, "rn": 0, "a": 0, "b": 0}, {}), ({"rn": 1}, {})], [0] * 4
        for n in range(12):
            a, b_in = n % 2, int(n % 3 > 0)
            line = [a & b_in, *line[:3]]
            steps += [({"c": 0, "a": a, "b": b_in}, {}), ({"c": 1}, {f"q{i}": v for i, v in enumerate(line)})]
        return steps

    return b.case(
        "serial_in", "a b c rn q0 q1 q2 q3", "4-bit shift register", {"register bit": 4}, family="shift register",
        source="serial-in shift register with gated input ('164 type, data sheet)", held_out=True, steps=shifted,
        slips=(("drop", "d.p0"), ("gate", "d.n0", "a"), ("drop", "cn.n0")),
    )  # fmt: skip


def _carry_select():
    b = Board()

    def full(x, y, c, s, out):
        b.xor(b.xor(x, y), c, y=s)
        b.inv(b.gate(("p", ("s", x, y), ("s", c, ("p", x, y)))), out)

    full("a0", "b0", "c0", "s0", "r1")
    full("a1", "b1", "r1", "s1", "r2")
    b.and_("a2", "b2", y="k3")
    b.xor("a2", "b2", y="z2")
    full("a3", "b3", "k3", "z3", "z4")
    b.or_("a2", "b2", y="l3")
    b.xnor("a2", "b2", y="o2")
    full("a3", "b3", "l3", "o3", "o4")
    rn = b.inv("r2", "r2n")
    for i, y in ((2, "s2"), (3, "s3"), (4, "c4")):
        b.mux_tg("r2", rn, f"z{i}", f"o{i}", y)
    ins = (*(f"{x}{i}" for x in "ab" for i in range(4)), "c0")

    def add(v):
        total = number(v, "a", 4) + number(v, "b", 4) + v["c0"]
        return {**bits(total, "s", 4), "c4": total >> 4}

    return b.case(
        "carry_select", [*ins, "s0", "s1", "s2", "s3", "c4"], "4-bit parallel adder", {}, family="adder",
        source="carry-select adder (Bedrij 1962)", held_out=True, inputs=ins, function=add,
        slips=(("drop", "s1.p0"), ("gate", "k3.n0", "b2"), ("drop", "r2n.p0")),
    )  # fmt: skip


def _quad_sr():
    b = Board()
    for i in range(4):
        b.nand(f"s{i}", f"n{i}", y=f"q{i}")
        b.nand(f"r{i}", f"q{i}", y=f"n{i}")
    return b.case(
        "quad_sr", [f"{x}{i}" for x in "srq" for i in range(4)], "4 × SR latch", {"SR latch": 4}, family="register",
        source="four set-reset latches ('279 type, data sheet)", held_out=True,
        steps=lambda: [({"s0": 0, "r0": 1}, {"q0": 1}), ({"s0": 1}, {"q0": 1}), ({"r0": 0}, {"q0": 0}),
                       ({"r0": 1}, {"q0": 0})],
        slips=(("drop", "q1.p0"), ("gate", "n2.n0", "r1"), ("flip", "q3.n0")),
    )  # fmt: skip


def _rc_schmitt():
    b = Board()
    b.n("x", "y", "m1")
    b.n("x", "m1", "VSS")
    b.n("y", "m1", "VDD")
    b.p("x", "y", "m2")
    b.p("x", "m2", "VDD")
    b.p("y", "m2", "VSS")
    b.r("y", "x", "1meg")
    b.c("x", "VSS")
    b.inv("y", "clk")
    return b.case(
        "rc_schmitt", "clk", "RC oscillator", {"Schmitt inverter": 1}, family="oscillator", held_out=True,
        source="oscillator of a Schmitt inverter ('14 type, data sheet)",
        slips=(("drop", "clk.p0"), ("flip", "clk.n0"), ("gate", "clk.p0", "x")),
    )  # fmt: skip


def _loadable():
    b = Board()
    cn, ln, carry = b.inv("c", "cn"), b.inv("l", "ln"), "e"
    for i in range(4):
        t = b.xor(f"q{i}", carry)
        d = b.inv(b.gate(("p", ("s", t, ln), ("s", f"p{i}", "l"))), f"d{i}")
        b.dff_reset(d, "c", cn, "rn", f"q{i}")
        carry = b.and_(carry, f"q{i}")
    b.buf(carry, "co")

    def counted():
        steps = [({"c": 0, "rn": 0, "l": 0, "e": 1, "p0": 1, "p1": 0, "p2": 1, "p3": 1}, {}), ({"rn": 1}, {})]
        now = 0
        for n in range(10):
            now = 13 if n == 3 else (now + 1) % 16
            steps += [({"c": 0, "l": int(n == 3)}, {}), ({"c": 1}, bits(now, "q", 4))]
        return steps

    return b.case(
        "counter_loadable", "c rn l e p0 p1 p2 p3 q0 q1 q2 q3 co", "4-bit synchronous counter", {"register bit": 4},
        family="counter", source="synchronous counter that can be loaded ('163 type, data sheet)", held_out=True,
        steps=counted, slips=(("drop", "d1.p0"), ("flip", "d2.n0"), ("drop", "ln.n0")),
    )  # fmt: skip


def _hamming():
    b = Board()
    sums = {"h0": (0, 1, 3), "h1": (0, 2, 3), "h2": (1, 2, 3)}
    for y, (i, j, k) in sums.items():
        b.xor(b.xor(f"d{i}", f"d{j}"), f"d{k}", y=y)
    ins = ("d0", "d1", "d2", "d3")
    return b.case(
        "hamming", [*ins, *sums], "3 × 3-bit parity tree", {"XOR2": 6}, family="parity", held_out=True, inputs=ins,
        source="check bits of four data bits (Hamming 1950)",
        function=lambda v: {y: sum(v[f"d{i}"] for i in places) % 2 for y, places in sums.items()},
        slips=(("drop", "h0.p0"), ("gate", "h1.n0", "d0"), ("flip", "h2.n0")),
    )  # fmt: skip


def _rom_plane():
    b = Board("nmos")
    columns = ("024", "13", "0125", "345")
    for c, words in enumerate(columns):
        b.nor(*(f"w{k}" for k in words), y=f"o{c}")
    ins = tuple(f"w{i}" for i in range(6))
    return b.case(
        "rom_plane", [*ins, "o0", "o1", "o2", "o3"], "ROM plane", {}, family="memory", held_out=True, inputs=ins,
        source="plane of NOR columns (Mead and Conway 1980)",
        function=lambda v: {f"o{c}": int(not any(v[f"w{k}"] for k in words)) for c, words in enumerate(columns)},
        slips=(("drop", "o1.load"), ("flip", "o2.n1"), ("twice", "o0.load")),
    )  # fmt: skip


def _domino_decoder():
    b = Board()
    an, bn = b.inv("a", "an"), b.inv("b", "bn")
    for i in range(4):
        x = f"x{i}"
        b.p("f", x, "VDD", f"{x}.pre")
        b.n("a" if i & 1 else an, x, f"k{i}", f"{x}.n0")
        b.n("b" if i & 2 else bn, f"k{i}", f"j{i}", f"{x}.n1")
        b.n("f", f"j{i}", "VSS", f"{x}.foot")
        b.inv(x, f"y{i}")
    return b.case(
        "domino_decoder", "f a b y0 y1 y2 y3", "2-to-4 decoder", {"domino gate": 4}, family="decoder", held_out=True,
        source="domino decoder (Krambeck, Lee and Law 1982)",
        slips=(("gate", "x1.n0", "an"), ("drop", "y2.p0"), ("drop", "x3.pre")),
    )  # fmt: skip


def cases():
    """Yield the cases."""
    for made in (_quad_mux, _ripple_reset, _serial_in, _carry_select, _quad_sr, _rc_schmitt, _loadable, _hamming,
                _rom_plane, _domino_decoder):  # fmt: skip
        yield made()
