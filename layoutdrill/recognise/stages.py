"""Split a circuit into stages that pull a net to a rail, and passes that join two signals."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import field

from layoutdrill.netlist.model import Kind
from layoutdrill.recognise.paths import Edge, conduction, parallel, shape_key
from layoutdrill.recognise.switches import Prepared, Switch, Way
from layoutdrill.simulate.effort import OutOfEffortError, leave, part
from layoutdrill.simulate.expression import Const, Expression, Or
from layoutdrill.value import mutable

MOST_WORK = 120_000
"""Units of work for when one net is joined to another: a gate of forty transistors takes some hundreds."""
MOST_TOLD = 4


@mutable
class Stage:
    """
    What pulls one net: `pull[kind, rail]` says when switches of the kind join it to the rail ("low" or "high").

    `loads` are always-on switches to a rail; `parts` the separate branches of `pull`; `members` all switches;
    `unsettled` says what of it would take too long to work out, `reads` what gates it then has; `literals` are the
    terms of a pull as text.
    """

    output: str
    pull: dict[tuple[Kind, str], Expression] = field(default_factory=dict)
    loads: dict[str, list[int]] = field(default_factory=dict)
    parts: list[tuple[Kind, str, Expression, frozenset[int]]] = field(default_factory=list)
    members: set[int] = field(default_factory=set)
    unsettled: str = ""
    reads: tuple[str, ...] = ()
    literals: dict[tuple[Kind, str], set[str]] = field(default_factory=dict)


@mutable
class Pass:
    """Switches of one kind between two signals, and when they conduct."""

    kind: Kind
    ends: tuple[str, str]
    when: Expression
    members: tuple[int, ...]


def split(prepared: Prepared) -> tuple[dict[str, Stage], list[Pass]]:
    """Return the stages by output net, and the passes."""
    rails = prepared.supplies.nets
    stages: dict[str, Stage] = {}
    passes: list[Pass] = []
    for branch in _branches(prepared):
        _sort_branch(prepared, branch, rails, stages, passes)
    return stages, passes


def _branches(
    prepared: Prepared, among: Iterable[int] | None = None, apart: frozenset[str] = frozenset()
) -> list[list[int]]:
    """Group switches (all, or those given) that inner nodes join, except the nodes `apart`; loads stand alone."""
    seen: set[int] = set()
    result = []
    for first in range(len(prepared.switches)) if among is None else among:
        if first in seen:
            continue
        seen.add(first)
        group = [first]
        for i in group:
            for end in prepared.switches[i].ends:
                if end in prepared.inner and end not in apart:
                    for j in prepared.at[end]:
                        if j not in seen:
                            seen.add(j)
                            group.append(j)
        result.append(group)
    return result


def _sort_branch(
    prepared: Prepared, branch: list[int], rails: frozenset[str], stages: dict[str, Stage], passes: list[Pass]
) -> None:
    switches = prepared.switches
    high, low = prepared.supplies.high, prepared.supplies.low
    first = switches[branch[0]]
    ends = {end for i in branch for end in switches[i].ends if end not in prepared.inner}
    signals = sorted(ends - rails)
    sides = [side for side, nets in (("low", low), ("high", high)) if ends & nets]
    if len(branch) == 1 and first.way is Way.ALWAYS and ends & rails and signals:
        stage = stages.setdefault(signals[0], Stage(signals[0]))
        stage.loads.setdefault("high" if ends & high else "low", []).append(branch[0])
        stage.members.add(branch[0])
        return
    if len(branch) == 1:
        _sort_single(branch[0], first, signals, sides, stages, passes)
        return
    edges: list[Edge] = []
    for i in branch:
        a, b = (_rail(end, high, low) for end in switches[i].ends)
        edges.append((a, b, switches[i].literal))
    pulled = False
    for net in signals:
        for side in sides:
            others = {s for s in signals if s != net} | {"<low>", "<high>"} - {f"<{side}>"}
            inside = [e for e in edges if e[0] not in others and e[1] not in others]
            try:
                with part(MOST_WORK):
                    when = conduction(inside, net, f"<{side}>")
            except OutOfEffortError:
                pulled = True
                stage = stages.setdefault(net, Stage(net))
                stage.unsettled = f"when {_told(prepared, branch)} join {net} to the {side} rail"
                stage.members.update(_between(prepared, branch, others, net, f"<{side}>"))
                stage.reads = tuple(dict.fromkeys(switches[i].gate for i in branch if switches[i].gate not in rails))
                leave(stage.unsettled)
                continue
            if when is None:
                continue
            pulled = True
            stage = stages.setdefault(net, Stage(net))
            key = (first.kind, side)
            stage.pull[key] = when if key not in stage.pull else parallel(stage.pull[key], when)
            between = _between(prepared, branch, others, net, f"<{side}>")
            stage.parts.append((*key, when, frozenset(between)))
            stage.members.update(between)
    if len(signals) > 2 and not pulled and (forks := _forks(prepared, branch)):
        for piece in _branches(prepared, branch, forks):
            _pass_branch(prepared, piece, forks, passes)
    elif len(signals) > 1 and not pulled:
        _pass_branch(prepared, branch, frozenset(), passes)


def _sort_single(
    number: int,
    switch: Switch,
    signals: list[str],
    sides: list[str],
    stages: dict[str, Stage],
    passes: list[Pass],
) -> None:
    """Sort a switch that stands alone, as most do: it pulls a net, or joins two."""
    if len(signals) == 2:
        passes.append(Pass(switch.kind, (signals[0], signals[1]), switch.literal, (number,)))
    elif signals and sides:
        (net,), (side,) = signals, sides
        stage = stages.setdefault(net, Stage(net))
        key = (switch.kind, side)
        when = switch.literal
        stage.pull[key] = when if key not in stage.pull else _with_literal(stage, key, when)
        stage.parts.append((*key, when, frozenset((number,))))
        stage.members.add(number)


def _with_literal(stage: Stage, key: tuple[Kind, str], when: Expression) -> Expression:
    """Return a pull with one switch more beside it; what is there already is kept, for lines with thousands of them."""
    before = stage.pull[key]
    if not isinstance(before, Or):
        return parallel(before, when)
    there = stage.literals.get(key)
    if there is None or len(there) != len(before.terms):
        there = stage.literals[key] = {shape_key(term) for term in before.terms}
    name = shape_key(when)
    if name in there or isinstance(when, Const):
        return parallel(before, when)
    there.add(name)
    return Or((*before.terms, when))


def _forks(prepared: Prepared, branch: list[int]) -> frozenset[str]:
    """Return the inner nodes of a branch where three ways meet or more: the forks of a tree of switches."""
    count: dict[str, int] = defaultdict(int)
    for i in branch:
        for end in prepared.switches[i].ends:
            count[end] += end in prepared.inner
    return frozenset(net for net, ways in count.items() if ways > 2)


def _pass_branch(prepared: Prepared, branch: list[int], forks: frozenset[str], passes: list[Pass]) -> None:
    """Note each way through a branch from one signal to another."""
    switches = prepared.switches
    high, low = prepared.supplies.high, prepared.supplies.low
    first = switches[branch[0]]
    ends = {end for i in branch for end in switches[i].ends if end not in prepared.inner or end in forks}
    signals = sorted(ends - prepared.supplies.nets)
    edges: list[Edge] = []
    for i in branch:
        a, b = (_rail(end, high, low) for end in switches[i].ends)
        edges.append((a, b, switches[i].literal))
    for at, net in enumerate(signals):
        for other in signals[at + 1 :]:
            others = {s for s in signals if s not in (net, other)}
            inside = [e for e in edges if e[0] not in others and e[1] not in others]
            try:
                with part(MOST_WORK):
                    when = conduction(inside, net, other)
            except OutOfEffortError:
                leave(f"when {_told(prepared, branch)} join {net} and {other}")
                continue
            if when is not None:
                members = _between(prepared, branch, others, net, other)
                passes.append(Pass(first.kind, (net, other), when, tuple(sorted(members))))


def _told(prepared: Prepared, members: list[int]) -> str:
    names = [name for i in members for name in prepared.switches[i].names]
    return ", ".join(names[:MOST_TOLD]) + (f" and {len(names) - MOST_TOLD} more" if len(names) > MOST_TOLD else "")


def _rail(net: str, high: frozenset[str], low: frozenset[str]) -> str:
    return "<high>" if net in high else "<low>" if net in low else net


def _between(
    prepared: Prepared,
    branch: list[int],
    others: set[str],
    start: str,
    end: str,
) -> set[int]:
    """Return the switches of a branch that lie on a way from one net to the other."""
    high, low = prepared.supplies.high, prepared.supplies.low
    near: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for i in branch:
        a, b = (_rail(e, high, low) for e in prepared.switches[i].ends)
        if a not in others and b not in others:
            near[a].append((b, i))
            near[b].append((a, i))
    pruned = True
    while pruned:  # dead ends are on no way
        pruned = False
        for net in [n for n, links in near.items() if len(links) == 1 and n not in (start, end)]:
            (other, i) = near.pop(net)[0]
            near[other] = [link for link in near[other] if link[1] != i]
            pruned = True
    reached, stack = {start}, [start]
    while stack:
        net = stack.pop()
        if net == end:
            continue
        for other, _ in near.get(net, ()):
            if other not in reached:
                reached.add(other)
                stack.append(other)
    return {i for net in reached if net != end for _, i in near.get(net, ())} if end in reached else set()
