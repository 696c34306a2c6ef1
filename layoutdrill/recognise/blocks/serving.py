"""Join a block with the gates that make more of it: registers that can be let go, serial adders, wider choosers."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, plain, replaced
from layoutdrill.recognise.blocks.rippling import BITS
from layoutdrill.recognise.heading import sized
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.terms import family
from layoutdrill.recognise.view import View

_LET_GO = ("tri-state inverter", "tri-state buffer")
_ROWS = ("register row",)


def join_serving(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with blocks and what stands round them joined."""
    result = structures
    for step in (_wider_choosers, _decoded_switches, _stored_shifts, _tristate_registers, _serial_adders):
        result = step(view, result)
    return result


def _wider_choosers(view: View, structures: list[Structure]) -> list[Structure]:
    """Join two multiplexers on the same selects, one enabled by a line and one by its opposite, that a gate adds up."""
    result = structures
    near = Neighbours.of(view, result)
    for end in [s for s in structures if plain(s.term) in ("OR", "NOR", "AND", "NAND")]:
        fronts = [near.driver(n) for n in end.nets(Role.INPUT)]
        halves = [f for f in fronts if f is not None and f.term.endswith("1 multiplexer") and f.parts]
        if len(halves) != len(fronts) or len(halves) != 2:
            continue
        first, second = ({near.root(n): view.root(n)[1] for n in _controls(f)} for f in halves)
        opposed = [n for n in first if n in second and first[n] != second[n]]
        if halves[0] is halves[1] or halves[0].term != halves[1].term or set(first) != set(second):
            continue
        reads = [{near.root(p.net) for p in f.ports if p.role is not Role.OUTPUT} for f in halves]
        size = len(reads[0] ^ reads[1])
        if len(opposed) != 1 or size != 2 * int(halves[0].term.split(":")[0]):
            continue
        parts = [*(p for f in halves for p in f.parts), end]
        parts += [s for s in near.readers.get(end.nets(Role.OUTPUT)[0], ()) if s.term == "inverter"]
        parts = list(dict.fromkeys((*parts, *near.feeders([*halves, *parts]))))
        whole = block(view, f"{size}:1 multiplexer", parts, f"passes one of {size} inputs")
        result = replaced(result, [*halves, *parts], whole)
        near = Neighbours.of(view, result)
    return result


def _controls(chooser: Structure) -> list[str]:
    """Return the nets that every first gate of a multiplexer of gates reads, itself or inverted."""
    shared: dict[str, int] = {}
    first = [p for p in chooser.parts if len(p.nets(Role.INPUT)) > 1]
    for p in first:
        for n in p.nets(Role.INPUT):
            shared[n] = shared.get(n, 0) + 1
    steady = [n for n, count in shared.items() if count > 1]
    return [n for n in steady if shared[n] == max(shared.values())] or steady


def _decoded_switches(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a decoder each of whose lines opens one switch to a net that these share: a multiplexer either way."""
    result = structures
    for decoder in [s for s in structures if family(s.term) == "decoder" and s.term != "decoder"]:
        near = Neighbours.of(view, result)
        lines = {near.root(n) for n in decoder.nets(Role.OUTPUT)}
        switches: list[Structure] = []
        used: set[str] = set()
        for s in result:
            on = {near.root(n) for n in s.nets(Role.ENABLE, Role.INPUT)}
            if s.term in ("transmission gate", "pass transistor") and len(s.nets(Role.SIGNAL)) == 2 and on <= lines:
                switches.append(s)
                used |= on
        ends = [set(s.nets(Role.SIGNAL)) for s in switches]
        shared = set.intersection(*ends) if ends else set()
        others = {n for e in ends for n in e - shared}
        readers = {r for n in decoder.nets(Role.OUTPUT) for r in near.readers.get(n, ()) if r not in switches}
        if len(shared) != 1 or used != lines or len(others) != len(switches) or len(switches) != len(lines):
            continue
        if any(r.term not in ("inverter", "buffer") for r in readers):
            continue
        (net,) = shared
        parts = list(dict.fromkeys((decoder, *switches, *readers, *near.feeders([decoder, *switches, *readers]))))
        words = f"joins one of {len(switches)} nets to {net}, either way"
        result = replaced(
            result, parts, block(view, f"{len(switches)}:1 multiplexer", parts, words, also=(decoder.term,))
        )
    return result


def _stored_shifts(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a shift register with a row of latches on controls of their own, each of which keeps one of its bits."""
    result = structures
    for shift in [s for s in structures if s.term == "shift register" or s.term.endswith("loadable shift register")]:
        near = Neighbours.of(view, result)
        shifted = [bit for bit in shift.parts if bit.term in BITS]
        made = {near.root(n): i for i, bit in enumerate(shifted) for n in bit.nets(Role.OUTPUT)}
        for row in [s for s in result if s.term in _ROWS or s.term.endswith("with tri-state outputs")]:
            bits = [b for b in row.parts if b.nets(Role.DATA)]
            kept = [made.get(near.root(b.nets(Role.DATA)[0])) for b in bits]
            if None in kept or len(set(kept)) != len(kept) or len(kept) != len(shifted):
                continue
            if shift.term != "shift register":
                result = _boundary(view, result, shift, row)
                break
            parts = [shift, row, *near.feeders([shift, row])]
            words = f"{len(kept)} bits in a row, and a latch that keeps each"
            result = replaced(result, parts, block(view, f"{len(kept)}-bit shift-and-store register", parts, words,
                                                   also=("shift register",)))  # fmt: skip
            break
    return result


def _boundary(view: View, structures: list[Structure], shift: Structure, row: Structure) -> list[Structure]:
    """
    Join a shift register that takes a word, the row that keeps it, and what chooses between the two for each pin.

    Each pin is either what comes in, or what is kept (IEEE Std 1149.1; from memory).
    """
    near = Neighbours.of(view, structures)
    kept = {near.root(n) for bit in row.parts for n in bit.nets(Role.OUTPUT)}
    taken = {near.root(p.net) for p in shift.ports if p.role is not Role.OUTPUT}
    chosen = [
        s for s in structures
        if family(s.term) in ("multiplexer", "inverting multiplexer")
        and (ins := {near.root(n) for n in s.nets(Role.INPUT)}) & kept and ins & taken
    ]  # fmt: skip
    parts = list(dict.fromkeys((shift, row, *chosen)))
    parts += [p for p in near.feeders(parts) if p not in parts]
    bits = len(row.parts)
    whole = len(chosen) == bits
    term = f"{bits}-bit boundary-scan register" if whole else f"{bits}-bit shift-and-store register"
    words = f"{bits} bits that take a word or are shifted through, and a row that keeps them"
    return replaced(structures, parts, block(view, term, parts, words, also=("shift register",)))


def _tristate_registers(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a register with the tri-state stages, all on one enable, through which alone its word leaves."""
    result = structures
    for row in [s for s in structures if s.term in _ROWS]:
        near = Neighbours.of(view, result)
        stages = []
        for bit in row.parts:
            readers = [r for n in bit.nets(Role.OUTPUT) for r in near.readers.get(n, ()) if r is not row]
            stages += [r for r in readers if r.term in _LET_GO]
        enables = {frozenset(near.root(n) for n in s.nets(Role.ENABLE)) for s in stages}
        if len(stages) != len(row.parts) or len(enables) != 1 or len(set(stages)) != len(stages):
            continue
        parts = [*row.parts, *stages, *near.feeders([row, *stages])]
        words = f"a word of {len(stages)} bits, let out while enabled"
        whole = block(view, f"{sized(row)} with tri-state outputs", parts, words, also=(row.term,))
        result = replaced(result, [row, *parts], whole)
    return result


def _serial_adders(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a full adder with the register bit that brings its carry back."""
    result = structures
    near = Neighbours.of(view, result)
    for adder in [s for s in structures if s.term == "full adder"]:
        taken = {near.root(n) for n in adder.nets(Role.INPUT)}
        for n in adder.nets(Role.OUTPUT)[1:2]:
            through = [r for r in near.readers.get(n, ()) if r.term in ("inverter", "buffer", "AND2", "NOR2", "NAND2")]
            reached = [n, *(m for r in through for m in r.nets(Role.OUTPUT))]
            bits = [r for m in reached for r in near.readers.get(m, ()) if r.term in BITS]
            back = [b for b in bits if {near.root(m) for m in b.nets(Role.OUTPUT)} & taken]
            if len(back) == 1:
                between = [r for r in through if set(r.nets(Role.OUTPUT)) & set(back[0].nets(Role.DATA))]
                parts = list(dict.fromkeys((adder, *back, *between, *near.feeders([adder, *back, *between]))))
                words = "adds two numbers bit by bit, the carry kept for the next"
                result = replaced(result, parts, block(view, "serial adder", parts, words))
                near = Neighbours.of(view, result)
                break
    return result
