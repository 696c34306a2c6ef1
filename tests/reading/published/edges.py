"""Published circuits: pads, level shifters and drivers; from memory, each source named."""

from .kit import MEM, Board


def cases():
    # input pad with resistor and diodes
    b = Board()
    b.r("pad", "i", "1k", "rs")
    b.diode("i", "VDD", "d1")
    b.diode("VSS", "i", "d2")
    b.inv("i", "m")
    b.inv("m", "y", k=2)
    b.p("VSS", "i", "VDD", "pull", w=2, l=40)
    yield b.case(
        "input_pad",
        "pad y",
        "input pad",
        {"input protection": 1, "tie cell": 1},
        source="input protection of resistor and clamp diodes, CMOS data books" + MEM,
        inputs=("pad",),
        function=lambda v: {"y": v["pad"]},
        slips=(("strong", "pull"), ("drop", "y.n0"), ("flip", "pull")),
    )
    # NMOS input pad with clamp transistor
    b = Board("nmos")
    b.r("pad", "i", "500", "rs")
    b.n("VSS", "i", "VSS", "clamp", w=100, l=4)
    b.inv("i", "m")
    b.inv("m", "y", k=4)
    b.inv("y", "yn")
    yield b.case(
        "nmos_input_pad",
        "pad y yn",
        "input pad",
        {"input protection": 1},
        source="input pad with resistor and punch-through device, Mead & Conway 1980" + MEM,
        inputs=("pad",),
        function=lambda v: {"y": v["pad"], "yn": 1 - v["pad"]},
        slips=(("gate", "clamp", "VDD"), ("drop", "m.load"), ("strong", "y.load")),
    )
    # bidirectional pad
    b = Board()
    b.inv("en", "enn")
    b.nand("d", "en", y="up")
    b.nor("d", "enn", y="dn")
    b.p("up", "pad", "VDD", "pad.p", w=200)
    b.n("dn", "pad", "VSS", "pad.n", w=100)
    b.r("pad", "i", "300", "rs")
    b.diode("pad", "VDD", "d1")
    b.diode("VSS", "pad", "d2")
    b.buf("i", "y")
    yield b.case(
        "bidirectional_pad",
        "d en pad y",
        "bidirectional pad",
        {"input protection": 1, "tri-state buffer": 1},
        source="bidirectional pad, Weste & Eshraghian" + MEM,
        steps=lambda: [
            ({"en": 1, "d": 1}, {"pad": 1, "y": 1}),
            ({"d": 0}, {"pad": 0, "y": 0}),
            ({"en": 0, "pad": 1}, {"y": 1}),
            ({"d": 1, "pad": 0}, {"y": 0}),
        ],
        slips=(("cross", "pad.p", "pad.n"), ("gate", "dn.n1", "en"), ("drop", "up.p1")),
    )
    # NMOS tri-state pad
    b = Board("nmos")
    b.inv("en", "enn")
    b.inv("d", "dn")
    b.nor("dn", "enn", y="up", k=4)
    b.nor("d", "enn", y="down", k=4)
    b.n("up", "VDD", "pad", "pad.up", w=200)
    b.n("down", "pad", "VSS", "pad.down", w=200)
    yield b.case(
        "nmos_tristate_pad",
        "d en pad",
        "tri-state pad",
        {"tri-state buffer": 1},
        source="tri-state output pad, Mead & Conway 1980" + MEM,
        steps=lambda: [({"en": 1, "d": 1}, {"pad": 1}), ({"d": 0}, {"pad": 0}), ({"en": 0}, {"up": 0, "down": 0})],
        slips=(("gate", "pad.down", "up"), ("gate", "up.n0", "d"), ("drop", "down.load")),
    )
    # open-drain pads of a two-wire bus
    b = Board()
    for k in ("c", "d"):
        schm = f"y{k}"
        a, y = f"p{k}", schm
        b.n(a, y, f"{y}k", f"{y}.n0")
        b.n(a, f"{y}k", "VSS", f"{y}.n1")
        b.n(y, "VDD", f"{y}k", f"{y}.nf", w=3, l=4)
        b.p(a, y, f"{y}m", f"{y}.p0")
        b.p(a, f"{y}m", "VDD", f"{y}.p1")
        b.p(y, "VSS", f"{y}m", f"{y}.pf", w=3, l=4)
        b.inv(y, f"r{k}")
        b.inv(f"t{k}", f"g{k}", k=2)
        b.n(f"g{k}", a, "VSS", f"{a}.n", w=200)
        b.diode("VSS", a, f"{a}.d")
    yield b.case(
        "two_wire_pads",
        "pc pd tc td rc rd",
        "2 × open-drain pad",
        {"Schmitt inverter": 2, "input protection": 2},
        source="two-wire serial bus: wired-AND pads with Schmitt inputs, UM10204" + MEM,
        inputs=("pc", "pd", "tc", "td"),
        function=lambda v: {"rc": v["pc"], "rd": v["pd"]} if v["tc"] and v["td"] else {},
        steps=lambda: [({"tc": 0, "td": 0}, {"pc": 0, "pd": 0})],
        slips=(("flip", "pc.n"), ("drop", "gd.p0"), ("gate", "yd.pf", "pd")),
    )
    # level shifter
    b = Board()
    b.inv("a", "an")
    b.inv("an", "ap")
    b.n("ap", "l", "VSS", "l.n", w=16)
    b.n("an", "h", "VSS", "h.n", w=16)
    b.p("h", "l", "VPP", "l.p", w=4)
    b.p("l", "h", "VPP", "h.p", w=4)
    b.n("l", "y", "VSS", "y.n", w=8)
    b.p("l", "y", "VPP", "y.p", w=16)
    yield b.case(
        "level_shifter",
        "a y",
        "level shifter",
        {},
        source="cross-coupled level shifter, Weste & Harris" + MEM,
        inputs=("a",),
        function=lambda v: {"y": v["a"]},
        slips=(("end", "h.p", "VPP", "VDD"), ("gate", "l.p", "l"), ("gate", "h.n", "ap")),
    )
    # bootstrap driver
    b = Board("nmose")
    b.inv("a", "an")
    b.n("VDD", "VDD", "g", "g.pre", w=4)
    b.n("g", "VDD", "y", "y.up", w=20)
    b.n("an", "y", "VSS", "y.down", w=160)
    b.c("g", "y", "1p", "cb")
    yield b.case(
        "bootstrap_driver",
        "a y",
        "bootstrap driver",
        {"clocked-load gate": 1},
        source="eliminating threshold losses by bootstrapping, Joynson and others 1972" + MEM,
        inputs=("a",),
        function=lambda v: {"y": v["a"]},
        slips=(("strong", "y.up"), ("gate", "y.up", "a"), ("drop", "g.pre")),
    )
