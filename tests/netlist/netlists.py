"""Random small netlists, and copies of them under other names and in another order."""

from dataclasses import replace
from random import Random

from hypothesis import strategies as st

from layoutdrill.netlist.model import Element, Kind, Mode, Netlist, Transistor

NETS = ("p", "q", "r", "s", "t", "u")
PORTS = ("VDD", "GND", "A", "Y")


@st.composite
def netlists(draw, most=7, elements=True):
    """Draw a netlist of a few transistors over a few nets; many of them have symmetries, twins and dead ends."""
    net = st.sampled_from(NETS + PORTS)
    ports = PORTS[: draw(st.integers(0, len(PORTS)))]
    transistors = tuple(
        Transistor(
            f"M{at}",
            draw(st.sampled_from(list(Kind))),
            draw(net),
            draw(net),
            draw(net),
            body=draw(st.sampled_from(("", "VDD", "p"))),
            length=draw(st.sampled_from((0, 150))),
            width=draw(st.sampled_from((420, 650))),
            mode=draw(st.sampled_from(list(Mode))),
        )
        for at in range(draw(st.integers(1, most)))
    )
    others = tuple(
        Element(f"E{at}", draw(st.sampled_from(("resistor", "diode", "capacitor"))), "", (draw(net), draw(net)))
        for at in range(draw(st.integers(0, 2)) if elements else 0)
    )
    return Netlist("random", ports, transistors, others)


def disguised(n: Netlist, rng: Random) -> Netlist:
    """Return the same circuit: nets that are no ports renamed, devices renamed and shuffled, some ends exchanged."""
    inner = [net for net in n.nets if net not in n.ports]
    new = [f"n{at}" for at in range(len(inner))]
    rng.shuffle(new)
    nets = dict(zip(inner, new, strict=True))
    transistors = [t.renamed(nets) for t in n.transistors]
    transistors = [replace(t, source=t.drain, drain=t.source) if rng.random() < 0.5 else t for t in transistors]
    rng.shuffle(transistors)
    elements = [replace(e, nodes=tuple(nets.get(x, x) for x in e.nodes)) for e in n.elements]
    elements = [replace(e, nodes=e.nodes[::-1]) if e.kind != "diode" and rng.random() < 0.5 else e for e in elements]
    rng.shuffle(elements)
    return replace(
        n,
        transistors=tuple(replace(t, name=f"Q{at}") for at, t in enumerate(transistors)),
        elements=tuple(replace(e, name=f"F{at}") for at, e in enumerate(elements)),
    )


def pass_graph(edges, name="graph") -> Netlist:
    """Return a graph as a circuit: a node is a net, an edge a pass transistor with its gate on the one port, G."""
    transistors = tuple(Transistor(f"M{at}", Kind.N, "G", f"v{a}", f"v{b}") for at, (a, b) in enumerate(edges))
    return Netlist(name, ("G",), transistors)


def nand_array(cells: int, *, labelled: bool, seed: int | None = None) -> Netlist:
    """Return NAND2 gates between common rails, every input and output a port when labelled."""
    ports = ["VDD", "GND"]
    transistors = []
    for at in range(cells):
        a, b, y, m = f"A{at}", f"B{at}", f"Y{at}", f"m{at}"
        ports += [a, b, y] if labelled else []
        transistors += [
            Transistor(f"M{at}a", Kind.P, a, "VDD", y, length=150, width=1000),
            Transistor(f"M{at}b", Kind.P, b, y, "VDD", length=150, width=1000),
            Transistor(f"M{at}c", Kind.N, a, y, m, length=150, width=650),
            Transistor(f"M{at}d", Kind.N, b, m, "GND", length=150, width=650),
        ]
    n = Netlist("array", tuple(ports), tuple(transistors))
    return n if seed is None else disguised(n, Random(seed))
