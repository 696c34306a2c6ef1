"""Find decoders: gates that each answer another code of the same lines, complements shown or told by their use."""

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.functions import decoder_address
from layoutdrill.recognise.joining import joined, merge
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.pads import protections
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import And, Expression, Not, Or, Var, variables

_GATES = ("NAND", "NOR", "AND", "OR", "domino gate")
MOST_LINES = 8


def kind_of(term: str) -> str:
    """Return a term without the input counts at its end."""
    return term.rstrip("0123456789")


def form_of(view: View, s: Structure) -> tuple[str, Expression] | None:
    """Return the output net and the function of a structure of one gate, or of a gate and its inverter."""
    outputs = s.nets(Role.OUTPUT)
    charged = s.term == "domino gate"
    if len(outputs) != 1 or s.nets(Role.ENABLE, Role.SELECT) or bool(s.nets(Role.CLOCK)) is not charged:
        return None
    gate = view.gates.get(outputs[0])
    if gate is None or gate.kind not in ("static", "ratioed"):
        return None
    if not s.parts:
        return (outputs[0], gate.form)
    if len(s.parts) == 2 and gate.inverter_of is not None:
        first = view.gates.get(gate.inputs[0])
        if first is not None and first.kind in (("precharged",) if charged else ("static", "ratioed")):
            return (outputs[0], first.form.term if isinstance(first.form, Not) else Not(first.form))
    return None


def find_decoders(view: View, structures: list[Structure]) -> list[Structure]:
    """Put gates together that each answer another code of the same address lines."""
    gates = [(s, had[1]) for s in structures if kind_of(s.term) in _GATES and (had := form_of(view, s)) is not None]
    if len(gates) < 3:
        return structures
    pair_by_use(view, gates)
    columns: dict[tuple[str, ...], dict[tuple[int, ...], Structure]] = defaultdict(dict)
    for s, form in gates:
        rooted = view.rooted(form)
        names = tuple(sorted(variables(rooted), key=view.place.__getitem__))
        if not 2 <= len(names) <= MOST_LINES:
            continue
        code = decoder_address(rooted, names)
        if code is not None:
            columns[names].setdefault(code, s)
    result = structures
    for names, by_code in columns.items():
        if len(by_code) < 3:
            continue
        gate_by_code = _alike(by_code)
        if gate_by_code is None:
            continue
        whole = set(by_code.values()) - set(gate_by_code.values())
        if 2 * len(by_code) <= 2 ** len(_varying(by_code)) and _in_plane(view, names, gates):
            continue
        result = [part for s in result for part in (s.parts if s in whole else (s,))]
        merged = _decoder(view, result, names, gate_by_code)
        gone = set(gate_by_code.values()) | set(merged.parts)
        result = [s for s in result if s not in gone] + [merged]
    return result


def _alike(by_code: Mapping[tuple[int, ...], Structure]) -> Mapping[tuple[int, ...], Structure] | None:
    """
    Return the columns as gates of one kind, None where they are not.

    The one that reads no complement may have been taken together with its inverter, the others not.
    """
    if len({kind_of(s.term) for s in by_code.values()}) == 1:
        return by_code
    opened = {
        code: next((part for part in s.parts if kind_of(part.term) in ("NAND", "NOR")), s)
        for code, s in by_code.items()
    }
    return opened if len({kind_of(s.term) for s in opened.values()}) == 1 else None


def _decoder(
    view: View, structures: list[Structure], names: tuple[str, ...], by_code: Mapping[tuple[int, ...], Structure]
) -> Structure:
    parts = []
    weighed = {code: weigh(names, code) for code in by_code}
    for code, s in sorted(by_code.items(), key=lambda pair: [value for _, value in weighed[pair[0]]]):
        levels = " ".join(f"{net}={value}" for net, value in weighed[code])
        note = f"address {int(''.join(str(value) for _, value in weighed[code]), 2)}: {levels}"
        ports = tuple(Port(p.net, Role.ADDRESS if p.role is Role.INPUT else p.role, p.complement_of) for p in s.ports)
        parts.append(Structure("decoder column", s.transistors, ports, (s,), s.function, (note,), (s.term,)))
    inverters = own_inverters(view, structures, {p.net for s in parts for p in s.ports}, list(by_code.values()))
    made = {n for s in inverters for n in s.nets(Role.OUTPUT)}
    lines = sorted({n for s in parts for n in s.nets(Role.ADDRESS)} - made | set(names), key=view.place.__getitem__)
    ports_out = address_ports(view, lines)
    ports_out += [Port(n, Role.CLOCK) for s in parts for n in s.nets(Role.CLOCK)]
    ports_out += [Port(n, Role.OUTPUT) for s in parts for n in s.nets(Role.OUTPUT)]
    lines_read = len(_varying(by_code))
    size = f"{lines_read}-to-{len(parts)} decoder" if 2 * len(parts) > 2**lines_read else "decoder"
    return merge(view, size, [*parts, *inverters], ports_out, f"one line for each of {len(parts)} addresses")


def _varying(by_code: Mapping[tuple[int, ...], Structure]) -> list[int]:
    """Return the places of the lines that the addresses differ in; the others enable all columns alike."""
    return [i for i, values in enumerate(zip(*by_code, strict=True)) if len(set(values)) > 1]


def _in_plane(view: View, names: tuple[str, ...], gates: list[tuple[Structure, Expression]]) -> bool:
    """Tell whether gates of other lines read some of these lines too, as in the plane of a PLA."""
    lines = set(names)
    others = (set(variables(view.rooted(form))) for _, form in gates)
    return any(read & lines and read != lines for read in others)


def weigh(names: Sequence[str], code: Sequence[int]) -> list[tuple[str, int]]:
    """
    Return the address lines and their values, the line that counts most first.

    Lines whose names are numbered count by their numbers, as in `a2 a1 a0` (common practice); others in their order.
    """
    pairs = list(zip(names, code, strict=True))
    read = [re.fullmatch(r"(.*?)([0-9]+)(\D*)", name) for name in names]
    numbered = [match for match in read if match]
    if len(numbered) == len(names) and len({(match[1], match[3]) for match in numbered}) == 1:
        number = {match[0]: int(match[2]) for match in numbered}
        pairs.sort(key=lambda pair: -number[pair[0]])
    return pairs


def address_ports(view: View, lines: list[str]) -> list[Port]:
    """Return address lines as ports, those after their opposite as its complement."""
    ports: dict[str, Port] = {}
    for net in lines:
        root, straight = view.root(net)
        other = root if not straight and root in ports else None
        ports[net] = Port(net, Role.ADDRESS, other)
    return list(ports.values())


def pair_by_use(view: View, gates: list[tuple[Structure, Expression]]) -> None:
    """
    Take lines for complements where gates of n inputs use them so: each gate has one of every pair, and no two alike.

    Asked for are more than half of the 2ⁿ gates, so that only one pairing fits; of two pairs all four gates, on ports
    alone, since products of two words look the same.
    """
    groups: dict[tuple[str, int], list[Structure]] = defaultdict(list)
    lines: dict[Structure, frozenset[str]] = {}
    for s, form in gates:
        read = _plain_lines(view.rooted(form))
        if read is not None:
            lines[s] = read
            groups[kind_of(s.term), len(read)].append(s)
    pairs: list[tuple[str, str]] = []
    for (_, count), alike in groups.items():
        for group in joined(alike, lambda s: lines[s]):
            mates = _pairs([lines[s] for s in group], count)
            if count == 2 and not all(_open(view, s, lines[s]) for s in group):
                continue
            pairs += mates
    for first, second in pairs:
        a, b = sorted((first, second), key=view.place.__getitem__)
        take_as_complements(view, a, b)


def take_as_complements(view: View, a: str, b: str) -> None:
    """Note that b is taken to be the complement of a, and all that follows b with it."""
    for net, (root, straight) in list(view.roots.items()):
        if root == b:
            view.roots[net] = (a, not straight)
    view.roots[b] = (a, False)
    view.assumed.append((a, b))


def _plain_lines(form: Expression) -> frozenset[str] | None:
    """Return the lines of a NAND, NOR, AND or OR that takes none of them inverted."""
    core = form.term if isinstance(form, Not) else form
    if isinstance(core, (And, Or)) and 2 <= len(core.terms) <= MOST_LINES:
        names = [t.name for t in core.terms if isinstance(t, Var)]
        return frozenset(names) if len(names) == len(core.terms) == len(set(names)) else None
    return None


def _pairs(groups: list[frozenset[str]], count: int) -> list[tuple[str, str]]:
    """Return the pairs of lines of which every gate has one, or none where some line has no partner."""
    if len(groups) != len(set(groups)) or not 1 << count - 1 < len(groups) <= 1 << count:
        return []
    if count == 2 and len(groups) < 4:
        return []
    use: dict[str, int] = defaultdict(int)
    for i, lines in enumerate(groups):
        for net in lines:
            use[net] |= 1 << i
    full = (1 << len(groups)) - 1
    by_use = {mask: net for net, mask in use.items()}
    if len(use) != 2 * count or len(by_use) != len(use):
        return []
    if any(full ^ mask not in by_use for mask in by_use):
        return []
    return [(net, by_use[full ^ mask]) for mask, net in by_use.items() if mask & 1]


def _open(view: View, s: Structure, lines: frozenset[str]) -> bool:
    """Tell whether a gate stands between ports."""
    ports = view.ports
    return all(n in ports for n in (*lines, *s.nets(Role.OUTPUT))) and not any(
        view.readers.get(n) for n in s.nets(Role.OUTPUT)
    )


def own_inverters(view: View, structures: list[Structure], inputs: set[str], users: list[Structure]) -> list[Structure]:
    """Return the inverters and buffers that feed only the given structures, less those behind a protected pad."""
    pads = {n for s in protections(view) for n in s.nets(Role.INPUT)}
    single = [s for s in structures if s.term in ("inverter", "buffer")]
    pads |= {n for s in single if pads & set(s.nets(Role.INPUT)) for n in s.nets(Role.OUTPUT) if s.term == "inverter"}
    inside = {p.net for s in users for p in s.ports if p.role is Role.OUTPUT}
    inside |= {part.nets(Role.OUTPUT)[0] for s in users for part in s.parts if part.nets(Role.OUTPUT)}
    own: list[Structure] = []
    for s in single:
        if not set(s.nets(Role.OUTPUT)) <= inputs or pads & set(s.nets(Role.INPUT)):
            continue
        net = s.nets(Role.OUTPUT)[0]
        readers = set(view.readers.get(net, ()))
        if readers <= inside | {n for o in own for n in o.nets(Role.OUTPUT)} and net not in view.ports:
            own.append(s)
    return own
