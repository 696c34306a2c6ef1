"""Published circuits: latches, registers and flip-flops; from memory, each source named."""

from random import Random

from .kit import MEM, Board, Kind, P, S, bits


def cases():
    # quad latch
    b = Board()
    for e in ("e", "g"):
        b.inv(e, e + "n")
    for i in range(4):
        e = "e" if i < 2 else "g"
        q, qn = b.latch(f"d{i}", e, e + "n", f"q{i}")
        b.inv(q, f"x{i}")

    def quad():
        rng, steps = Random(7), []
        for _ in range(5):
            w = rng.randrange(16)
            steps += [
                ({"e": 1, "g": 1, **bits(w, "d", 4)}, {**bits(w, "q", 4), **bits(w ^ 15, "x", 4)}),
                ({"e": 0, "g": 0}, {}),
                (bits(w ^ 15, "d", 4), bits(w, "q", 4)),
            ]
        return steps

    yield b.case(
        "quad_latch",
        ["e", "g", *(f"{x}{i}" for i in range(4) for x in "dqx")],
        "2 × 2-bit latch",
        {"latch": 4},
        source="quad bistable latch, '75 type data sheet" + MEM,
        steps=quad,
        slips=(("gate", "q1.fb.n", "e"), ("gate", "q2.in.p", "en"), ("drop", "q3.p0")),
    )
    # level-sensitive scan latches of NANDs
    b = Board()
    for i in range(2):
        si = "si" if i == 0 else "q0"
        b.inv(f"d{i}", f"dn{i}")
        b.inv(si, f"sn{i}")
        b.nand(f"d{i}", "c", y=f"g1{i}")
        b.nand(f"dn{i}", "c", y=f"g2{i}")
        b.nand(si, "a", y=f"g3{i}")
        b.nand(f"sn{i}", "a", y=f"g4{i}")
        b.nand(f"g1{i}", f"g3{i}", f"ln{i}", y=f"l{i}")
        b.nand(f"g2{i}", f"g4{i}", f"l{i}", y=f"ln{i}")
        b.nand(f"l{i}", "b", y=f"g5{i}")
        b.nand(f"ln{i}", "b", y=f"g6{i}")
        b.nand(f"g5{i}", f"qn{i}", y=f"q{i}")
        b.nand(f"g6{i}", f"q{i}", y=f"qn{i}")

    def lssd():
        rng, line = Random(8), [0, 0]
        steps = [({"a": 0, "b": 0, "c": 0, "si": 0, "d0": 0, "d1": 0}, {})]
        for n in range(10):
            if n % 3 == 0:
                line = [rng.randint(0, 1), rng.randint(0, 1)]
                steps += [({"d0": line[0], "d1": line[1]}, {}), ({"c": 1}, {}), ({"c": 0}, {})]
            else:
                v = rng.randint(0, 1)
                line = [v, line[0]]
                steps += [({"si": v}, {}), ({"a": 1}, {}), ({"a": 0}, {})]
            steps += [({"b": 1}, {"q0": line[0], "q1": line[1]}), ({"b": 0}, {})]
        return steps

    yield b.case(
        "scan_latches",
        "a b c si d0 d1 l0 l1 q0 q1",
        "2-bit scan register",
        {"scan register bit": 2},
        source="level-sensitive scan design, Eichelberger & Williams 1977" + MEM,
        steps=lssd,
        slips=(("gate", "g51.n1", "c"), ("gate", "l0.n2", "l1"), ("drop", "g40.p0")),
    )
    # boundary-scan cells
    b = Board()
    for k in ("sh", "mode", "ck", "up"):
        b.inv(k, k + "n")
    si = "si"
    for i in range(2):
        b.mux_tg("sh", "shn", f"p{i}", si, f"m{i}")
        si, _ = b.dff(f"m{i}", "ck", "ckn", f"r{i}")
        u, _ = b.dff(si, "up", "upn", f"u{i}")
        b.inv(b.mux_tg("mode", "moden", f"p{i}", u, f"z{i}"), f"zn{i}")
        b.inv(f"zn{i}", f"o{i}")

    def boundary():
        rng, steps = Random(9), [({"sh": 0, "mode": 0, "ck": 0, "up": 0, "si": 0, "p0": 0, "p1": 0}, {})]
        for _ in range(4):
            p, w = rng.randrange(4), [rng.randint(0, 1), rng.randint(0, 1)]
            steps += [
                ({"sh": 0, "mode": 0, **bits(p, "p", 2)}, bits(p, "o", 2)),
                ({"ck": 1}, {"r1": p >> 1}),
                ({"ck": 0}, {}),
                ({"sh": 1, "si": w[1]}, {}),
                ({"ck": 1}, {"r1": p & 1}),
                ({"ck": 0}, {}),
                ({"si": w[0]}, {}),
                ({"ck": 1}, {"r1": w[1]}),
                ({"ck": 0}, {}),
                ({"up": 1}, {}),
                ({"up": 0}, {}),
                ({"mode": 1}, {"o0": w[0], "o1": w[1]}),
            ]
        return steps

    yield b.case(
        "boundary_cells",
        "si sh mode ck up p0 p1 o0 o1 r1",
        "2-bit boundary-scan register",
        {"2:1 multiplexer": 4, "2-bit loadable shift register": 1, "register row": 1},
        source="boundary-scan cell, IEEE Std 1149.1" + MEM,
        steps=boundary,
        slips=(("gate", "z1.t1.n", "moden"), ("gate", "r1.tr.n", "ckn"), ("drop", "u0.p0")),
    )
    # hybrid latch flip-flop
    b = Board()
    b.inv("c", "k1")
    b.inv("k1", "k2")
    b.inv("k2", "k3")
    b.net(Kind.N, S("c", "d", "k3"), "x", "VSS", "x.n", 12)
    b.net(Kind.P, P("c", "d", "k3"), "x", "VDD", "x.p", 8)
    b.p("x", "q", "VDD", "q.p")
    b.net(Kind.N, S("c", "x", "k3"), "q", "VSS", "q.n", 12)
    b.inv("q", "qn")
    b.p("qn", "q", "VDD", "q.kp", w=2, l=8)
    b.n("qn", "q", "VSS", "q.kn", w=2, l=8)
    yield b.case(
        "pulsed_latch",
        "c d q",
        "pulsed latch",
        {"NAND3": 1, "precharged gate": 1},
        source="hybrid latch flip-flop, Partovi and others 1996" + MEM,
        slips=(("gate", "q.n2", "k2"), ("drop", "x.p2"), ("gate", "q.kp", "q")),
    )
    # sense-amplifier flip-flop with its own latch
    b = Board()
    b.inv("d", "dn")
    b.n("c", "t", "VSS", "t.n", w=12)
    b.n("d", "u", "t", "u.n", w=8)
    b.n("dn", "v", "t", "v.n", w=8)
    b.n("VDD", "u", "v", "uv.n", w=2, l=4)
    b.n("rb", "sb", "u", "sb.n", w=8)
    b.n("sb", "rb", "v", "rb.n", w=8)
    b.p("rb", "sb", "VDD", "sb.p")
    b.p("sb", "rb", "VDD", "rb.p")
    b.p("c", "sb", "VDD", "sb.pre")
    b.p("c", "rb", "VDD", "rb.pre")
    b.inv("sb", "s")
    b.inv("rb", "r")
    for q, qn, sb, reset in (("q", "qn", "sb", "r"), ("qn", "q", "rb", "s")):
        b.p(sb, q, "VDD", f"{q}.p")
        b.n(reset, q, "VSS", f"{q}.n")
        b.p(qn, f"{q}h", "VDD", f"{q}.kp1")
        b.p(reset, q, f"{q}h", f"{q}.kp2")
        b.n(sb, q, f"{q}l", f"{q}.kn2")
        b.n(qn, f"{q}l", "VSS", f"{q}.kn1")

    def sense():
        rng, steps, v = Random(10), [({"c": 0, "d": 0}, {})], 0
        for _ in range(6):
            v = rng.randint(0, 1)
            steps += [
                ({"c": 0, "d": v}, {"sb": 1, "rb": 1}),
                ({"c": 1}, {"q": v, "qn": 1 - v}),
                ({"c": 0}, {"q": v, "qn": 1 - v}),
            ]
        return steps

    yield b.case(
        "sense_flip_flop",
        "c d q qn",
        "sense-amplifier flip-flop",
        {"SR latch": 1, "sense amplifier": 1},
        source="improved sense-amplifier-based flip-flop, Nikolić and others 2000" + MEM,
        steps=sense,
        slips=(("gate", "rb.pre", "d"), ("drop", "q.n"), ("gate", "sb.n", "sb")),
    )
    # C2MOS shift register
    b = Board()
    b.inv("c", "cn")
    d = "d"
    for i in range(3):
        b.tri(d, f"m{i}", "cn", "c")
        d = b.tri(f"m{i}", f"q{i}", "c", "cn")

    def c2mos():
        rng, line, steps = Random(11), [], [({"c": 0, "d": 0}, {})]
        for _ in range(10):
            v = rng.randint(0, 1)
            line = [v, *line][:3]
            want = {f"q{i}": x for i, x in enumerate(line)}
            steps += [({"d": v}, {}), ({"c": 1}, want), ({"c": 0}, {})]
        return steps

    yield b.case(
        "clocked_cmos",
        "c d q0 q1 q2",
        "3-bit shift register",
        {"register bit": 3},
        source="clocked CMOS, Suzuki, Odagawa & Abe 1973" + MEM,
        steps=c2mos,
        slips=(("gate", "m1.n", "c"), ("drop", "q0.pd"), ("cross", "q2.n", "q2.p")),
    )
    # TSPC register of three bits
    b = Board()
    for i in range(3):
        s = f"r{i}"
        d, ck, qn = f"d{i}", "ck", f"z{i}"
        b.p(d, f"{s}u", "VDD", f"{s}.1")
        b.p(ck, f"{s}x", f"{s}u", f"{s}.2")
        b.n(d, f"{s}x", "VSS", f"{s}.3")
        b.p(ck, f"{s}y", "VDD", f"{s}.4")
        b.n(f"{s}x", f"{s}y", f"{s}v", f"{s}.5")
        b.n(ck, f"{s}v", "VSS", f"{s}.6")
        b.p(f"{s}y", qn, "VDD", f"{s}.7")
        b.n(ck, qn, f"{s}w", f"{s}.8")
        b.n(f"{s}y", f"{s}w", "VSS", f"{s}.9")
        b.inv(qn, f"q{i}")

    def reg3():
        rng, steps = Random(12), [({"ck": 0}, {})]
        for _ in range(6):
            w = rng.randrange(8)
            steps += [({"ck": 0, **bits(w, "d", 3)}, {}), ({"ck": 1}, bits(w, "q", 3)), ({"ck": 0}, bits(w, "q", 3))]
        return steps

    yield b.case(
        "single_phase_register",
        "ck d0 d1 d2 q0 q1 q2",
        "3-bit register",
        {"register bit": 3},
        source="true single-phase clock flip-flop, Yuan & Svensson 1989" + MEM,
        steps=reg3,
        slips=(("gate", "r1.8", "d1"), ("drop", "r0.6"), ("gate", "r2.5", "r2y")),
    )
    # two-phase register with refresh
    b = Board("nmos")
    b.inv("f1", "f1n")
    b.inv("ld", "ldn")
    b.nor("ldn", "f1n", y="l")
    b.nor("ld", "f1n", y="h")
    for i in range(4):
        b.n("l", f"d{i}", f"a{i}", f"a{i}.l")
        b.inv(f"a{i}", f"w{i}")
        b.n("f2", f"w{i}", f"c{i}", f"c{i}.s")
        b.inv(f"c{i}", f"q{i}")
        b.n("h", f"q{i}", f"a{i}", f"a{i}.h")

    def refresh():
        rng, steps, w = Random(13), [({"f1": 0, "f2": 0, "ld": 1}, {})], 0
        for n in range(8):
            ld = int(n % 3 == 0)
            new = rng.randrange(16)
            w = new if ld else w
            steps += [
                ({"ld": ld, **bits(new, "d", 4)}, {}),
                ({"f1": 1}, {}),
                ({"f1": 0}, {}),
                ({"f2": 1}, bits(w, "q", 4)),
                ({"f2": 0}, bits(w, "q", 4)),
            ]
        return steps

    yield b.case(
        "refreshed_register",
        ["ld", "f1", "f2", *(f"{x}{i}" for i in range(4) for x in "dq")],
        "4-bit register",
        {"shift-register bit": 4, "NOR2": 2},
        source="register cell with load and refresh, Mead & Conway 1980" + MEM,
        steps=refresh,
        slips=(("gate", "c2.s", "f1"), ("gate", "a1.h", "l"), ("drop", "w3.load")),
    )
    # four-phase PMOS shift register
    b = Board("pmos")
    d = "d"
    for i in range(2):
        for stem, one, two in (("m", "f1", "f2"), ("q", "f3", "f4")):
            x = f"{stem}{i}"
            b.p(one, one, x, f"{x}.pre")
            b.p(two, x, f"{x}t", f"{x}.ev")
            b.p(d, f"{x}t", "VSS", f"{x}.in")
            d = x
    b.p("q1", "pad", "VSS", "pad.drv", w=40)

    def four():
        rng, line, steps = Random(14), [], [({f"f{k}": 1 for k in range(1, 5)} | {"d": 0}, {})]
        for _ in range(8):
            v = rng.randint(0, 1)
            line = [v, *line][:2]
            steps += [({"d": v}, {})]
            for k in range(1, 5):
                last = {f"q{i}": x for i, x in enumerate(line)} if k == 4 else {}
                steps += [({f"f{k}": 0}, {}), ({f"f{k}": 1}, last)]
        return steps

    yield b.case(
        "four_phase",
        "d f1 f2 f3 f4 pad",
        "2-bit four-phase shift register",
        {"four-phase stage": 4},
        source="four-phase ratioless logic, Yen 1968; PMOS application notes of about 1970" + MEM,
        steps=four,
        slips=(("gate", "q0.ev", "f3"), ("drop", "m1.pre"), ("gate", "m1.ev", "f4")),
    )
    # JK of NANDs
    b = Board()
    b.inv("c", "cb")
    b.nand("j", "c", "qn", y="g1")
    b.nand("k", "c", "q", y="g2")
    b.nand("g1", "mn", y="m")
    b.nand("g2", "m", "rn", y="mn")
    b.nand("m", "cb", y="g3")
    b.nand("mn", "cb", y="g4")
    b.nand("g3", "qn", y="q")
    b.nand("g4", "q", "rn", y="qn")

    def jk():
        rng, s = Random(15), 0
        steps = [({"c": 0, "rn": 0, "j": 0, "k": 0}, {"q": 0, "qn": 1}), ({"rn": 1}, {"q": 0})]
        for _ in range(12):
            j, k = rng.randint(0, 1), rng.randint(0, 1)
            s = j & (1 - s) | (1 - k) & s
            steps += [({"j": j, "k": k}, {}), ({"c": 1}, {}), ({"c": 0}, {"q": s, "qn": 1 - s})]
        return steps

    yield b.case(
        "jk_flip_flop",
        "c j k rn q qn",
        "JK flip-flop",
        {"NAND2": 4, "NAND3": 4, "SR latch": 2},
        source="JK master-slave flip-flop, '73 type data sheet" + MEM,
        steps=jk,
        slips=(("gate", "g1.n2", "q"), ("drop", "g4.p1"), ("gate", "qn.p0", "g3")),
    )
    # six gates, in NMOS with saturated loads
    b = Board("nmose")
    b.nand("pn", "n4", "n2", y="n1")
    b.nand("n1", "cn", "c", y="n2")
    b.nand("n2", "c", "n4", y="n3")
    b.nand("n3", "cn", "d", y="n4")
    b.nand("pn", "n2", "qn", y="q")
    b.nand("cn", "n3", "q", y="qn")

    def d74():
        rng, s = Random(16), 0
        steps = [({"c": 0, "d": 0, "pn": 1, "cn": 0}, {"q": 0, "qn": 1}), ({"cn": 1}, {"q": 0})]
        for _ in range(8):
            s = rng.randint(0, 1)
            steps += [({"d": s}, {}), ({"c": 1}, {"q": s}), ({"d": 1 - s}, {"q": s}), ({"c": 0}, {"q": s, "qn": 1 - s})]
        return [*steps, ({"pn": 0}, {"q": 1}), ({"pn": 1}, {"q": 1}), ({"cn": 0}, {"q": 0})]

    yield b.case(
        "six_gate_flip_flop",
        "c d pn cn q qn",
        "register bit with set and reset",
        {"NAND3": 6},
        source="edge-triggered D flip-flop, '74 type data sheet, as NMOS with saturated loads" + MEM,
        steps=d74,
        slips=(("gate", "n3.n0", "n1"), ("strong", "q.load"), ("drop", "n4.load")),
    )
    # addressable latch
    b = Board()
    for i in range(3):
        b.inv(f"a{i}", f"n{i}")
    b.inv("g", "en")
    for k in range(8):
        b.nand("en", *(f"a{i}" if k >> i & 1 else f"n{i}" for i in range(3)), y=f"w{k}")
        b.inv(f"w{k}", f"v{k}")
        b.latch("d", f"v{k}", f"w{k}", f"q{k}")

    def addressed():
        rng, steps, hold = Random(17), [({"g": 1, "a0": 0, "a1": 0, "a2": 0, "d": 0}, {})], {}
        for n in range(16):
            k, v = (n if n < 8 else rng.randrange(8)), rng.randint(0, 1)
            hold[k] = v
            steps += [
                ({"d": v, **bits(k, "a", 3)}, {}),
                ({"g": 0}, {f"q{k}": v}),
                ({"g": 1}, {f"q{i}": x for i, x in hold.items()}),
            ]
        return steps

    yield b.case(
        "addressable_latch",
        ["d", "g", "a0", "a1", "a2", *(f"q{k}" for k in range(8))],
        "8 × latch, 3-to-8 decoder",
        {"decoder column": 8},
        source="8-bit addressable latch, '259 type data sheet without clear" + MEM,
        steps=addressed,
        slips=(("gate", "w5.n1", "n0"), ("drop", "q3.fb.p"), ("gate", "q6.in.n", "v7")),
    )
