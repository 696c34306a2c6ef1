"""Published circuits: memories, content-addressed words and pipelines; from memory, each source named."""

from random import Random

from .kit import MEM, Board, bits, num


def cases():
    # RAM 4 × 4 with decoder, precharge, write drivers
    b = Board()
    for i in range(2):
        b.inv(f"a{i}", f"n{i}")
    for k in range(4):
        b.and_(*(f"a{i}" if k >> i & 1 else f"n{i}" for i in range(2)), "pre", y=f"w{k}")
    for j in range(4):
        for x in ("bl", "bn"):
            b.p("pre", f"{x}{j}", "VDD", f"{x}{j}.pre")
        b.p("pre", f"bl{j}", f"bn{j}", f"eq{j}")
        b.inv(f"d{j}", f"dn{j}")
        b.n("we", f"bl{j}", f"h{j}", f"h{j}.a", w=16)
        b.n(f"dn{j}", f"h{j}", "VSS", f"h{j}.b", w=16)
        b.n("we", f"bn{j}", f"g{j}", f"g{j}.a", w=16)
        b.n(f"d{j}", f"g{j}", "VSS", f"g{j}.b", w=16)
        b.inv(f"bn{j}", f"y{j}")
        for k in range(4):
            b.cell6(f"w{k}", f"bl{j}", f"bn{j}", f"c{k}{j}")

    def ram():
        rng, steps, store = Random(20), [({"pre": 0, "we": 0, "a0": 0, "a1": 0, **bits(0, "d", 4)}, {})], {}
        for n in range(12):
            k = n if n < 4 else rng.randrange(4)
            write = n < 4 or rng.random() < 0.3
            w = rng.randrange(16)
            if write:
                store[k] = w
                steps += [
                    ({"we": 0, "pre": 0}, {}),
                    ({**bits(k, "a", 2), **bits(w, "d", 4)}, {}),
                    ({"pre": 1}, {}),
                    ({"we": 1}, bits(w, "y", 4)),
                    ({"we": 0}, {}),
                ]
            else:
                steps += [({"pre": 0}, {}), (bits(k, "a", 2), {}), ({"pre": 1}, bits(store[k], "y", 4))]
        return steps

    yield b.case(
        "static_ram",
        ["pre", "we", "a0", "a1", *(f"{x}{j}" for x in "dy" for j in range(4))],
        "4 × 4 static RAM",
        {"static RAM cell": 16, "decoder column": 4, "precharge": 4},
        source="six-transistor static RAM with column circuits, Weste & Harris" + MEM,
        steps=ram,
        slips=(("gate", "c21.w2", "w1"), ("gate", "bl2.pre", "we"), ("end", "c13.n1", "c13.a", "bl3")),
    )
    # eight-transistor cells, 4 × 2
    b = Board()
    for k in range(4):
        for j in range(2):
            q, x = b.cell6(f"w{k}", f"bl{j}", f"bn{j}", f"c{k}{j}")
            b.n(x, f"r{k}{j}", "VSS", f"c{k}{j}.r1", w=8)
            b.n(f"rw{k}", f"rb{j}", f"r{k}{j}", f"c{k}{j}.r2", w=8)
    for j in range(2):
        b.p("pre", f"rb{j}", "VDD", f"rb{j}.pre")
        b.inv(f"rb{j}", f"y{j}")
        b.p(f"y{j}", f"rb{j}", "VDD", f"rb{j}.keep", w=2, l=8)

    def eight():
        rng, steps = (
            Random(21),
            [({"pre": 0, **bits(0, "w", 4), **bits(0, "rw", 4), "bl0": 1, "bn0": 1, "bl1": 1, "bn1": 1}, {})],
        )
        store = [rng.randrange(4) for _ in range(4)]
        for k, v in enumerate(store):
            steps += [({**bits(v, "bl", 2), **bits(v ^ 3, "bn", 2)}, {}), ({f"w{k}": 1}, {}), ({f"w{k}": 0}, {})]
        for k, v in enumerate(store):
            steps += [
                ({"pre": 0}, {}),
                ({"pre": 1}, {}),
                ({f"rw{k}": 1}, {f"y{j}": 1 - (v >> j & 1) for j in range(2)}),
                ({f"rw{k}": 0}, {}),
            ]
        return steps

    yield b.case(
        "eight_transistor_ram",
        ["pre", *(f"w{k}" for k in range(4)), *(f"rw{k}" for k in range(4)), "bl0", "bn0", "bl1", "bn1", "y0", "y1"],
        "4 × 2 register file",
        {"domino gate": 2, "RAM array": 1},
        source="stable 8T cell, Chang and others 2005; Weste & Harris" + MEM,
        steps=eight,
        slips=(("gate", "c20.r2", "rw1"), ("drop", "c31.r1"), ("gate", "rb1.keep", "rb1")),
    )
    # 3T dynamic RAM in PMOS, 4 × 2
    b = Board("pmos")
    for k in range(4):
        for j in range(2):
            s = f"s{k}{j}"
            b.p(f"ww{k}", f"d{j}", s, f"{s}.w")
            b.p(s, f"t{k}{j}", "VSS", f"{s}.st", w=8)
            b.p(f"rw{k}", f"rb{j}", f"t{k}{j}", f"{s}.r", w=8)
    for j in range(2):
        b.p("pre", "VDD", f"rb{j}", f"rb{j}.pre")
        b.inv(f"rb{j}", f"y{j}")

    def three():
        rng = Random(22)
        store = [rng.randrange(4) for _ in range(4)]
        steps = [({"pre": 1, **{f"{x}{k}": 1 for x in ("ww", "rw") for k in range(4)}, "d0": 1, "d1": 1}, {})]
        for k, v in enumerate(store):
            steps += [(bits(v, "d", 2), {}), ({f"ww{k}": 0}, {}), ({f"ww{k}": 1}, {})]
        for k, v in enumerate(store):
            steps += [({"pre": 0}, {}), ({"pre": 1}, {}), ({f"rw{k}": 0}, bits(v, "y", 2)), ({f"rw{k}": 1}, {})]
        return steps

    yield b.case(
        "three_transistor_ram",
        ["pre", *(f"{x}{k}" for x in ("ww", "rw") for k in range(4)), "d0", "d1", "y0", "y1"],
        "4 × 2 dynamic RAM",
        {"dynamic RAM cell": 8, "precharge": 2},
        source="three-transistor dynamic RAM, 1103 type, Regitz & Karp 1970" + MEM,
        steps=three,
        slips=(("gate", "s20.r", "ww2"), ("gate", "s31.w", "ww2"), ("drop", "rb1.pre")),
    )
    # 1T column with sense amplifier
    b = Board()
    for k in range(8):
        x = "bl" if k % 2 == 0 else "bn"
        b.n(f"w{k}", x, f"s{k}", f"s{k}.w")
        b.c(f"s{k}", "pl", "40f", f"s{k}.c")
    b.n("bn", "bl", "cs", "sa.n1", w=8)
    b.n("bl", "bn", "cs", "sa.n2", w=8)
    b.p("bn", "bl", "cp", "sa.p1")
    b.p("bl", "bn", "cp", "sa.p2")
    b.n("se", "cs", "VSS", "sa.tail", w=16)
    b.p("sen", "cp", "VDD", "sa.head", w=32)
    b.inv("se", "sen")
    b.n("eq", "bl", "bn", "eq.s")
    b.n("eq", "bl", "vh", "eq.a")
    b.n("eq", "bn", "vh", "eq.b")
    b.n("y", "bl", "io", "io.a")
    b.n("y", "bn", "ion", "io.b")
    yield b.case(
        "folded_column",
        [*(f"w{k}" for k in range(8)), "pl", "se", "eq", "vh", "y", "io", "ion"],
        "8 × 1 dynamic RAM",
        {"dynamic RAM cell": 8, "sense amplifier": 1},
        source="one-transistor cell, Dennard 1968; folded bit lines, Itoh, VLSI Memory Chip Design" + MEM,
        slips=(("gate", "sa.n2", "bn"), ("gate", "s5.w", "w4"), ("gate", "eq.b", "se")),
    )
    # CAM with NAND match line
    b = Board()
    b.p("pre", "ml", "VDD", "ml.pre")
    at = "ml"
    for i in range(4):
        q, x = b.cell6("w", f"bl{i}", f"bn{i}", f"c{i}")
        b.n(q, f"bl{i}", f"m{i}", f"c{i}.xa")
        b.n(x, f"bn{i}", f"m{i}", f"c{i}.xb")
        to = f"k{i}"
        b.n(f"m{i}", at, to, f"c{i}.s", w=8)
        at = to
    b.n("pre", at, "VSS", "ml.foot", w=8)
    b.inv("ml", "hit")

    def nandcam():
        rng = Random(23)
        key = rng.randrange(16)
        line = lambda v: {**bits(v, "bl", 4), **bits(v ^ 15, "bn", 4)}  # noqa: E731
        steps = [({"pre": 0, "w": 1, **line(key)}, {}), ({"w": 0}, {})]
        for v in (key, key ^ 1, key ^ 8, key, key ^ 6):
            steps += [({"pre": 0, **line(v)}, {"hit": 0}), ({"pre": 1}, {"hit": int(v == key)})]
        return steps

    yield b.case(
        "nand_match_word",
        ["pre", "w", "hit", *(f"{x}{i}" for i in range(4) for x in ("bl", "bn"))],
        "content-addressable word",
        {"RAM array": 1, "domino gate": 1},
        source="NAND cell of content-addressable memories, Pagiamtzis & Sheikholeslami 2006" + MEM,
        steps=nandcam,
        slips=(("gate", "c2.xa", "c2.b"), ("gate", "c1.s", "m2"), ("drop", "ml.pre")),
    )
    # NAND ROM
    data = [0b0110, 0b1011, 0b0001, 0b1100, 0b0111, 0b1000, 0b1101, 0b0010]
    b = Board()
    for i in range(3):
        b.inv(f"a{i}", f"n{i}")
    for k in range(8):
        b.nand(*(f"a{i}" if k >> i & 1 else f"n{i}" for i in range(3)), y=f"w{k}")
    for j in range(4):
        words = [k for k in range(8) if data[k] >> j & 1]
        at = f"d{j}"
        for k in words:
            to = "VSS" if k == words[-1] else b.new("r")
            b.n(f"w{k}", at, to, f"d{j}.n{k}", w=8)
            at = to
        b.p("VSS", f"d{j}", "VDD", f"d{j}.load", w=2, l=8)
    yield b.case(
        "nand_rom",
        ["a0", "a1", "a2", "d0", "d1", "d2", "d3"],
        "8 × 4 ROM",
        {"3-to-8 decoder": 1, "ROM plane": 1},
        source="NAND ROM with pseudo-nMOS loads, Rabaey" + MEM,
        inputs=("a0", "a1", "a2"),
        function=lambda v: bits(data[num(v, "a", 3)], "d", 4),
        slips=(("gate", "w5.n1", "a1"), ("drop", "d2.load"), ("gate", "d1.n0", "w1")),
    )
    # NMOS register file 4 × 2 with two decoders
    b = Board("nmos")
    for x in "wr":
        for i in range(2):
            b.inv(f"{x}a{i}", f"{x}n{i}")
        for k in range(4):
            b.nor(*(f"{x}n{i}" if k >> i & 1 else f"{x}a{i}" for i in range(2)), f"{x}en", y=f"{x}{k}")
    for j in range(2):
        b.inv(f"d{j}", f"dn{j}")
        b.load(f"b{j}")
        b.inv(f"b{j}", f"y{j}")
        for k in range(4):
            q, x = f"q{k}{j}", f"x{k}{j}"
            b.inv(x, q)
            b.inv(q, x)
            b.n(f"w{k}", f"d{j}", q, f"{q}.w", w=8)
            b.n(f"w{k}", f"dn{j}", x, f"{x}.w", w=8)
            b.n(q, f"z{k}{j}", "VSS", f"{q}.r1", w=16)
            b.n(f"r{k}", f"b{j}", f"z{k}{j}", f"{q}.r2", w=16)

    def filed():
        rng, steps, store = (
            Random(24),
            [({"wen": 1, "ren": 1, **bits(0, "wa", 2), **bits(0, "ra", 2), "d0": 0, "d1": 0}, {})],
            {},
        )
        for n in range(12):
            k, v = (n if n < 4 else rng.randrange(4)), rng.randrange(4)
            store[k] = v
            at = rng.choice(sorted(store))
            steps += [
                ({**bits(k, "wa", 2), **bits(v, "d", 2)}, {}),
                ({"wen": 0}, {}),
                ({"wen": 1}, {}),
                ({"ren": 0, **bits(at, "ra", 2)}, bits(store[at], "y", 2)),
                ({"ren": 1}, {}),
            ]
        return steps

    yield b.case(
        "nmos_file",
        ["wen", "ren", *(f"{x}{i}" for x in ("wa", "ra", "d", "y") for i in range(2))],
        "4 × 2 register file",
        {"decoder column": 8, "AOI2222": 2, "bit-line load": 2},
        source="4 × 4 register file, '670 type data sheet, two bits in NMOS" + MEM,
        steps=filed,
        slips=(("gate", "w2.n1", "wa1"), ("drop", "b1.load"), ("gate", "q31.r2", "r2")),
    )
    # FIFO of three stages with C-elements
    b = Board()
    for i in range(1, 4):
        nxt = f"c{i + 1}n" if i < 3 else "an"
        r = f"c{i - 1}" if i > 1 else "r0"
        y = f"y{i}"
        b.n(r, y, f"u{i}", f"{y}.n1", w=8)
        b.n(nxt, f"u{i}", "VSS", f"{y}.n2", w=8)
        b.p(r, y, f"v{i}", f"{y}.p1", w=16)
        b.p(nxt, f"v{i}", "VDD", f"{y}.p2", w=16)
        b.nor(y, "rst", y=f"c{i}")
        b.n(f"c{i}", y, "VSS", f"{y}.kn", w=2, l=8)
        b.p(f"c{i}", y, "VDD", f"{y}.kp", w=2, l=8)
        b.inv(f"c{i}", f"c{i}n")
        for j in range(2):
            b.latch(f"d{j}" if i == 1 else f"q{i - 1}{j}", f"c{i}n", f"c{i}", f"q{i}{j}")
    b.inv("ack", "an")

    def fifo():
        rng = Random(25)
        steps = [({"r0": 0, "ack": 0, "rst": 1, "d0": 0, "d1": 0}, {}), ({"rst": 0}, {"c3": 0})]
        for _ in range(5):
            v = rng.randrange(4)
            steps += [
                (bits(v, "d", 2), {}),
                ({"r0": 1}, {"c3": 1, **bits(v, "q3", 2)}),
                ({"r0": 0}, {"c3": 1}),
                (bits(v ^ 3, "d", 2), bits(v, "q3", 2)),
                ({"ack": 1}, {"c3": 0}),
                ({"ack": 0}, {}),
            ]
        return steps

    yield b.case(
        "handshake_fifo",
        "r0 ack rst d0 d1 c1 c3 q30 q31",
        "3 × 2 FIFO",
        {"C-element": 3, "register row": 3},
        source="pipelines of C-elements, Muller & Bartky 1959; Sutherland 1989" + MEM,
        steps=fifo,
        slips=(("gate", "y2.n1", "c2"), ("gate", "q20.in.n", "c2"), ("drop", "y3.p2")),
    )
