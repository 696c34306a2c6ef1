"""Join what reads a net together with itself as it was some inverters ago: pulses at edges, latches open for one."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, after_net, block, plain, replaced
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.view import View

LONGEST = 12
"""No pulse is as long as so many inverters take (common practice: three to seven)."""
_LOGIC = ("inverter", "NAND", "NOR", "AOI", "OAI", "AND", "OR")


def pulsed_latches(view: View, structures: list[Structure]) -> list[Structure]:
    """
    Join stages that read a clock and what an odd chain of inverters makes of it, the last of them kept by a weak loop.

    They are open from the clock's edge until the chain has answered (Partovi and others 1996; from memory).
    """
    result = structures
    near = Neighbours.of(view, structures)
    inverters = {n: s for s in structures if s.term == "inverter" for n in s.nets(Role.OUTPUT)}
    for late, last in inverters.items():
        both = [s for s in near.readers.get(late, ()) if len(_read(s)) > 1 and s.nets(Role.OUTPUT)]
        chain, stages = _delayed(last, both, inverters) if both else ([], [])
        if not stages:
            continue
        clock = chain[-1].nets(Role.INPUT)[0]
        made = {n for s in stages for n in s.nets(Role.OUTPUT)}
        kept = [
            k for n in sorted(made) for k in near.readers.get(n, ())
            if k.nets(Role.OUTPUT) and _weakly_holds(view, n, k.nets(Role.OUTPUT)[0])
        ]  # fmt: skip
        data = {near.root(p.net) for s in stages for p in s.ports if p.role is not Role.OUTPUT and p.net not in made}
        if not kept or len(data - {near.root(clock), *(near.root(n) for n in made)}) != 1:
            continue
        parts = list(dict.fromkeys((*chain, *stages, *kept)))
        words = f"open at an edge of {clock} for as long as {len(chain)} inverters take, then kept"
        result = replaced(result, parts, block(view, "pulsed latch", parts, words, also=("register bit",)))
    return result


def _read(s: Structure) -> set[str]:
    return {p.net for p in s.ports if p.role is not Role.OUTPUT}


def _delayed(
    last: Structure, both: list[Structure], inverters: dict[str, Structure]
) -> tuple[list[Structure], list[Structure]]:
    """Return the odd chain of inverters behind one, and those stages after it that read its first net as well."""
    chain = [last]
    while len(chain) < LONGEST:
        net = chain[-1].nets(Role.INPUT)[0]
        stages = [s for s in both if net in _read(s) and s not in chain]
        if stages and len(chain) >= 3 and len(chain) % 2:
            return chain, stages
        before = inverters.get(net)
        if before is None or before in chain:
            break  # inverters that run round delay nothing
        chain.append(before)
    return [], []


def _weakly_holds(view: View, net: str, inverse: str) -> bool:
    """Tell whether a net's inverse gates transistors of both kinds, each from the net to a rail."""
    rails = view.prepared.supplies.nets
    gate = view.gates.get(inverse)
    held = [view.prepared.switches[i] for i in view.prepared.gated.get(inverse, ())]
    kinds = {s.kind for s in held if net in s.ends and s.other(net) in rails}
    return gate is not None and gate.inverter_of == net and len(kinds) == 2


def meetings(view: View, structures: list[Structure]) -> list[Structure]:
    """Join gates that read a net together with itself as it was some inverters ago: a pulse at each edge."""
    result = structures
    near = Neighbours.of(view, structures)
    inverters = [s for s in structures if s.term == "inverter"]
    among = set(inverters)
    for last in inverters:
        chain = [last]
        while (d := near.driver(chain[-1].nets(Role.INPUT)[0])) in among and d is not None and len(chain) < LONGEST:
            if d in chain:
                break  # inverters that run round delay nothing
            chain.append(d)
        late, net = last.nets(Role.OUTPUT)[0], chain[-1].nets(Role.INPUT)[0]
        meet = [s for s in near.readers.get(late, ()) if plain(s.term) in _LOGIC and net in s.nets(Role.INPUT)]
        if len(chain) < 2 or not meet or late in view.ports or late == net:
            continue
        known = {net, late}
        group = list(meet)
        for s in group:
            known |= set(s.nets(Role.OUTPUT))
            after = [r for n in s.nets(Role.OUTPUT) for r in near.readers.get(n, ())]
            group += [
                r for r in after if r not in group and plain(r.term) in _LOGIC and set(r.nets(Role.INPUT)) <= known
            ]
        outside = [n for s in group for n in s.nets(Role.INPUT) if n not in known]
        if outside or len(group) < 2:
            continue
        parts = [*chain, *group]
        words = f"a pulse at each edge of {net}, as long as {len(chain)} inverters take"
        result = replaced(result, parts, block(view, "edge pulse generator", parts, words))
    return result


def edge_pulses(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a gate of a net and of its delayed complement: a pulse at an edge."""
    result = structures
    near = Neighbours.of(view, structures)
    for s in structures:
        ins = s.nets(Role.INPUT)
        both_edges = plain(s.term) in ("XOR", "XNOR")
        if plain(s.term) not in ("AND", "NAND", "NOR", "OR", "XOR", "XNOR") or len(ins) != 2:
            continue
        for a, b in (ins, ins[::-1]):
            chain: list[Structure] = []
            net = b
            while (d := near.driver(net)) is not None and d.term == "inverter" and len(chain) < LONGEST:
                chain.append(d)
                net = d.nets(Role.INPUT)[0]
                if net == a:
                    break
            if net == a and (len(chain) >= 2 if both_edges else len(chain) >= 3 and len(chain) % 2):
                after = after_net(near, s.nets(Role.OUTPUT)[0], [s]) if not s.term.startswith(("AND", "OR")) else []
                parts = [*chain, s, *after]
                edge = "each edge" if both_edges else "an edge"
                words = f"a pulse at {edge} of {a}, as long as {len(chain)} inverters take"
                result = replaced(result, parts, block(view, "edge pulse generator", parts, words))
                break
    return result
