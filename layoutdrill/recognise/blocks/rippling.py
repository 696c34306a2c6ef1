"""Join bits that toggle, each clocked by the one before: ripple counters."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, plain, replaced
from layoutdrill.recognise.joining import merge
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.single_phase import is_single_phase
from layoutdrill.recognise.view import View

BITS = ("register bit", "shift-register bit")
ROWS = ("register row", "shift register")


def join_ripple(view: View, structures: list[Structure]) -> list[Structure]:
    """Join bits that toggle, each clocked by the one before."""
    near = Neighbours.of(view, structures)
    toggles: dict[Structure, Structure] = {}
    inner: dict[Structure, tuple[str, ...]] = {}
    bits = [s for s in structures if s.term in BITS]
    bits += [b for s in structures if s.term == "register row" for b in s.parts if b.term in BITS]
    for s in bits:
        data, out = s.nets(Role.DATA), s.nets(Role.OUTPUT)
        if is_single_phase(s):  # it inverts what it takes, so it turns over where it takes its own output
            if data:
                continue
            data = out[:1]
        elif not data:  # a bit that a gate of its own turns over, one with a reset say, has no data from outside
            data, out = _own_data(s), (*out, *(n for part in s.parts for n in part.nets(Role.OUTPUT)))
        if s.parts and all(plain(part.term) in ("NAND", "NOR") for part in s.parts):  # a bit of crossed gates
            out = (*out, *(n for part in s.parts for n in part.nets(Role.OUTPUT)))
            inner[s] = out
        roots = {near.root(n) for n in out}
        source = view.root(data[0]) if len(data) == 1 else None
        if source is not None and source[0] in roots:
            inverters = [d for d in [near.driver(data[0])] if d is not None and d.term == "inverter"]
            toggles[s] = block(view, "toggle flip-flop", [s, *inverters], "turns over at every edge of its clock")
    after: dict[Structure, Structure] = {}
    fed: set[Structure] = set()
    made: dict[str, list[Structure]] = {}
    for s in bits:
        for n in inner.get(s, s.nets(Role.OUTPUT)) if s in toggles else ():
            made.setdefault(near.root(n), []).append(s)
    for s in bits:
        if s not in toggles:
            continue
        for before in dict.fromkeys(b for n in s.nets(Role.CLOCK) for b in made.get(near.root(n), ())):
            if before is not s:
                after[before] = s
                fed.add(s)
    result = structures
    for s in bits:
        if s in fed or s not in after:
            continue
        chain = [s]
        while (nxt := after.get(chain[-1])) is not None and all(nxt is not c for c in chain):
            chain.append(nxt)
        gone = [p for c in chain for p in toggles[c].parts]
        rest = near.feeders([*chain, *gone])
        parts = [*(toggles[c] for c in chain), *(r for r in rest if all(r is not g for g in gone))]
        words = f"counts edges of {', '.join(chain[0].nets(Role.CLOCK)[:1])}, each bit clocked by the one before"
        result = opened(view, result, chain)
        result = replaced(result, [*gone, *rest], block(view, f"{len(chain)}-bit ripple counter", parts, words))
    return result


def _own_data(s: Structure) -> tuple[str, ...]:
    """Return what the first store of a bit takes where the last one drives it."""
    if len(s.parts) < 2:
        return ()
    last = {n for part in s.parts[1:] for n in part.nets(Role.OUTPUT)}
    return tuple(n for n in s.parts[0].nets(Role.DATA) if n in last)


def opened(view: View, structures: list[Structure], bits: list[Structure]) -> list[Structure]:
    """Return the structures with rows that hold some of the bits taken apart; the other bits of a row stay together."""
    result: list[Structure] = []
    for s in structures:
        rest = [part for part in s.parts if part not in bits] if s.term in ROWS else []
        if s.term not in ROWS or len(rest) == len(s.parts):
            result.append(s)
            continue
        result += [part for part in s.parts if part in bits]
        if s.term == "register row" and len(rest) > 1:
            words = f"{len(rest)} × {rest[0].term} on the same controls"
            result.append(merge(view, s.term, rest, [p for part in rest for p in part.ports], words))
        else:
            result += rest
    return result
