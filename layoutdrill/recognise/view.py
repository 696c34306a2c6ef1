"""See a circuit as gates and switches between signals, with the complements traced."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import field

from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.clocked import also_called, tell_clocked
from layoutdrill.recognise.gates import Gate, Literal, substitute, understand
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.shared import overrides, restored, share, stacks, tristates, without_keeper
from layoutdrill.recognise.stages import Pass, Stage, split
from layoutdrill.recognise.switches import Prepared, prepare
from layoutdrill.simulate.expression import Expression, Not, Var, text, variables
from layoutdrill.simulate.minimal import complement
from layoutdrill.simulate.supplies import Supplies
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
        function = f"{gate.output} = {text(gate.form)}"
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


def look(netlist: Netlist, supplies: Supplies, place: dict[str, int] | None = None, *, brief: bool = False) -> View:
    """
    Build the view of a netlist; `place` orders its nets, as they stand in it where none is given.

    `brief`: of what is no proper gate, nothing more is wanted.
    """
    prepared = prepare(netlist, supplies)
    stages, passes = split(prepared)
    kinds = {s.kind for s in prepared.switches}
    one_kind = (
        next(iter(kinds)) if len(kinds) == 1 and any(s.loads or len(s.pull) > 1 for s in stages.values()) else None
    )
    roots: dict[str, Literal] = {}
    gates = {net: understand(stage, roots, one_kind=one_kind, brief=brief) for net, stage in stages.items()}
    if one_kind is not None:
        tell_clocked(prepared, stages, gates, roots, one_kind)
    _trace(gates, roots)
    assumed = _assume(prepared, stages, gates, passes, roots)
    if roots:
        for net, stage in stages.items():
            if gates[net].kind == "torn":
                gates[net] = understand(stage, roots, one_kind=one_kind, brief=brief)
            if gates[net].kind == "torn" and (kept := without_keeper(stage, gates)) is not None:
                gates[net] = restored(understand(kept[0], roots, one_kind=one_kind), stage, kept[1])
        _trace(gates, roots)
    links = _links(passes, roots)
    view = View(prepared, stages, gates, links, roots, assumed, one_kind=one_kind)
    view.place = place or {net: i for i, net in enumerate(netlist.nets)}
    view.order = {t.name: i for i, t in enumerate(netlist.transistors)}
    view.ports = frozenset(netlist.ports)
    for net, stage in stages.items():
        if stacks := tristates(stage, gates[net], roots):
            view.tri[net] = stacks
            if len(stacks) > 1 and (forced := overrides(stage)):
                view.overrides[net] = forced
                share(gates[net], stacks, forced)
    for net, gate in gates.items():
        if gate.term == "tie cell" and net in view.ports:
            gate.kind, gate.term = "load", "pull-up" if stages[net].loads.get("high") else "pull-down"
    _index(view)
    _direct(view)
    return view


def _trace(gates: dict[str, Gate], roots: dict[str, Literal]) -> None:
    """Follow inverters from each net to where the signal comes from; loops end at themselves."""
    source = {net: before for net, gate in gates.items() if (before := gate.inverter_of) is not None}
    traced: dict[str, Literal | None] = {}  # None: the net's way back ends in a loop
    for net in gates:
        chain: list[str] = []
        here = net
        seen: set[str] = set()
        while here not in seen and here not in traced and here in source:
            seen.add(here)
            chain.append(here)
            here = source[here]
        if here in seen or traced.get(here, (here, True)) is None:
            traced.update(dict.fromkeys(chain))
            continue
        if not chain:
            continue
        top, straight = traced.get(here) or roots.get(here, (here, True))
        for item in reversed(chain):
            straight = not straight
            traced[item] = roots[item] = (top, straight)


def _assume(
    prepared: Prepared,
    stages: dict[str, Stage],
    gates: dict[str, Gate],
    passes: list[Pass],
    roots: dict[str, Literal],
) -> list[tuple[str, str]]:
    """Take two undriven nets for complements where a pair of n and p switches, or a tri-state stack, asks for it."""
    pairs: list[tuple[str, str]] = []
    driven = set(gates)
    order = {net: i for i, net in enumerate(prepared.netlist.nets)}
    # What a gate of several inputs reads is data: two data are no complements because a torn stage might read them so.
    data = {n for g in gates.values() if g.kind == "static" and len(g.inputs) > 1 for n in g.inputs}

    def note(first: str, second: str) -> None:
        if first == second or {first, second} & driven or first in roots or second in roots:
            return
        if any(second in pair for pair in pairs) or any(first == b for _, b in pairs):
            return
        roots[second] = (first, False)
        pairs.append((first, second))

    by_ends: dict[tuple[str, str], list[Pass]] = defaultdict(list)
    for p in passes:
        by_ends[p.ends].append(p)
    for group in by_ends.values():
        ns = [p.when.name for p in group if isinstance(p.when, Var)]
        ps = [p.when.term.name for p in group if isinstance(p.when, Not) and isinstance(p.when.term, Var)]
        if len(ns) == 1 and len(ps) == 1:
            note(*sorted((ns[0], ps[0]), key=order.__getitem__))
    for net, stage in stages.items():
        if gates[net].kind in ("torn", "precharged"):
            for a, b, _ in stacks(stage, roots, driven):
                if not {a, b} & data:
                    note(*sorted((a, b), key=order.__getitem__))
    return pairs


def _links(passes: list[Pass], roots: dict[str, Literal]) -> list[Link]:
    """Join n and p passes between the same nets into transmission gates where their gates are complementary."""
    by_ends: dict[tuple[str, str], list[Pass]] = defaultdict(list)
    for p in passes:
        by_ends[p.ends].append(p)
    links = []
    for ends, group in by_ends.items():
        left = list(group)
        for n in [p for p in group if p.kind is Kind.N]:
            for p in left:
                if p.kind is Kind.P and substitute(p.when, roots) == substitute(n.when, roots):
                    left.remove(n)
                    left.remove(p)
                    controls = tuple(dict.fromkeys((*variables(n.when), *variables(p.when))))
                    members = tuple(sorted({*n.members, *p.members}))
                    links.append(Link(ends, n.when, controls, "transmission gate", members))
                    break
        links.extend(Link(ends, p.when, variables(p.when), "pass transistor", p.members) for p in left)
    return links


def _index(view: View) -> None:
    readers: dict[str, list[str]] = defaultdict(list)
    for net, gate in view.gates.items():
        for source in (*gate.inputs, *gate.controls):
            readers[source].append(net)
    links_at: dict[str, list[int]] = defaultdict(list)
    controlled: dict[str, list[int]] = defaultdict(list)
    for i, link in enumerate(view.links):
        for end in link.ends:
            links_at[end].append(i)
        for net in link.controls:
            controlled[net].append(i)
    view.readers, view.links_at, view.controlled = dict(readers), dict(links_at), dict(controlled)


def _direct(view: View) -> None:
    """
    Say which end of each link is driven: from steady gates on to what they feed, then from inputs inwards.

    A port that something reads, or that leads to one switch only, is taken for an input; one where several switches
    meet unread for an output. Where nothing tells, the link has no direction.
    """
    ports = view.ports
    weight = {end: _weight(view, end, ports) for link in view.links for end in link.ends}
    undecided = []
    for link in view.links:
        a, b = link.ends
        if STEADY in (weight[a], weight[b]):
            link.source = a if weight[a] > weight[b] else b if weight[b] > weight[a] else ""
        else:
            undecided.append(link)
    reached = dict.fromkeys((link.sink for link in view.links if link.source), 1)
    for link in list(undecided):  # from inputs, which lead to one switch or are read as well
        a, b = sorted(link.ends, key=lambda n: -weight[n])
        if weight[a] >= INPUT > weight[b] and a not in reached:
            link.source = a
            reached[b] = 1
            undecided.remove(link)
    _onward(undecided, reached, weight)
    for link in undecided:
        a, b = link.ends
        left, right = (weight[n] - (n in reached) for n in (a, b))
        if left == right and a in reached and b in reached:
            left, right = reached[b], reached[a]  # from the one that fewer switches lie before
        if a in reached and b in reached and len(led := [n for n in (a, b) if _only_led_to(view, n)]) == 1:
            left, right = (0, 1) if led == [a] else (1, 0)
        link.source = a if left > right else b if right > left else ""
    _from_whole(view, [link for link in undecided if not link.source])
    onward = {link.source for link in undecided if link.source}
    for link in undecided:  # a port beside a net that leads on leads in
        inside = [n for n in link.ends if n not in ports and n in onward]
        if not link.source and len(inside) == 1 and link.other(inside[0]) in ports:
            link.source = link.other(inside[0])


def _onward(undecided: list[Link], reached: dict[str, int], weight: dict[str, int]) -> None:
    """Follow links, nearest first, from what is driven through another link to what is not."""
    level = 0
    while any(count >= level for count in reached.values()):
        level += 1
        for link in list(undecided):
            a, b = link.ends
            if (a in reached) == (b in reached):
                continue
            here, there = (a, b) if a in reached else (b, a)
            if reached[here] > level or weight[there] > 0:
                continue
            link.source = here
            reached[there] = reached[here] + 1
            undecided.remove(link)


def _from_whole(view: View, undecided: list[Link]) -> None:
    """Lead links out of nets that two switches on opposite levels already lead to, one after the other."""
    left = dict.fromkeys(undecided)
    front = list(dict.fromkeys(net for link in undecided for net in link.ends))
    for net in front:
        here = [view.links[k] for k in view.links_at[net]]
        into = [view.rooted(k.when) for k in here if k.source and k.sink == net]
        if len(into) != 2 or complement(into[0]) != into[1]:
            continue
        for link in [k for k in here if k in left]:
            link.source = net
            del left[link]
            front.append(link.sink)


def _only_led_to(view: View, net: str) -> bool:
    """Tell whether a net is a port that nothing inside reads or drives: switches lead to it."""
    return net in view.ports and not any(net in nets for nets in (view.readers, view.controlled, view.gates))


STEADY = 9
INPUT = 2


def _weight(view: View, net: str, ports: frozenset[str]) -> int:
    """Grade how much a net looks like the driven end of a link."""
    if view.steady(net):
        return STEADY
    read = net in view.readers or net in view.controlled
    if net in view.gates and view.gates[net].kind != "load":
        return -1 if view.pulled(net) and read and net not in ports else 1
    if net not in ports:
        return -1 if read else 0
    if read:
        return 3
    beyond = [view.links[k].other(net) for k in view.links_at[net]]
    leads_in = all(
        n in view.readers and n not in ports and (n not in view.gates or view.pulled(n) is not None) for n in beyond
    )
    return INPUT if len(beyond) == 1 or leads_in else 0
