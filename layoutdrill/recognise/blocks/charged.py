"""
Name what works by charge: four-phase stages and their registers, carry lines that are charged first.

Forms as in textbooks (four-phase ratioless logic of the 1960s; the carry chain of pass transistors, Mead & Conway
1980), from memory.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import replace

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, replaced
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.view import Link, View
from layoutdrill.recognise.work import literal
from layoutdrill.simulate.expression import And, Expression, Not, Or, text

_CHARGED = ("push-pull pair", "clocked-load gate", "precharged gate", "precharge", "domino gate")
_HALF_SUMS = ("XOR2", "half adder", "XNOR2")


def join_charged(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with four-phase stages, their registers, and charged carry chains joined."""
    stages = _between_rails(view, _to_a_rail(view, _from_phases(view, structures)))
    return _compared_lines(
        view, _carry_rows(view, _carry_lines(view, _ratioless_rows(view, _four_phase_rows(view, stages))))
    )


def _from_phases(view: View, structures: list[Structure]) -> list[Structure]:
    """
    Join the two ways from a phase to a net: one that the phase opens itself, one that data, or data and another phase,
    open.

    The first charges the net, the second lets the charge go again, once its phase is over.
    """
    by_ends: dict[tuple[str, str], list[Link]] = defaultdict(list)
    for link in view.links:
        by_ends[link.ends].append(link)
    owner = {name: s for s in structures for name in s.transistors}
    result = structures
    for ends, links in by_ends.items():
        charging = [k for k in links if literal(k.when) is not None and k.controls[0] in ends]
        others = [k for k in links if k not in charging and not set(k.controls) & set(ends)]
        if len(charging) != 1 or len(others) != 1 or len(links) != 2:
            continue
        phase = charging[0].controls[0]
        net = charging[0].other(phase)
        deciding = [n for n in others[0].controls if _opens_others(view, n)]
        data = [n for n in others[0].controls if n not in deciding]
        names = {*view.names(charging[0].members), *view.names(others[0].members)}
        parts = list(dict.fromkeys(owner[n] for n in sorted(names) if n in owner))
        if len(deciding) > 1 or not data or {n for p in parts for n in p.transistors} != names:
            continue
        words = f"{net} is charged while {phase} is active, and let go after it where {text(others[0].when)}"
        ports = [Port(n, Role.DATA) for n in data]
        ports += [Port(phase, Role.CLOCK), *(Port(n, Role.CLOCK) for n in deciding), Port(net, Role.OUTPUT)]
        order = view.order
        term = "four-phase stage" if deciding else "ratioless stage"
        stage = Structure(term, tuple(sorted(names, key=order.__getitem__)), tuple(ports), tuple(parts), words)
        result = replaced(result, parts, stage)
    return result


def _to_a_rail(view: View, structures: list[Structure]) -> list[Structure]:
    """Join nets that a phase charges through a switch of its own, and that data and the next phase bring to a rail."""
    charging: dict[str, list[Link]] = defaultdict(list)
    for link in view.links:
        if literal(link.when) is not None and link.controls[0] in link.ends and link.controls[0] in view.ports:
            charging[link.other(link.controls[0])].append(link)
    opening = {
        net: set(view.gates[net].inputs) for net, links in charging.items() if view.pulled(net) and len(links) == 1
    }
    often = Counter(n for inputs in opening.values() for n in inputs if n in view.ports and n not in view.gates)
    owner = {name: s for s in structures for name in s.transistors}
    result = structures
    for net, inputs in opening.items():
        gate, phase = view.gates[net], charging[net][0].controls[0]
        deciding = [n for n in gate.inputs if often[n] > 1]
        data = [n for n in gate.inputs if n not in deciding]
        names = {*view.names(charging[net][0].members), *view.names(gate.members)}
        parts = list(dict.fromkeys(owner[n] for n in sorted(names) if n in owner))
        if len(deciding) != 1 or not data or phase in inputs or {n for p in parts for n in p.transistors} != names:
            continue
        words = f"{net} is charged while {phase} is active, and becomes {text(gate.form)} with {deciding[0]}"
        ports = [Port(n, Role.DATA) for n in data]
        ports += [Port(phase, Role.CLOCK), Port(deciding[0], Role.CLOCK), Port(net, Role.OUTPUT)]
        ordered = tuple(sorted(names, key=view.order.__getitem__))
        result = replaced(result, parts, Structure("four-phase stage", ordered, tuple(ports), tuple(parts), words))
    return result


def _between_rails(view: View, structures: list[Structure]) -> list[Structure]:
    """Take dynamic gates on two phases each, with three phases or more among them, for four-phase stages."""
    dynamic = [s for s in structures if s.term == "precharged gate" and len(s.nets(Role.CLOCK)) == 2]
    if view.one_kind is None or len({n for s in dynamic for n in s.nets(Role.CLOCK)}) < 3:
        return structures
    result = structures
    for s in dynamic:
        net = s.nets(Role.OUTPUT)[0]
        charges, lets_go = view.gates[net].controls
        words = f"{net} is charged while {charges} is active, and becomes {text(view.gates[net].form)} with {lets_go}"
        ports = tuple(Port(p.net, Role.DATA if p.role is Role.INPUT else p.role) for p in s.ports)
        result = replaced(result, [s], Structure("four-phase stage", s.transistors, ports, (s,), words))
    return result


def _ratioless_rows(view: View, structures: list[Structure]) -> list[Structure]:
    """Join ratioless stages that follow one another, each through a switch: two of them a bit."""
    stages = {s.nets(Role.OUTPUT)[0]: s for s in structures if s.term == "ratioless stage"}
    switches: dict[str, list[Structure]] = defaultdict(list)
    for s in structures if stages else ():
        if s.term == "pass transistor":
            for net in s.nets(Role.SIGNAL):
                switches[net].append(s)
    before: dict[Structure, tuple[Structure | None, Structure]] = {}
    for stage in stages.values():
        (data, *others), net = stage.nets(Role.DATA), stage.nets(Role.OUTPUT)[0]
        through = [s for s in switches[data] if net not in s.nets(Role.SIGNAL)]
        if not others and len(through) == 1:
            (source,) = (n for n in through[0].nets(Role.SIGNAL) if n != data)
            before[stage] = (stages.get(source), through[0])
    after = {first: stage for stage, (first, _) in before.items() if first is not None}
    result = structures
    for head in [s for s in stages.values() if s not in before or before[s][0] is None]:
        chain = [head]
        while (following := after.get(chain[-1])) is not None and following not in chain:
            chain.append(following)
        parts = [p for s in chain for p in (*([before[s][1]] if s in before else []), s)]
        if len(chain) > 1 and len(chain) % 2 == 0 and len({s.nets(Role.CLOCK) for s in chain}) == 2:
            bits = len(chain) // 2
            words = f"{bits} bits, two stages each, on two phases"
            row = block(view, f"{bits}-bit ratioless shift register", parts, words)
            clocks = {n for s in chain for n in s.nets(Role.CLOCK)}
            roles = {n: Role.CLOCK if n in clocks else Role.DATA for p in row.ports if (n := p.net) and p.role in _INS}
            result = replaced(result, parts, replace(row, ports=tuple(_as(p, roles) for p in row.ports)))
    return result


_INS = (Role.SIGNAL, Role.ENABLE, Role.CLOCK, Role.DATA)


def _as(port: Port, roles: Mapping[str, Role]) -> Port:
    return Port(port.net, roles.get(port.net, port.role), port.complement_of)


def _opens_others(view: View, net: str) -> bool:
    """Tell whether a net is a phase: a port that stages inside do not drive and that opens several switches."""
    ports = view.ports
    return net in ports and net not in view.gates and len(view.controlled.get(net, ())) > 1


def _four_phase_rows(view: View, structures: list[Structure]) -> list[Structure]:
    """Join four-phase stages of one input each that follow one another: two of them a bit."""
    stages = [s for s in structures if s.term == "four-phase stage" and len(s.nets(Role.DATA)) == 1]
    made = {s.nets(Role.OUTPUT)[0]: s for s in stages}
    after = {made[s.nets(Role.DATA)[0]]: s for s in stages if s.nets(Role.DATA)[0] in made}
    fed = set(after.values())
    result = structures
    for first in stages:
        if first in fed or first not in after:
            continue
        chain = [first]
        while (following := after.get(chain[-1])) is not None and len(chain) <= len(stages):
            chain.append(following)
        if len(chain) % 2 or len({s.nets(Role.CLOCK) for s in chain}) != 2:
            continue
        bits = len(chain) // 2
        words = f"{bits} bits, two stages each, on {len({n for s in chain for n in s.nets(Role.CLOCK)})} phases"
        result = replaced(result, chain, block(view, f"{bits}-bit four-phase shift register", chain, words))
    return result


def _compared_lines(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a charged line that falls where any two nets of some pairs differ, with the inverters of these nets."""
    result = structures
    for line in [s for s in structures if s.term in ("precharged gate", "domino gate") and charged_nets(s)]:
        form = view.rooted(view.gates[charged_nets(line)[0]].form)
        core = form.term if isinstance(form, Not) else form
        ways = [frozenset(plain) for t in core.terms if (plain := _plain(t))] if isinstance(core, Or) else []
        pairs = {frozenset(net for net, _ in way) for way in ways}
        both = {frozenset((net, not up) for net, up in way) for way in ways} == set(ways)
        apart = all(
            len(pair) == len({up for _, up in way}) == 2 for way, pair in zip(ways, map(_nets, ways), strict=True)
        )
        nets = [net for pair in pairs for net in pair]
        if not isinstance(core, Or) or len(ways) != len(core.terms) or not both or not apart:
            continue
        if len(pairs) < 2 or len(ways) != 2 * len(pairs) or len(set(nets)) != len(nets):
            continue
        near = Neighbours.of(view, result)
        parts = [line, *near.feeders([line])]
        words = f"falls where two numbers of {len(pairs)} bits differ, after it is charged"
        whole = block(view, f"{len(pairs)}-bit equality comparator", parts, words, also=(line.term,))
        result = replaced(result, parts, whole)
    return result


def _plain(form: Expression) -> tuple[tuple[str, bool], ...]:
    """Return the literals of a product; none where it is no product of literals."""
    terms = form.terms if isinstance(form, And) else ()
    plain = tuple(p for t in terms if (p := literal(t)) is not None)
    return plain if len(plain) == len(terms) else ()


def _nets(way: frozenset[tuple[str, bool]]) -> frozenset[str]:
    return frozenset(net for net, _ in way)


def charged_nets(s: Structure) -> tuple[str, ...]:
    """Return the net of a stage that is charged: in a domino gate that before its inverter."""
    before = [p for p in s.parts if p.term == "precharged gate"] if s.term == "domino gate" else [s]
    return before[0].nets(Role.OUTPUT)[:1] if before else ()


def _carry_rows(view: View, structures: list[Structure]) -> list[Structure]:
    """
    Join charged nets in a row where nothing but the nets tells what opens the switches between: a Manchester carry.

    Each net past the first has a way to the rail of its own, and each switch between two a line of its own. A switch
    that a line opens on several nets at once is of a shifter or a bus, not of a carry.
    """
    charged = {n: s for s in structures if s.term in _CHARGED for n in charged_nets(s)}
    clocks = {n for s in charged.values() for n in s.nets(Role.CLOCK)}
    steps: dict[str, list[Link]] = defaultdict(list)
    for link in view.links:
        if literal(link.when) is not None and set(link.ends) <= set(charged):
            for net in link.ends:
                steps[net].append(link)
    result = structures
    for start in [n for n, links in steps.items() if len(links) == 1]:
        row, between = [start], list[Link]()
        while onward := [k for k in steps[row[-1]] if k not in between]:
            if len(onward) > 1:
                break
            between.append(onward[0])
            row.append(onward[0].other(row[-1]))
        opened = [k.controls[0] for k in between]
        apart = len(set(opened)) == len(opened) and not any(len(view.controlled.get(n, ())) > 1 for n in opened)
        ways = [frozenset(view.gates[n].inputs) - clocks for n in row]
        if (
            len(row) <= LEAST_CARRIES
            or not apart
            or set(opened) & clocks
            or not all(ways)
            or len(set(ways)) != len(ways)
        ):
            continue
        if any(charged[n] not in result for n in row) or {n for w in ways for n in w} & {*opened, *row}:
            continue
        names = {n for k in between for n in view.names(k.members)}
        line = [s for s in result if set(s.transistors) & names or any(s is charged[n] for n in row)]
        near = Neighbours.of(view, result)
        line += [s for n in row for s in near.readers.get(n, ()) if s.term in ("inverter", "buffer") and s not in line]
        words = f"the carry of {len(between)} bits, along a line that is charged first"
        result = replaced(result, line, block(view, f"{len(between)}-bit Manchester carry chain", line, words))
    return result


LEAST_CARRIES = 2
"""A carry line has more nets than this."""


def _carry_lines(view: View, structures: list[Structure]) -> list[Structure]:
    """Join nets that are charged in turn and that half sums join in a row: the carry line of a Manchester adder."""
    near = Neighbours.of(view, structures)
    charged = {n: s for s in structures if s.term in _CHARGED for n in charged_nets(s)}
    steps: dict[str, tuple[Link, Structure]] = {}
    for link in view.links:
        if literal(link.when) is None or not set(link.ends) & set(charged):
            continue
        half = near.driver(link.controls[0])
        if half is not None and half.term in _HALF_SUMS:
            steps[link.controls[0]] = (link, half)
    nets = list(dict.fromkeys(n for link, _ in steps.values() for n in link.ends))
    if len(steps) < 2 or len(nets) != len(steps) + 1 or sum(n in charged for n in nets) < len(steps):
        return structures
    halves = [half for _, half in steps.values()]
    names = {n for link, _ in steps.values() for n in view.names(link.members)}
    chain = [s for s in structures if set(s.transistors) & names]
    line = [*chain, *(charged[n] for n in nets if n in charged)]
    line += [s for n in nets for s in near.readers.get(n, ()) if s.term in ("inverter", "buffer")]
    line = list(dict.fromkeys(line))
    reads = {n for s in line for n in s.nets(Role.OUTPUT)} | set(nets)
    sums = [
        s for s in structures
        if s.term in ("XOR2", "XNOR2") and set(s.nets(Role.INPUT)) & reads
        and set(s.nets(Role.INPUT)) & {n for h in halves for n in h.nets(Role.OUTPUT)}
    ]  # fmt: skip
    bits = len(steps)
    parts = list(dict.fromkeys((*halves, *line, *sums)))
    parts += near.feeders(parts, ("inverter", "buffer", "NOR", "NAND", "AND"))
    if len(sums) < bits:
        words = f"the carry of {bits} bits, along a line that is charged first"
        return replaced(structures, line, block(view, f"{bits}-bit Manchester carry chain", line, words))
    words = f"adds two numbers of {bits} bits, the carry along a line that is charged first"
    return replaced(structures, parts, block(view, f"{bits}-bit Manchester adder", parts, words, also=("adder",)))
