"""
Registers and memories out of textbooks, papers and data sheets: see `textbook`, with which they were written down.

All from memory. References: plain Python arithmetic and lists.
"""

import random

from .board import Board, bits


def _registers():
    b = Board()
    cn, en = b.inv("c", "cn"), b.inv("oe", "oen")
    for i in range(4):
        b.dff(f"d{i}", "c", cn, f"q{i}")
        b.tri(f"q{i}", f"y{i}", "oe", en)

    def octal():
        rng, steps = random.Random(11), [({"oe": 1, "c": 0}, {})]
        for _ in range(6):
            word = rng.randrange(16)
            steps += [({"c": 0} | bits(word, "d", 4), {}), ({"c": 1}, bits(word ^ 15, "y", 4))]
        return steps

    yield b.case(
        "register_tristate", "d0 d1 d2 d3 c oe y0 y1 y2 y3", "4-bit register with tri-state outputs",
        {"register bit": 4, "tri-state inverter": 4}, family="register", steps=octal,
        source="register with three-state outputs ('374 type, data sheet)", held_out=True,
        slips=(("drop", "y1.pd"), ("gate", "y2.p", "oe"), ("drop", "oen.n0")),
    )  # fmt: skip

    b = Board()
    cn = b.inv("c", "cn")
    for k in ("s0", "s1"):
        b.inv(k, f"{k}n")
    for i in range(4):
        left = "dl" if i == 0 else f"q{i - 1}"
        right = "dr" if i == 3 else f"q{i + 1}"
        picked = b.gate(("p", ("s", f"q{i}", "s0n", "s1n"), ("s", left, "s0", "s1n"),
                         ("s", right, "s0n", "s1"), ("s", f"p{i}", "s0", "s1")), f"dn{i}")  # fmt: skip
        b.dff(b.inv(picked, f"d{i}"), "c", cn, f"q{i}")

    def universal():
        rng, steps, line = random.Random(13), [], [0] * 4
        for n in range(14):
            mode = 3 if n == 0 else rng.randrange(4)
            word, dl, dr = [rng.randint(0, 1) for _ in range(4)], rng.randint(0, 1), rng.randint(0, 1)
            line = [line, [dl, *line[:3]], [*line[1:], dr], word][mode]
            ins = {"c": 0, "s0": mode & 1, "s1": mode >> 1, "dl": dl, "dr": dr}
            steps += [(ins | {f"p{i}": w for i, w in enumerate(word)}, {}),
                      ({"c": 1}, {f"q{i}": v for i, v in enumerate(line)})]  # fmt: skip
        return steps

    yield b.case(
        "universal", "c s0 s1 dl dr p0 p1 p2 p3 q0 q1 q2 q3", "4-bit universal shift register",
        {"register bit": 4, "4:1 multiplexer": 4}, family="shift register", steps=universal,
        source="universal shift register ('194 type, data sheet)", held_out=True,
        slips=(("drop", "dn1.p3"), ("gate", "dn2.n4", "s1"), ("flip", "d3.n0")),
    )  # fmt: skip

    b = Board()
    cn = b.inv("c", "cn")
    kn = b.inv("k", "kn")
    b.inv("q", "qn")
    data = b.inv(b.gate(("p", ("s", "j", "qn"), ("s", kn, "q")), "dn"), "d")
    b.dff_reset(data, "c", cn, "rn", "q")

    def jk():
        rng, steps, q = random.Random(17), [({"c": 0, "rn": 0, "j": 0, "k": 0}, {"q": 0}), ({"rn": 1}, {"q": 0})], 0
        for _ in range(12):
            j, k = rng.randint(0, 1), rng.randint(0, 1)
            q = (j and not q) or (not k and q)
            steps += [({"c": 0, "j": j, "k": k}, {}), ({"c": 1}, {"q": int(q)})]
        return steps

    yield b.case(
        "jk", "j k c rn q qn", "JK flip-flop", {"register bit": 1}, family="register", steps=jk,
        source="JK flip-flop of a D flip-flop ('4027 type, data sheet)", held_out=True,
        slips=(("drop", "dn.p1"), ("gate", "dn.n1", "q"), ("drop", "kn.p0")),
    )  # fmt: skip

    b = Board()
    d = "d"
    for i in range(3):
        b.tri(d, f"m{i}", "fn", "f")
        b.tri(f"m{i}", f"q{i}", "f", "fn")
        d = f"q{i}"
    yield b.case(
        "clocked_cmos", "d f fn q0 q1 q2", "3-bit shift register", {"register bit": 3}, family="shift register",
        source="clocked CMOS register (Suzuki 1973)", held_out=True,
        slips=(("gate", "q1.n", "fn"), ("drop", "m1.pd"), ("gate", "q2.nd", "m1")),
    )  # fmt: skip

    b = Board()
    b.p("d", "k0", "VDD", "x1.p1")
    b.p("c", "x1", "k0", "x1.p0")
    b.n("d", "x1", "VSS", "x1.n0")
    b.p("c", "x2", "VDD", "x2.p0")
    b.n("x1", "x2", "k2", "x2.n0")
    b.n("c", "k2", "VSS", "x2.n1")
    b.p("x2", "x3", "VDD", "x3.p0")
    b.n("c", "x3", "k3", "x3.n0")
    b.n("x2", "k3", "VSS", "x3.n1")
    b.inv("x3", "q")

    def single():
        rng, steps = random.Random(19), []
        for _ in range(10):
            v = rng.randint(0, 1)
            steps += [({"c": 0, "d": v}, {}), ({"c": 1}, {"q": v})]
        return steps

    yield b.case(
        "single_phase", "d c q", "register bit", {}, family="register", steps=single,
        source="true single-phase clocked flip-flop (Yuan and Svensson 1989)", held_out=True,
        slips=(("drop", "x1.n0"), ("flip", "x2.n1"), ("gate", "x3.n1", "x1")),
    )  # fmt: skip


def _memories():
    b = Board("nmos")
    for w in range(4):
        for c in range(2):
            q, qn = f"q{w}{c}", f"p{w}{c}"
            b.n(q, qn, "VSS", f"{qn}.n0", width=8)
            b.n(qn, q, "VSS", f"{q}.n0", width=8)
            b.r("VDD", q, "1g")
            b.r("VDD", qn, "1g")
            b.n(f"w{w}", f"b{c}", q, f"{q}.access")
            b.n(f"w{w}", f"e{c}", qn, f"{qn}.access")
    yield b.case(
        "ram_resistors", "w0 w1 w2 w3 b0 e0 b1 e1", "4 × 2 RAM array", {"static RAM cell": 8}, family="memory",
        source="four-transistor cell with two poly resistors (NMOS static memories of the 1970s)", held_out=True,
        slips=(("drop", "q10.n0"), ("gate", "q21.access", "w1"), ("end", "p30.access", "e0", "b0")),
    )  # fmt: skip

    b = Board()
    for c in range(2):
        for w in range(4):
            cell = f"s{w}{c}"
            b.n(f"w{w}", f"b{c}" if w < 2 else f"e{c}", cell, f"{cell}.access")
            b.c(cell, "VSS", "50f")
        b.n(f"b{c}", f"e{c}", f"t{c}", f"sa{c}.n0", width=8)
        b.n(f"e{c}", f"b{c}", f"t{c}", f"sa{c}.n1", width=8)
        b.n("sense", f"t{c}", "VSS", f"sa{c}.tail", width=16)
        b.p(f"b{c}", f"e{c}", f"h{c}", f"sa{c}.p0", width=8)
        b.p(f"e{c}", f"b{c}", f"h{c}", f"sa{c}.p1", width=8)
        b.p("sensen", f"h{c}", "VDD", f"sa{c}.head", width=16)
        b.p("eqn", f"b{c}", f"e{c}", f"eq{c}")
    yield b.case(
        "ram_1t", "w0 w1 w2 w3 sense sensen eqn b0 e0 b1 e1", "4 × 2 dynamic RAM",
        {"dynamic RAM cell": 8, "sense amplifier": 2}, family="memory", held_out=True,
        source="one-transistor cells on folded bit lines with a cross-coupled sense amplifier (Stein and others 1972)",
        slips=(("drop", "sa1.n0"), ("gate", "s20.access", "w1"), ("gate", "sa0.p0", "e0")),
    )  # fmt: skip

    b = Board("nmos")
    an, bn = b.inv("a", "an"), b.inv("b", "bn")
    words = [b.nand("a" if i & 1 else an, "b" if i & 2 else bn, y=f"w{i}") for i in range(4)]
    table = (0b1010, 0b0110, 0b1101, 0b0011)
    for c in range(4):
        series = [w for i, w in enumerate(words) if table[i] >> c & 1]
        b.gate(("s", *series) if len(series) > 1 else series[0], f"o{c}")
    ins = ("a", "b")
    yield b.case(
        "rom_nand", [*ins, "o0", "o1", "o2", "o3"], "4 × 4 ROM", {"2-to-4 decoder": 1}, family="memory", inputs=ins,
        source="ROM of series transistors with active-low word lines (Weste and Harris)", held_out=True,
        function=lambda v: bits(table[v["a"] + 2 * v["b"]], "o", 4),
        slips=(("gate", "w2.n0", "a"), ("drop", "w1.load"), ("flip", "o1.n0")),
    )  # fmt: skip


def cases():
    """Yield the cases."""
    for family in (_registers, _memories):
        yield from family()
