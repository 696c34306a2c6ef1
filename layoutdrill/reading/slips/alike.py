"""Slips that show against likes: a line of a decoder, a transistor written twice, the one of another kind."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from itertools import product

from layoutdrill.netlist.model import Kind
from layoutdrill.netlist.roles import Role
from layoutdrill.reading.slips.model import Scene, Slip, article
from layoutdrill.reading.slips.repairs import suggest
from layoutdrill.recognise.decoders import MOST_LINES, weigh
from layoutdrill.recognise.functions import decoder_address
from layoutdrill.recognise.switches import Switch
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import And, Const, Expression, Not, Or, truth, variables
from layoutdrill.simulate.supplies import Supplies

FEW = 0.04
"""A kind of which there are so few among the transistors is the exception."""


def alike_slips(scene: Scene) -> Iterator[Slip]:
    """Yield the slips that show against likes."""
    if view_of_both(scene):
        yield from mixed_stacks(scene)
    yield from _addresses(scene)
    yield from _words_twice(scene)
    if not scene.drawn:
        yield from _twice(scene)


def view_of_both(scene: Scene) -> bool:
    """Tell whether the circuit has transistors of both kinds."""
    return len({t.kind for t in scene.view.netlist.transistors}) == 2


def _told(names: Sequence[str], code: Sequence[int]) -> str:
    return " ".join(f"{net}={value}" for net, value in weigh(names, code))


def _lines(view: View) -> dict[tuple[str, ...], dict[str, Expression]]:
    """Return gates that are products of the same lines, by the lines: the function of each over its roots."""
    lines: dict[tuple[str, ...], dict[str, Expression]] = defaultdict(dict)
    for net, gate in view.gates.items():
        if gate.kind in ("static", "ratioed", "precharged", "clocked") and 2 <= len(gate.inputs) <= MOST_LINES:
            form = view.rooted(gate.form)
            core = form.term if isinstance(form, Not) else form
            if isinstance(core, (And, Or)) and all(not isinstance(t, (And, Or)) for t in core.terms):
                read = tuple(sorted(variables(form), key=view.place.__getitem__))
                lines[(gate.term, *read)][net] = form
    return lines


def _addresses(scene: Scene) -> Iterator[Slip]:
    """Yield lines of a decoder that share an address, or answer several or none."""
    view = scene.view
    lines = _lines(view)
    for (term, *names), forms in lines.items():
        if len(forms) < 3:
            continue
        codes: dict[tuple[int, ...], list[str]] = defaultdict(list)
        for net, form in forms.items():
            code = decoder_address(form, tuple(names))
            if code is not None:
                codes[code].append(net)
        if len(codes) < 3 or len(codes) < 0.6 * len(forms):
            continue
        whole = [c for c in product((0, 1), repeat=len(names)) if c not in codes]
        if _is_decoder(names, codes):
            yield from _shared_codes(view, names, codes, whole)
            yield from _short_lines(view, term, names, codes)


def _is_decoder(names: Sequence[str], codes: dict[tuple[int, ...], list[str]]) -> bool:
    """Tell whether products make a decoder: more than half of the addresses, or every line of several used each way."""
    told_apart = [i for i in range(len(names)) if len({code[i] for code in codes}) == 2]
    size = 1 << len(names)
    if 2 * len(codes) > 1 << len(told_apart):  # what all lines read alike lets them answer at all
        return True
    return len(codes) >= 4 and all(len({code[i] for code in codes}) == 2 for i in range(len(names))) and size <= 16


def _shared_codes(
    view: View, names: Sequence[str], codes: dict[tuple[int, ...], list[str]], missing: list[tuple[int, ...]]
) -> Iterator[Slip]:
    """
    Yield lines of one address, those one transistor away from an address that nothing answers where there are any.

    Where each address is answered a second line is logic that reads the same inputs, beside the decoder.
    """
    shared = [code for code, nets in codes.items() if len(nets) > 1]
    near = {c: [m for m in missing if sum(a != b for a, b in zip(c, m, strict=True)) == 1] for c in shared}
    for code in (c for c in shared if near[c] or not any(near.values())):
        nets = codes[code]
        if len(shared) > 2 or not missing:
            continue
        text = f"{' and '.join(nets)} both answer {_told(names, code)}"
        gaps = [_told(names, c) for c in near[code]]
        if gaps:
            text += f", and nothing answers {' or '.join(gaps)}"
        members = [i for net in nets for i in view.gates[net].members]
        repair = f"one transistor of {' or '.join(nets)} is on the wrong address line"
        yield Slip("same address", text, view.names(members), tuple(nets), repair)


def _short_lines(
    view: View,
    term: str,
    names: Sequence[str],
    codes: dict[tuple[int, ...], list[str]],
) -> Iterator[Slip]:
    """Yield products that lack one of a decoder's lines, or read one both ways."""
    for net, gate in view.gates.items():
        if gate.kind not in ("static", "ratioed", "precharged", "clocked") or gate.term[:3] != term[:3]:
            continue
        form = view.rooted(gate.form)
        read = {view.root(i)[0] for i in gate.inputs}
        if len(gate.inputs) == len(names) and read < set(names):
            text = f"{net} reads {', '.join(gate.inputs)}: a line and its complement, so it answers no address"
            yield Slip("no address", text, view.names(gate.members), (net,), "one of its gates is on the wrong line")
        elif len(read) == len(names) - 1 and read < set(names) and len(names) > 2:
            (lacks,) = set(names) - read
            shared = [c for c in codes if _agrees(form, names, c)]
            if shared and len(shared) < 2 and len(codes) + 1 >= 1 << len(names) - 1:
                text = f"{net} does not read {lacks}, as {sum(map(len, codes.values()))} lines like it do"
                yield Slip(
                    "no address", text, view.names(gate.members), (net,), f"look for a transistor gated by {lacks}"
                )


def _agrees(form: Expression, names: Sequence[str], code: Sequence[int]) -> bool:
    """Tell whether a product that lacks a line answers this address as well."""
    if isinstance(form, Const):
        return False
    ones = truth(form, tuple(names))
    row = int("".join(map(str, code)), 2)
    full = (1 << (1 << len(names))) - 1
    fewer = ones if ones.bit_count() * 2 < 1 << len(names) else full ^ ones
    return bool(fewer >> row & 1)


def _words_twice(scene: Scene) -> Iterator[Slip]:
    """Yield a line of a plane of stacks that has one word twice in its stack."""
    view = scene.view
    planes = [s for s in scene.recognition.all() if s.term == "ROM plane"]
    lines = {n for s in planes for n in s.nets(Role.OUTPUT)}
    lines = {n for n in lines & set(view.gates) if view.gates[n].term.startswith("NAND")}
    for net in sorted(lines, key=view.place.__getitem__):
        stacked = [view.prepared.switches[i] for i in view.gates[net].members if view.prepared.switches[i].names]
        uses = Counter(s.gate for s in stacked if s.gate not in scene.supplies.nets and s.gate != net)
        for word, count in uses.items():
            mine = [s for s in stacked if s.gate == word]
            if count == 2:
                names = tuple(n for s in mine for n in s.names)
                text = f"{net} reads {word} twice, by {' and '.join(names)}"
                yield Slip("written twice", text, names, (net, word), "one of them belongs to another word")


def _twice(scene: Scene) -> Iterator[Slip]:
    """Yield transistors that stand twice, where nearly all stand once and none of their stage stands twice."""
    view = scene.view
    doubled = [s for s in view.prepared.switches if len(s.names) > 1]
    if not doubled or len(doubled) > max(1, len(view.prepared.switches) // 12):
        return
    sizes = {t.name: (t.length, t.width) for t in view.netlist.transistors}
    for s in doubled:
        if len({sizes[n] for n in s.names}) > 1:
            continue
        beside = [
            view.prepared.switches[i] for e in s.ends if e not in scene.supplies.nets for i in view.prepared.at[e]
        ]
        if any(len(o.names) > 1 and o is not s for o in beside) or not beside or len(view.prepared.switches) < 4:
            continue
        if s.ends[0] in scene.supplies.nets and s.ends[1] in scene.supplies.nets:
            continue
        text = f"{' and '.join(s.names)} are the same transistor: gate {s.gate}, ends {' and '.join(s.ends)}"
        yield Slip("written twice", text, s.names, s.ends, "drop one, unless it is drawn in two fingers")


def mixed_stacks(scene: Scene) -> Iterator[Slip]:
    """Yield a transistor of one kind in a stack of the other."""
    view = scene.view
    rails = scene.supplies
    switches = view.prepared.switches
    both = {i for link in view.links if link.term == "transmission gate" for i in link.members}
    seen: set[int] = set()
    for net, around in view.prepared.at.items():
        if net in rails.nets or net in view.prepared.gated or net in view.ports or len(around) < 2:
            continue
        kinds = Counter(switches[i].kind for i in around)
        if len(kinds) < 2 or both & set(around) or any(switches[i].depletion for i in around):
            continue
        told = False
        for i in around:
            s = switches[i]
            usual = Kind.P if s.kind is Kind.N else Kind.N
            if _reaches(view, s.other(net), i, s.kind, rails.high if s.kind is Kind.P else rails.low):
                continue  # its own kind leads on from it to their rail: both meet at an output
            if kinds[s.kind] != 1 or i in seen or (len(around) == 2 and not _leads(view, net, i, usual, rails)):
                continue
            seen.add(i)
            told = True
            text = f"{s.names[0]} is {article(s.kind)} transistor in a stack of {usual} transistors, at {net}"
            yield Slip("other kind", text, s.names, (net,), f"{s.names[0]} as {article(usual)} transistor")
        if not told and len(around) == 2 and scene.search:
            known = {name for i in seen for name in switches[i].names}
            yield from (
                s for s in _turned(scene, net, [switches[i] for i in around]) if known.isdisjoint(s.transistors)
            )


def _turned(scene: Scene, net: str, around: Sequence[Switch]) -> Iterator[Slip]:
    """Yield one of two transistors of both kinds at an inner net, where a stage is whole if it is of the other kind."""
    for output in dict.fromkeys(s.other(net) for s in around):
        if output in scene.supplies.nets:
            continue
        names = [name for s in around for name in s.names]
        if not suggest(scene.view.netlist, scene.supplies, output, static=True, turned=names):
            continue  # by two changes one sees that none of hundreds is that one
        for name, words, term in suggest(scene.view.netlist, scene.supplies, output, static=True):
            for s in around:
                if name in s.names and words.endswith(f"{name} as {article(other_of(s.kind))} transistor"):
                    text = f"{name} is {article(s.kind)} transistor in a stack of {other_of(s.kind)}, at {net}"
                    repair = f"{name} as {article(other_of(s.kind))} transistor (then {output} is {term})"
                    yield Slip("other kind", text, s.names, (net,), repair)
                    return


def other_of(kind: Kind) -> Kind:
    return Kind.P if kind is Kind.N else Kind.N


def _leads(view: View, net: str, number: int, usual: Kind, rails: Supplies) -> bool:
    """Tell whether the other transistor at a net is of a stack that leads to its own rail, or this one ends on that."""
    own = rails.low if usual is Kind.N else rails.high
    s = view.prepared.switches[number]
    if set(s.ends) & own:
        return True
    return _reaches(view, net, number, usual, own)


def _reaches(view: View, start: str, number: int, kind: Kind, own: frozenset[str]) -> bool:
    """Tell whether transistors of one kind, but for one, lead from a net to a rail through inner nets."""
    if start in own:
        return True
    seen, front = {start}, [start]
    for here in front:
        for i in view.prepared.at.get(here, ()):
            o = view.prepared.switches[i]
            if i == number or o.kind is not kind:
                continue
            other = o.other(here)
            if other in own:
                return True
            if other not in seen and other not in view.prepared.gated and other not in view.ports:
                seen.add(other)
                front.append(other)
    return False


def other_kind(scene: Scene) -> Iterator[Slip]:
    """Yield transistors of a kind of which there is next to none."""
    ts = scene.view.netlist.transistors
    counts = Counter(t.kind for t in ts)
    if len(counts) < 2 or len(ts) < 6:
        return
    rare = min(Kind, key=lambda k: counts[k])
    most = len(ts) - counts[rare]
    if counts[rare] > max(1, FEW * len(ts)) or most < 5 * counts[rare]:
        return
    usual = Kind.P if rare is Kind.N else Kind.N
    for t in ts:
        if t.kind is rare:
            text = f"{t.name} is one of {counts[rare]} {rare} transistors among {most} {usual}"
            repair = f"{t.name} as {'an' if usual is Kind.N else 'a'} {usual} transistor"
            yield Slip("other kind", text, (t.name,), (t.gate, *t.ends), repair)
