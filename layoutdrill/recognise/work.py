"""Keep book while structures are found: which gates and links are still free, and what has been built."""

from dataclasses import field

from layoutdrill.recognise.gates import Gate
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.terms import UNKNOWN
from layoutdrill.recognise.view import Link, View
from layoutdrill.simulate.expression import Expression, Not, Var
from layoutdrill.value import identity, mutable, value


@value
class Called:
    """What a structure is called: its term, other terms that would be right as well, and what is noted of it."""

    term: str
    also: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@mutable
class Built:
    """A structure found, the gates (by output net) and links it took, and its nets: reads, controls, drives, inner."""

    structure: Structure
    gates: set[str]
    links: set[int]


@mutable
@identity
class Store:
    """
    A latch, dynamic or static, equal to itself only.

    `node` is the net that stores, `outputs` the nets that follow it with their sense.

    `enable` says over root nets when it is open; `data` is the net it takes; `forced` gives the nets that set or reset
    it, each with the net that it forces and the level; `holds` are controls that only bring its own level back.
    """

    node: str
    data: tuple[str, ...]
    enable: Expression | None
    outputs: dict[str, bool]
    controls: tuple[str, ...]
    gates: set[str]
    links: set[int]
    static: bool
    forced: dict[str, tuple[str, int]] = field(default_factory=dict)
    holds: tuple[str, ...] = ()


@mutable
class Work:
    """The state of recognition."""

    view: View
    free_gates: set[str]
    free_links: set[int]
    built: list[Built] = field(default_factory=list)
    owner: dict[str, int] = field(default_factory=dict)
    link_owner: dict[int, int] = field(default_factory=dict)

    @classmethod
    def start(cls, view: View) -> "Work":
        return cls(view, set(view.gates), set(range(len(view.links))))

    def members(self, gates: set[str], links: set[int]) -> tuple[str, ...]:
        switches = {i for net in gates for i in self.view.gates[net].members}
        switches |= {i for k in links for i in self.view.links[k].members}
        return self.view.names(switches)

    def parts(self, gates: set[str], links: set[int]) -> tuple[Structure, ...]:
        """Return the primitive structures of some gates and links, in netlist order."""
        view = self.view
        primitives: list[Structure] = []
        for net in gates:
            stacks = view.tri.get(net, [])
            if len(stacks) > 1:
                primitives.extend(view.gate_structure(g) for g in stacks)
                taken = {i for g in stacks for i in g.members}
                primitives.extend(view.single(i, net) for i in sorted(set(view.gates[net].members) - taken))
            elif view.gates[net].term == UNKNOWN:
                primitives.extend(view.sides(view.gates[net]))
            else:
                primitives.append(view.gate_structure(view.gates[net]))
        primitives.extend(view.link_structure(view.links[k]) for k in links)
        order = view.order
        return tuple(sorted(primitives, key=lambda s: order[s.transistors[0]] if s.transistors else -1))

    def build(
        self,
        called: "str | Called",
        gates: set[str],
        links: set[int],
        ports: list[Port],
        function: str = "",
        parts: tuple[Structure, ...] | None = None,
    ) -> Built:
        """Take the gates and links for a new structure."""
        called = Called(called) if isinstance(called, str) else called
        term = called.term
        inside = self.parts(gates, links) if parts is None else parts
        if len(inside) == 1 and inside[0].term == term:
            inside = ()
        seen: dict[str, Port] = {}
        for port in ports:
            seen.setdefault(port.net, port)
        structure = Structure(
            term, self.members(gates, links), tuple(seen.values()), inside, function, called.notes, called.also
        )
        built = Built(structure, set(gates), set(links))
        number = len(self.built)
        for net in gates:
            self.owner[net] = number
        for k in links:
            self.link_owner[k] = number
        self.built.append(built)
        self.free_gates -= gates
        self.free_links -= links
        return built

    def free(self, gates: set[str], links: set[int]) -> bool:
        return gates <= self.free_gates and links <= self.free_links

    def gate(self, net: str) -> Gate | None:
        """Return the free gate that drives the net."""
        return self.view.gates[net] if net in self.free_gates else None

    def link(self, k: int) -> Link:
        return self.view.links[k]

    def uses(self, net: str) -> int:
        """Count what the net feeds: gates, link controls, links."""
        view = self.view
        return len(view.readers.get(net, ())) + len(view.controlled.get(net, ())) + len(view.links_at.get(net, ()))


def literal(form: Expression | None) -> tuple[str, bool] | None:
    """Return (net, sense) of an expression that is one literal."""
    if isinstance(form, Var):
        return (form.name, True)
    if isinstance(form, Not) and isinstance(form.term, Var):
        return (form.term.name, False)
    return None
