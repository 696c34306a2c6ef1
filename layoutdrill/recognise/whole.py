"""Recognise a netlist: structures from the inside out, then the netlist as one thing, then its ports by role."""

from collections.abc import Iterable
from dataclasses import replace

from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.arrays import gather
from layoutdrill.recognise.bit_lines import find_c_elements, find_columns, find_dynamic_cells
from layoutdrill.recognise.blocks import join_blocks
from layoutdrill.recognise.blocks.columns import NAMED
from layoutdrill.recognise.canonical import ordered
from layoutdrill.recognise.crossed import find_set_reset
from layoutdrill.recognise.functions import Named, name_function, name_pair, words
from layoutdrill.recognise.heading import heading, sized
from layoutdrill.recognise.logic import find_logic
from layoutdrill.recognise.loops import find_latches, find_ram_cells
from layoutdrill.recognise.model import Port, Recognition, Structure
from layoutdrill.recognise.outlines import name_outline
from layoutdrill.recognise.pads import drives_out, negative, protections, tied_off, ties
from layoutdrill.recognise.sequential import name_flip_flop, name_loop
from layoutdrill.recognise.stores import build_stores
from layoutdrill.recognise.switching import (
    absorb_controls,
    find_buses,
    find_level_shifters,
    find_precharged,
    find_restorers,
    find_schmitts,
    find_split_drivers,
    find_super_buffers,
    find_switched_inverters,
    find_tristate_buffers,
)
from layoutdrill.recognise.terms import UNKNOWN, family
from layoutdrill.recognise.trees import find_trees
from layoutdrill.recognise.view import View, look
from layoutdrill.recognise.work import Work
from layoutdrill.simulate.expression import Expression, text
from layoutdrill.simulate.minimal import minimal
from layoutdrill.simulate.supplies import SuppliesLike, find_supplies
from layoutdrill.simulate.table import Table, table

SMALL = 80
"""Netlists to this many transistors are also named by the truth table of the whole."""
MOST_INPUTS = 9
WHOLES = ("bootstrap driver", "crystal oscillator", "power-on reset")
"""Wholes whose form says more than their function does."""


def recognise(netlist: Netlist, supplies: SuppliesLike = None) -> Recognition:
    """
    Return what a netlist is made of, and what it is as a whole.

    The supplies are those given, else found by label, else inferred. Parts that fit nothing known are listed so.
    """
    return seen(netlist, supplies)[1]


def seen(netlist: Netlist, supplies: SuppliesLike = None) -> tuple[View, Recognition]:
    """Return the gates and switches that a netlist was seen as, with what was recognised in it."""
    found = find_supplies(netlist, supplies)
    canonical = ordered(netlist, found)
    view = look(canonical.netlist, found, canonical.place)
    work = Work.start(view)
    find_schmitts(work)
    find_restorers(work)
    find_super_buffers(work)
    find_level_shifters(work)
    find_ram_cells(work)
    find_columns(work)
    find_dynamic_cells(work)
    find_c_elements(work)
    find_precharged(work)
    find_trees(work)
    build_stores(work, find_latches(work))
    find_set_reset(work)
    find_switched_inverters(work)
    find_tristate_buffers(work)
    find_split_drivers(work)
    find_buses(work)
    absorb_controls(work)
    find_logic(work)
    _rest(work)
    absorb_controls(work)
    built = _sorted(view.netlist, (b.structure for i, b in enumerate(work.built) if _alive(work, i)))
    return view, _as_written(_conclude(view, _sorted(view.netlist, gather(view, built))), netlist)


def _as_written(recognition: Recognition, netlist: Netlist) -> Recognition:
    """Return what was found with the transistors in the order in which the netlist has them."""
    order = {t.name: i for i, t in enumerate(netlist.transistors)}

    def turned(s: Structure) -> Structure:
        names = tuple(sorted(s.transistors, key=order.__getitem__))
        parts = tuple(turned(p) for p in s.parts)
        if names == s.transistors and all(new is old for new, old in zip(parts, s.parts, strict=True)):
            return s
        return replace(s, transistors=names, parts=parts)

    structures = _in_order(order, (turned(s) for s in recognition.structures))
    leftover = tuple(sorted(recognition.leftover, key=order.__getitem__))
    return replace(recognition, netlist=netlist, structures=structures, leftover=leftover)


def _in_order(order: dict[str, int], structures: Iterable[Structure]) -> tuple[Structure, ...]:
    return tuple(sorted(structures, key=lambda s: order[s.transistors[0]] if s.transistors else -1))


def _alive(work: Work, number: int) -> bool:
    """Tell whether a built structure still owns its own gates and links (it may have been absorbed)."""
    built = work.built[number]
    return any(work.owner.get(g) == number for g in built.gates) or any(
        work.link_owner.get(k) == number for k in built.links
    )


def _sorted(netlist: Netlist, structures: Iterable[Structure]) -> tuple[Structure, ...]:
    return _in_order({t.name: i for i, t in enumerate(netlist.transistors)}, structures)


def _rest(work: Work) -> None:
    """Give every gate and link that is still free a structure of its own."""
    view = work.view
    absorb_controls(work)
    for k in sorted(work.free_links):
        link = view.links[k]
        structure = view.link_structure(link)
        work.build(structure.term, set(), {k}, list(structure.ports), structure.function)
    absorb_controls(work)
    for net in sorted(work.free_gates, key=lambda n: (view.steady(n), view.place[n])):
        if net in work.free_gates:
            structure = view.gate_structure(view.gates[net])
            built = work.build(structure.term, {net}, set(), list(structure.ports), structure.function, structure.notes)
            absorb_controls(work, built)


def _conclude(view: View, structures: tuple[Structure, ...]) -> Recognition:
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
    structures = (*ties(view), *guards, *_sorted(netlist, (*structures, *extra)))
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
    term, also, more, ports = _name(view, rest or structures, ports)
    whole = tuple(s for s in joined if s not in aside) or joined
    if term == UNKNOWN or " × " in term:
        other_term, other_also, other_more, _ = _name(view, whole, ports)
        if other_term != UNKNOWN:
            term, also, more = other_term, (*also, *other_also), other_more
        if len(whole) == 1 and family(whole[0].term) in NAMED:
            roles = {p.net: p for p in whole[0].ports}
            ports = tuple(roles.get(p.net, p) for p in ports)
        if len(whole) == 1 and family(term) != term and term == whole[0].term and "-bit " in term:
            term, also = family(term), (*also, term)
            given = set(whole[0].nets(Role.OUTPUT))  # what one bit gives may be the next one's clock
            ports = tuple(replace(p, role=Role.OUTPUT) if p.net in given else p for p in ports)
    if len(whole) == 1 and whole[0].term not in (term, *also) and not whole[0].term.endswith(" pad"):
        also = (*also, whole[0].term)
    if len(whole) == 1 and whole[0].term in WHOLES and term != whole[0].term:
        term, also = whole[0].term, tuple(n for n in (term, *also) if n != whole[0].term)
    notes += more
    if apart and rest and (term == UNKNOWN or " × " in term):
        term, also = "gate-array gates", (*also, term) if term != UNKNOWN else also
        more = [f"kept apart by {len(apart)} transistors that are never on"]
    if len(guards) > len(apart) and rest:
        also = (*also, "input protection")
    if any(drives_out(view, s) for s in structures):
        also = (*also, "output driver")
    if view.one_kind is Kind.P and (other := negative(term)) != term:
        also = (*also, other)
        notes.append(f"named by electrical level; in negative logic, where the lower level is 1, it is {other}")
    if unknown or leftover:
        odd = [name for s in unknown for name in s.transistors] + list(leftover)
        notes.append(f"fits nothing known: {', '.join(odd)}")
    told = _told(term, whole)
    return Recognition(netlist, prepared.supplies, term, also, joined, ports, leftover, tuple(notes), told)


def _told(term: str, structures: tuple[Structure, ...]) -> str:
    """Return what heads the reading: the name of the whole, with its size, or what it is made of."""
    by_parts = heading(structures)
    if len(structures) == 1 and structures[0].term not in (UNKNOWN, "complex gate"):
        return by_parts
    plain = term == UNKNOWN or " × " in term or term in ("inverter", "buffer", *_STORES, *_KEEPING)
    with_size = [sized(s) for s in structures if family(s.term) == term != UNKNOWN]
    if len(with_size) == 1:
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
            result.append(Port(net, Role.UNUSED))
        else:
            best = min(seen[net], key=lambda p: _PRECEDENCE.index(p.role))
            partner = next((p.complement_of for p in seen[net] if p.complement_of), None)
            partner = partner if partner in view.ports else None
            result.append(Port(net, best.role, partner))
    return tuple(result)


_STORES = (
    "register bit", "shift-register bit", "latch", "SR latch", "memory bit", "static RAM cell", "dynamic latch",
    "cross-coupled inverters",
)  # fmt: skip
_KEEPING = ("register row", "shift register", "RAM array", "marker", "FIFO slice")
MOST_NAMED = 2
"""No function of more outputs than this has a name."""


def _name(
    view: View, structures: tuple[Structure, ...], ports: tuple[Port, ...]
) -> tuple[str, tuple[str, ...], list[str], tuple[Port, ...]]:
    """Return the name of the whole, its other names, notes, and the ports, perhaps with better roles."""
    if not structures:
        return UNKNOWN, (), [], ports
    if (flip_flop := name_flip_flop(view, structures, ports)) is not None and not _others(structures):
        return flip_flop
    if (loop := name_loop(view, structures)) is not None:
        return (*loop, ports)
    if (outline := name_outline(view, structures, ports)) is not None:
        return outline
    if len(structures) == 1 and structures[0].term in (*_STORES, *_KEEPING):
        return structures[0].term, structures[0].also, [], ports
    if len(structures) == 1:
        only = structures[0]
        better = _by_function(view, structures, ports)
        if better is not None and better[0] != only.term and only.term in ("complex gate", "tri-state bus", UNKNOWN):
            return better
        also = (*only.also, *(better[1] if better is not None and better[0] == only.term else ()))
        return only.term, also, [], ports
    if {s.term for s in structures} == {"FIFO slice"} and len(_first(structures)) == 1:
        return "FIFO", ("FIFO slice",), [f"{len(structures)} slices in a row"], ports
    if (read := _decoded(structures)) is not None:
        return read.term, ("decoder",), [f"words of {read.term} chosen by a decoder"], ports
    stores = [s for s in structures if s.term in _STORES]
    if {s.term for s in structures} == {"tie cell"}:
        return "tie cell", (), [], ports
    shifters = [s for s in structures if s.term == "level shifter"]
    if not stores and len(shifters) == 1:
        return "level shifter", ("buffer",), [], ports
    if len(stores) == 1 and stores[0].term == "latch" and _gates_clock(view, stores[0], structures):
        return "clock gate", ("latch",), ["a latch and an AND with its clock"], ports
    if not stores:
        better = _by_function(view, structures, ports)
        if better is not None:
            return better
        terms = {s.term for s in structures}
        if len(terms) == 1:
            return f"{len(structures)} × {terms.pop()}", (), [], ports
    if len(stores) == 1 and len(view.netlist.transistors) <= SMALL:
        rest = [s.term for s in structures if s is not stores[0]]
        return stores[0].term, stores[0].also, [f"with {', '.join(rest)} around it"], ports
    return UNKNOWN, (), ["made of: " + _count(structures)], ports


def _others(structures: tuple[Structure, ...]) -> bool:
    """Tell whether there are stores that are no register bits."""
    rows = ("register bit", "shift register", "register row")
    return any(s.term in (*_STORES, *_KEEPING) and s.term not in rows for s in structures)


def _first(structures: tuple[Structure, ...]) -> list[Structure]:
    """Return the structures that take no data from another."""
    given = {n for s in structures for n in s.nets(Role.OUTPUT)}
    return [s for s in structures if not given & set(s.nets(Role.DATA))]


def _decoded(structures: tuple[Structure, ...]) -> Structure | None:
    """Return the plane or array whose lines are the outputs of decoders, where that is all there is."""
    arrays = [s for s in structures if s.term in ("ROM plane", "RAM array")]
    before = [s for s in structures if family(s.term) == "decoder"]
    if len(arrays) != 1 or not before or len(structures) != len(before) + 1:
        return None
    lines = set(arrays[0].nets(Role.WORD_LINE))
    return arrays[0] if all(lines & set(s.nets(Role.OUTPUT)) for s in before) else None


def _gates_clock(view: View, latch: Structure, structures: tuple[Structure, ...]) -> bool:
    """Tell whether a NAND, AND or NOR joins the latch's output with its own enable."""
    enables = {view.root(n)[0] for n in latch.nets(Role.ENABLE)}
    outputs = {view.root(n)[0] for n in latch.nets(Role.OUTPUT)}
    for s in structures:
        if s.term in ("NAND2", "NOR2", "AND2", "OR2"):
            reads = {view.root(n)[0] for n in s.nets(Role.INPUT)}
            if reads & enables and reads & outputs:
                return True
    return False


def _count(structures: tuple[Structure, ...]) -> str:
    counts: dict[str, int] = {}
    for s in structures:
        counts[s.term] = counts.get(s.term, 0) + 1
    return ", ".join(f"{n} × {term}" for term, n in sorted(counts.items(), key=lambda kv: (-kv[1], kv[0])))


def whole_table(view: View, ports: tuple[Port, ...]) -> tuple[tuple[str, ...], Table] | None:
    """Return the free inputs of a small netlist and its table; complements of ports move with them."""
    outputs = [p.net for p in ports if p.role is Role.OUTPUT]
    inputs = [p.net for p in ports if p.role not in (Role.OUTPUT, Role.SUPPLY, Role.UNUSED)]
    if not outputs or len(inputs) > MOST_INPUTS or len(view.netlist.transistors) > SMALL:
        return None
    full = table(view.netlist, inputs, outputs, view.prepared.supplies)
    tied = {b: a for a, b in view.assumed if a in inputs and b in inputs}
    if tied:
        keep = [i for i in inputs if i not in tied]
        rows = [
            row
            for row in full.rows
            if all(row.inputs[inputs.index(b)] != row.inputs[inputs.index(a)] for b, a in tied.items())
        ]
        small = [type(row)(tuple(row.inputs[inputs.index(i)] for i in keep), row.outputs) for row in rows]
        small.sort(key=lambda row: row.inputs)
        return tuple(keep), Table(tuple(keep), full.outputs, tuple(small))
    return tuple(inputs), full


def _by_function(
    view: View, structures: tuple[Structure, ...], ports: tuple[Port, ...]
) -> tuple[str, tuple[str, ...], list[str], tuple[Port, ...]] | None:
    if sum(p.role is Role.OUTPUT for p in ports) > MOST_NAMED:
        return None
    found = whole_table(view, ports)
    if found is None:
        return None
    names, seen = found
    masks = {o: seen.mask(o) for o in seen.outputs}
    if any(m is None for m in masks.values()):
        return None
    tables = {o: m for o, m in masks.items() if m is not None}
    notes: list[str] = []
    if len(tables) == 1:
        ((output, ones),) = tables.items()
        named = name_function(ones, names)
        if named is None:
            return None
        return _single(view, structures, ports, output, named)
    if len(tables) == 2:
        forms: list[Expression] = [minimal(ones, names) for ones in tables.values()]
        pair = name_pair(forms[0], forms[1], names)
        if pair is not None:
            total, carry = (list(tables)[pair[1]], list(tables)[1 - pair[1]])
            notes.append(f"sum {total}, carry {carry}")
            return pair[0], (), notes, ports
        full = (1 << (1 << len(names))) - 1
        first, second = tables.values()
        if first == full ^ second or first == second:
            named = name_function(first, names)
            other = name_function(second, names)
            if named is not None:
                return named.term, (other.term,) if other else (), notes, ports
    return None


def _single(
    view: View, structures: tuple[Structure, ...], ports: tuple[Port, ...], output: str, named: Named
) -> tuple[str, tuple[str, ...], list[str], tuple[Port, ...]]:
    """Name a one-output function; where two names fit, the last stage decides which comes first."""
    also = list(named.also)
    term = named.term
    gate = view.gates.get(output)
    if named.inverted and gate is not None and also:
        ends = [t for t in (term, *also) if _inverting(t) == (gate.term != "inverter" and _inverting(gate.term))]
        same = [t for t in ends if t == gate.term]
        best = (same or ends or [term])[0]
        also = [t for t in (term, *also) if t != best]
        term = best
    notes = [note for note in (words(named),) if note]
    address = [
        s for s in structures if s.term.rstrip("0123456789") in ("NAND", "NOR", "AND") and len(s.transistors) > 2
    ]
    inverters = [s for s in structures if s.term == "inverter"]
    if inverters and len(address) == 1 and len(inverters) == len(structures) - 1:
        also += [address[0].term, "decoder column"]
    roles = dict.fromkeys(named.selects, Role.SELECT)
    better = tuple(Port(p.net, roles.get(p.net, p.role), p.complement_of) for p in ports)
    better = tuple(Port(p.net, Role.SELECT, p.complement_of) if p.complement_of in roles else p for p in better)
    also = [a for a in dict.fromkeys(also) if a != term]
    return term, tuple(also), [*notes, f"{output} = {text(named.form)}"], better


def _inverting(term: str) -> bool:
    """Tell whether a gate's last stage inverts, as its name says."""
    return term.rstrip("0123456789") in ("NAND", "NOR", "AOI", "OAI")
