"""Published circuits: clocks, oscillators, resets and arbiters; from memory, each source named."""

from .kit import MEM, Board


def cases():
    # non-overlapping clocks with super buffers
    b = Board("nmos")

    def sup(a, y, m):
        b.inv(a, m)
        b.n(a, y, "VSS", f"{y}.drv", w=40)
        b.d(m, "VDD", y, f"{y}.up", w=20, l=4)

    b.inv("c", "cn")
    b.nor("c", "f2", y="g1")
    b.nor("cn", "f1", y="g2")
    b.inv("g1", "g1n")
    b.inv("g2", "g2n")
    sup("g1n", "f1", "u1")
    sup("g2n", "f2", "u2")
    yield b.case(
        "two_phase_clock",
        "c f1 f2",
        "two-phase clock generator",
        {"NOR2": 2, "super buffer": 2},
        source="two-phase clock generator and super buffers, Mead & Conway 1980" + MEM,
        steps=lambda: [({"c": n & 1}, {"f1": 1 - (n & 1), "f2": n & 1}) for n in range(6)],
        slips=(("gate", "g2.n1", "f2"), ("drop", "g1.load"), ("gate", "f2.up", "f2")),
    )
    # crystal stage
    b = Board()
    b.nand("x1", "en", y="x2")
    b.r("x1", "x2", "10meg", "rf")
    b.c("x1", "VSS", "22p", "c1")
    b.c("x2", "VSS", "22p", "c2")
    b.buf("x2", "ck")
    yield b.case(
        "crystal_stage",
        "x1 x2 en ck",
        "crystal oscillator",
        {"NAND2": 1},
        source="gate oscillator of Pierce type, data books (4060 type) and application notes" + MEM,
        inputs=("x1", "en"),
        function=lambda v: {"ck": 1 - (v["x1"] & v["en"])},
        slips=(("drop", "x2.p0"), ("gate", "ck.n0", "x1"), ("flip", "ck.p0")),
    )
    # Schmitt RC oscillator
    b = Board()

    def schmitt(a, y):
        b.n(a, y, f"{y}k", f"{y}.n0")
        b.n(a, f"{y}k", "VSS", f"{y}.n1")
        b.n(y, "VDD", f"{y}k", f"{y}.nf", w=3, l=4)
        b.p(a, y, f"{y}m", f"{y}.p0")
        b.p(a, f"{y}m", "VDD", f"{y}.p1")
        b.p(y, "VSS", f"{y}m", f"{y}.pf", w=3, l=4)

    schmitt("t", "y")
    b.r("y", "t", "100k", "rt")
    b.c("t", "VSS", "100p", "ct")
    b.inv("y", "ck", k=2)
    yield b.case(
        "schmitt_oscillator",
        "t ck",
        "RC oscillator",
        {"Schmitt inverter": 1},
        source="Schmitt-trigger RC oscillator, '14 type data sheet" + MEM,
        inputs=("t",),
        function=lambda v: {"ck": v["t"]},
        slips=(("gate", "y.nf", "t"), ("drop", "y.p1"), ("drop", "ct")),
    )
    # gated ring, NMOS
    b = Board("nmos")
    at = b.nand("en", "z4", y="z0")
    for i in range(1, 5):
        at = b.inv(at, f"z{i}")
    b.buf("z4", "ck", k=2)
    yield b.case(
        "gated_ring",
        "en ck",
        "ring oscillator",
        {"NAND2": 1},
        source="ring oscillator as a process monitor, Weste & Eshraghian; depletion loads" + MEM,
        steps=lambda: [({"en": 0}, {"ck": 1})],
        slips=(("strong", "z2.load"), ("drop", "z3.load"), ("gate", "z4.n0", "z2")),
    )
    # reset from a long p device and a MOS capacitor
    b = Board()
    b.p("VSS", "t", "VDD", "t.r", w=2, l=100)
    b.n("t", "VSS", "VSS", "t.c", w=100, l=50)
    b.inv("t", "u")
    b.inv("u", "v", k=2)
    b.inv("v", "w", k=4)
    b.p("u", "t", "VDD", "t.fb", w=2, l=8)
    yield b.case(
        "reset_mos",
        "w v",
        "power-on reset",
        {"tie cell": 1},
        source="on-chip power-on reset with MOS capacitor, application notes and patents of the 1980s" + MEM,
        inputs=(),
        function=lambda v: {"v": 1, "w": 0},
        slips=(("drop", "v.p0"), ("gate", "t.fb", "t"), ("flip", "u.n0")),
    )
    # arbiter
    b = Board()
    b.nand("r1", "n2", y="n1")
    b.nand("r2", "n1", y="n2")
    for g, a, o in (("g1", "n1", "n2"), ("g2", "n2", "n1")):
        b.p(a, g, o, f"{g}.p")
        b.n(a, g, "VSS", f"{g}.n")
    yield b.case(
        "mutual_exclusion",
        "r1 r2 g1 g2",
        "arbiter",
        {"SR latch": 1},
        source="arbiter of Seitz, Mead & Conway 1980, in CMOS" + MEM,
        steps=lambda: [
            ({"r1": 0, "r2": 0}, {"g1": 0, "g2": 0}),
            ({"r1": 1}, {"g1": 1, "g2": 0}),
            ({"r2": 1}, {"g1": 1, "g2": 0}),
            ({"r1": 0}, {"g1": 0, "g2": 1}),
            ({"r2": 0}, {"g1": 0, "g2": 0}),
        ],
        slips=(("gate", "g1.n", "n2"), ("gate", "n2.n1", "n2"), ("end", "g2.p", "n1", "VDD")),
    )
    # C-element with conventional keeper
    b = Board()
    b.n("a", "y", "k", "y.na", w=8)
    b.n("b", "k", "VSS", "y.nb", w=8)
    b.p("a", "y", "h", "y.pa", w=16)
    b.p("b", "h", "VDD", "y.pb", w=16)
    b.n("q", "y", "l", "kn")
    b.n("a", "l", "VSS", "kna")
    b.n("b", "l", "VSS", "knb")
    b.p("q", "y", "m", "kp")
    b.p("a", "m", "VDD", "kpa")
    b.p("b", "m", "VDD", "kpb")
    b.inv("y", "q")
    b.ts.sort(key=lambda t: t.name[::-1])
    yield b.case(
        "c_element_kept",
        "a b q",
        "C-element",
        {"minority gate": 1},
        source="conventional pull-up pull-down C-element, Sutherland 1989" + MEM,
        steps=lambda: [
            ({"a": 0, "b": 0}, {"q": 0}),
            ({"b": 1}, {"q": 0}),
            ({"a": 1}, {"q": 1}),
            ({"b": 0}, {"q": 1}),
            ({"a": 0}, {"q": 0}),
            ({"a": 1}, {"q": 0}),
        ],
        slips=(("gate", "knb", "a"), ("drop", "y.pb"), ("flip", "kn")),
    )
