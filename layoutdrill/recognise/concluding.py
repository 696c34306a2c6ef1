"""Conclude a recognition: its blocks joined, the whole named and headed, its ports by role, what is left over."""

from dataclasses import replace
from functools import partial

from layoutdrill.netlist.model import Kind
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks import join_blocks
from layoutdrill.recognise.blocks.columns import NAMED
from layoutdrill.recognise.heading import SERVING, heading, sized
from layoutdrill.recognise.joining import in_netlist_order
from layoutdrill.recognise.model import Port, Recognition, Structure
from layoutdrill.recognise.naming import KEEPING, STORES, name_whole
from layoutdrill.recognise.pads import any_drives_out, negative, protections, tied_off, ties
from layoutdrill.recognise.terms import UNKNOWN, family
from layoutdrill.recognise.view import View
from layoutdrill.simulate.effort import tried

WHOLES = ("bootstrap driver", "crystal oscillator", "power-on reset")
"""Wholes whose form says more than their function does."""


WHOLE = "what the whole is called"
MOST_WORK = 200_000
"""Units of work for a name of the whole."""
Naming = tuple[str, tuple[str, ...], list[str], tuple[Port, ...]]


def conclude(view: View, structures: tuple[Structure, ...]) -> Recognition:
    netlist = view.netlist
    prepared = view.prepared
    covered = {name for s in structures for name in s.transistors}
    extra = []
    for name in prepared.capacitors:
        t = netlist.transistors[view.order[name]]
        plates = (Port(t.gate, Role.SIGNAL), Port(t.source, Role.SIGNAL))
        extra.append(Structure("capacitor", (name,), plates, (), "both ends of the channel on one net"))
    apart = tied_off(view)
    guards = [*protections(view), *apart]
    structures = (*ties(view), *guards, *in_netlist_order(netlist, (*structures, *extra)))
    joined = join_blocks(view, structures)
    covered |= {name for s in (*extra, *guards) for name in s.transistors}
    idle = [name for name in prepared.idle if name not in covered]
    leftover = tuple(t.name for t in netlist.transistors if t.name not in covered and t.name not in prepared.idle)
    unknown = [s for s in structures if s.term == UNKNOWN]
    ports = port_roles(view, structures)
    notes = [*prepared.supplies.reasons]
    notes += [f"{b} is taken to be the complement of {a}" for a, b in view.assumed]
    if idle:
        notes.append(f"never on: {', '.join(idle)}")
    held = [s for s in structures if s.term in ("pull-up", "pull-down") and not s.nets(Role.OUTPUT)]
    aside = {*guards, *held}
    rest = tuple(s for s in structures if s not in aside)
    nameless: Naming = (UNKNOWN, (), [], ports)
    term, also, more, ports = tried(MOST_WORK, WHOLE, partial(name_whole, view, rest or structures, ports), nameless)
    whole = tuple(s for s in joined if s not in aside) or joined
    if len(whole) > 1:  # a plate that only holds or lifts what another structure charges names nothing
        whole = tuple(s for s in whole if s.term != "capacitor") or whole
    # what divides what another block makes is not the whole
    paced = any(s.term.endswith(("oscillator", "generator")) for s in joined)
    if paced and term in ("toggle flip-flop", "JK flip-flop"):
        term, also, more = UNKNOWN, (), []
    elif term == UNKNOWN or " × " in term:
        naming = tried(MOST_WORK, WHOLE, partial(name_whole, view, whole, ports), nameless)
        other_term, other_also, other_more, _ = naming
        if other_term != UNKNOWN:
            term, also, more = other_term, (*also, *other_also), other_more
        if len(whole) == 1 and family(whole[0].term) in NAMED:
            roles = {p.net: p for p in whole[0].ports}
            ports = tuple(roles.get(p.net, p) for p in ports)
        if len(whole) == 1 and family(term) != term and term == whole[0].term and "-bit " in term:
            term, also = family(term), (*also, term)
            given = set(whole[0].nets(Role.OUTPUT))  # what one bit gives may be the next one's clock
            ports = tuple(replace(p, role=Role.OUTPUT) if p.net in given else p for p in ports)
    only = whole[0].term if len(whole) == 1 else term
    if only not in (term, *also) and (view.netlist.elements or not only.endswith(" pad")):
        also = (*also, only)
    if len(whole) == 1 and whole[0].term in WHOLES and term != whole[0].term:
        term, also = whole[0].term, tuple(n for n in (term, *also) if n != whole[0].term)
    notes += more
    if apart and rest and (term == UNKNOWN or " × " in term):
        term, also = "gate-array gates", (*also, term) if term != UNKNOWN else also
        notes.append(f"kept apart by {len(apart)} transistors that are never on")
    if (pad := _supply_pad(view, guards, rest)) is not None:
        term, also, joined = pad.term, pad.also, (pad,)
        whole, own = joined, {p.net: p for p in pad.ports}
        ports = tuple(own.get(p.net, p) for p in ports)
    elif len(guards) > len(apart) and rest:
        also = (*also, *dict.fromkeys(s.term for s in guards if s not in apart))
    if any_drives_out(view, structures):
        also = (*also, "output driver")
    if view.one_kind is Kind.P and (other := negative(term)) != term:
        also = (*also, other)
        notes.append(f"named by electrical level; in negative logic, where the lower level is 1, it is {other}")
    if unknown or leftover:
        odd = [name for s in unknown for name in s.transistors] + list(leftover)
        notes.append(f"fits nothing known: {', '.join(odd)}")
    head = _with_complement(view, term, also, ports) or titled(term, whole)
    return Recognition(netlist, prepared.supplies, term, also, joined, ports, leftover, tuple(notes), head)


def _with_complement(view: View, term: str, also: tuple[str, ...], ports: tuple[Port, ...]) -> str:
    """Return the names of two outputs that are complements, each made by a network of its own; "" where none are."""
    outputs = {view.root(p.net)[0] for p in ports if p.role is Role.OUTPUT}
    gate = term.rstrip("0123456789")
    if len(outputs) != 2 or gate not in _COMPLEMENTS or not any(n in view.gates for n in outputs):
        return ""
    other = _COMPLEMENTS[gate] + term[len(gate) :]
    return f"{term} and {other}" if other in also else ""


_COMPLEMENTS = {a: b for pair in (("AND", "NAND"), ("OR", "NOR"), ("XOR", "XNOR")) for a, b in (pair, pair[::-1])}


def _supply_pad(view: View, guards: list[Structure], rest: tuple[Structure, ...]) -> Structure | None:
    """Return a clamped port with a plate that nothing reads and nothing drives: what stands at a supply's pin."""
    if len(guards) != 1 or not rest or guards[0].term != "input protection" or any(s.term != "capacitor" for s in rest):
        return None
    if not set(guards[0].nets(Role.INPUT)) <= view.ports:
        return None
    names = {name for s in (*guards, *rest) for name in s.transistors}
    words = "clamped and steadied by a plate; nothing reads or drives it: it brings a supply in"
    ordered = tuple(sorted(names, key=view.order.__getitem__))
    ports = tuple(Port(net, Role.SIGNAL) for net in guards[0].nets(Role.INPUT))
    return Structure("supply pad", ordered, ports, (*guards, *rest), words, also=("input protection",))


def titled(term: str, structures: tuple[Structure, ...]) -> str:
    """Return what heads the reading: the name of the whole, with its size, or what it is made of."""
    by_parts = heading(structures)
    turning = term.endswith("flip-flop")  # what a register bit is by what it takes
    if len(structures) == 1 and structures[0].term not in (UNKNOWN, "complex gate") and not turning:
        return by_parts
    plain = term == UNKNOWN or " × " in term or term in ("inverter", "buffer", *STORES, *KEEPING)
    with_size = [sized(s) for s in structures if family(s.term) == term != UNKNOWN]
    others = [s for s in structures if family(s.term) != term and s.term not in SERVING]
    if len(with_size) == 1 and not (others and term in STORES):
        return with_size[0]
    return by_parts if plain and by_parts != UNKNOWN and structures else term


_PRECEDENCE = (
    Role.WORD_LINE, Role.CLOCK, Role.SET, Role.RESET, Role.OUTPUT, Role.BIT_LINE, Role.SELECT, Role.ENABLE,
    Role.ADDRESS, Role.DATA, Role.INPUT, Role.SIGNAL,
)  # fmt: skip


def port_roles(view: View, structures: tuple[Structure, ...]) -> tuple[Port, ...]:
    """Return the role of each port of the netlist: the most telling of those it has in the structures."""
    netlist = view.netlist
    bodies = {t.body for t in netlist.transistors if t.body}
    seen: dict[str, list[Port]] = {}
    for structure in structures:
        for port in structure.ports:
            seen.setdefault(port.net, []).append(port)
    used = set(view.prepared.at) | set(view.prepared.gated)
    result = []
    for net in netlist.ports:
        if net in view.prepared.supplies.nets or (net in bodies and net not in used):
            result.append(Port(net, Role.SUPPLY))
        elif net not in seen:
            result.append(Port(net, Role.OUTPUT if net in view.roots else Role.UNUSED))  # behind a resistor, or nothing
        else:
            best = min(seen[net], key=lambda p: _PRECEDENCE.index(p.role))
            partner = next((p.complement_of for p in seen[net] if p.complement_of), None)
            partner = partner if partner in view.ports else None
            result.append(Port(net, best.role, partner))
    return tuple(result)
