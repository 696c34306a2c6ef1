"""Name a netlist as one thing: by what its structures are to each other, or by the function of the whole."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.functions import Named, name_function, name_pair, words
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.outlines import name_outline
from layoutdrill.recognise.sequential import name_flip_flop, name_loop
from layoutdrill.recognise.terms import UNKNOWN, family
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import Expression, text
from layoutdrill.simulate.minimal import minimal
from layoutdrill.simulate.table import Table, table

SMALL = 80
"""Netlists to this many transistors are also named by the truth table of the whole."""
MOST_INPUTS = 9
STORES = (
    "register bit", "shift-register bit", "latch", "SR latch", "gated SR latch", "memory bit", "static RAM cell",
    "dynamic latch", "cross-coupled inverters",
)  # fmt: skip
KEEPING = ("register row", "shift register", "RAM array", "marker", "FIFO slice")
MOST_NAMED = 2
"""No function of more outputs than this has a name."""


def name_whole(
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
    if len(structures) == 1 and structures[0].term in (*STORES, *KEEPING):
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
    stores = [s for s in structures if s.term in STORES]
    if {s.term for s in structures} == {"tie cell"}:
        return "tie cell", (), [], ports
    shifters = [s for s in structures if s.term == "level shifter"]
    if not stores and len(shifters) == 1:
        return "level shifter", ("buffer",), [], ports
    if len(stores) == 1 and stores[0].term == "latch" and _gates_clock(view, stores[0], structures):
        return "clock gate", ("latch",), ["a latch and an AND with its clock"], ports
    if not stores:
        better = _by_function(view, structures, ports)
        if better is not None and better[0] != "tie cell":  # gates that settle at a constant make pulses on the way
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
    return any(s.term in (*STORES, *KEEPING) and s.term not in rows for s in structures)


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
    tabled = whole_table(view, ports)
    if tabled is None:
        return None
    names, seen = tabled
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
                if other and other.term != named.term:
                    notes.append(f"{' and '.join(tables)} are complements: {named.term} and {other.term}")
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
    if (
        inverters
        and len(address) == 1
        and len(inverters) == len(structures) - 1
        and output in address[0].nets(Role.OUTPUT)
    ):
        also += [address[0].term, "decoder column"]
    roles = dict.fromkeys(named.selects, Role.SELECT)
    better = tuple(Port(p.net, roles.get(p.net, p.role), p.complement_of) for p in ports)
    better = tuple(Port(p.net, Role.SELECT, p.complement_of) if p.complement_of in roles else p for p in better)
    also = [a for a in dict.fromkeys(also) if a != term]
    return term, tuple(also), [*notes, f"{output} = {text(named.form)}"], better


def _inverting(term: str) -> bool:
    """Tell whether a gate's last stage inverts, as its name says."""
    return term.rstrip("0123456789") in ("NAND", "NOR", "AOI", "OAI")
