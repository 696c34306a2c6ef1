"""A circuit as gates and switches between signals, with the complements traced."""

from collections.abc import Iterable
from dataclasses import field

from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.clocked import also_called
from layoutdrill.recognise.gates import Gate, Literal, substitute
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.stages import Stage
from layoutdrill.recognise.switches import Prepared
from layoutdrill.simulate.expression import Expression, text
from layoutdrill.simulate.minimal import complement
from layoutdrill.value import identity, mutable


@mutable
@identity
class Link:
    """
    A switch between two signals: a transmission gate (n and p on complementary gates) or a pass transistor.

    `when` says over gate nets when it conducts; `source` is the end that is driven, "" where either may be.
    """

    ends: tuple[str, str]
    when: Expression
    controls: tuple[str, ...]
    term: str
    members: tuple[int, ...]
    source: str = ""

    @property
    def sink(self) -> str:
        return self.ends[1] if self.source == self.ends[0] else self.ends[0]

    def other(self, net: str) -> str:
        return self.ends[1] if self.ends[0] == net else self.ends[0]


@mutable
class View:
    """
    Gates by output net, links by number, and the indexes between them.

    `roots` gives (net, straight?) for every net that is a copy or complement of another; `assumed` are the pairs of
    nets taken to be complementary because no inverter shows it; `tri` the tri-state stages by the net they share,
    `overrides` the nets that force such a shared net, with the level; `ports` the nets that lead outside, `place` and
    `order` where a net and a transistor stand.
    """

    prepared: Prepared
    stages: dict[str, Stage]
    gates: dict[str, Gate]
    links: list[Link]
    roots: dict[str, Literal]
    assumed: list[tuple[str, str]]
    readers: dict[str, list[str]] = field(default_factory=dict)
    links_at: dict[str, list[int]] = field(default_factory=dict)
    controlled: dict[str, list[int]] = field(default_factory=dict)
    tri: dict[str, list[Gate]] = field(default_factory=dict)
    overrides: dict[str, dict[str, int]] = field(default_factory=dict)
    one_kind: Kind | None = None
    place: dict[str, int] = field(default_factory=dict)
    order: dict[str, int] = field(default_factory=dict)
    ports: frozenset[str] = frozenset()
    _touching: dict[str, list[str]] = field(default_factory=dict)
    neighbours: object = None
    """Where `blocks` keeps what it looked at last."""

    @property
    def touching(self) -> dict[str, list[str]]:
        """The names of the transistors at each net, bodies aside."""
        if not self._touching:
            for t in self.netlist.transistors:
                for net in {t.gate, t.source, t.drain}:
                    self._touching.setdefault(net, []).append(t.name)
        return self._touching

    @property
    def netlist(self) -> Netlist:
        return self.prepared.netlist

    def pulled(self, net: str) -> tuple[int, Expression] | None:
        """Return the level that a stage brings a net to, and when, where it can bring it to that one only."""
        gate = self.gates.get(net)
        if gate is None or gate.kind not in ("pull-down", "pull-up"):
            return None
        return (1, gate.form) if gate.kind == "pull-up" else (0, complement(gate.form))

    def root(self, net: str) -> Literal:
        return self.roots.get(net, (net, True))

    def rooted(self, form: Expression) -> Expression:
        return substitute(form, self.roots)

    def names(self, members: tuple[int, ...] | set[int] | list[int]) -> tuple[str, ...]:
        """Return the transistor names of some switches, in netlist order."""
        return tuple(name for i in sorted(members) for name in self.prepared.switches[i].names)

    def steady(self, net: str) -> bool:
        """Tell whether a gate always drives the net."""
        gate = self.gates.get(net)
        return gate is not None and gate.kind in ("static", "ratioed", "Schmitt", "push-pull", "clocked")

    def gate_structure(self, gate: Gate) -> Structure:
        """Return one gate as a structure."""
        ports = [Port(net, Role.INPUT) for net in gate.inputs]
        if gate.kind in ("precharged", "clocked"):
            ports += [Port(net, Role.CLOCK) for net in gate.controls]
        elif gate.controls:
            controls = self.ordered(gate.controls)
            ports += [Port(net, Role.ENABLE, self.partner(net, controls)) for net in controls]
        if gate.kind == "load":
            level = "high" if gate.term == "pull-up" else "low"
            words = f"holds {gate.output} {level} while nothing stronger drives it"
            return Structure(gate.term, self.names(gate.members), (Port(gate.output, Role.SIGNAL),), (), words)
        ports.append(Port(gate.output, Role.OUTPUT))
        function = f"{gate.output} = {text(gate.form)}" if gate.kind != "unsettled" else ""
        if gate.kind == "torn":  # no equation is true of it: what each network says stands side by side
            pulls = self.stages[gate.output].pull
            ways = (
                (rail, text(when)) for (_, rail), when in sorted(pulls.items(), key=lambda p: p[0][1], reverse=True)
            )
            function = f"{gate.output} is " + ", ".join(f"{rail} while {when}" for rail, when in ways)
        if gate.kind == "tri-state" and gate.enable is not None:
            function += f" while {text(gate.enable)}, else floating"
        notes = tuple(gate.notes)
        if gate.kind == "clocked":
            function += f" while {gate.controls[0]} is on"
        if gate.kind == "ratioed":
            notes += ("ratioed: a load against the drivers",)
        also = also_called(gate) if gate.kind == "clocked" else ()
        return Structure(gate.term, self.names(gate.members), tuple(ports), (), function, notes, also)

    def single(self, switch: int, net: str) -> Structure:
        """Return one switch from a rail that forces a net."""
        s = self.prepared.switches[switch]
        term = "pull-down" if s.kind is Kind.N else "pull-up"
        return Structure(term, self.names([switch]), (Port(s.gate, Role.INPUT), Port(net, Role.OUTPUT)))

    def sides(self, gate: Gate) -> tuple[Structure, ...]:
        """Return what pulls the net of a stage each way: of a stage that has a place in something known."""
        sides = []
        for kind, term in ((Kind.N, "pull-down"), (Kind.P, "pull-up")):
            mine = [i for i in gate.members if self.prepared.switches[i].kind is kind]
            reads = dict.fromkeys(self.prepared.switches[i].gate for i in mine)
            ports = [Port(n, Role.INPUT) for n in reads if n not in self.prepared.supplies.nets]
            if mine:
                sides.append(Structure(term, self.names(mine), (*ports, Port(gate.output, Role.OUTPUT))))
        return tuple(sides)

    def link_structure(self, link: Link) -> Structure:
        ordered = self.ordered(link.controls)
        controls = tuple(Port(net, Role.ENABLE, self.partner(net, ordered)) for net in ordered)
        ends = tuple(Port(net, Role.SIGNAL) for net in link.ends)
        function = f"joins {link.ends[0]} and {link.ends[1]} while {text(link.when)}"
        return Structure(link.term, self.names(link.members), (*ends, *controls), (), function)

    def ordered(self, nets: Iterable[str]) -> tuple[str, ...]:
        """Return nets without repeats, straight ones before complements, then as in the netlist."""
        return tuple(sorted(dict.fromkeys(nets), key=lambda n: (not self.root(n)[1], self.place[n])))

    def partner(self, net: str, others: tuple[str, ...]) -> str | None:
        """Return the first of `others` that `net`, coming after it, is the complement of."""
        root, straight = self.root(net)
        for other in others:
            if other == net:
                return None
            if self.root(other) == (root, not straight):
                return other
        return None
