"""Slips at switches: halves of transmission gates, two ways at once, holes among likes, switches of the other kind."""

from collections import Counter, defaultdict
from collections.abc import Iterator

from layoutdrill.netlist.model import Kind
from layoutdrill.reading.slips.cells import cell_slips
from layoutdrill.reading.slips.model import Scene, Slip, article
from layoutdrill.reading.slips.phases import phase_slips
from layoutdrill.reading.slips.reads import read_slips
from layoutdrill.recognise.view import Link, View
from layoutdrill.recognise.work import literal
from layoutdrill.simulate.effort import spend
from layoutdrill.simulate.expression import And

_STORES = ("latch", "register bit", "memory bit", "static RAM cell")
_CELLS = ("static RAM cell", "memory bit", "dynamic RAM cell", "cross-coupled inverters")


def switch_slips(scene: Scene) -> Iterator[Slip]:
    """Yield the slips that switches show."""
    yield from _halves(scene)
    yield from _two_ways(scene)
    yield from _contested(scene)
    yield from phase_slips(scene)
    yield from cell_slips(scene)
    yield from _holes(scene)
    yield from _forks(scene)
    yield from _kinds_on_lines(scene)
    yield from _unread_choices(scene)
    yield from _two_steps(scene)
    yield from read_slips(scene)


def _kind(view: View, link: Link) -> Kind:
    return view.prepared.switches[link.members[0]].kind


def _halves(scene: Scene) -> Iterator[Slip]:
    """Yield single switches in a circuit of transmission gates."""
    view = scene.view
    if view.one_kind is not None:
        return
    whole = [k for k in view.links if k.term == "transmission gate"]
    cells = scene.owners(*_CELLS)
    lone = [
        k for k in view.links
        if k.term == "pass transistor" and literal(k.when) and not any(n in cells for n in view.names(k.members))
    ]  # fmt: skip
    if len(whole) < 2:
        return
    done: set[Link] = set()
    beside: dict[tuple[str, str], list[Link]] = defaultdict(list)
    for k in lone:
        beside[k.ends].append(k)
    for k in lone:
        if k in done:
            continue
        mates = [o for o in beside[k.ends] if o is not k and o not in done]
        names = view.names(k.members)
        if mates:
            mate = mates[0]
            done |= {k, mate}
            yield _ill_matched(scene, k, mate)
    rest = [k for k in lone if k not in done]
    if len(rest) > max(2, len(whole) // 4):
        return
    for k in rest:
        near = [o for o in rest if o is not k and set(o.ends) & set(k.ends) and _kind(view, o) is not _kind(view, k)
                and view.rooted(o.when) == view.rooted(k.when)]  # fmt: skip
        names = view.names(k.members)
        other = Kind.P if _kind(view, k) is Kind.N else Kind.N
        if near:
            pair = (*names, *view.names(near[0].members))
            text = (
                f"{names[0]} joins {' and '.join(k.ends)}, {pair[-1]} joins {' and '.join(near[0].ends)}, on one select"
            )
            yield Slip("half a switch", text, pair, (*k.ends, *near[0].ends), "an end of one of them belongs elsewhere")
            continue
        text = (
            f"{names[0]} alone joins {' and '.join(k.ends)}; {len(whole)} other switches have an n and a p transistor"
        )
        gate = _opposite_of(view, k.controls[0])
        on = f" gated by {gate}" if gate else ""
        yield Slip("half a switch", text, names, k.ends, f"look for {article(other)} transistor{on} beside it")


def _opposite_of(view: View, net: str) -> str:
    """Return a net that carries the complement of another, "" where there is none."""
    root, straight = view.root(net)
    for other in (root, *view.roots):
        if view.root(other) == (root, not straight):
            return other
    return ""


def _ill_matched(scene: Scene, first: Link, second: Link) -> Slip:
    """Tell two single switches side by side: which gate is likely wrong, or which kind."""
    view = scene.view
    names = (*view.names(first.members), *view.names(second.members))
    ends = " and ".join(first.ends)
    if _kind(view, first) is _kind(view, second):
        kind = _kind(view, first)
        other = Kind.P if kind is Kind.N else Kind.N
        text = f"{names[0]} and {names[1]} join {ends}, both {kind}, on {first.controls[0]} and {second.controls[0]}"
        return Slip("half a switch", text, names, first.ends, f"one of them as {article(other)} transistor")
    offers = []
    others = Counter(n for k in view.links if k.term == "transmission gate" for n in k.controls)
    for mine, mate in ((first, second), (second, first)):
        gate = _opposite_of(view, mate.controls[0])
        if gate and gate != mine.controls[0]:
            words = f"{view.names(mine.members)[0]} with its gate on {gate} instead of {mine.controls[0]}"
            offers.append((-others[gate] - others[mate.controls[0]], words))
    gates = f"{first.controls[0]}, {second.controls[0]}"
    text = f"{names[0]} and {names[1]} join {ends} but do not open together: gates {gates}"
    return Slip("half a switch", text, names, first.ends, "; or ".join(w for _, w in sorted(offers)))


def _two_ways(scene: Scene) -> Iterator[Slip]:
    """Yield nets that two switches join, for one state of the controls, to nets that are driven apart."""
    view = scene.view
    for net, numbers in view.links_at.items():
        seen: dict[str, Link] = {}
        for k in numbers:
            link = view.links[k]
            if link.source == net or not link.source:
                continue
            when = view.rooted(link.when)
            key = " ".join(sorted(map(str, when.terms if isinstance(when, And) else (when,))))
            before = seen.setdefault(key, link)
            if before is link or before.source == link.source or not _apart(view, before.source, link.source):
                continue
            names = (*view.names(before.members), *view.names(link.members))
            control = " and ".join(dict.fromkeys((*before.controls[:1], *link.controls[:1])))
            text = f"{control} joins {net} to {before.source} and to {link.source} at once"
            free = [c for c in _controls_elsewhere(view, net, numbers) if c not in (*before.controls, *link.controls)]
            repair = f"one of them gated by {' or '.join(free[:3])}?" if free else "one of the gates belongs elsewhere"
            yield Slip("two ways at once", text, names, (net, before.source, link.source), repair)


def _contested(scene: Scene) -> Iterator[Slip]:
    """Yield nets that a stage drives at all times and that a switch joins to another such net, loops aside."""
    view = scene.view
    met: dict[str, tuple[list[str], list[str]]] = {}
    for link in view.links:
        a, b = link.ends
        if not (_static(view, a) and _static(view, b)) or view.root(a)[0] == view.root(b)[0]:
            continue
        for net, other in ((a, b), (b, a)):
            if not _loops(view, net):
                names, others = met.setdefault(net, ([], []))
                names += view.names(link.members)
                others.append(other)
    most = max((len(others) for _, others in met.values()), default=0)
    for net, (names, others) in met.items():
        if len(others) < most or any(n in met and len(met[n][1]) == most and n < net for n in others):
            continue
        driver = view.names(view.gates[net].members)
        by = ", ".join(driver[:4])
        text = f"{net} is driven at all times by {by}, and {names[0]} joins it to {others[0]}, driven too"
        yield Slip(
            "two ways at once", text, tuple(dict.fromkeys((*names, *driver))), (net, *others), "two nets taken for one?"
        )


def _static(view: View, net: str) -> bool:
    return net in view.gates and view.gates[net].kind == "static"


def _loops(view: View, net: str) -> bool:
    """Tell whether the stage of a net is held by its own output, through another stage or two switches."""
    for source in view.gates[net].inputs:
        if source in view.gates and net in view.gates[source].inputs:
            return True
        for k in view.links_at.get(source, ()):
            other = view.links[k].other(source)
            if other == net or (other in view.gates and net in view.gates[other].inputs):
                return True
    return False


def _apart(view: View, a: str, b: str) -> bool:
    """Tell whether two nets are sources of their own: steady stages, or ports that nothing inside drives."""
    ports = view.ports
    if all(n in view.gates and view.gates[n].inverter_of == o for n, o in ((a, b), (b, a))):
        return False  # the two sides of one cell
    return all(view.steady(n) or (n in ports and n not in view.gates) for n in (a, b)) and view.root(a) != view.root(b)


def _controls_elsewhere(view: View, net: str, numbers: list[int]) -> list[str]:
    """Return the controls by which the nets beside this one are joined, and this one is not."""
    sources = {view.links[k].source for k in numbers}
    mine = {c for k in numbers for c in view.links[k].controls}
    near = {k: None for source in sources for k in view.links_at.get(source, ())}
    spend(len(near))
    links = [view.links[k] for k in sorted(near)]
    others = [c for link in links if link.source in sources and link.sink != net for c in link.controls]
    return [c for c, _ in Counter(c for c in others if c not in mine).most_common()]


def _holes(scene: Scene) -> Iterator[Slip]:
    """Yield nets that lack a switch which all nets like them have: a hole in a crossbar or a row of multiplexers."""
    view = scene.view
    ways: dict[str, list[Link]] = defaultdict(list)
    cells = scene.owners(*_CELLS)
    for link in view.links:
        if literal(link.when) and not any(n in cells for n in view.names(link.members)):
            for net in (link.sink,) if link.source else link.ends:
                ways[net].append(link)
    sized = {net: len(links) for net, links in ways.items()}
    controls = {net: frozenset(str(view.rooted(k.when)) for k in links) for net, links in ways.items()}
    usual = Counter(c for c in controls.values() if len(c) > 2)
    for net, mine in controls.items():
        spend(len(usual))
        for wanted, count in usual.items():
            if (
                count >= 2
                and len(wanted - mine) == 1
                and mine < wanted
                and usual.get(mine, 0)
                <= (1 if all(k.source for k in ways[net]) else 2)  # a hole shows at both its nets
                and sized[net] == len(mine)
            ):
                lacks = next(iter(wanted - mine))
                spare = next((k for ls in ways.values() for k in ls if str(view.rooted(k.when)) == lacks), None)
                on = spare.controls[0] if spare else ""
                text = f"{net} has no switch on {on}, as {count} nets like it have"
                names = tuple(n for k in ways[net] for n in view.names(k.members))
                yield Slip(
                    "missing device", text, names, (net,), f"look for a transistor gated by {on} that ends on {net}"
                )
                break


def _forks(scene: Scene) -> Iterator[Slip]:
    """Yield the net that switches lead to on one level of a control alone, where all others have one for each level."""
    view = scene.view
    into: dict[str, list[Link]] = defaultdict(list)
    stores, by_charge = scene.owners(*_STORES), scene.owners("dynamic latch", "shift-register bit")
    for link in view.links:
        if link.source and literal(link.when) and not any(n in stores for n in view.names(link.members)):
            into[link.sink].append(link)
    whole: Counter[str] = Counter()
    odd: list[tuple[str, list[Link]]] = []
    for net, links in into.items():
        if net in view.gates or len(links) > 2:
            continue
        levels = [literal(view.rooted(k.when)) for k in links]
        roots = {level[0] for level in levels if level is not None}
        if len(links) == 2 and len(roots) == 1 and levels[0] != levels[1]:
            whole[next(iter(roots))] += 1
        elif len(roots) <= 2:
            odd.append((net, links))
    if len(odd) != 1 or whole.total() < LEAST_FORKS:
        return
    ((net, links),) = odd
    names = tuple(n for k in links for n in view.names(k.members))
    missing = [c for k in links if (c := _opposite_of(view, k.controls[0]))]
    idle = [c for c in missing if c not in view.controlled and c not in view.readers]
    if any(n in by_charge for n in names) and not idle:
        return  # a store of its own
    if len(links) == 1:
        on = f" gated by {missing[0]}" if missing else ""
        text = f"{net} is led to on {links[0].controls[0]} alone; {whole.total()} nets like it on either level"
        yield Slip("missing device", text, names, (net,), f"look for a switch{on} that ends on {net}")
    else:
        controls = " and ".join(dict.fromkeys(k.controls[0] for k in links))
        text = f"{net} is led to on {controls}; {whole.total()} nets like it on the two levels of one control"
        repair = f"one of them gated by {' or '.join(dict.fromkeys(missing))}?" if missing else ""
        yield Slip("two ways at once", text, names, (net,), repair)


LEAST_FORKS = 4
"""So many nets must be led to on either level of a control before one that is not is odd."""


LEAST_ON_A_LINE = 3


def _unread_choices(scene: Scene) -> Iterator[Slip]:
    """Yield nets to which one of two switches leads at a time, never both, and which nothing reads."""
    view = scene.view
    meant = scene.owners("ROM plane", "precharge", "bias stage")
    nodes = {n for e in view.netlist.elements for n in e.nodes}
    for link in view.links:
        plain = [c for t in link.when.terms if (c := literal(t)) is not None] if isinstance(link.when, And) else []
        rooted = [(*view.root(net), up) for net, up in plain]
        levels = [(root, straight == up) for root, straight, up in rooted]
        names = view.names(link.members)
        if len(levels) == len(names) == 2 and _opposed(view, *levels) and not any(n in meant for n in names):
            inner = set.intersection(*({*view.netlist.transistors[view.order[n]].ends} for n in names))
            text = f"{' and '.join(names)} lead to one net in turn, and nothing reads it"
            yield Slip("unread net", text, names, tuple(sorted(inner)), "what does it lead to?")
    for net, numbers in view.links_at.items():
        links = [view.links[k] for k in numbers]
        names = tuple(n for k in links for n in view.names(k.members))
        if net in view.ports or net in nodes or net in view.prepared.gated or net in view.gates or len(links) != 2:
            continue
        controls = [literal(view.rooted(k.when)) for k in links]
        apart = [_opposed(view, *(c for c in controls if c is not None))] if None not in controls else [False]
        if apart[0] and not any(n in meant for n in names):
            text = f"{' and '.join(names)} lead to {net} in turn, and nothing reads it"
            yield Slip("unread net", text, names, (net,), f"what does {net} lead to?")


def _opposed(view: View, first: tuple[str, bool], second: tuple[str, bool]) -> bool:
    """Tell whether two controls are never on at once: opposites, or the two sides of a cell."""
    (a, up), (b, other) = first, second
    if a == b:
        return up != other
    return up == other and any(x in view.gates and view.gates[x].inverter_of == y for x, y in ((a, b), (b, a)))


def _two_steps(scene: Scene) -> Iterator[Slip]:
    """Yield the control that opens two steps of a line that is charged, where each other opens one."""
    view = scene.view
    steps = [
        link for link in view.links
        if literal(link.when) and all(n in view.gates and view.gates[n].kind == "precharged" for n in link.ends)
    ]  # fmt: skip
    on = Counter(link.controls[0] for link in steps)
    twice = [net for net, count in on.items() if count > 1]
    if len(twice) != 1 or on[twice[0]] != 2 or len(on) < LEAST_STEPS:
        return
    names = tuple(n for k in steps if k.controls[0] == twice[0] for n in view.names(k.members))
    nets = tuple(dict.fromkeys(n for k in steps if k.controls[0] == twice[0] for n in k.ends))
    text = f"{twice[0]} opens two steps of a charged line, {' and '.join(names)}; {len(on) - 1} others one each"
    yield Slip("two ways at once", text, names, nets, "one of their gates belongs elsewhere")


LEAST_STEPS = 3


def _kinds_on_lines(scene: Scene) -> Iterator[Slip]:
    """Yield the single switch of one kind on a control that opens several of the other, none of them half of a pair."""
    view = scene.view
    if view.one_kind is not None:
        return
    lines: dict[str, list[Link]] = defaultdict(list)
    for link in view.links:
        if link.term == "pass transistor" and len(link.members) == len(link.controls) == 1:
            lines[link.controls[0]].append(link)
    paired = {n for k in view.links if k.term == "transmission gate" for n in k.controls}
    every = Counter(_kind(view, k) for links in lines.values() for k in links)
    for control, links in lines.items():
        kinds = Counter(_kind(view, k) for k in links)
        usual = every.most_common(1)[0][0]
        odd = [k for k in links if _kind(view, k) is not usual]
        alike = kinds[usual] if kinds[usual] >= LEAST_ON_A_LINE else every[usual] // 2
        if (
            len(odd) != 1
            or control in paired
            or alike < LEAST_ON_A_LINE
            or every[usual] < 4 * (every.total() - every[usual])
        ):
            continue
        (name,) = view.names(odd[0].members)[:1]
        own = _kind(view, odd[0])
        text = f"{name}, on {control}, is {article(own)} transistor; {every[usual]} switches like it are {usual}"
        yield Slip("other kind", text, (name,), odd[0].ends, f"{name} as {article(usual)} transistor")
