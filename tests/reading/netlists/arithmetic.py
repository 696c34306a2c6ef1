"""Arithmetic and logic units. References: one line of Python each."""

from .board import Board, bits, number


def _arithmetic():
    yield _function_block()
    yield _logic_unit()
    yield _slices()


def _function_block():
    """Put four bits of the general function block: four control lines choose any function of two inputs."""
    b = Board("nmos")
    for i in range(4):
        an, bn = b.inv(f"a{i}", f"a{i}n"), b.inv(f"b{i}", f"b{i}n")
        for k in range(4):
            x, y = (f"a{i}" if k & 1 else an), (f"b{i}" if k & 2 else bn)
            mid = f"k{i}{k}"
            b.n(x, f"g{k}", mid, f"{mid}.a")
            b.n(y, mid, f"f{i}", f"{mid}.b")
        b.inv(b.inv(f"f{i}"), f"y{i}")
    ins = (*(f"a{i}" for i in range(4)), *(f"b{i}" for i in range(4)), "g0", "g1", "g2", "g3")
    return b.case(
        "function_block", [*ins, "y0", "y1", "y2", "y3"], "4 × 4:1 multiplexer", {"4:1 multiplexer": 4}, family="ALU",
        inputs=ins, function=lambda v: {f"y{i}": v[f"g{v[f'a{i}'] + 2 * v[f'b{i}']}"] for i in range(4)},
        source="general function block of pass transistors (Mead & Conway 1980, from memory)", held_out=True,
        slips=(("gate", "k12.a", "b1"), ("drop", "a2n.load"), ("end", "k31.b", "f3", "f2")),
    )  # fmt: skip


def _logic_unit():
    """Put the 4-bit arithmetic and logic unit of two complex gates a bit and a look-ahead carry."""
    b = Board()
    for i in range(4):
        bn = b.inv(f"b{i}")
        b.gate(("p", f"a{i}", ("s", f"b{i}", "s0"), ("s", "s1", bn)), f"p{i}")  # active-high data
        b.gate(("p", ("s", bn, "s2", f"a{i}"), ("s", f"a{i}", "s3", f"b{i}")), f"g{i}")
    mn = b.inv("m", "mn")
    for i in range(4):
        b.xor(f"p{i}", f"g{i}", f"h{i}")
    carry = "cn"
    for i in range(4):
        k = b.nand(carry, mn, y=f"k{i}")
        b.xor(f"h{i}", k, f"f{i}")
        carry = b.gate(("s", f"g{i}", ("p", carry, f"p{i}")), f"cx{i}")
        carry = b.inv(carry, f"c{i + 1}")
    ins = (*(f"a{i}" for i in range(4)), *(f"b{i}" for i in range(4)), "s0", "s1", "s2", "s3", "m", "cn")

    def unit(v):
        out, c = {}, v["cn"]
        for i in range(4):
            x, y = v[f"a{i}"], v[f"b{i}"]
            p = int(not (x or (y and v["s0"]) or (v["s1"] and not y)))
            g = int(not ((not y and v["s2"] and x) or (x and v["s3"] and y)))
            out[f"f{i}"] = p ^ g ^ int(not (c and not v["m"]))
            c = int(g and (c or p))
        return out | {"c4": c}

    return b.case(
        "logic_unit", [*ins, "f0", "f1", "f2", "f3", "c4"], "4-bit ALU", {"ALU slice": 4}, family="ALU", inputs=ins,
        function=unit, source="arithmetic and logic unit ('181 type, data sheet, from memory; carries rippled)",
        held_out=True, slips=(("drop", "h2.p0"), ("gate", "g1.n0", "s3"), ("flip", "k3.n1")),
    )  # fmt: skip


def _slices():
    """Put four slices of AND, OR, XOR and sum behind a multiplexer."""
    b = Board()
    ons = []
    for k in range(4):
        x = "s0" if k & 1 else b.inv("s0")
        y = "s1" if k & 2 else b.inv("s1")
        ons.append((b.and_(x, y, y=f"on{k}"), b.inv(f"on{k}", f"off{k}")))
    for i in range(4):
        x, y = f"a{i}", f"b{i}"
        both, any_ = b.and_(x, y, y=f"and{i}"), b.or_(x, y, y=f"or{i}")
        h = b.xor(x, y, f"xor{i}")
        total = b.xor(h, f"c{i}", f"sum{i}")
        b.inv(b.gate(("p", both, ("s", f"c{i}", any_))), f"c{i + 1}")
        for (on, off), d in zip(ons, (both, any_, h, total), strict=True):
            b.tg(d, f"y{i}", on, off)
    ins = (*(f"a{i}" for i in range(4)), *(f"b{i}" for i in range(4)), "c0", "s0", "s1")

    def unit(v):
        x, y = number(v, "a", 4), number(v, "b", 4)
        total = x + y + v["c0"]
        chosen = (x & y, x | y, x ^ y, total)[v["s0"] + 2 * v["s1"]]
        return bits(chosen, "y", 4) | {"c4": total >> 4}

    return b.case(
        "slices", [*ins, "y0", "y1", "y2", "y3", "c4"], "4-bit ALU", {"ALU slice": 4}, family="ALU", inputs=ins,
        function=unit, slips=(("drop", "or2.p0"), ("gate", "xor1.n0", "b2"), ("flip", "and3.n0")),
    )  # fmt: skip


def cases():
    """Yield the cases."""
    yield from _arithmetic()
