"""
A board for published circuits: devices called by their output and place, with the sizes that such circuits have.

Loads and drivers stand in the proportion that the trade keeps (four to one and more), so that a slip of size is one.
"""

from layoutdrill.netlist.model import Element, Kind, Mode, Netlist, Transistor
from tests.reading.netlists.board import Case

RAILS = ("VDD", "VSS", "VPP", "VEE", "VGG")
MEM = " (from memory)"


def dual(e):
    return e if isinstance(e, str) else ("p" if e[0] == "s" else "s", *map(dual, e[1:]))


def depth(e):
    if isinstance(e, str):
        return 1
    d = [depth(x) for x in e[1:]]
    return sum(d) if e[0] == "s" else max(d)


def S(*e):  # noqa: N802
    return ("s", *e)


def P(*e):  # noqa: N802
    return ("p", *e)


class Board:
    """A circuit in the making: cmos, nmos (depletion loads), nmose (saturated enhancement loads) or pmos (the same)."""

    def __init__(self, tech="cmos"):
        self.tech, self.ts, self.els, self.k = tech, [], [], 0

    def new(self, stem="w"):
        self.k += 1
        return f"{stem}_{self.k}"

    def t(self, kind, gate, a, b, name, w, l=2, mode=Mode.ENHANCEMENT):
        assert name not in {x.name for x in self.ts}, name
        self.ts.append(Transistor(name, kind, gate, a, b, "", l * 1000, int(w * 1000), mode))
        return a

    def n(self, gate, a, b, name=None, w=4, l=2):
        return self.t(Kind.N, gate, a, b, name or self.new("m"), w, l)

    def p(self, gate, a, b, name=None, w=None, l=2):
        return self.t(Kind.P, gate, a, b, name or self.new("m"), w or (4 if self.tech == "pmos" else 8), l)

    def d(self, gate, a, b, name=None, w=2, l=4):
        return self.t(Kind.N, gate, a, b, name or self.new("m"), w, l, Mode.DEPLETION)

    def element(self, kind, nodes, value=None, name=None, model=""):
        values = ((("R" if kind == "resistor" else "C"), value),) if value else ()
        self.els.append(Element(name or self.new("e"), kind, model, tuple(nodes), values))

    def r(self, a, b, value, name=None):
        self.element("resistor", (a, b), value, name)

    def c(self, a, b, value, name=None):
        self.element("capacitor", (a, b), value, name)

    def diode(self, anode, cathode, name=None):
        self.element("diode", (anode, cathode), None, name)

    # ---- static gates
    def net(self, kind, e, a, b, stem, w, count=None):
        """Lay a network of series and parallel devices between a and b."""
        count = count if count is not None else [0]
        if isinstance(e, str):
            self.t(kind, e, a, b, f"{stem}{count[0]}", w)
            count[0] += 1
        elif e[0] == "p":
            for x in e[1:]:
                self.net(kind, x, a, b, stem, w, count)
        else:
            at = a
            for i, x in enumerate(e[1:]):
                to = b if i == len(e) - 2 else self.new("i")
                self.net(kind, x, at, to, stem, w, count)
                at = to

    def load(self, y, name=None, w=2, l=None):
        name = name or f"{y}.load"
        if self.tech == "nmos":
            self.d(y, "VDD", y, name, w, l or 4)
        elif self.tech == "nmose":
            self.n("VDD", "VDD", y, name, w, l or 8)
        elif self.tech == "pmos":
            self.p("VDD", "VDD", y, name, w, l or 8)

    def gate(self, e, y=None, k=1):
        """A gate: in CMOS and NMOS y is low when e conducts; in PMOS y is high (VSS) when e conducts, p on at low."""
        y = y or self.new("y")
        if self.tech == "cmos":
            self.net(Kind.N, e, y, "VSS", f"{y}.n", 4 * k)
            self.net(Kind.P, dual(e), y, "VDD", f"{y}.p", 8 * k)
        else:
            kind = Kind.P if self.tech == "pmos" else Kind.N
            wide = {"nmos": 8, "nmose": 16, "pmos": 16}[self.tech]
            self.net(kind, e, y, "VSS", f"{y}.{kind}", wide * depth(e) * k)
            self.load(y, w=2 * k)
        return y

    def inv(self, a, y=None, k=1):
        return self.gate(a, y, k)

    def buf(self, a, y=None, k=1):
        return self.inv(self.inv(a), y, k)

    def nand(self, *a, y=None, k=1):
        return self.gate(P(*a) if self.tech == "pmos" else S(*a), y, k)

    def nor(self, *a, y=None, k=1):
        return self.gate(S(*a) if self.tech == "pmos" else P(*a), y, k)

    def and_(self, *a, y=None):
        return self.inv(self.nand(*a), y)

    def or_(self, *a, y=None):
        return self.inv(self.nor(*a), y)

    def aoi(self, *groups, y=None):
        """AND-OR-INVERT of groups (strings or tuples)."""
        return self.gate(P(*(g if isinstance(g, str) else S(*g) for g in groups)), y)

    def oai(self, *groups, y=None):
        return self.gate(S(*(g if isinstance(g, str) else P(*g) for g in groups)), y)

    def xor(self, a, b, y=None):
        """NOR and AOI: y = NOT(a b + NOR(a, b))."""
        if self.tech == "pmos":
            return self.inv(self.xnor(a, b), y)
        return self.aoi((a, b), self.nor(a, b), y=y)

    def xnor(self, a, b, y=None):
        if self.tech == "pmos":  # p conducts at low: y high = both low, or NAND low
            return self.gate(P(S(a, b), self.nand(a, b)), y)
        return self.oai((a, b), self.nand(a, b), y=y)

    def xor12(self, a, an, b, bn, y=None):
        return self.gate(P(S(a, b), S(an, bn)), y)

    def xor_tg(self, a, b, y=None):
        """Six devices and an inverter of a: y = a xor b."""
        y = y or self.new("x")
        an = self.inv(a)
        self.p(a, y, b, f"{y}.pt")
        self.n(an, y, b, f"{y}.nt")
        self.n(b, y, an, f"{y}.nb")
        self.p(b, y, a, f"{y}.pb")
        return y

    def xor_tg8(self, a, b, y):
        """Two transmission gates, steered by b, and two inverters: y = a xor b."""
        an, bn = self.inv(a), self.inv(b)
        self.tg(a, y, bn, b, f"{y}.a")
        self.tg(an, y, b, bn, f"{y}.b")
        return y

    def fa(self, a, b, c, s, co):
        """The adder of 28 devices with mirror networks."""
        cn = self.new("cn")
        maj = P(S(c, P(a, b)), S(a, b))
        self.net(Kind.N, maj, cn, "VSS", f"{co}.cn", 4)
        self.net(Kind.P, maj, cn, "VDD", f"{co}.cp", 8)
        sn = self.new("sn")
        summ = P(S(cn, P(a, b, c)), S(a, b, c))
        self.net(Kind.N, summ, sn, "VSS", f"{s}.sn", 4)
        self.net(Kind.P, summ, sn, "VDD", f"{s}.sp", 8)
        self.inv(cn, co)
        self.inv(sn, s)

    def ha(self, a, b, s, co):
        k = self.nand(a, b)
        self.inv(k, co)
        self.inv(self.oai((a, b), k), s)

    # ---- switches and stores
    def tg(self, a, b, c, cn, name):
        """Conducts while c is high."""
        self.n(c, a, b, f"{name}.n")
        self.p(cn, a, b, f"{name}.p", w=4)
        return b

    def mux_tg(self, sel, seln, zero, one, y):
        self.tg(zero, y, seln, sel, f"{y}.t0")
        self.tg(one, y, sel, seln, f"{y}.t1")
        return y

    def tri(self, a, y, en, enn, k=1):
        """Clocked inverter: drives NOT a while en is high."""
        u, v = self.new("u"), self.new("v")
        self.n(en, y, u, f"{y}.n", 4 * k)
        self.n(a, u, "VSS", f"{y}.nd", 4 * k)
        self.p(enn, y, v, f"{y}.p", 8 * k)
        self.p(a, v, "VDD", f"{y}.pd", 8 * k)
        return y

    def dff(self, d, c, cn, q, reset=None, set_=None):
        """Master and slave of transmission gates, rising edge; reset and set active low by NANDs. Gives q and qn."""
        m, mi, s, qn = (self.new(x) for x in ("m", "mi", "s", "qn"))
        mb = self.new("mb")
        self.tg(d, m, cn, c, f"{q}.in")
        self.nand(m, reset, y=mi) if reset else self.inv(m, mi)
        self.nand(mi, set_, y=mb) if set_ else self.inv(mi, mb)
        self.tg(mb, m, c, cn, f"{q}.mf")
        self.tg(mi, s, c, cn, f"{q}.tr")
        self.nand(s, set_, y=q) if set_ else self.inv(s, q)
        self.nand(q, reset, y=qn) if reset else self.inv(q, qn)
        self.tg(qn, s, cn, c, f"{q}.sf")
        return q, qn

    def latch(self, d, g, gn, q):
        """Transparent while g is high; gives q and qn (qn is the node inside, inverted)."""
        m, qn = self.new("m"), self.new("qn")
        self.tg(d, m, g, gn, f"{q}.in")
        self.inv(m, qn)
        self.inv(qn, q)
        self.tg(q, m, gn, g, f"{q}.fb")
        return q, qn

    def cell6(self, word, bl, bn, name):
        """A RAM cell of six: sides name.a and name.b."""
        q, x = f"{name}.a", f"{name}.b"
        self.n(x, q, "VSS", f"{name}.n1", w=8)
        self.n(q, x, "VSS", f"{name}.n2", w=8)
        self.p(x, q, "VDD", f"{name}.p1", w=3)
        self.p(q, x, "VDD", f"{name}.p2", w=3)
        self.n(word, bl, q, f"{name}.w1", w=4)
        self.n(word, bn, x, f"{name}.w2", w=4)
        return q, x

    def case(self, name, ports, head, parts, *, source, slips, **more):
        """Return the case of what is on the board; its ports are those named and the supplies in use."""
        ports = ports.split() if isinstance(ports, str) else list(ports)
        used = {n for t in self.ts for n in (t.gate, t.source, t.drain)} | {n for e in self.els for n in e.nodes}
        assert set(ports) <= used, set(ports) - used
        rails = [rail for rail in RAILS if rail in used]
        netlist = Netlist(name, (*ports, *rails), tuple(self.ts), tuple(self.els))
        return Case(name, netlist, head, parts, source=source, held_out=True, slips=tuple(slips), **more)


def bits(n, stem, k):
    return {f"{stem}{i}": n >> i & 1 for i in range(k)}


def num(v, stem, k):
    return sum(v[f"{stem}{i}"] << i for i in range(k))
