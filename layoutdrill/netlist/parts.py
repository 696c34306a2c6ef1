"""See a netlist as a reader does: as devices of any sort, with terminals that are on nets."""

from collections import defaultdict
from collections.abc import Callable

from layoutdrill.netlist.model import Netlist
from layoutdrill.value import value

Terminals = tuple[tuple[str, tuple[str, ...]], ...]  # (role, nets); two nets may be exchanged
VALUE = "its value"
NetScore = Callable[[str, str], float]


@value
class Part:
    """A device as a reader sees it: what it is, and which nets its terminals are on."""

    name: str
    noun: str
    kind: str
    terminals: Terminals
    sizes: tuple[tuple[str, int | str], ...]


def parts_of(netlist: Netlist, *, bodies: bool) -> dict[str, Part]:
    """Return a netlist's devices by name (elements as they are, transistors with bodies when those count)."""
    parts: dict[str, Part] = {}
    for t in netlist.transistors:
        body = (("body", (t.body,)),) if bodies and t.body else ()
        sizes = (("L", t.length), ("W", t.width))
        kind = f"{t.kind}-channel" + (" depletion" if t.model.endswith("d") else "")
        parts[t.name] = Part(t.name, "transistor", kind, (("gate", (t.gate,)), ("end", t.ends), *body), sizes)
    for e in netlist.elements:
        terminals: Terminals = (("end", e.nodes),)
        if e.kind == "diode" and len(e.nodes) == 2:
            terminals = (("anode", e.nodes[:1]), ("cathode", e.nodes[1:]))
        elif len(e.nodes) != 2:
            terminals = tuple((f"node {at}", (net,)) for at, net in enumerate(e.nodes, 1))
        sizes_told = [(k, v) for k, v in e.values if k in {"L", "W"}]
        sizes_told += [(VALUE, e.value_told)] if e.value_told else []
        parts[e.name] = Part(e.name, e.kind, e.kind, terminals, tuple(sizes_told))
    return parts


def terminal_pairs(one: Part, other: Part, score: NetScore) -> list[tuple[str, str, str]]:
    """Return (role, net of A, net of B) for each terminal both parts have; exchangeable ones the way that scores."""
    theirs = dict(other.terminals)
    pairs: list[tuple[str, str, str]] = []
    for role, nets in one.terminals:
        against = theirs.get(role, ())
        if len(nets) == len(against) == 2:
            straight = score(nets[0], against[0]) + score(nets[1], against[1])
            crossed = score(nets[0], against[1]) + score(nets[1], against[0])
            against = against if straight >= crossed else (against[1], against[0])
        pairs.extend((role, p, q) for p, q in zip(nets, against, strict=False))
    return pairs


def parts_on_nets(parts: dict[str, Part]) -> dict[str, list[str]]:
    """Return the names of the parts on each net."""
    names: defaultdict[str, list[str]] = defaultdict(list)
    for name, part in parts.items():
        for net in {n for _, nets in part.terminals for n in nets}:
            names[net].append(name)
    return names
