"""Join inverters that run round: ring, RC and crystal oscillators, clock phases, arbiters; chains and edge pulses."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import FOLLOWING, Neighbours, after_net, block, plain, replaced
from layoutdrill.recognise.blocks.pulsing import edge_pulses, meetings, pulsed_latches
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.view import View
from layoutdrill.simulate.circuit import strongly_connected
from layoutdrill.simulate.effort import spend

_FEW = 8


def join_loops(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with loops and chains of inverters joined."""
    result = _opened(view, structures)
    for step in _STEPS:
        result = step(view, result)
    return result


def _opened(view: View, structures: list[Structure]) -> list[Structure]:
    """Take ANDs and ORs apart whose inverter closes a loop: in an oscillator or a clock generator each stage counts."""
    joins = _joins(view)
    result = []
    for s in structures:
        loops = plain(s.term) in ("AND", "OR") and len(s.parts) == 2 and _comes_round(view, s, joins)
        result += list(s.parts) if loops else [s]
    return result


def _joins(view: View) -> dict[str, set[str]]:
    """Return for each net those that a resistor or a capacitor joins it to, the supplies left out."""
    rails = view.prepared.supplies.nets
    joins: dict[str, set[str]] = {}
    for e in view.netlist.elements:
        if e.kind in ("resistor", "capacitor"):
            for a, b in (e.nodes[:2], e.nodes[1::-1]):
                if b not in rails:
                    joins.setdefault(a, set()).add(b)
    return joins


def _comes_round(view: View, s: Structure, joins: dict[str, set[str]]) -> bool:
    """Tell whether what a structure drives leads back to it through at most a few dozen gates and passive parts."""
    inputs = set(s.nets(Role.INPUT))
    front = list(s.nets(Role.OUTPUT))
    seen = set(front)
    for net in front:
        if len(front) > 24:
            return False
        for reader in view.readers.get(net, ()):
            if reader in inputs:
                return True
            if reader not in seen:
                seen.add(reader)
                front.append(reader)
        for other in joins.get(net, ()):
            if other in inputs:
                return True
            if other not in seen:
                seen.add(other)
                front.append(other)
    return bool(seen & inputs)


def _inverting(s: Structure) -> bool:
    return plain(s.term) in ("inverter", "NAND", "NOR", "Schmitt inverter", "starved inverter")


def _resistor(view: View, a: str, b: str) -> bool:
    return any(e.kind == "resistor" and {a, b} == set(e.nodes[:2]) for e in view.netlist.elements)


def _biased_oscillators(view: View, structures: list[Structure]) -> list[Structure]:
    """Join an inverter between two ports with the switch across it that is always on: a crystal goes between these."""
    result = structures
    near = Neighbours.of(view, structures)
    ports = view.ports
    for s in [s for s in structures if s.term in ("transmission gate", "pass transistor") and not s.nets(Role.ENABLE)]:
        a, b = s.nets(Role.SIGNAL)[:2]
        stages = [
            o for y, x in ((a, b), (b, a)) for o in near.drivers.get(y, ())
            if _inverting(o) and x in o.nets(Role.INPUT) and {x, y} <= ports
        ]  # fmt: skip
        if len(stages) == 1:
            (y,) = stages[0].nets(Role.OUTPUT)[:1]
            parts = list(dict.fromkeys((stages[0], s, *after_net(near, y, [stages[0]]))))
            words = f"an inverter with a resistance across it, for a crystal between {a} and {b}"
            result = replaced(result, parts, block(view, "crystal oscillator", parts, words, also=("oscillator",)))
    return result


def _passive_oscillators(view: View, structures: list[Structure]) -> list[Structure]:
    """Join an inverter with a resistor over it, or two with a resistor and a capacitor: they swing by themselves."""
    result = structures
    near = Neighbours.of(view, structures)
    joins = _joins(view)
    capacitors = {n for e in view.netlist.elements if e.kind == "capacitor" for n in e.nodes}
    plates: dict[str, list[Structure]] = {}
    for s in structures:
        if s.term == "capacitor":  # a transistor that serves as one
            a, b = s.nets(Role.SIGNAL)[:2]
            for n in (a, b):
                plates.setdefault(n, []).append(s)
            capacitors |= {a, b}
            joins.setdefault(a, set()).add(b)
            joins.setdefault(b, set()).add(a)
    for s in structures:
        if not _inverting(s) or len(s.nets(Role.OUTPUT)) != 1:
            continue
        y = s.nets(Role.OUTPUT)[0]
        fed = [n for n in s.nets(Role.INPUT) if near.driver(n) is None]
        for a in fed:
            if _resistor(view, a, y) and a in capacitors and y in capacitors:
                parts = [s, *after_net(near, y, [s]), *plates.get(a, ()), *plates.get(y, ())]
                words = f"an inverter with a resistor from {y} back to {a}, and a capacitor at each"
                result = replaced(result, parts, block(view, "crystal oscillator", parts, words))
                break
            if _resistor(view, a, y) and a in capacitors:
                parts = [s, *after_net(near, y, [s]), *plates.get(a, ())]
                words = f"{y} charges {a} through a resistor until it turns over"
                result = replaced(result, parts, block(view, "RC oscillator", parts, words))
                break
            loop = _loop(near, joins, a, s)
            if loop:
                after = after_net(near, loop[-1].nets(Role.OUTPUT)[0], loop)
                parts = list(dict.fromkeys((*loop, *after, *plates.get(a, ()))))
                words = f"{len(loop)} stages whose resistor and capacitor at {a} set the pace"
                result = replaced(result, parts, block(view, "RC oscillator", parts, words))
                break
    return result


def _loop(near: Neighbours, joins: dict[str, set[str]], a: str, s: Structure) -> list[Structure]:
    """Return the stages from an input on whose outputs come back to it through a resistor and a capacitor."""
    reached, front = {a}, [a]
    while front:
        here = front.pop()
        for other in joins.get(here, ()):
            if other not in reached:
                reached.add(other)
                front.append(other)
    chain = [s]
    for _ in range(4):
        driven = chain[-1].nets(Role.OUTPUT)[:1]
        nxt = [r for y in driven for r in near.readers.get(y, ()) if _inverting(r) and all(r is not c for c in chain)]
        if not nxt:
            break
        chain.append(nxt[0])
    outs = [c for c in chain if reached & set(c.nets(Role.OUTPUT)[:1])]
    return chain[: 1 + max(i for i, c in enumerate(chain) if any(c is o for o in outs))] if len(outs) >= 2 else []


def _rings(view: View, structures: list[Structure]) -> list[Structure]:
    result = structures
    near = Neighbours.of(view, structures)
    stages = [s for s in structures if _inverting(s) and len(s.nets(Role.OUTPUT)) == 1]
    inside = _in_loops(near, stages)
    done: set[Structure] = set()
    for start in stages:
        if start in done or start not in inside:
            continue
        ring = _round(near, start, inside)
        if len(ring) < 3 or len(ring) % 2 == 0 or any(s in done for s in ring):
            continue
        done |= set(ring)
        outs = [r for s in ring for r in after_net(near, s.nets(Role.OUTPUT)[0], ring)]
        parts = list(dict.fromkeys((*ring, *outs)))
        levels = {n for s in ring if s.term == "starved inverter" for n in s.nets(Role.SIGNAL)}
        parts += [s for s in structures if s.term == "bias stage" and levels & set(s.nets(Role.OUTPUT))]
        gated = [n for s in ring for n in s.nets(Role.INPUT) if all(n not in o.nets(Role.OUTPUT) for o in ring)]
        if any(_follows(near, n, ring) for n in gated):
            continue  # what lets it run hangs on the ring itself: stages of a state machine
        words = f"{len(ring)} inverting stages in a ring" + (f", let run by {', '.join(gated)}" if gated else "")
        result = replaced(result, parts, block(view, "ring oscillator", parts, words))
    return result


def _follows(near: Neighbours, net: str, ring: list[Structure]) -> bool:
    """Tell whether a net is made, in a few stages, of what a ring puts out."""
    front = [net]
    seen: set[Structure] = set()
    for here in front:
        stage = near.driver(here)
        if stage is None or stage in seen or len(seen) > _FEW:
            continue
        if stage in ring:
            return True
        seen.add(stage)
        front += stage.nets(Role.INPUT)
    return False


def _in_loops(near: Neighbours, stages: list[Structure]) -> set[Structure]:
    """Return the stages from which a way leads back to them."""
    number = {s: i for i, s in enumerate(stages)}
    after = [[number[r] for n in s.nets(Role.OUTPUT) for r in near.readers.get(n, ()) if r in number] for s in stages]
    groups = strongly_connected(after)
    return {stages[i] for group in groups if len(group) > 1 for i in group}


def _round(near: Neighbours, start: Structure, inside: set[Structure]) -> list[Structure]:
    """Return the shortest ring of stages through one, or nothing."""
    before: dict[Structure, Structure | None] = {start: None}
    front = [start]
    for here in front:
        spend(4)
        for net in here.nets(Role.OUTPUT):
            for r in near.readers.get(net, ()):
                if r is start:
                    ring = [here]
                    while (up := before[ring[-1]]) is not None:
                        ring.append(up)
                    return ring[::-1]
                if r in inside and r not in before:
                    before[r] = here
                    front.append(r)
    return []


def _phases(view: View, structures: list[Structure]) -> list[Structure]:
    """Join two crossed gates with delays between them, fed by a clock and its complement: two phases apart."""
    result = structures
    near = Neighbours.of(view, structures)
    gates = [s for s in structures if s.term in ("NOR2", "NAND2")]
    inside = set(gates)
    for a in gates:
        beyond = _within(near, a, 7)
        for b in [b for b in beyond if b in inside and any(a is s for s in _within(near, b, 7))]:
            if a is b or a.term != b.term or near.view.order[a.transistors[0]] > near.view.order[b.transistors[0]]:
                continue
            mine, theirs = ([near.root(n) for n in s.nets(Role.INPUT)] for s in (a, b))
            out_a, out_b = (near.root(s.nets(Role.OUTPUT)[0]) for s in (a, b))
            if out_b not in mine or out_a not in theirs:
                continue
            clocks = [[n for n in s.nets(Role.INPUT) if near.root(n) != o] for s, o in ((a, out_b), (b, out_a))]
            if any(len(c) != 1 for c in clocks) or near.root(clocks[0][0]) != near.root(clocks[1][0]):
                continue
            group = [a, b]
            chains = [s for o in (a, b) for s in after_net(near, o.nets(Role.OUTPUT)[0], group)]
            parts = list(dict.fromkeys((*group, *chains, *near.feeders(group))))
            words = f"two phases of {clocks[0][0]} that are never on together"
            result = replaced(result, parts, block(view, "two-phase clock generator", parts, words))
    for s in structures:
        if s.term == "SR latch" and any(s is r for r in result):
            forced = s.nets(Role.SET, Role.RESET)
            if len(forced) == 2 and near.root(forced[0]) == near.root(forced[1]):
                parts = [s, *near.feeders([s]), *(x for n in s.nets(Role.OUTPUT) for x in after_net(near, n, [s]))]
                parts = list(dict.fromkeys(parts))
                words = f"two phases of {near.root(forced[0])} that are never on together"
                result = replaced(result, parts, block(view, "two-phase clock generator", parts, words))
    return result


def _within(near: Neighbours, s: Structure, steps: int) -> list[Structure]:
    """Return what a structure reaches through at most so many inverters, and what these feed."""
    reached: list[Structure] = []
    front = [s]
    for _ in range(steps):
        nxt = [r for f in front for n in f.nets(Role.OUTPUT) for r in near.readers.get(n, ())]
        reached += [r for r in nxt if all(r is not o for o in reached)]
        front = [r for r in nxt if r.term in FOLLOWING]
        if not front:
            break
    return reached


def _arbiters(view: View, structures: list[Structure]) -> list[Structure]:
    """Join an SR latch of two requests with a filter in which each side is the other's supply: an arbiter."""
    result = structures
    for s in structures:
        if s.term != "SR latch" or len(s.nets(Role.OUTPUT)) < 2:
            continue
        both = set(s.nets(Role.OUTPUT)[:2])
        filters = [
            o for o in structures
            if {p.term for p in o.parts} == {"pass transistor", "pull-down"} and set(o.nets(Role.INPUT)) == both
        ]  # fmt: skip
        grants = {n for o in filters for n in o.nets(Role.OUTPUT)}
        if len(filters) == len(grants) == 2:
            parts = [s, *(p for o in filters for p in o.parts)]
            words = f"grants one of two requests on {' and '.join(sorted(grants))}, and the other only after it"
            result = replaced(result, [s, *filters], block(view, "arbiter", parts, words))
    return result


def _chains(view: View, structures: list[Structure]) -> list[Structure]:
    """Join three inverters or more that follow one another and feed nothing else."""
    result = structures
    near = Neighbours.of(view, structures)
    single = [s for s in structures if s.term == "inverter"]
    inside = set(single)
    ports = view.ports

    def following(s: Structure) -> Structure | None:
        net = s.nets(Role.OUTPUT)[0]
        readers = near.readers.get(net, [])
        return readers[0] if len(readers) == 1 and readers[0] in inside and net not in ports else None

    after = {s: nxt for s in single if (nxt := following(s)) is not None}
    fed = set(after.values())
    for s in single:
        if s in fed or s not in after:
            continue
        chain = [s]
        while (nxt := after.get(chain[-1])) is not None and nxt is not s:
            chain.append(nxt)
        if len(chain) >= 3:
            words = f"{chain[-1].nets(Role.OUTPUT)[0]} = {'!' if len(chain) % 2 else ''}{s.nets(Role.INPUT)[0]}"
            also = ("inverter",) if len(chain) % 2 else ("buffer",)
            term = f"{len(chain)} inverters in a row"
            result = replaced(result, chain, block(view, term, chain, words, also=also))
    return result


_STEPS = (
    pulsed_latches, _arbiters, _passive_oscillators, _biased_oscillators, _phases, _rings, edge_pulses, meetings,
    _chains,
)  # fmt: skip
