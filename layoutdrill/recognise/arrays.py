"""Gather structures that repeat into arrays: RAM, register rows, shift registers, decoders, ROM and PLA planes."""

from collections import defaultdict
from collections.abc import Iterable

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.decoders import find_decoders, own_inverters
from layoutdrill.recognise.fifo import find_markers, find_slices
from layoutdrill.recognise.joining import joined, merge
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import And, Not, Or, Var

_CELLS = ("static RAM cell", "memory bit", "dynamic RAM cell")
_BITS = ("register bit", "latch", "memory bit", "dynamic latch", "shift-register bit")
_CONTROLS = (Role.CLOCK, Role.ENABLE, Role.WORD_LINE)


def gather(view: View, structures: Iterable[Structure]) -> list[Structure]:
    """Return the structures with those that form arrays put together."""
    result = list(structures)
    for step in (find_markers, _ram_arrays, _shift_registers, _rows, find_decoders, _planes, find_slices):
        result = step(view, result)
    return result


def _outer_ports(parts: list[Structure]) -> list[Port]:
    """Return the ports of the parts, without the nets that one part drives and only others of them read."""
    driven = {p.net for part in parts for p in part.ports if p.role is Role.OUTPUT}
    read = {p.net for part in parts for p in part.ports if p.role not in (Role.OUTPUT, Role.BIT_LINE, Role.WORD_LINE)}
    return [
        p for part in parts for p in part.ports if not (p.net in driven and p.net in read and p.role is not Role.OUTPUT)
    ]


def _ram_arrays(view: View, structures: list[Structure]) -> list[Structure]:
    cells = [s for s in structures if s.term in _CELLS and s.nets(Role.WORD_LINE) and s.nets(Role.BIT_LINE)]
    groups = joined(cells, lambda s: s.nets(Role.BIT_LINE, Role.WORD_LINE))
    taken = set(cells)
    result = [s for s in structures if s not in taken]
    for group in groups:
        if len(group) < 2:
            result.extend(group)
            continue
        words = list(dict.fromkeys(n for s in group for n in s.nets(Role.WORD_LINE)))
        lines = list(dict.fromkeys(p for s in group for p in s.ports if p.role is Role.BIT_LINE))
        bits = len({p.net for p in lines if p.complement_of is None})
        ports = [Port(n, Role.WORD_LINE) for n in words] + lines
        result.append(merge(view, "RAM array", group, ports, f"{len(words)} word lines, {bits} bits to a word"))
    return result


def _shift_registers(view: View, structures: list[Structure]) -> list[Structure]:
    """Chain register and shift-register bits whose data is the output of the one before, on the same clocks."""
    bits = [s for s in structures if s.term in ("register bit", "shift-register bit")]
    by_output = {net: s for s in bits for net in s.nets(Role.OUTPUT)}
    after: dict[Structure, Structure] = {}
    has_before: set[Structure] = set()
    for s in bits:
        data = s.nets(Role.DATA)
        before = by_output.get(data[0]) if len(data) == 1 else None
        if before is not None and before is not s and _control_key(before) == _control_key(s) and before not in after:
            after[before] = s
            has_before.add(s)
    result = [s for s in structures if s not in after and s not in has_before]
    done: set[Structure] = set()
    for s in bits:
        if s in has_before or s not in after:
            continue
        chain = [s]
        done.add(s)
        while (follower := after.get(chain[-1])) is not None and follower not in done:
            chain.append(follower)
            done.add(follower)
        ports = [p for c in chain for p in c.ports if p.role is not Role.DATA or c is chain[0]]
        result.append(merge(view, "shift register", chain, ports, f"{len(chain)} bits in a row"))
    result.extend(s for s in bits if s not in done and (s in after or s in has_before))
    return result


def _control_key(s: Structure) -> frozenset[str]:
    return frozenset(s.nets(*_CONTROLS))


def _rows(view: View, structures: list[Structure]) -> list[Structure]:
    """Put bits of one term on the same clocks or enables together."""
    rows: dict[tuple[str, frozenset[str]], list[Structure]] = defaultdict(list)
    for s in structures:
        if s.term in _BITS and _control_key(s):
            rows[s.term, _control_key(s)].append(s)
    result = [s for s in structures if not (s.term in _BITS and len(rows.get((s.term, _control_key(s)), ())) > 1)]
    for (term, _), group in rows.items():
        if len(group) > 1:
            ports = _outer_ports(group)
            result.append(merge(view, "register row", group, ports, f"{len(group)} × {term} on the same controls"))
    return result


def _nor_terms(view: View, s: Structure) -> tuple[str, ...] | None:
    """Return the input nets of a plain NOR of ratioed or precharged logic, or None."""
    if len(s.nets(Role.OUTPUT)) != 1 or (s.parts and s.term.rstrip("0123456789") not in ("OR", "AND")):
        return None
    gate = view.gates.get(s.nets(Role.OUTPUT)[0])
    if s.parts and gate is not None and gate.inverter_of is not None:
        gate = view.gates.get(gate.inverter_of)  # a column and its output inverter
    if gate is None or gate.kind not in ("ratioed", "precharged", "clocked"):
        return None
    form = gate.form.term if isinstance(gate.form, Not) else gate.form
    if isinstance(form, (Or, And)) and all(isinstance(t, (Var, Not)) for t in form.terms):
        return gate.inputs
    return None


def _planes(view: View, structures: list[Structure]) -> list[Structure]:
    """Find ratioed planes: lines that cross many columns; two planes, one feeding the other, are a PLA."""
    rows = [(s, terms) for s in structures if (terms := _nor_terms(view, s)) is not None]
    if len(rows) < 2:
        return structures
    terms_of = dict(rows)
    shared = joined([s for s, _ in rows], lambda s: terms_of[s])
    made = {n for s, _ in rows for n in s.nets(Role.OUTPUT)}
    planes = [g for g in shared if len(g) >= 2 and _crosses(g, terms_of, made)]
    result = structures
    built: list[Structure] = []
    for group in planes:
        lines = list(dict.fromkeys(n for s in group for n in terms_of[s]))
        outputs = [n for s in group for n in s.nets(Role.OUTPUT)]
        if set(lines) & set(outputs):
            continue
        ports = [Port(n, Role.WORD_LINE) for n in lines] + [Port(n, Role.OUTPUT) for n in outputs]
        count = sum(len(terms_of[s]) for s in group)
        function = f"{len(lines)} lines across {len(outputs)} columns, {count} crosspoints with a transistor"
        spare = _unjoined(view, structures, lines)
        if len(spare) + count == len(lines) * len(outputs) and len(spare) > 1:
            words = f"{count} of {count + len(spare)} transistors joined to their column"
            function = f"{len(lines)} lines across {len(outputs)} columns, {words}"
        else:
            spare = []
        built.append(merge(view, "ROM plane", [*group, *spare], ports, function))
    for plane in tuple(built):
        sums = _sums(view, structures, terms_of, plane)
        within = [other for other in built if set(other.parts) <= set(sums)]
        if sums and not any(set(sums) & set(other.parts) for other in built if other not in within):
            lines = list(plane.nets(Role.OUTPUT))
            outputs = [n for s in sums for n in s.nets(Role.OUTPUT)]
            ports = [Port(n, Role.WORD_LINE) for n in lines] + [Port(n, Role.OUTPUT) for n in outputs]
            count = sum(len(terms_of.get(s, s.nets(Role.INPUT))) for s in sums)
            function = f"{len(lines)} lines across {len(outputs)} columns, {count} crosspoints with a transistor"
            whole = merge(view, "ROM plane", sums, ports, function)
            built = [*(other for other in built if other not in within), whole]
    built = [_with_lone_columns(view, plane, built, rows) for plane in built]
    gone = {s for plane in built for s in plane.parts}
    result = [s for s in result if s not in gone] + built
    return _pla(view, result, built)


def _with_lone_columns(
    view: View, plane: Structure, planes: list[Structure], rows: list[tuple[Structure, tuple[str, ...]]]
) -> Structure:
    """
    Return a plane with the columns that share no line with its others, where another plane reads them beside these.

    They are made as the others are: of one kind of stage, and charged by the same net.
    """
    outs = set(plane.nets(Role.OUTPUT))
    inside = {part for other in planes for part in other.parts}
    sort = {(s.term.rstrip("0123456789"), s.nets(Role.CLOCK)) for s in plane.parts}
    for second in planes:
        read = set(second.nets(Role.WORD_LINE))
        if second is plane or not outs & read:
            continue
        lone = [(s, terms) for s, terms in rows if s not in inside and s.nets(Role.OUTPUT)[0] in read]
        spare = [(s, terms) for s, terms in lone if (s.term.rstrip("0123456789"), s.nets(Role.CLOCK)) in sort]
        if spare and outs | {n for s, _ in spare for n in s.nets(Role.OUTPUT)} >= read:
            lines = list(dict.fromkeys((*plane.nets(Role.WORD_LINE), *(n for _, terms in spare for n in terms))))
            outputs = [*plane.nets(Role.OUTPUT), *(n for s, _ in spare for n in s.nets(Role.OUTPUT))]
            ports = [Port(n, Role.WORD_LINE) for n in lines] + [Port(n, Role.OUTPUT) for n in outputs]
            count = sum(len(terms) for s, terms in rows if s in plane.parts or any(s is o for o, _ in spare))
            words = f"{len(lines)} lines across {len(outputs)} columns, {count} crosspoints with a transistor"
            return merge(view, "ROM plane", [*plane.parts, *(s for s, _ in spare)], ports, words)
    return plane


def _unjoined(view: View, structures: list[Structure], lines: list[str]) -> list[Structure]:
    """Return single transistors on these lines that lead from a supply to nothing: what left them off is not etched."""
    return [
        s
        for s in structures
        if len(s.transistors) == 1
        and s.term in ("pull-down", "pull-up")
        and set(s.nets(Role.INPUT)) <= set(lines)
        and all(view.touching[net] == list(s.transistors) and net not in view.ports for net in s.nets(Role.OUTPUT))
    ]


def _sums(
    view: View, structures: list[Structure], terms_of: dict[Structure, tuple[str, ...]], plane: Structure
) -> list[Structure]:
    """Return two lines or more that between them read every column of a plane, and nothing else."""
    products = set(plane.nets(Role.OUTPUT))
    if len(products) < 4:
        return []
    sums = [s for s, terms in terms_of.items() if set(terms) <= products]
    for s in structures:
        gate = view.gates.get(s.nets(Role.OUTPUT)[0]) if s.term == "inverter" and s.nets(Role.OUTPUT) else None
        if gate is not None and gate.kind == "ratioed" and set(gate.inputs) <= products:
            sums.append(s)
    read = [n for s in sums for n in terms_of.get(s, s.nets(Role.INPUT))]
    return sums if len(sums) > 1 and set(read) == products else []


def _crosses(group: list[Structure], lines: dict[Structure, tuple[str, ...]], made: set[str]) -> bool:
    """
    Tell whether columns share lines as planes do: each column several lines, or lines that several columns use.

    A line that three columns or more have, each beside one of its own, is their enable, and they are no plane; nor are
    two columns with one line in common, unless other columns (`made`) make their lines.
    """
    uses: dict[str, int] = defaultdict(int)
    for s in group:
        for net in lines[s]:
            uses[net] += 1
    own = sum(count == 1 for count in uses.values())
    if len(group) == 2 and len(uses) - own < 2 and not made.issuperset(uses):
        return False
    if len(group) > 2 and own == len(group) == sum(count < len(group) for count in uses.values()):
        return False
    return len(group) * len(uses) >= 6 and sum(uses.values()) > max(len(uses), len(group))


def _pla(view: View, structures: list[Structure], planes: list[Structure]) -> list[Structure]:
    result = structures
    for first in planes:
        for second in planes:
            if first is second or first not in result or second not in result:
                continue
            products = set(first.nets(Role.OUTPUT))
            if not set(second.nets(Role.WORD_LINE)) <= products:
                continue
            ands = Structure("AND plane", first.transistors, _as_inputs(first), first.parts, first.function)
            ors = Structure("OR plane", second.transistors, _as_inputs(second), second.parts, second.function)
            users = [*first.parts, *second.parts]
            inputs = set(first.nets(Role.WORD_LINE))
            inverters = own_inverters(view, result, inputs, users)
            sources = list(dict.fromkeys(view.root(n)[0] for n in first.nets(Role.WORD_LINE)))
            bare = {n for s in second.parts if not s.parts for n in s.nets(Role.OUTPUT)}
            after = [s for s in result if s.term == "inverter" and set(s.nets(Role.INPUT)) <= bare]
            outputs = [n for n in second.nets(Role.OUTPUT) if not any(n in s.nets(Role.INPUT) for s in after)]
            outputs += [n for s in after for n in s.nets(Role.OUTPUT)]
            ports = [Port(n, Role.INPUT) for n in sources] + [Port(n, Role.OUTPUT) for n in outputs]
            function = f"{len(products)} products of {len(sources)} inputs, {len(outputs)} sums"
            merged = merge(view, "PLA", [ands, ors, *inverters, *after], ports, function)
            gone = {first, second, *inverters, *after}
            result = [s for s in result if s not in gone] + [merged]
    return result


def _as_inputs(plane: Structure) -> tuple[Port, ...]:
    return tuple(Port(p.net, Role.INPUT if p.role is Role.WORD_LINE else p.role) for p in plane.ports)
