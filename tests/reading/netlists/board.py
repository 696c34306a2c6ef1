"""
A board to put netlists together on, in three logic styles, and the case that comes of it.

Every net and device is called by what it is while a circuit is built, so that a slip can be planted by name (`"c1.p0"`
is the first p transistor of the gate that drives `c1`); `Case.anonymous` then takes all these names away.
"""

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from layoutdrill.netlist.model import Element, Kind, Mode, Netlist, Transistor

Tree = "str | tuple"
"""A network: a net that gates one switch, or ("s", …) in series, ("p", …) in parallel."""
Edit = tuple
"""
A slip to plant: ("drop", device) ("gate", device, net) ("end", device, from, to) ("flip", device) ("twice", device)
("join", net, net) ("cross", device, device), which exchanges their gates, ("strong", device), which makes one wide.
"""
Step = tuple[Mapping[str, int], Mapping[str, int]]
"""Inputs that change, and the outputs that are then expected."""


def dual(tree):
    """Return the network that conducts where this one does not, its gates being inverted."""
    if isinstance(tree, str):
        return tree
    return ("p" if tree[0] == "s" else "s", *(dual(t) for t in tree[1:]))


def leaves(tree):
    """Return the gate nets of a network, from the output on."""
    return [tree] if isinstance(tree, str) else [leaf for t in tree[1:] for leaf in leaves(t)]


@dataclass
class Board:
    """A circuit in the making. `style` is cmos, nmos (depletion loads), enmos (enhancement loads) or pmos."""

    style: str = "cmos"
    high: str = "VDD"
    low: str = "VSS"
    devices: dict[str, Transistor] = field(default_factory=dict)
    elements: list[Element] = field(default_factory=list)
    count: int = 0

    def new(self, stem="w"):
        self.count += 1
        return f"{stem}_{self.count}"

    def put(self, tag, kind, gate, a, b, *, mode=Mode.ENHANCEMENT, length=2, width=4):
        name = tag
        n = 1
        while name in self.devices:
            n += 1
            name = f"{tag}'{n}"
        self.devices[name] = Transistor(name, kind, gate, a, b, "", length * 1000, width * 1000, mode)
        return name

    def n(self, gate, a, b, tag="", **size):
        return self.put(tag or f"{a}-{b}.n", Kind.N, gate, a, b, **size)

    def p(self, gate, a, b, tag="", **size):
        return self.put(tag or f"{a}-{b}.p", Kind.P, gate, a, b, **size)

    @property
    def one(self):
        """Return the kind of the drivers in logic of one kind."""
        return Kind.P if self.style == "pmos" else Kind.N

    def switch(self, gate, a, b, tag="", **size):
        """Put a pass transistor of the style's own kind."""
        return self.put(tag or f"{a}-{b}.s", self.one, gate, a, b, **size)

    def r(self, a, b, value="10k"):
        self.elements.append(Element(f"R{len(self.elements)}", "resistor", "", (a, b), (("R", value),)))

    def c(self, a, b, value="10p"):
        self.elements.append(Element(f"C{len(self.elements)}", "capacitor", "", (a, b), (("C", value),)))

    def diode(self, a, b):
        self.elements.append(Element(f"D{len(self.elements)}", "diode", "", (a, b)))

    def network(self, kind, tree, top, bottom, tag, **size):
        """Put the switches of a network between two nets."""
        if isinstance(tree, str):
            self.put(f"{tag}{self._at(tag)}", kind, tree, top, bottom, **size)
        elif tree[0] == "p":
            for t in tree[1:]:
                self.network(kind, t, top, bottom, tag, **size)
        else:
            here = top
            for i, t in enumerate(tree[1:]):
                below = bottom if i == len(tree) - 2 else self.new("k")
                self.network(kind, t, here, below, tag, **size)
                here = below

    def _at(self, tag):
        return sum(1 for name in self.devices if name.startswith(tag) and name[len(tag) :].isdigit())

    def load(self, y, *, length=8, width=2):
        """Put the load of a ratioed stage."""
        if self.style == "nmos":
            self.put(f"{y}.load", Kind.N, y, self.high, y, mode=Mode.DEPLETION, length=length, width=width)
        elif self.style == "enmos":
            self.put(f"{y}.load", Kind.N, self.high, self.high, y, length=length, width=width)
        else:
            self.put(f"{y}.load", Kind.P, self.low, self.low, y, length=length, width=width)

    def gate(self, pulldown, y=None):
        """Put the gate whose output is low where the network of its inputs conducts; return the output."""
        y = y or self.new()
        if self.style == "cmos":
            self.network(Kind.N, pulldown, y, self.low, f"{y}.n")
            self.network(Kind.P, dual(pulldown), y, self.high, f"{y}.p", width=8)
        elif self.style == "pmos":
            self.network(Kind.P, dual(pulldown), y, self.high, f"{y}.p", width=16)
            self.load(y)
        else:
            self.network(Kind.N, pulldown, y, self.low, f"{y}.n", width=4 * max(1, _deepest(pulldown)))
            self.load(y)
        return y

    def inv(self, a, y=None):
        return self.gate(a, y)

    def nand(self, *ins, y=None):
        return self.gate(("s", *ins), y)

    def nor(self, *ins, y=None):
        return self.gate(("p", *ins), y)

    def and_(self, *ins, y=None):
        return self.inv(self.nand(*ins), y)

    def or_(self, *ins, y=None):
        return self.inv(self.nor(*ins), y)

    def buf(self, a, y=None):
        return self.inv(self.inv(a), y)

    def xor(self, a, b, y=None):
        """Put an XOR of NOR2 and AOI21."""
        return self.gate(("p", ("s", a, b), self.nor(a, b)), y)

    def xnor(self, a, b, y=None):
        return self.gate(("s", ("p", a, b), self.nand(a, b)), y)

    def xor_nand(self, a, b, y=None):
        """Put an XOR of four NAND2."""
        m = self.nand(a, b)
        return self.nand(self.nand(a, m), self.nand(b, m), y=y)

    def tg(self, a, b, on, off, tag=""):
        """Put a transmission gate."""
        tag = tag or f"{a}-{b}.tg"
        self.put(f"{tag}.n", Kind.N, on, a, b)
        self.put(f"{tag}.p", Kind.P, off, a, b, width=8)

    def mux_tg(self, s, sn, d0, d1, y=None):
        """Put a 2:1 multiplexer of two transmission gates."""
        y = y or self.new()
        self.tg(d0, y, sn, s)
        self.tg(d1, y, s, sn)
        return y

    def xor_tg(self, a, an, b, bn, y=None):
        """Put an XOR of two transmission gates."""
        return self.mux_tg(a, an, b, bn, y)

    def tri(self, a, y, on, off):
        """Put a tri-state inverter."""
        k, m = self.new("k"), self.new("k")
        self.put(f"{y}.n", Kind.N, on, y, k)
        self.put(f"{y}.nd", Kind.N, a, k, self.low)
        self.put(f"{y}.p", Kind.P, off, y, m, width=8)
        self.put(f"{y}.pd", Kind.P, a, m, self.high, width=8)
        return y

    def latch(self, d, on, off, q=None):
        """Put a static latch of transmission gates; return (the net that follows d, its inverse)."""
        m = self.new("m")
        self.tg(d, m, on, off, tag=f"{m}.in")
        mn = self.inv(m)
        q = self.inv(mn, q)
        self.tg(q, m, off, on, tag=f"{m}.back")
        return q, mn

    def dff(self, d, c, cn, q=None):
        """Put a register bit that takes d at the rise of c; return (q, its inverse)."""
        m, _ = self.latch(d, cn, c)
        return self.latch(m, c, cn, q)

    def dff_reset(self, d, c, cn, rn, q=None):
        """Put the same with a reset that is active low; return (q, its inverse)."""
        m, s = self.new("m"), self.new("s")
        self.tg(d, m, cn, c, tag=f"{m}.in")
        mn = self.nand(m, rn)
        self.tg(self.inv(mn), m, c, cn, tag=f"{m}.back")
        # the slave takes the inverse, so that a low reset makes q low
        self.tg(mn, s, c, cn, tag=f"{s}.in")
        q = self.inv(s, q)
        sn = self.nand(q, rn)
        self.tg(sn, s, cn, c, tag=f"{s}.back")
        return q, s

    def ram6(self, word, bit, bitn):
        """Put a static RAM cell; return its two nets."""
        q, qn = self.new("q"), self.new("q")
        if self.style == "cmos":
            for a, y in ((q, qn), (qn, q)):
                self.put(f"{y}.n", Kind.N, a, y, self.low, width=8)
                self.put(f"{y}.p", Kind.P, a, y, self.high, width=3)
        else:
            for a, y in ((q, qn), (qn, q)):
                self.put(f"{y}.n", self.one, a, y, self.low if self.one is Kind.N else self.high, width=8)
                self.load(y, length=12)
        self.switch(word, bit, q, tag=f"{q}.access")
        self.switch(word, bitn, qn, tag=f"{qn}.access")
        return q, qn

    def case(self, name, ports, head, parts=None, **more):
        """Return the case of what is on the board."""
        if isinstance(ports, str):
            ports = ports.split()
        ports = (*ports, *(n for n in (self.high, self.low) if n not in ports))
        netlist = Netlist(name, tuple(ports), tuple(self.devices.values()), tuple(self.elements))
        return Case(name, netlist, head, dict(parts or {}), **more)


def _deepest(tree):
    if isinstance(tree, str):
        return 1
    inner = [_deepest(t) for t in tree[1:]]
    return sum(inner) if tree[0] == "s" else max(inner)


@dataclass(frozen=True)
class Case:
    """
    One own netlist: what a reader of it should be told, and what it does, said apart in plain Python.

    `head` is the name of the whole, `parts` how often a term must appear in the outline. `function` maps the inputs of
    a combinational circuit to its outputs; `steps` gives a sequence of inputs with the outputs they lead to. `slips`
    are edits that make it wrong. `source` names where a published circuit is from; those are `held_out`.
    """

    name: str
    netlist: Netlist
    head: str
    parts: dict[str, int]
    family: str = ""
    source: str = "own"
    held_out: bool = False
    inputs: tuple[str, ...] = ()
    function: Callable[[Mapping[str, int]], Mapping[str, int]] | None = None
    steps: Callable[[], Sequence[Step]] | None = None
    slips: tuple[Edit, ...] = ()

    def anonymous(self, seed=0):
        """Return the netlist with lines in another order and meaningless names, and the map from old nets to new."""
        rng = random.Random(f"{self.name}/{seed}")
        return shuffled(self.netlist, rng)

    def with_slip(self, number):
        """Return the netlist with one slip planted, and the devices and nets that it touches."""
        return planted(self.netlist, self.slips[number])


RAILS = ("VDD", "VSS", "VDDH", "VDD2", "VGG", "VPP", "VEE", "0")


def shuffled(netlist, rng):
    """Return a netlist with other names and another order of lines, ends turned at random, and the map of its nets."""
    nets = list(netlist.nets)
    keep = [n for n in nets if n.upper() in RAILS]
    others = [n for n in nets if n not in keep]
    numbers = list(range(1, len(others) + 1))
    rng.shuffle(numbers)
    names = {n: f"n{k}" for n, k in zip(others, numbers, strict=True)} | {n: n for n in keep}
    lines = list(netlist.transistors)
    rng.shuffle(lines)
    made = []
    for i, t in enumerate(lines):
        ends = [names[t.source], names[t.drain]]
        rng.shuffle(ends)
        made.append(replace(t, name=f"M{i + 1}", gate=names[t.gate], source=ends[0], drain=ends[1]))
    elements = [replace(e, nodes=tuple(names[n] for n in e.nodes)) for e in netlist.elements]
    rng.shuffle(elements)
    ports = [names[p] for p in netlist.ports]
    return Netlist(netlist.name, tuple(ports), tuple(made), tuple(elements)), names


def planted(netlist, edit):
    """Return the netlist with an edit made, and the names of the devices and nets that it touches."""
    what, *args = edit
    if what == "join":
        a, b = args
        touched = tuple(t.name for t in netlist.transistors if a in t.terminals or b in t.terminals)
        ts = tuple(t.renamed({b: a}) for t in netlist.transistors)
        ports = tuple(p for p in netlist.ports if p != b)
        return replace(netlist, ports=ports, transistors=ts), touched, (a, b)
    if what == "drop" and args[0] in (written := {e.name: e for e in netlist.elements}):
        rest = tuple(e for e in netlist.elements if e.name != args[0])
        return replace(netlist, elements=rest), (args[0],), written[args[0]].nodes
    if what == "cross":
        gates = {a: next(t.gate for t in netlist.transistors if t.name == b) for a, b in (args, args[::-1])}
        ts = tuple(replace(t, gate=gates.get(t.name, t.gate)) for t in netlist.transistors)
        return replace(netlist, transistors=ts), tuple(args), tuple(gates.values())
    (at,) = [i for i, t in enumerate(netlist.transistors) if t.name == args[0]]
    t = netlist.transistors[at]
    before, after = netlist.transistors[:at], netlist.transistors[at + 1 :]
    if what == "drop":
        return replace(netlist, transistors=(*before, *after)), (t.name,), t.ends
    if what == "gate":
        return replace(netlist, transistors=(*before, replace(t, gate=args[1]), *after)), (t.name,), (t.gate, args[1])
    if what == "end":
        old, new = args[1:]
        assert old in t.ends, (edit, t)
        side = {"source": new} if t.source == old else {"drain": new}
        return replace(netlist, transistors=(*before, replace(t, **side), *after)), (t.name,), (old, new)
    if what == "flip":
        other = Kind.P if t.kind is Kind.N else Kind.N
        return replace(netlist, transistors=(*before, replace(t, kind=other), *after)), (t.name,), t.terminals
    if what == "strong":  # as wide as a driver, and no longer
        strong = replace(t, width=8 * t.width, length=min(t.length, 2000))
        return replace(netlist, transistors=(*before, strong, *after)), (t.name,), t.ends
    assert what == "twice", edit
    copy = replace(t, name=f"{t.name}+")
    return replace(netlist, transistors=(*netlist.transistors, copy)), (t.name, copy.name), t.terminals


def number(values, stem, count):
    """Return the number that the nets `stem0` … make, `stem0` counting least."""
    return sum(values[f"{stem}{i}"] << i for i in range(count))


def bits(value, stem, count):
    """Return the levels of the nets `stem0` … for a number."""
    return {f"{stem}{i}": value >> i & 1 for i in range(count)}
