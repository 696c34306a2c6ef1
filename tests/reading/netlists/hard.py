"""Netlists made to take long: each of `HARD` is made of a number of transistors and a Random."""

from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor

RAILS = ("VDD", "VSS")


def _netlist(name, ports, rows):
    """Return a netlist of (kind, gate, end, end); a fifth field `d` makes a depletion device."""
    mode = {True: Mode.DEPLETION, False: Mode.ENHANCEMENT}
    ts = [Transistor(f"M{i}", k, g, s, d, mode=mode[bool(more)]) for i, (k, g, s, d, *more) in enumerate(rows)]
    return Netlist(name, tuple(dict.fromkeys((*ports, *RAILS))), tuple(ts))


def mesh(n, random, kinds=tuple(Kind), nets=0, rails=0.1):
    """Transistors with all three terminals anywhere."""
    names = [f"n{i}" for i in range(nets or max(4, n // 3))]

    def end():
        return random.choice(RAILS) if random.random() < rails else random.choice(names)

    rows = [(random.choice(kinds), random.choice(names), end(), end()) for _ in range(n)]
    return _netlist("mesh", names[:8], rows)


def dense_mesh(n, random):
    """The same on eight nets."""
    return mesh(n, random, nets=8)


def one_kind_mesh(n, random):
    """The same of n transistors alone, a third of their ends on rails."""
    return mesh(n, random, kinds=(Kind.N,), rails=0.3)


def switches(n, random):
    """Pass transistors between nets at random, few controls."""
    nets, gates = [f"n{i}" for i in range(max(4, n // 3))], [f"g{i}" for i in range(max(2, n // 10))]
    return _netlist(
        "switches", gates + nets[:4], [(Kind.N, random.choice(gates), *random.sample(nets, 2)) for _ in range(n)]
    )


def clique(n, random):
    """Pass transistors between any two nets, with one way to each rail."""
    nets = [f"n{i}" for i in range(int((2 * n) ** 0.5) + 1)]
    gates = [f"g{i}" for i in range(len(nets))]
    pairs = [(a, b) for a in nets for b in nets if a < b][: n - 4]
    rows = [(Kind.N, random.choice(gates), a, b) for a, b in pairs]
    rows += [
        (Kind.N, "g0", "n0", "VSS"),
        (Kind.P, "g1", "n1", "VDD"),
        (Kind.N, "n2", "q", "VSS"),
        (Kind.P, "n2", "q", "VDD"),
    ]
    return _netlist("clique", [*gates, "q"], rows)


def star(n, random):
    """One net that gates all inverters."""
    rows = [row for i in range(n // 2) for row in ((Kind.N, "hub", f"o{i}", "VSS"), (Kind.P, "hub", f"o{i}", "VDD"))]
    return _netlist("star", ["hub", *(f"o{i}" for i in range(n // 2))], rows)


def star_of_switches(n, random):
    """One net from which switches of both kinds lead to all others."""
    rows = [(random.choice(tuple(Kind)), f"g{i % 17}", "hub", f"o{i}") for i in range(n)]
    return _netlist("star_of_switches", ["hub", *(f"g{i}" for i in range(17))], rows)


def star_of_drivers(n, random):
    """One net that all transistors pull, each on an input of its own."""
    rows = [(random.choice(tuple(Kind)), f"g{i}", "hub", random.choice(RAILS)) for i in range(n)]
    return _netlist("star_of_drivers", ["hub", *(f"g{i}" for i in range(n))], rows)


def stacks(n, random):
    """A series of half of them down, a series of the other half up."""
    half = n // 2
    rows = []
    for kind, rail, mark in ((Kind.N, "VSS", "s"), (Kind.P, "VDD", "t")):
        nets = ["q", *(f"{mark}{i}" for i in range(1, half)), rail]
        rows += [(kind, f"g{i}", nets[i], nets[i + 1]) for i in range(half)]
    return _netlist("stacks", ["q", *(f"g{i}" for i in range(half))], rows)


def tied(n, random):
    """All gates on rails."""
    nets = [*(f"n{i}" for i in range(n // 3)), *RAILS]
    rows = [
        (random.choice(tuple(Kind)), random.choice(RAILS), random.choice(nets), random.choice(nets)) for _ in range(n)
    ]
    return _netlist("tied", nets[:4], rows)


def onto_themselves(n, random):
    """Most gates on their own end, some with both ends on one net."""
    nets = [*(f"n{i}" for i in range(max(2, n // 4))), *RAILS]
    rows = []
    for _ in range(n):
        a = random.choice(nets)
        b = a if random.random() < 0.2 else random.choice(nets)
        rows.append((random.choice(tuple(Kind)), a if random.random() < 0.6 else random.choice(nets), a, b))
    return _netlist("onto_themselves", nets[:4], rows)


def one_net(n, random):
    """One net and the rails."""
    ends = ("x", *RAILS)
    rows = [(random.choice(tuple(Kind)), "x", random.choice(ends), random.choice(ends)) for _ in range(n)]
    return _netlist("one_net", ["x"], rows)


def ladder(n, random, side=0):
    """A square net of switches from q down, another one up: as many ways through as there are paths in a grid."""
    side = side or max(2, int((n / 4) ** 0.5))
    rows = []
    for kind, rail, mark in ((Kind.N, "VSS", "d"), (Kind.P, "VDD", "u")):
        name = {(0, 0): "q", (side - 1, side - 1): rail}
        for y in range(side):
            for x in range(side):
                for to in ((x + 1, y), (x, y + 1)):
                    if max(to) < side:
                        here, there = (name.get(at, f"{mark}{at[0]}_{at[1]}") for at in ((x, y), to))
                        rows.append((kind, f"g{len(rows) % 23}", here, there))
    return _netlist("ladder", ["q", *(f"g{i}" for i in range(23))], rows)


def rings(n, random):
    """Inverters in a long loop with short cuts."""
    half = n // 2
    rows = []
    for i in range(half):
        to = f"x{(i + 1) % half if random.random() < 0.9 else random.randrange(half)}"
        rows += [(Kind.N, f"x{i}", to, "VSS"), (Kind.P, f"x{i}", to, "VDD")]
    return _netlist("rings", ["x0"], rows)


def loops(n, random):
    """NOR gates that read each other at random."""
    count = n // 4
    rows = []
    for i in range(count):
        a, b = (f"x{random.randrange(count)}" for _ in range(2))
        rows += [
            (Kind.N, a, f"x{i}", "VSS"),
            (Kind.N, b, f"x{i}", "VSS"),
            (Kind.P, a, f"x{i}", f"m{i}"),
            (Kind.P, b, f"m{i}", "VDD"),
        ]
    return _netlist("loops", ["x0", "x1"], rows)


def ratioed(n, random):
    """Depletion loads and n transistors at random."""
    nets = [f"n{i}" for i in range(max(4, n // 4))]
    rows = []
    for _ in range(n):
        if random.random() < 0.25:
            o = random.choice(nets)
            rows.append((Kind.N, o, o, "VDD", "d"))
        else:
            rows.append(
                (Kind.N, random.choice(nets), random.choice(nets), random.choice((*nets, *["VSS"] * len(nets))))
            )
    return _netlist("ratioed", nets[:6], rows)


def wide_gates(n, random):
    """Gates of a dozen and more inputs, in each of which one gate is misread."""
    rows, ports = [], []
    while len(rows) < n:
        inputs = [f"i{j}" for j in range(random.choice((12, 16, 24)))]
        at = len(rows)
        series = [f"q{at}", *(f"d{at}_{j}" for j in range(1, len(inputs) // 2)), "VSS"]
        for j in range(len(inputs) // 2):
            a, b = inputs[2 * j : 2 * j + 2]
            rows += [(Kind.N, a, series[j], series[j + 1]), (Kind.N, b, series[j], series[j + 1])]
            rows += [(Kind.P, a, "VDD", f"u{at}_{j}"), (Kind.P, b, f"u{at}_{j}", f"q{at}")]
        wrong = random.randrange(at, len(rows))
        kind, _, *ends = rows[wrong]
        rows[wrong] = (kind, random.choice(inputs), *ends)
        ports += [*inputs, f"q{at}"]
    return _netlist("wide_gates", ports, rows)


def buses(n, random):
    """Tri-state inverters on a few nets."""
    rows = []
    for i in range(n // 4):
        bus, d, e, f = f"b{random.randrange(max(1, n // 200))}", f"d{i % 9}", f"e{i % 31}", f"f{i % 31}"
        rows += [
            (Kind.N, d, f"p{i}", "VSS"),
            (Kind.N, e, bus, f"p{i}"),
            (Kind.P, d, f"r{i}", "VDD"),
            (Kind.P, f, bus, f"r{i}"),
        ]
    return _netlist("buses", [*(f"d{j}" for j in range(9)), *(f"e{j}" for j in range(31)), "b0"], rows)


def gate_mesh(n, random):
    """Transmission gates and inverters between nets at random."""
    nets = [f"n{i}" for i in range(max(4, n // 6))]
    rows = []
    for _ in range(n // 3):
        a, b = random.sample(nets, 2)
        g = random.randrange(9)
        rows += [(Kind.N, f"g{g}", a, b), (Kind.P, f"h{g}", a, b)]
    for j in range(9):
        rows += [(Kind.N, f"g{j}", f"h{j}", "VSS"), (Kind.P, f"g{j}", f"h{j}", "VDD")]
    for j in range(0, len(nets), 3):
        to = nets[(7 * j + 1) % len(nets)]
        rows += [(Kind.N, nets[j], to, "VSS"), (Kind.P, nets[j], to, "VDD")]
    return _netlist("gate_mesh", [*(f"g{j}" for j in range(9)), *nets[:4]], rows)


HARD = {
    make.__name__: make
    for make in (
        mesh, dense_mesh, one_kind_mesh, switches, clique, star, star_of_switches, star_of_drivers, stacks, tied,
        onto_themselves, one_net, ladder, rings, loops, ratioed, wide_gates, buses, gate_mesh,
    )
}  # fmt: skip
