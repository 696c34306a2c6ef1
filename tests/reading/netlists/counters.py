"""Counters. References: a Python integer that counts."""

from .board import Board, bits


def _clocked(rows, width, stem="q", clock="c"):
    """Return steps: the clock low, then high, the outputs after the rise."""
    steps = []
    for inputs, value in rows:
        steps.append(({**inputs, clock: 0}, {}))
        steps.append(({clock: 1}, bits(value, stem, width)))
    return steps


def toggles(b, clock, q, rn):
    """Put a bit that toggles at the fall of its clock."""
    cn = b.inv(clock)
    d = f"{q}_d"
    _, _ = b.dff_reset(d, cn, b.inv(cn), rn, q)
    b.inv(q, d)


def cases():
    """Yield the cases."""
    b = Board()
    clock = "c"
    for i in range(4):
        toggles(b, clock, f"q{i}", "rn")
        clock = f"q{i}"

    def ripple():
        steps = [({"c": 0, "rn": 0}, bits(0, "q", 4)), ({"rn": 1}, bits(0, "q", 4))]
        for n in range(1, 18):
            steps += [({"c": 1}, bits(n - 1, "q", 4)), ({"c": 0}, bits(n, "q", 4))]
        return steps

    yield b.case(
        "ripple", "c rn q0 q1 q2 q3", "4-bit ripple counter", {"toggle flip-flop": 4}, family="counter", steps=ripple,
        source="ripple-carry binary counter with reset (4040 type, data sheet, from memory)", held_out=True,
        slips=(("drop", "q1_d.p0"), ("gate", "q2.n0", "q1"), ("flip", "q3_d.n0")),
    )  # fmt: skip
    b = Board()
    cn = b.inv("c", "cn")
    carry = None
    for i in range(4):
        d = b.inv(f"q{i}", f"d{i}") if carry is None else b.xor(f"q{i}", carry, f"d{i}")
        b.dff_reset(d, "c", cn, "rn", f"q{i}")
        if i < 3:
            carry = f"q{i}" if carry is None else b.and_(carry, f"q{i}", y=f"t{i}")

    def synchronous():
        return [({"c": 0, "rn": 0}, bits(0, "q", 4)), *_clocked([({"rn": 1}, n % 16) for n in range(1, 19)], 4)]

    yield b.case(
        "synchronous", "c rn q0 q1 q2 q3", "4-bit synchronous counter", {"register bit": 4}, family="counter",
        steps=synchronous, slips=(("drop", "d2.p1"), ("gate", "d3.n0", "q1"), ("gate", "t1.p0", "q3")),
    )  # fmt: skip
    b = Board()
    cn = b.inv("c", "cn")
    for i in range(5):
        d = f"q{i - 1}" if i else b.inv("q4", "d0")
        b.dff_reset(d, "c", cn, "rn", f"q{i}")
    for k in range(10):  # one decoded output a state: two neighbours differ only there
        here, before = f"q{k % 5}", f"q{(k - 1) % 5}"
        if k == 0:
            b.nor(here, before, y="y0")
        elif k == 5:
            b.and_(here, before, y="y5")
        elif k < 5:
            b.nor(b.inv(before), here, y=f"y{k}")
        else:
            b.nor(before, b.inv(here), y=f"y{k}")

    def johnson():
        steps = [({"c": 0, "rn": 0}, {"y0": 1, "y1": 0, "y5": 0})]
        for n in range(1, 22):
            steps += [({"c": 0, "rn": 1}, {}), ({"c": 1}, {f"y{k}": int(k == n % 10) for k in range(10)})]
        return steps

    yield b.case(
        "johnson", ["c", "rn", *(f"y{k}" for k in range(10))], "5-bit Johnson counter", {"register bit": 5},
        family="counter", steps=johnson,
        source="five-stage Johnson decade counter with decoded outputs (4017 type, data sheet, from memory)",
        held_out=True, slips=(("drop", "y3.p0"), ("gate", "y7.n0", "q0"), ("drop", "d0.n0")),
    )  # fmt: skip
    b = Board()
    cn = b.inv("c", "cn")
    b.dff(b.nor("q0", "q1", "q2", y="d0"), "c", cn, "q0")
    for i in range(1, 4):
        b.dff(f"q{i - 1}", "c", cn, f"q{i}")

    yield b.case(
        "ring", "c q0 q1 q2 q3", "4-bit ring counter", {"register bit": 4}, family="counter",
        slips=(("drop", "d0.n1"), ("gate", "d0.p0", "q3"), ("flip", "cn.p0")),
    )  # fmt: skip
    b = Board()
    cn = b.inv("c", "cn")
    b.dff_reset(b.xnor("q3", "q2", "d0"), "c", cn, "rn", "q0")
    for i in range(1, 4):
        b.dff_reset(f"q{i - 1}", "c", cn, "rn", f"q{i}")

    def feedback():
        rows, value = [], 0
        for _ in range(16):
            value = (value << 1 | (1 - ((value >> 3 ^ value >> 2) & 1))) & 15
            rows.append(({"rn": 1}, value))
        return [({"c": 0, "rn": 0}, bits(0, "q", 4)), *_clocked(rows, 4)]

    yield b.case(
        "feedback", "c rn q0 q1 q2 q3", "4-bit feedback shift register", {"register bit": 4}, family="counter",
        steps=feedback, source="own; x^4 + x^3 + 1 runs through 15 states (published tables, from memory)",
        slips=(("drop", "d0.p0"), ("gate", "d0.n0", "q0"), ("drop", "cn.n0")),
    )  # fmt: skip
    b = Board()
    cn = b.inv("c", "cn")
    carry = "q0"
    nine = b.and_("q0", "q3", y="nine")
    wrap = b.inv(nine, "nn")
    b.dff_reset(b.inv("q0", "d0"), "c", cn, "rn", "q0")
    b.dff_reset(b.and_(b.xor("q1", "q0"), wrap, y="d1"), "c", cn, "rn", "q1")
    carry = b.and_("q0", "q1")
    b.dff_reset(b.xor("q2", carry, "d2"), "c", cn, "rn", "q2")
    carry = b.and_(carry, "q2")
    b.dff_reset(b.and_(b.xor("q3", carry), wrap, y="d3"), "c", cn, "rn", "q3")

    def decade():
        return [({"c": 0, "rn": 0}, bits(0, "q", 4)), *_clocked([({"rn": 1}, n % 10) for n in range(1, 23)], 4)]

    yield b.case(
        "decade", "c rn q0 q1 q2 q3", "decade counter", {"register bit": 4}, family="counter", steps=decade,
        slips=(("drop", "d1.p0"), ("gate", "d2.n0", "q3"), ("gate", "nine.n0", "q1")),
    )  # fmt: skip
