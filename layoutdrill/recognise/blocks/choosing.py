"""Join multiplexers into larger ones and into shifters, XOR gates into parity trees, switches into crossbars."""

from collections import Counter, defaultdict

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, replaced
from layoutdrill.recognise.decoders import kind_of
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.terms import family
from layoutdrill.recognise.view import View

_SWITCHES = ("pass transistor", "transmission gate")


def join_choosers(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with trees and rows of choosers joined."""
    result = structures
    for step in (_parity, _two_stage_buses, _gate_multiplexers, _shifters, _multiplexers, _crossbars):
        result = step(view, result)
    return result


def _parity(view: View, structures: list[Structure]) -> list[Structure]:
    gates = [s for s in structures if kind_of(s.term) in ("XOR", "XNOR") and len(s.nets(Role.OUTPUT)) == 1]
    near = Neighbours.of(view, structures)
    made = {near.root(s.nets(Role.OUTPUT)[0]) for s in gates}
    read = {near.root(n) for s in gates for n in s.nets(Role.INPUT)}
    after = {s for s in gates if any(near.root(n) in made for n in s.nets(Role.INPUT))}
    result = structures
    ends = [s for s in gates if near.root(s.nets(Role.OUTPUT)[0]) not in read]
    groups: list[tuple[set[str], list[Structure]]] = []
    for end in ends:
        if end not in after:
            continue
        tree = _behind(near, gates, [end])
        leaves = {near.root(n) for s in tree for n in s.nets(Role.INPUT)} - made
        mates = [g for g in groups if g[0] == leaves]
        if mates:
            mates[0][1].extend(s for s in tree if all(s is not o for o in mates[0][1]))
        elif len(leaves) > 2:
            groups.append((leaves, tree))
    for leaves, tree in groups:
        inside = set(tree)
        inverters = [s for s in result if s.term == "inverter"]
        last = [s for s in inverters if near.driver(s.nets(Role.INPUT)[0]) in inside]
        parts = list(dict.fromkeys((*tree, *near.feeders(tree), *last)))
        words = f"tells whether an odd number of {len(leaves)} inputs is 1"
        also = (f"XOR{len(leaves)}",)
        result = replaced(result, parts, block(view, f"{len(leaves)}-bit parity tree", parts, words, also=also))
    return result


def _behind(near: Neighbours, gates: list[Structure], tree: list[Structure]) -> list[Structure]:
    by_root: dict[str, list[Structure]] = defaultdict(list)
    for s in gates:
        by_root[near.root(s.nets(Role.OUTPUT)[0])].append(s)
    for s in tree:
        for n in s.nets(Role.INPUT):
            tree += [g for g in by_root.get(near.root(n), []) if all(g is not t for t in tree)]
    return tree


def _gate_multiplexers(view: View, structures: list[Structure]) -> list[Structure]:
    """Join two levels of NAND (or NOR) in which each gate of the first opens one input: a multiplexer with enable."""
    result = structures
    near = Neighbours.of(view, structures)
    for end in structures:
        if kind_of(end.term) not in ("NAND", "NOR") or len(end.nets(Role.INPUT)) < 2:
            continue
        fronts = [near.driver(n) for n in end.nets(Role.INPUT)]
        first = [f for f in fronts if f is not None and kind_of(f.term) == kind_of(end.term)]
        if len(first) != len(end.nets(Role.INPUT)) or len({f.term for f in first}) > 1 or len(first) & (len(first) - 1):
            continue
        roots = [{near.root(n) for n in f.nets(Role.INPUT)} for f in first]
        shared = set.intersection(*roots)
        data = [r - shared for r in roots]
        width = len(first).bit_length() - 1
        selects = {
            n
            for n in shared
            if len({view.root(x)[1] for f in first for x in f.nets(Role.INPUT) if near.root(x) == n}) == 2
        }
        if any(len(d) != 1 for d in data) or len(set.union(*data)) != len(first) or len(selects) != width:
            continue
        parts = [*first, end, *near.feeders([*first, end])]
        term = f"{len(first)}:1 multiplexer"
        enable = f", while enabled by {', '.join(sorted(shared - selects))}" if shared - selects else ""
        result = replaced(result, parts, block(view, term, parts, f"passes one of {len(first)} inputs{enable}"))
        near = Neighbours.of(view, result)
    return result


def _two_stage_buses(view: View, structures: list[Structure]) -> list[Structure]:
    """Name a net that two tri-state stages drive in turn a multiplexer, with the inverter that follows it."""
    result = structures
    for s in [s for s in structures if s.term == "tri-state bus" and len(s.parts) == 2 and s.nets(Role.OUTPUT)]:
        near = Neighbours.of(view, result)
        controls = [p.nets(Role.ENABLE) for p in s.parts]
        if any(not c for c in controls) or len({near.root(n) for c in controls for n in c}) != 1:
            continue
        (net,) = s.nets(Role.OUTPUT)[:1]
        readers = near.readers.get(net, [])
        after = [r for r in readers if r.term == "inverter"] if len(readers) == 1 and net not in view.ports else []
        term = "2:1 multiplexer" if after else "2:1 inverting multiplexer"
        select = tuple(Port(p.net, Role.SELECT, p.complement_of) if p.role is Role.ENABLE else p for p in s.ports)
        turned = Structure(s.term, s.transistors, select, s.parts, s.function, s.notes, s.also)
        whole = block(view, term, [turned, *after], f"passes one of two inputs to {net}", also=("tri-state bus",))
        whole = Structure(
            whole.term, whole.transistors, whole.ports, (*s.parts, *after), whole.function, (), whole.also
        )
        result = replaced(result, [s, *after], whole)
    return result


def _is_mux(s: Structure) -> bool:
    return family(s.term) in ("multiplexer", "inverting multiplexer") and bool(s.nets(Role.SELECT))


def _selects(near: Neighbours, s: Structure) -> frozenset[str]:
    return frozenset(near.root(n) for n in s.nets(Role.SELECT))


def _shifters(view: View, structures: list[Structure]) -> list[Structure]:
    """Join levels of 2:1 multiplexers in which each net goes to two neighbours: they shift or rotate a word."""
    near = Neighbours.of(view, structures)
    levels: dict[frozenset[str], list[Structure]] = defaultdict(list)
    for s in structures:
        if s.term.startswith("2:1") and _is_mux(s):
            levels[_selects(near, s)].append(s)
    rows = []
    for group in levels.values():
        uses = Counter(near.root(n) for s in group for n in s.nets(Role.INPUT))
        shared = sum(count == 2 for count in uses.values())
        if len(group) >= 3 and shared >= len(group) - 2 and len(uses) <= 1.5 * len(group):
            rows.append(group)
    result = structures
    while rows:
        stack = [rows.pop(0)]
        grown = True
        while grown:
            grown = False
            for row in rows:
                if any(_feeds(near, a, b) or _feeds(near, b, a) for a in stack for b in [row]):
                    stack.append(row)
                    rows.remove(row)
                    grown = True
                    break
        bits = len(stack[0])
        muxes = [s for row in stack for s in row]
        parts = list(dict.fromkeys((*muxes, *near.feeders(muxes), *_followers(near, muxes))))
        term = f"{bits}-bit barrel shifter" if len(stack) > 1 else f"{bits}-bit shifter"
        result = replaced(
            result, parts, block(view, term, parts, f"shifts a word of {bits} bits in {len(stack)} steps")
        )
    return result


def _feeds(near: Neighbours, first: list[Structure], second: list[Structure]) -> bool:
    outputs = {near.root(n) for s in first for n in s.nets(Role.OUTPUT)}
    return all({near.root(n) for n in s.nets(Role.INPUT)} & outputs for s in second)


def _followers(near: Neighbours, group: list[Structure]) -> list[Structure]:
    """Return the inverters and buffers that read nothing but a group's outputs and lead out."""
    outputs = {n for s in group for n in s.nets(Role.OUTPUT)}
    followers: list[Structure] = []
    for _ in range(2):
        for net in sorted(outputs, key=near.view.place.__getitem__):
            for s in near.readers.get(net, ()):
                alone = all(r.term in ("inverter", "buffer") for r in near.readers.get(net, ()))
                if alone and near.driver(net) is not None and all(s is not f for f in followers):
                    followers.append(s)
        outputs = {n for s in followers for n in s.nets(Role.OUTPUT)}
    return followers


def _multiplexers(view: View, structures: list[Structure]) -> list[Structure]:
    """Join multiplexers whose inputs are multiplexers into one."""
    near = Neighbours.of(view, structures)
    muxes = [s for s in structures if _is_mux(s)]
    by_output = {near.root(n): s for s in muxes for n in s.nets(Role.OUTPUT)}
    inner = {by_output[r] for s in muxes for n in s.nets(Role.INPUT) if (r := near.root(n)) in by_output}
    result = structures
    for top in muxes:
        if top in inner:
            continue
        tree = [top]
        leaves: list[str] = []
        for s in tree:
            for n in s.nets(Role.INPUT):
                below = by_output.get(near.root(n))
                if below is not None and all(below is not t for t in tree):
                    tree.append(below)
                else:
                    leaves.append(near.root(n))
        if len(tree) < 2 or len(set(leaves)) != len(leaves):
            continue
        count = len(leaves)
        parts = [*tree, *near.feeders(tree)]
        term = f"{count}:1 multiplexer"
        result = replaced(result, parts, block(view, term, parts, f"passes one of {count} inputs, chosen step by step"))
    return result


def _crossbars(view: View, structures: list[Structure]) -> list[Structure]:
    """Join switches, each control of which joins every line to one of the other side: a shifter as a crossbar."""
    switches = [s for s in structures if s.term in _SWITCHES]
    by_control: dict[frozenset[str], list[Structure]] = defaultdict(list)
    for s in switches:
        by_control[frozenset(s.nets(Role.ENABLE))].append(s)
    groups = [g for g in by_control.values() if len(g) >= 3]
    if len(groups) < 2 or len({len(g) for g in groups}) > 1:
        return structures
    size = len(groups[0])
    members = [s for g in groups for s in g]
    ends = Counter(n for s in members for n in s.nets(Role.SIGNAL))
    if len(ends) > 3 * size or any(len({n for s in g for n in s.nets(Role.SIGNAL)}) < 2 * size for g in groups):
        return structures
    term = f"{size}-bit barrel shifter" if len(groups) >= size else f"{size}-bit shifter"
    words = f"a crossbar of {len(members)} switches: each of {len(groups)} lines joins {size} pairs"
    return replaced(structures, members, block(view, term, members, words))
