"""Out of papers and data sheets: memories, oscillators, detectors; see `papers`. References: plain Python."""

from .board import Board, bits, number


def _memory():
    # 23: content-addressable word: four cells of nine transistors, match line precharged
    b = Board()
    b.p("pre", "match", "VDD", "match.pre")
    for i in range(4):
        q, qn = b.ram6("word", f"bl{i}", f"bn{i}")
        b.n(f"sl{i}", "match", f"h{i}", f"m{i}.a")
        b.n(qn, f"h{i}", "VSS", f"m{i}.b")
        b.n(f"sn{i}", "match", f"g{i}", f"m{i}.c")
        b.n(q, f"g{i}", "VSS", f"m{i}.d")
    yield b.case(
        "match_word",
        ["pre", "word", "match", *(f"{x}{i}" for i in range(4) for x in ("bl", "bn", "sl", "sn"))],
        "content-addressable word",
        {"static RAM cell": 4},
        family="memory",
        held_out=True,
        source="content-addressable cell of ten transistors (Weste and Harris)",
        slips=(("gate", "m2.a", "sn2"), ("drop", "m1.b"), ("drop", "match.pre")),
    )

    # 24: NOR ROM 8 × 4 with NMOS decoder
    b = Board("nmos")
    data = [0x3, 0x9, 0xE, 0x5, 0x0, 0xF, 0xA, 0x6]
    for i in range(3):
        b.inv(f"a{i}", f"n{i}")
    for k in range(8):
        b.nor(*(f"n{i}" if k >> i & 1 else f"a{i}" for i in range(3)), y=f"w{k}")
    for j in range(4):
        b.nor(*(f"w{k}" for k in range(8) if not data[k] >> j & 1), y=f"d{j}")
    ins = ("a0", "a1", "a2")
    yield b.case(
        "rom_nmos",
        [*ins, "d0", "d1", "d2", "d3"],
        "8 × 4 ROM",
        {"3-to-8 decoder": 1},
        family="memory",
        source="NOR ROM with depletion loads (Mead and Conway 1980)",
        held_out=True,
        inputs=ins,
        function=lambda v: bits(data[number(v, "a", 3)], "d", 4),
        slips=(("drop", "w3.load"), ("gate", "w5.n1", "a0"), ("drop", "n1.n0")),
    )

    # 25: register file 4 × 2, one write, two read ports of stacks
    b = Board()
    for r in range(4):
        for j in range(2):
            q, qn = b.ram6(f"w{r}", f"bl{j}", f"bn{j}")
            b.n(qn, f"k{r}{j}a", "VSS", f"r{r}{j}a.d")
            b.n(f"ra{r}", f"A{j}", f"k{r}{j}a", f"r{r}{j}a")
            b.n(qn, f"k{r}{j}b", "VSS", f"r{r}{j}b.d")
            b.n(f"rb{r}", f"B{j}", f"k{r}{j}b", f"r{r}{j}b")
    for j in range(2):
        for x in "AB":
            b.p("pre", f"{x}{j}", "VDD", f"{x}{j}.pre")
    yield b.case(
        "file_two_read",
        [
            "pre",
            *(f"{x}{r}" for r in range(4) for x in ("w", "ra", "rb")),
            *(f"{x}{j}" for j in range(2) for x in ("bl", "bn", "A", "B")),
        ],
        "4 × 2 register file",
        {"static RAM cell": 8},
        family="memory",
        held_out=True,
        source="register file of cells with read stacks (Weste and Harris)",
        slips=(("gate", "r20a", "rb2"), ("drop", "r31b.d"), ("gate", "r11b", "rb2")),
    )

    # 26: PMOS two-phase shift register, enhancement loads clocked by the phase? plain: 3 bits (saturated loads)
    b = Board("pmos")
    d = "d"
    for i in range(3):
        b.switch("f1", d, f"m{i}", f"m{i}.s")
        w = b.inv(f"m{i}", f"w{i}")
        b.switch("f2", w, f"s{i}", f"s{i}.s")
        d = b.inv(f"s{i}", f"q{i}")
    yield b.case(
        "pmos_shift",
        "d f1 f2 q2",
        "3-bit shift register",
        {"shift-register bit": 3},
        family="shift register",
        source="two-phase ratioed shift register (PMOS data books about 1970)",
        held_out=True,
        slips=(("gate", "s1.s", "f1"), ("drop", "w2.load"), ("twice", "q0.load")),
    )


def _odd():
    # 27: current-starved ring oscillator
    b = Board()
    b.n("v", "m", "VSS", "m.n")
    b.p("m", "m", "VDD", "m.p")
    a = "y"
    for i in range(5):
        y = "y" if i == 4 else f"x{i}"
        b.p("m", f"h{i}", "VDD", f"{y}.head")
        b.p(a, y, f"h{i}", f"{y}.p")
        b.n(a, y, f"l{i}", f"{y}.n")
        b.n("v", f"l{i}", "VSS", f"{y}.foot")
        a = y
    b.buf("y", "q")
    yield b.case(
        "starved_ring",
        "v q",
        "ring oscillator",
        {"inverter": 2},
        family="oscillator",
        source="current-starved ring oscillator (Jeong and others 1987)",
        held_out=True,
        slips=(("gate", "x1.head", "v"), ("drop", "x2.foot"), ("gate", "x3.p", "x1")),
    )

    # 28: charge pump of MOS diodes (Dickson 1976)
    b = Board("nmos")
    b.inv("f", "fn")
    b.buf("f", "fp")
    b.buf("fn", "fq")
    at = "VDD"
    for i in range(3):
        b.n(at, at, f"v{i}", f"v{i}.d")
        b.c(f"v{i}", "fp" if i % 2 == 0 else "fq")
        at = f"v{i}"
    b.n(at, at, "out", "out.d")
    b.c("out", "VSS", "100p")
    yield b.case(
        "charge_pump",
        "f out",
        "voltage multiplier",
        {},
        family="supply",
        held_out=True,
        source="voltage multiplier of diode-connected transistors (Dickson 1976)",
        slips=(("drop", "fp.n0"), ("gate", "v1.d", "f"), ("drop", "fn.load")),
    )

    # 29: clocked sense amplifier latch (StrongARM form)
    b = Board()
    b.n("c", "t", "VSS", "t.n", width=16)
    b.n("ip", "u", "t", "u.n")
    b.n("im", "v", "t", "v.n")
    b.n("yp", "ym", "u", "ym.n")
    b.n("ym", "yp", "v", "yp.n")
    b.p("yp", "ym", "VDD", "ym.p")
    b.p("ym", "yp", "VDD", "yp.p")
    b.p("c", "ym", "VDD", "ym.pre")
    b.p("c", "yp", "VDD", "yp.pre")
    b.nand("ym", "qn", y="q")
    b.nand("yp", "q", y="qn")
    yield b.case(
        "clocked_sense",
        "c ip im q qn",
        "sense-amplifier flip-flop",
        {},
        family="memory",
        source="clocked sense-amplifier flip-flop (Montanaro and others 1996)",
        held_out=True,
        slips=(("gate", "yp.n", "yp"), ("drop", "ym.pre"), ("gate", "q.n1", "yp")),
    )

    # 30: edge detector: XOR of a net and its delayed self
    b = Board()
    a = "a"
    for i in range(4):
        a = b.inv(a, f"x{i}")
    b.xor("a", a, y="y")
    yield b.case(
        "edge_detector",
        "a y",
        "edge pulse generator",
        {},
        family="logic",
        held_out=True,
        source="edge detector of a delay and an XOR (common practice)",
        slips=(("drop", "x1.p0"), ("gate", "y.n0", "x2"), ("flip", "x3.n0")),
    )

    # 31: power-on reset: R, C, Schmitt inverter
    b = Board()
    b.r("VDD", "t", "1meg")
    b.c("t", "VSS", "100n")
    b.diode("t", "VDD")
    k, m, y = "k", "m", "y"
    b.n("t", y, k, "y.n0")
    b.n("t", k, "VSS", "y.n1")
    b.n(y, "VDD", k, "y.nf")
    b.p("t", y, m, "y.p0")
    b.p("t", m, "VDD", "y.p1")
    b.p(y, "VSS", m, "y.pf")
    b.inv(y, "rn")
    yield b.case(
        "power_on_paper",
        "t rn",
        "power-on reset",
        {"Schmitt inverter": 1},
        family="oscillator",
        held_out=True,
        source="power-on reset of a resistor, a capacitor and a Schmitt inverter (application notes)",
        slips=(("drop", "rn.p0"), ("gate", "y.nf", "t"), ("flip", "rn.n0")),
    )

    # 32: 4-bit LFSR in static CMOS with XNOR (locks up at all ones)
    b = Board()
    cn = b.inv("c", "cn")
    b.xnor("q2", "q3", y="d0")
    for i in range(4):
        b.dff_reset("d0" if i == 0 else f"q{i - 1}", "c", cn, "rn", f"q{i}")

    def lfsr():
        steps, line = [({"c": 0, "rn": 0}, bits(0, "q", 4)), ({"rn": 1}, {})], [0] * 4
        for _ in range(16):
            line = [1 - (line[2] ^ line[3]), *line[:3]]
            steps += [({"c": 1}, {f"q{i}": x for i, x in enumerate(line)}), ({"c": 0}, {})]
        return steps

    yield b.case(
        "lfsr_xnor",
        "c rn q0 q1 q2 q3",
        "4-bit feedback shift register",
        {"register bit": 4},
        family="counter",
        steps=lfsr,
        source="feedback shift register with XNOR (application notes; tables of taps)",
        held_out=True,
        slips=(("drop", "d0.p0"), ("gate", "d0.n1", "q0"), ("drop", "q2.n0")),
    )

    # 33: complementary pass-transistor AND/NAND and XOR (Yano 1990)
    b = Board()
    for k in "ab":
        b.inv(k, f"{k}n")
    b.n("b", "a", "u", "u.1")
    b.n("bn", "b", "u", "u.2")
    b.n("b", "an", "v", "v.1")
    b.n("bn", "bn", "v", "v.2")
    b.p("y", "v", "VDD", "v.keep", length=8)
    b.p("yn", "u", "VDD", "u.keep", length=8)
    b.inv("u", "yn")
    b.inv("v", "y")
    yield b.case(
        "pass_and",
        "a b y yn",
        "AND2 and NAND2",
        {},
        family="logic",
        held_out=True,
        source="complementary pass-transistor logic (Yano and others 1990)",
        inputs=("a", "b"),
        function=lambda v: {"y": v["a"] & v["b"], "yn": 1 - (v["a"] & v["b"])},
        slips=(("gate", "v.1", "bn"), ("drop", "y.n0"), ("flip", "u.2")),
    )

    # 34: Hamming (7,4) corrector
    b = Board()
    pos = [f"d{i}" for i in range(1, 8)]
    for j in range(3):
        members = [f"d{i}" for i in range(1, 8) if i >> j & 1]
        x = b.xor(members[0], members[1])
        y = b.xor(members[2], members[3])
        b.xor(x, y, y=f"s{j}")
        b.inv(f"s{j}", f"sn{j}")
    for i in (3, 5, 6, 7):
        hit = b.nor(*(f"sn{j}" if i >> j & 1 else f"s{j}" for j in range(3)), y=f"h{i}")
        b.xor(f"d{i}", hit, y=f"y{i}")

    def corrected(v):
        s = 0
        for i in range(1, 8):
            s ^= i if v[f"d{i}"] else 0
        return {f"y{i}": v[f"d{i}"] ^ int(s == i) for i in (3, 5, 6, 7)}

    yield b.case(
        "hamming_corrector",
        [*pos, "y3", "y5", "y6", "y7"],
        "single-error corrector",
        {"XOR2": 13},
        family="logic",
        source="correction of a single error (Hamming 1950)",
        held_out=True,
        inputs=tuple(pos),
        function=corrected,
        slips=(("drop", "y5.p0"), ("gate", "h6.n0", "sn0"), ("flip", "s1.n0")),
    )

    # 35: PLA, dynamic two-phase NOR-NOR, 3 inputs 4 products 2 outputs
    b = Board()
    for k in "abc":
        b.inv(k, f"{k}n")
    products = {"p0": ("an", "bn"), "p1": ("a", "c"), "p2": ("b", "cn"), "p3": ("an", "c")}  # NOR: product of inverses
    for name, lits in products.items():
        b.p("f", name, "VDD", f"{name}.pre")
        for k in lits:
            b.n(k, name, f"{name}g", f"{name}.{k}")
        b.n("f", f"{name}g", "VSS", f"{name}.foot")
    for out, terms in {"y": ("p0", "p2"), "z": ("p1", "p3", "p0")}.items():
        b.p("f2", out, "VDD", f"{out}.pre")
        for t in terms:
            b.n(t, out, f"{out}g", f"{out}.{t}")
        b.n("f2", f"{out}g", "VSS", f"{out}.foot")
    yield b.case(
        "dynamic_pla",
        "a b c f f2 y z",
        "PLA",
        {},
        family="memory",
        held_out=True,
        source="dynamic NOR-NOR PLA (Weste and Eshraghian)",
        slips=(("drop", "p2.pre"), ("gate", "p1.foot", "a"), ("flip", "y.p0")),
    )


def cases():
    """Yield the cases."""
    yield from _memory()
    yield from _odd()
