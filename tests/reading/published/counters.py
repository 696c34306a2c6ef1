"""Published circuits: counters and dividers; from memory, each source named."""

from random import Random

from .kit import MEM, Board, bits


def cases():
    # Johnson decade
    b = Board()
    b.inv("ck", "ckn")
    b.inv("mr", "rn")
    for i in range(5):
        d = "n4" if i == 0 else f"q{i - 1}"
        if i == 2:
            d = b.nor("n1", b.nor("q0", "q2", y="lk"), y="d2")
        q, _ = b.dff(d, "ck", "ckn", f"q{i}", reset="rn")
        b.inv(q, f"n{i}")
    lits = [
        ("q0", "q4"),
        ("n0", "q1"),
        ("n1", "q2"),
        ("n2", "q3"),
        ("n3", "q4"),
        ("n0", "n4"),
        ("q0", "n1"),
        ("q1", "n2"),
        ("q2", "n3"),
        ("q3", "n4"),
    ]
    for k, (x, y) in enumerate(lits):
        b.nor(x, y, y=f"y{k}")

    def johnson():
        steps = [({"ck": 0, "mr": 1}, {f"y{k}": int(k == 0) for k in range(10)}), ({"mr": 0}, {})]
        for n in range(1, 13):
            steps += [({"ck": 1}, {f"y{k}": int(k == n % 10) for k in range(10)}), ({"ck": 0}, {})]
        return steps

    yield b.case(
        "johnson_decade",
        ["ck", "mr", *(f"y{k}" for k in range(10)), "n4"],
        "5-bit Johnson counter",
        {"NOR2": 12, "register bit": 5},
        source="decade counter with ten outputs, 4017 type data sheet" + MEM,
        steps=johnson,
        slips=(("gate", "y3.n1", "n3"), ("gate", "q3.in.n", "ck"), ("drop", "d2.p1")),
    )
    # ring counter, self-starting
    b = Board("nmos")
    d = b.nor("q0", "q1", "q2", "r", y="d")
    for i in range(4):
        b.n("f1", d, f"m{i}", f"m{i}.s")
        b.inv(f"m{i}", f"w{i}")
        b.n("f2", f"w{i}", f"t{i}", f"t{i}.s")
        d = b.inv(f"t{i}", f"q{i}")

    def ring():
        steps, line = [({"f1": 0, "f2": 0, "r": 1}, {})], [0] * 4
        for n in range(16):
            if n == 5:
                steps.append(({"r": 0}, {}))
            line = [int(n > 4 and not any(line[:3])), *line[:3]]
            want = {f"q{i}": x for i, x in enumerate(line)} if n > 3 else {}
            steps += [({"f1": 1}, {}), ({"f1": 0}, {}), ({"f2": 1}, {}), ({"f2": 0}, want)]
        return steps

    yield b.case(
        "ring_counter",
        "f1 f2 r q0 q1 q2 q3",
        "4-bit ring counter",
        {"shift-register bit": 4, "NOR4": 1},
        steps=ring,
        source="self-correcting ring counter, Kohavi / Mano; two-phase stages, Mead & Conway" + MEM,
        slips=(("gate", "t2.s", "f1"), ("drop", "m3.s"), ("strong", "w1.load")),
    )
    # PMOS feedback shift register
    b = Board("pmos")
    b.xor("q4", "q1", y="x")
    b.nor("x", "st", y="dn")
    d = b.inv("dn", "d")
    for i in range(5):
        b.p("f1", d, f"m{i}", f"m{i}.s")
        b.inv(f"m{i}", f"w{i}")
        b.p("f2", f"w{i}", f"t{i}", f"t{i}.s")
        d = b.inv(f"t{i}", f"q{i}")

    def feedback():
        cycle = [({"f1": 0}, {}), ({"f1": 1}, {}), ({"f2": 0}, {})]
        steps, line = [({"f1": 1, "f2": 1, "st": 1}, {})], [1] * 5
        for _ in range(5):
            steps += [*cycle, ({"f2": 1}, {})]
        steps += [({"st": 0}, {f"q{i}": 1 for i in range(5)})]
        for _ in range(12):
            line = [line[4] ^ line[1], *line[:4]]
            steps += [*cycle, ({"f2": 1}, {f"q{i}": x for i, x in enumerate(line)})]
        return steps

    yield b.case(
        "pmos_feedback",
        "f1 f2 st q4",
        "5-bit feedback shift register",
        {"shift-register bit": 5, "NOR2": 1, "XOR2": 1},
        source="shift-register sequences, Golomb 1967; PMOS dynamic stages of about 1970" + MEM,
        steps=feedback,
        slips=(("gate", "m2.s", "f2"), ("drop", "w3.load"), ("twice", "dn.load")),
    )
    # ripple counter
    b = Board()
    b.inv("mr", "rn")
    b.inv("cp", "cn")
    c, cn = "cn", "cp"
    for i in range(4):
        b.dff(f"z{i}", c, cn, f"q{i}", reset="rn")
        b.inv(f"q{i}", f"z{i}")
        c, cn = f"z{i}", f"q{i}"

    def ripple():
        steps = [({"cp": 0, "mr": 1}, bits(0, "q", 4)), ({"mr": 0}, {})]
        for n in range(1, 19):
            steps += [({"cp": 1}, {}), ({"cp": 0}, bits(n % 16, "q", 4))]
        return steps

    yield b.case(
        "ripple_counter",
        "cp mr q0 q1 q2 q3",
        "4-bit ripple counter",
        {"toggle flip-flop": 4},
        source="dual 4-bit ripple counter (one half), '393 type data sheet" + MEM,
        steps=ripple,
        slips=(("gate", "q2.in.n", "z1"), ("drop", "q1.mf.p"), ("gate", "q3.tr.p", "z2")),
    )
    # synchronous with enable and clear
    b = Board()
    b.inv("ck", "ckn")
    b.inv("cl", "clr")
    t = b.and_("ep", "et", y="t0")
    for i in range(4):
        if i:
            t = b.and_("t0", *(f"q{k}" for k in range(i)), y=f"t{i}")
        b.nor("clr", b.xnor(f"q{i}", t, y=f"x{i}"), y=f"d{i}")
        b.dff(f"d{i}", "ck", "ckn", f"q{i}")
    b.and_("et", "q0", "q1", "q2", "q3", y="tc")

    def count():
        rng, n = Random(5), 0
        steps = [({"ck": 0, "cl": 0, "ep": 0, "et": 0}, {}), ({"ck": 1}, bits(0, "q", 4)), ({"ck": 0}, {})]
        for _ in range(24):
            ep, et, cl = int(rng.random() < 0.8), int(rng.random() < 0.9), int(rng.random() < 0.95)
            n = 0 if not cl else (n + (ep & et)) % 16
            steps += [
                ({"ep": ep, "et": et, "cl": cl}, {}),
                ({"ck": 1}, {**bits(n, "q", 4), "tc": int(n == 15 and et)}),
                ({"ck": 0}, {}),
            ]
        return steps

    yield b.case(
        "synchronous_counter",
        "ck cl ep et tc q0 q1 q2 q3",
        "4-bit synchronous counter",
        {"NOR2": 4, "register bit": 4, "XNOR2": 3},
        source="synchronous 4-bit counter, '163 type data sheet without load" + MEM,
        steps=count,
        slips=(("gate", "x2.p0", "q3"), ("drop", "q2.sf.n"), ("gate", "d1.n0", "cl")),
    )
    # prescaler 2/3 with true single-phase flip-flops
    b = Board()

    b.inv("ck", "ckn")
    b.aoi("q1", ("q2", "mode"), "r", y="d1")
    b.dff("d1", "ck", "ckn", "q1")
    b.dff("q1", "ck", "ckn", "q2")

    def prescale():
        steps, s1, s2 = [({"ck": 0, "r": 1, "mode": 1}, {})], 0, 0
        for _ in range(2):
            steps += [({"ck": 1}, {}), ({"ck": 0}, {})]
        for mode in (1, 0):
            steps += [({"r": 0, "mode": mode}, {})]
            for _ in range(7):
                s1, s2 = 1 - (s1 | s2 & mode), s1
                steps += [({"ck": 1}, {"q1": s1, "q2": s2}), ({"ck": 0}, {"q1": s1, "q2": s2})]
        return steps

    yield b.case(
        "prescaler",
        "ck r mode q1 q2",
        "2/3 dual-modulus prescaler",
        {"register bit": 2, "AOI211": 1},
        source="dual-modulus prescaler 2/3, frequency-synthesiser data sheets" + MEM,
        steps=prescale,
        slips=(("gate", "q2.tr.n", "ckn"), ("drop", "d1.p2"), ("gate", "d1.n1", "q1")),
    )
    # CRC-4
    b = Board()
    b.inv("ck", "ckn")
    b.xor("din", "q3", y="fb")
    b.xor("q0", "fb", y="d1")
    for i, d in enumerate(("fb", "d1", "q1", "q2")):
        b.dff(d, "ck", "ckn", f"q{i}", reset="rn")

    def crc():
        rng, reg = Random(6), [0] * 4
        steps = [({"ck": 0, "rn": 0, "din": 0}, bits(0, "q", 4)), ({"rn": 1}, {})]
        for _ in range(16):
            v = rng.randint(0, 1)
            value = (sum(r << i for i, r in enumerate(reg)) << 1) ^ (v << 4)
            if value >> 4 & 1:
                value ^= 0b10011
            reg = [value >> i & 1 for i in range(4)]
            steps += [({"din": v}, {}), ({"ck": 1}, {f"q{i}": x for i, x in enumerate(reg)}), ({"ck": 0}, {})]
        return steps

    yield b.case(
        "crc_4",
        "ck rn din q0 q1 q2 q3",
        "4-bit CRC register",
        {"register bit": 4, "XOR2": 2},
        source="CRC-4 polynomial x^4+x+1, ITU-T G.704" + MEM,
        steps=crc,
        slips=(("drop", "fb.n1"), ("gate", "q2.mf.n", "ckn"), ("flip", "d1.p0")),
    )
