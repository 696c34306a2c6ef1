"""Join full and half adders into adders, gates of a carry alone into comparators, equal-gates into a comparator."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, plain, replaced
from layoutdrill.recognise.gates import static_term
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.view import View

_ADDERS = ("full adder", "half adder")
_CARRIES = ("majority gate", "minority gate")
_OF_EQUALS = {"AND": "XNOR", "NAND": "XNOR", "OR": "XOR", "NOR": "XOR"}
"""Gates that tell whether all pairs are equal, by what each pair then has to say."""
LEAST_ENABLED = 3
"""Pairs that are compared, beside which one more input is an enable."""


def join_carries(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with chains of carries joined."""
    result = _adders(view, structures)
    result = _carry_chains(view, result)
    return _equals(view, result)


def _chains(near: Neighbours, bits: list[Structure], carry: dict[Structure, str]) -> list[list[Structure]]:
    """Return the chains in which the carry of each bit is an input of the next, itself or inverted."""
    after: dict[Structure, Structure] = {}
    fed: set[Structure] = set()
    by_carry: dict[str, list[Structure]] = {}
    for s in bits:
        by_carry.setdefault(near.root(carry[s]), []).append(s)
    for s in bits:
        roots = dict.fromkeys(near.root(n) for n in s.nets(Role.INPUT))
        before = [o for r in roots for o in by_carry.get(r, ()) if o is not s]
        if len(before) == 1 and before[0] not in after:
            after[before[0]] = s
            fed.add(s)
    chains = []
    for s in bits:
        if s in fed or s not in after:
            continue
        chain = [s]
        while (nxt := after.get(chain[-1])) is not None and nxt is not s:
            chain.append(nxt)
        chains.append(chain)
    return chains


def _adders(view: View, structures: list[Structure]) -> list[Structure]:
    result = structures
    bits = [s for s in structures if s.term in _ADDERS and len(s.nets(Role.OUTPUT)) >= 2]
    near = Neighbours.of(view, structures)
    for chain in _chains(near, bits, {s: s.nets(Role.OUTPUT)[1] for s in bits}):
        full = any(s.term == "full adder" for s in chain)
        parts = [*chain, *near.feeders(chain)]
        size = len(chain)
        term, words = f"{size}-bit ripple adder", f"adds two numbers of {size} bits, the carry from bit to bit"
        if not full:
            term, words = f"{size}-bit incrementer", f"adds one bit to a number of {size} bits"
        turners = _turners(near, chain) if full else []
        if turners:
            term, words = f"{size}-bit adder-subtractor", "adds, or subtracts where the line that turns one number is 1"
            parts += [*turners, *near.feeders([*turners, *chain])]
            parts = list(dict.fromkeys(parts))
        also: tuple[str, ...] = ("adder",) if full else ()
        if skip := _skip(near, chain, parts):
            term, words = f"{size}-bit carry-skip adder", f"{words}, or past all of them where each passes it on"
            parts = list(dict.fromkeys((*parts, *skip, *near.feeders([*parts, *skip]))))
            also = (f"{size}-bit parallel adder", *also)
        result = replaced(result, parts, block(view, term, parts, words, also=also))
    return result


def _skip(near: Neighbours, chain: list[Structure], parts: list[Structure]) -> list[Structure]:
    """Return the gates by which a carry passes a whole chain: an AND of all half sums, and what then chooses."""
    passing = [{near.root(n) for n in s.nets(Role.OUTPUT)[2:]} for s in chain]
    if not all(passing):
        return []
    wanted = set.union(*passing)
    readers = {r for s in chain for n in s.nets(Role.OUTPUT)[2:] for r in near.readers.get(n, ()) if r not in parts}
    both = [r for r in readers if plain(r.term) in ("AND", "NAND", "NOR") and _roots(near, r) == wanted]
    if len(both) != 1 or len(wanted) != len(chain):
        return []
    opened = {near.root(n) for n in both[0].nets(Role.OUTPUT)}
    last = {near.root(n) for n in chain[-1].nets(Role.OUTPUT)[1:2]}
    first = _roots(near, chain[0])
    choosing = {
        r for n in near.readers for r in near.readers[n]
        if near.root(n) in last and _roots(near, r) & opened and _roots(near, r) & first
    }  # fmt: skip
    return [*both, *choosing] if len(choosing) == 1 else []


def _roots(near: Neighbours, s: Structure) -> set[str]:
    return {near.root(p.net) for p in s.ports if p.role is not Role.OUTPUT}


def _turners(near: Neighbours, chain: list[Structure]) -> list[Structure]:
    """Return the gates that turn one number of an adder, all by one line; none where not every bit has one."""
    turners = []
    for s in chain:
        mine = [g for n in s.nets(Role.INPUT) if (g := near.driver(n)) is not None and plain(g.term) in ("XOR", "XNOR")]
        turners += mine[:1]
    if len(turners) != len(chain):
        return []
    lines = set.intersection(*({near.root(n) for n in g.nets(Role.INPUT)} for g in turners))
    return turners if lines else []


def _carry_chains(view: View, structures: list[Structure]) -> list[Structure]:
    result = structures
    gates = [s for s in structures if s.term in _CARRIES or _charged_carry(view, s)]
    near = Neighbours.of(view, structures)
    for chain in _chains(near, gates, {s: s.nets(Role.OUTPUT)[0] for s in gates}):
        links = {near.root(s.nets(Role.OUTPUT)[0]) for s in chain}
        turned = [sum(not view.root(n)[1] for n in s.nets(Role.INPUT) if near.root(n) not in links) for s in chain]
        inside = set(chain)
        after = [
            s for s in structures
            if s.term == "inverter" and (d := near.driver(s.nets(Role.INPUT)[0])) is not None and d in inside
        ]  # fmt: skip
        parts = [*chain, *near.feeders(chain), *after]
        parts = list(dict.fromkeys(parts))
        size = len(chain)
        term = f"{size}-bit carry chain"
        words = "the carry of a sum, from bit to bit"
        if all(count == 1 for count in turned):
            term, words = f"{size}-bit magnitude comparator", "the carry of one number and the complement of the other"
        result = replaced(result, parts, block(view, term, parts, words))
    return result


def _charged_carry(view: View, s: Structure) -> bool:
    """Tell whether a domino gate generates or passes on: one input, or two of which one is the carry before."""
    if s.term != "domino gate" or not s.nets(Role.OUTPUT):
        return False
    inverter = view.gates.get(s.nets(Role.OUTPUT)[0])
    charged = view.gates.get(inverter.inputs[0]) if inverter is not None and inverter.inputs else None
    return charged is not None and static_term(charged.form) == "AOI21"


def _equals(view: View, structures: list[Structure]) -> list[Structure]:
    """
    Join an AND of XNOR gates of pairs, or an OR of XOR gates: it tells whether two numbers are equal.

    Beside many pairs one more input is what lets it answer.
    """
    result = structures
    near = Neighbours.of(view, structures)
    for s in structures:
        if plain(s.term) not in _OF_EQUALS:
            continue
        pairs = [near.driver(n) for n in s.nets(Role.INPUT)]
        gates = [p for p in pairs if p is not None and _compares(view, p) == _OF_EQUALS[plain(s.term)]]
        enables = len(pairs) - len(gates)
        if enables > (len(gates) >= LEAST_ENABLED) or len(gates) < 2 or len(set(gates)) != len(gates):
            continue
        roots = [near.root(n) for g in gates for n in g.nets(Role.INPUT)]
        roots += [near.root(n) for n, p in zip(s.nets(Role.INPUT), pairs, strict=True) if p not in gates]
        if len(set(roots)) < 2 * len(gates) + enables:
            continue
        parts = [*gates, s, *near.feeders([*gates, s])]
        words = f"tells whether two numbers of {len(gates)} bits are equal"
        result = replaced(result, parts, block(view, f"{len(gates)}-bit equality comparator", parts, words))
    return _wider_equals(view, result)


def _compares(view: View, s: Structure) -> str:
    """Return XNOR or XOR for a gate of two signals, by what it says of these where it reads them inverted."""
    if s.term not in ("XNOR2", "XOR2"):
        return ""
    turned = sum(not view.root(n)[1] for n in s.nets(Role.INPUT)) % 2
    return "XNOR" if (s.term == "XNOR2") != turned else "XOR"


def _high_where_equal(comparator: Structure) -> bool:
    """Tell whether a comparator's own last gate gives 1 where all is equal, not 0."""
    outputs = set(comparator.nets(Role.OUTPUT))
    return any(plain(s.term) in ("AND", "NOR") and outputs & set(s.nets(Role.OUTPUT)) for s in comparator.parts)


def _wider_equals(view: View, structures: list[Structure]) -> list[Structure]:
    """Join comparators for parts of two numbers where one gate asks for all of them."""
    result = structures
    near = Neighbours.of(view, result)
    for s in [s for s in structures if plain(s.term) in _OF_EQUALS]:
        behind = [near.driver(n) for n in s.nets(Role.INPUT)]
        halves = [d for d in behind if d is not None and d.term.endswith("-bit equality comparator")]
        if len(halves) < 2 or len(set(halves)) != len(behind):
            continue
        if any(_high_where_equal(d) != (_OF_EQUALS[plain(s.term)] == "XNOR") for d in halves):
            continue
        size = sum(int(d.term.split("-")[0]) for d in halves)
        parts = [*(p for d in halves for p in d.parts), s, *near.feeders([*halves, s])]
        words = f"tells whether two numbers of {size} bits are equal"
        result = replaced(result, [*halves, *parts], block(view, f"{size}-bit equality comparator", parts, words))
        near = Neighbours.of(view, result)
    return result
