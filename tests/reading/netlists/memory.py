"""Planes, memories, register files and FIFOs. References: Python lists of words."""

import random

from .board import Board, bits, number


def _row_decoder(b, count, lines, name="w"):
    """Put a decoder of NOR gates: line k is high for address k."""
    for i in range(count):
        b.inv(f"a{i}", f"a{i}n")
    for k in range(lines):
        b.nor(*(f"a{i}n" if k >> i & 1 else f"a{i}" for i in range(count)), y=f"{name}{k}")


def _ram(words, width, style="cmos"):
    """Put a static RAM: cells, row decoder, precharge (or loads), write drivers, read inverters."""
    b = Board(style)
    count = words.bit_length() - 1
    _row_decoder(b, count, words)
    for k in range(words):
        for j in range(width):
            b.ram6(f"w{k}", f"b{j}", f"b{j}n")
    for j in range(width):
        if style == "cmos":
            for line in (f"b{j}", f"b{j}n"):
                b.p("pre", line, "VDD", f"{line}.pre", width=6)
        else:
            for line in (f"b{j}", f"b{j}n"):
                b.n("VDD", line, "VDD", f"{line}.pre", length=8, width=2)
        dn = b.inv(f"d{j}", f"d{j}n")
        for line, low in ((f"b{j}", dn), (f"b{j}n", f"d{j}")):
            k = b.new("k")
            b.n("we", line, k, f"{line}.we", width=12)
            b.n(low, k, "VSS", f"{line}.data", width=12)
        b.inv(f"b{j}n", f"q{j}")

    def steps():
        rng, content, out = random.Random(words), {}, []
        for n in range(3 * words):
            at, value, write = n % words, rng.randrange(1 << width), n < words or rng.random() < 0.3
            ins = bits(at, "a", count) | bits(value, "d", width)
            if style == "cmos":
                # every line is off only between addresses, so the cells hold while the lines are charged
                out.append(({"pre": 0, "we": 0} | ins, {}))
                out.append(({"pre": 1}, {}))
            else:
                out.append(({"we": 0} | ins, {}))
            if write:
                content[at] = value
                out.append(({"we": 1}, bits(value, "q", width)))
                out.append(({"we": 0}, bits(value, "q", width)))
            else:
                out.append(({"we": 0}, bits(content[at], "q", width)))
        return out

    ports = [*(f"a{i}" for i in range(count)), *(f"d{j}" for j in range(width)), "we"]
    ports += ["pre"] if style == "cmos" else []
    ports += [f"q{j}" for j in range(width)]
    cells = [n for n in b.devices if n.endswith(".access")]
    parts = {"static RAM cell": words * width, "write driver": width}
    if style == "cmos":
        parts["precharge"] = width
    return b, ports, parts, steps, cells


def cases():
    """Yield the cases."""
    for words, width, style in ((4, 4, "cmos"), (8, 8, "cmos"), (4, 4, "nmos")):
        b, ports, parts, steps, cells = _ram(words, width, style)
        line = next(n for n in b.devices[cells[5]].ends if n.startswith("b"))
        yield b.case(
            f"ram_{words}x{width}_{style}", ports, f"{words} × {width} static RAM", parts, family="memory", steps=steps,
            slips=(("end", cells[5], line, line[:-1]), ("drop", cells[9]), ("gate", "w2.n0", "a0n")),
        )  # fmt: skip
    b = Board("pmos", "VSS", "VDD")
    for k in range(4):
        for j in range(4):
            s, m = f"s{k}{j}", f"m{k}{j}"
            b.p(f"ww{k}", f"wb{j}", s, f"{s}.write")
            b.p(s, m, "VSS", f"{s}.store")
            b.p(f"wr{k}", f"rb{j}", m, f"{s}.read")
    for j in range(4):
        b.p("pre", f"rb{j}", "VDD", f"rb{j}.pre")
    yield b.case(
        "ram_3t", [*(f"ww{k}" for k in range(4)), *(f"wr{k}" for k in range(4)), *(f"wb{j}" for j in range(4)),
                   *(f"rb{j}" for j in range(4)), "pre"],
        "4 × 4 dynamic RAM", {"dynamic RAM cell": 16, "precharge": 4}, family="memory",
        source="three-transistor dynamic cell (published around 1970; Mead & Conway 1980, from memory)", held_out=True,
        slips=(("gate", "s12.read", "ww1"), ("drop", "s21.store"), ("end", "s30.write", "wb0", "wb1")),
    )  # fmt: skip
    yield _register_file()
    yield _fifo()
    yield from _planes()


def _register_file():
    b = Board()
    words, width = 4, 4
    for k in range(words):
        wn = b.inv(f"w{k}")
        rn, sn = b.inv(f"r{k}"), b.inv(f"s{k}")
        for j in range(width):
            _, mn = b.latch(f"d{j}", f"w{k}", wn)
            b.tri(mn, f"x{j}", f"r{k}", rn)
            b.tri(mn, f"y{j}", f"s{k}", sn)

    def steps():
        rng, content, out = random.Random(4), [0] * words, []
        idle = {f"{x}{k}": 0 for x in "wrs" for k in range(words)}
        for n in range(10):
            at, value = n % words, rng.randrange(16)
            content[at] = value
            out.append((idle | bits(value, "d", 4), {}))
            out.append(({f"w{at}": 1}, {}))
            out.append(({f"w{at}": 0}, {}))
            if n >= words:
                p, q = rng.randrange(words), rng.randrange(words)
                out.append(({f"r{p}": 1, f"s{q}": 1}, bits(content[p], "x", 4) | bits(content[q], "y", 4)))
        return out

    ports = [f"{x}{k}" for x in "dwrs" for k in range(4)] + [f"{x}{j}" for x in "xy" for j in range(4)]
    names = [n for n in b.devices if ".in.n" in n]
    return b.case(
        "register_file", ports, "4 × 4 register file", {"memory bit": 16}, family="memory", steps=steps,
        slips=(("gate", names[5], "w2"), ("drop", "x1.nd"), ("flip", "y2.p")),
    )  # fmt: skip


def _fifo():
    """Put a FIFO of three words: a marker a stage, set as the word is taken, cleared as the next takes it."""
    b = Board()
    for k in range(3):
        before = "si" if k == 0 else f"v{k - 1}"
        load = b.nor(b.inv(before), f"v{k}", y=f"ld{k}")  # the stage before holds one and this is empty
        ln = b.inv(load)
        for j in range(2):
            b.latch(f"d{j}" if k == 0 else f"x{k - 1}{j}", load, ln, f"x{k}{j}")
        taken = "so" if k == 2 else f"ld{k + 1}"
        vn = b.nor(load, f"v{k}", y=f"vn{k}")
        b.nor(vn, taken, y=f"v{k}")
    ports = ["si", "so", "d0", "d1", "v0", "v2", "x20", "x21"]
    return b.case(
        "fifo", ports, "3 × 2 FIFO", {"FIFO slice": 3}, family="memory",
        source="a stage loads when its marker is 0 and the previous one's is 1 (40105 type data sheet)", held_out=True,
        slips=(("gate", "ld1.n1", "v0"), ("drop", "v1.p0"), ("flip", "vn2.n0")),
    )  # fmt: skip


def _planes():
    rng = random.Random(11)
    content = [rng.randrange(16) for _ in range(8)]
    b = Board("nmos")
    _row_decoder(b, 3, 8)
    for j in range(4):
        for k in range(8):
            if not content[k] >> j & 1:
                b.n(f"w{k}", f"o{j}", "VSS", f"o{j}.{k}")
        b.load(f"o{j}")
    ins = ("a0", "a1", "a2")
    hole = next(n for n in b.devices if n.startswith("o1.") and n[3:].isdigit())
    yield b.case(
        "rom", [*ins, "o0", "o1", "o2", "o3"], "8 × 4 ROM", {"3-to-8 decoder": 1, "ROM plane": 1}, family="memory",
        inputs=ins, function=lambda v: bits(content[number(v, "a", 3)], "o", 4),
        slips=(("drop", "o2.load"), ("gate", "w3.n0", "a0"), ("end", hole, "VSS", "VDD")),
    )  # fmt: skip
    b = Board()
    _row_decoder(b, 3, 8)
    for j in range(4):
        b.p("ck", f"o{j}", "VDD", f"o{j}.pre", width=8)
        for k in range(8):
            if not content[k] >> j & 1:
                b.n(f"w{k}", f"o{j}", f"foot{j}", f"o{j}.{k}")
        b.n("ck", f"foot{j}", "VSS", f"foot{j}.n", width=8)
        b.inv(f"o{j}", f"q{j}")

    def charged():
        out = []
        for k in (3, 0, 7, 5, 1, 2, 6, 4):
            out.append(({"ck": 0} | bits(k, "a", 3), {}))
            out.append(({"ck": 1}, bits(15 ^ content[k], "q", 4)))
        return out

    yield b.case(
        "rom_charged", [*ins, "ck", "q0", "q1", "q2", "q3"], "8 × 4 ROM", {"3-to-8 decoder": 1}, family="memory",
        steps=charged, slips=(("drop", "o2.pre"), ("gate", "w3.n0", "a0"), ("drop", "foot1.n")),
    )  # fmt: skip
    b = Board("nmos")
    ins = ("c", "l", "s", "y1", "y0")
    # products of a controller of crossing lamps; each is (inputs needed high, inputs needed low)
    products = [
        ("", "y1 y0 c"), ("", "y1 y0 l"), ("c l", "y1 y0"), ("y0", "y1 s"), ("y0 s", "y1"), ("y1 y0 c", "l"),
        ("y1 y0", "c"), ("y1 y0 l", ""), ("y1", "y0 s"), ("y1 s", "y0"),
    ]  # fmt: skip
    sums = {"n1": (4, 5, 6, 7, 8), "n0": (2, 3, 4, 5), "st": (2, 4, 6, 7, 9), "h1": (5, 6, 7, 8, 9), "h0": (3, 4),
            "f1": (0, 1, 2, 3, 4), "f0": (8, 9)}  # fmt: skip
    for x in ins:
        b.inv(b.inv(x, f"{x}n"), f"{x}b")
    for k, (ones, zeros) in enumerate(products):
        b.nor(*(f"{x}n" for x in ones.split()), *(f"{x}b" for x in zeros.split()), y=f"t{k}")
    for y, terms in sums.items():
        b.inv(b.nor(*(f"t{k}" for k in terms), y=f"{y}n"), y)

    def controller(v):
        hit = [all(v[x] for x in ones.split()) and not any(v[x] for x in zeros.split()) for ones, zeros in products]
        return {y: int(any(hit[k] for k in terms)) for y, terms in sums.items()}

    yield b.case(
        "pla", [*ins, *sums], "PLA", {"AND plane": 1, "OR plane": 1}, family="memory", inputs=ins, function=controller,
        source="controller of a crossing's lamps as a PLA of ten products (Mead & Conway 1980, ch. 3, from memory)",
        held_out=True, slips=(("drop", "t3.load"), ("gate", "t5.n1", "y1n"), ("drop", "h1n.load")),
    )  # fmt: skip
