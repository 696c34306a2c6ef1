"""Compare two netlists by structure: whether they are the same circuit, and if not, where they part."""

from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from layoutdrill.netlist.collector import collector_paused
from layoutdrill.netlist.graph import Graph, Rules, build
from layoutdrill.netlist.known import RAILS, called, known_nets, used_nets
from layoutdrill.netlist.match import UndecidedError, find_match
from layoutdrill.netlist.merge import as_acting, merge_fingers, merge_splits, merge_stacks
from layoutdrill.netlist.model import Netlist
from layoutdrill.value import value

if TYPE_CHECKING:
    from layoutdrill.netlist.differences import Titles

__all__ = ["RAILS", "Comparison", "Merge", "Terms", "alike", "compare", "compare_by", "compare_files"]


class Merge(StrEnum):
    """What to merge in both netlists before they are compared."""

    NONE = "none"
    FINGERS = "fingers"  # transistors in parallel
    SPLITS = "splits"  # and devices split in series, and transistors that are capacitors: however it is drawn
    STACKS = "stacks"  # and the private nodes of parallel stacks: right for logic, not the same drawing


@value
class Comparison:
    """
    What a comparison found. `differences` is empty exactly when the netlists are equal.

    `net_map` and `device_map` lead from names of A to names of B; when the netlists differ they hold the nearest
    pairing, without what has no counterpart, and may be empty. `transistors`, `fingers`, `others` and `nets` count what
    was compared of A, after merging; fingers are the transistors as drawn.
    """

    equal: bool
    differences: tuple[str, ...]
    net_map: dict[str, str]
    device_map: dict[str, str]
    transistors: int
    fingers: int
    others: int
    nets: int

    def text(self) -> str:
        """Return the differences, a line each, and a closing sentence."""
        if self.equal:
            others = f", {_count(self.others, 'other device')}" if self.others else ""
            fingers = f" (of {_count(self.fingers, 'finger')})" if self.fingers != self.transistors else ""
            return f"equal: {_count(self.transistors, 'transistor')}{fingers}{others}, {_count(self.nets, 'net')}"
        return "\n".join([*self.differences, f"different: {_count(len(self.differences), 'finding')}"])


@value
class Terms:
    """
    What a comparison goes by.

    ports: ports are matched by name (case counts only where names differ in nothing else), and both must have the
    same ones; a netlist without any port list is read by its nets' names. Without, only nets named in `rails` are.
    sizes: L and W must agree, and written ohms and farads, as far as both netlists tell them at all.
    bodies: bodies must agree. Without, a port that is a body and nothing else may be missing.
    merge: what to merge first; None merges all splits, and where need be stacks, so that it does not matter in how many
    pieces a device or a stack is drawn, and looks for a single edit before it pairs all devices.
    titles: what the differences call A and B.
    explain: put the differences into words; without, one line says that there are some, and the maps are empty.
    """

    ports: bool = True
    sizes: bool = False
    bodies: bool = False
    merge: Merge | None = None
    rails: frozenset[str] = RAILS
    titles: "Titles" = ("A", "B")
    explain: bool = True


PLAIN_TERMS = Terms()


def compare(
    a: Netlist, b: Netlist, *, ports: bool = True, sizes: bool = False, bodies: bool = False, merge: Merge | None = None
) -> Comparison:
    """Tell whether A and B are the same circuit, by ports, sizes, bodies and merging as `Terms` says."""
    return compare_by(a, b, Terms(ports, sizes, bodies, merge))


def alike(a: Netlist, b: Netlist, *, merge: Merge | None = None) -> bool:
    """Tell whether A and B are the same circuit, with no time spent on words."""
    return compare_by(a, b, Terms(merge=merge, explain=False)).equal


def compare_by(a: Netlist, b: Netlist, terms: Terms) -> Comparison:
    """Tell whether A and B are the same circuit, names aside; source and drain may be exchanged."""
    ports, sizes, bodies, merge = terms.ports, terms.sizes, terms.bodies, terms.merge
    titles, explain = terms.titles, terms.explain
    untold = _untold_bodies(a, b, titles) if bodies else ()
    bodies = bodies and not untold
    ask = _Ask(ports, sizes, bodies, merge or Merge.SPLITS, terms.rails, titles, explain, untold)
    if merge is not None:
        return _compare(a, b, ask)
    quick = _equal(a, b, ask)
    if quick.equal or not explain:
        return quick
    # In a regular array the nearest pairing may blame anything; first see whether one edit explains it all.
    shared = _shared(a, b, ask)
    for other in shared:
        edited = _one_edit(a, b, replace(ask, merge=other))
        if edited is not None:
            return edited
    merged_first = (_compare(a, b, replace(ask, merge=other)) for other in reversed(shared))
    return min(merged_first, key=lambda each: len(each.differences))


@value
class _Ask:
    """What one comparison goes by, the merging settled, and what is known to be wrong beforehand."""

    ports: bool
    sizes: bool
    bodies: bool
    merge: Merge
    rails: frozenset[str]
    titles: "Titles"
    explain: bool
    untold: tuple[str, ...]


_IN_PIECES = (Merge.NONE, Merge.FINGERS, Merge.SPLITS)
"""What two netlists share in pieces is best told in pieces: a slip may look like a split of something else."""


def _shared(a: Netlist, b: Netlist, ask: _Ask) -> list[Merge]:
    """Return what may be merged before the two are told apart, each that makes other netlists of them."""
    counts = {merge: _pieces(a, b, merge, ask) for merge in _IN_PIECES}
    transistors_a, others_a, transistors_b, others_b = counts[Merge.FINGERS]
    if (transistors_a, others_a) == (transistors_b, others_b):
        del counts[Merge.SPLITS]  # no split keeps them apart
    return [merge for merge, count in counts.items() if list(counts.values()).index(count) == list(counts).index(merge)]


def _equal(a: Netlist, b: Netlist, ask: _Ask) -> Comparison:
    """Compare without words, splits merged, and where that does not do, the nodes of parallel stacks as well."""
    quick = replace(ask, explain=False)
    result = _compare(a, b, quick)
    if result.equal or _pieces(a, b, Merge.STACKS, ask) == _pieces(a, b, Merge.SPLITS, ask):
        return result
    stacked = _compare(a, b, replace(quick, merge=Merge.STACKS))
    return stacked if stacked.equal else result


def _pieces(a: Netlist, b: Netlist, merge: Merge, ask: _Ask) -> tuple[int, ...]:
    """Return of how many devices two netlists are, once merged."""
    merged = [_prepared(n, replace(ask, merge=merge)) for n in (a, b)]
    return tuple(count for n in merged for count in (len(n.transistors), len(n.elements)))


def _one_edit(a: Netlist, b: Netlist, ask: _Ask) -> Comparison | None:
    """Return the comparison whose one difference is the edit that explains them all, None where there is none."""
    from layoutdrill.netlist.one_edit import Like, one_edit  # noqa: PLC0415 - most netlists that are compared are equal

    a, b = _prepared(a, ask), _prepared(b, ask)
    known, findings = known_nets(
        a, b, (used_nets(a), used_nets(b)), ports=ask.ports, rails=ask.rails, titles=ask.titles
    )
    if findings or ask.untold:
        return None
    quick = replace(ask, explain=False)
    equal: list[Comparison] = []

    def matched(one: Netlist, other: Netlist) -> Like | None:
        result = _compare(one, other, quick)
        if not result.equal:
            return None
        equal.append(result)
        return Like(result.net_map, result.device_map)

    words = one_edit(a, b, known, matched, ask.titles)
    return replace(equal[-1], equal=False, differences=(words,)) if words else None


def _compare(a: Netlist, b: Netlist, ask: _Ask) -> Comparison:
    titles = ask.titles
    a, b = _prepared(a, ask), _prepared(b, ask)
    rules = _rules(a, b, sizes=ask.sizes, bodies=ask.bodies)
    nets_a, nets_b = used_nets(a), used_nets(b)
    known, findings = known_nets(a, b, (nets_a, nets_b), ports=ask.ports, rails=ask.rails, titles=titles)
    findings += ask.untold
    with collector_paused():
        graph = build(a, b, rules, known)
        undecided = False
        try:
            match = find_match(graph)
        except UndecidedError:
            match, undecided = None, True
    counts = (len(a.transistors), sum(t.fingers for t in a.transistors), len(a.elements), len(nets_a))
    if match is not None and not findings:
        return Comparison(True, (), *_names(graph, match), *counts)
    if match is not None:
        nets, devices = _names(graph, match)
        return Comparison(False, called(a, b, nets, findings, titles), nets, devices, *counts)
    if undecided:
        unsettled = f"no match of {titles[0]} and {titles[1]} was found, and none ruled out: too much looks alike"
        return Comparison(False, (*findings, unsettled), dict(known), {}, *counts)
    if not ask.explain:
        return Comparison(False, (*findings, f"{titles[0]} and {titles[1]} differ"), {}, {}, *counts)
    from layoutdrill.netlist.differences import describe  # noqa: PLC0415 - most netlists that are compared are equal

    words, nets, devices = describe(a, b, rules, known, titles)
    return Comparison(False, (*findings, *words), nets, devices, *counts)


def compare_files(first: Path, second: Path, terms: Terms = PLAIN_TERMS, *, cell: str | None = None) -> Comparison:
    """
    Compare two SPICE or CDL files, called A and B; `cell` names the subcircuit meant in both.

    Raises LayoutdrillError for a file that cannot be read.
    """
    from layoutdrill.netlist.spice import read_spice_file  # noqa: PLC0415 - drawings are proved without

    a, b = (read_spice_file(path, subckt=cell) for path in (first, second))
    return compare_by(a, b, terms)


def _prepared(netlist: Netlist, ask: _Ask) -> Netlist:
    """Leave out what does not count, so that it keeps no pieces apart, and merge."""
    merge = ask.merge
    if not ask.bodies:
        netlist = replace(netlist, transistors=tuple(replace(t, body="") if t.body else t for t in netlist.transistors))
    if not ask.sizes and merge is not Merge.NONE:
        netlist = replace(netlist, transistors=tuple(replace(t, length=0, width=0) for t in netlist.transistors))
    if merge is Merge.STACKS:
        return merge_stacks(merge_splits(as_acting(netlist)))
    if merge is Merge.SPLITS:
        return merge_splits(as_acting(netlist))
    return merge_fingers(netlist) if merge is Merge.FINGERS else netlist


def _untold_bodies(a: Netlist, b: Netlist, titles: "Titles") -> tuple[str, ...]:
    """Say so when one netlist tells bodies and the other none at all; the rest is then compared without."""
    tells = [any(t.body for t in n.transistors) for n in (a, b)]
    if tells[0] == tells[1] or not (a.transistors and b.transistors):
        return ()
    return (f"{titles[not tells[0]]} tells the bodies of its transistors, {titles[tells[0]]} tells none",)


def _rules(a: Netlist, b: Netlist, *, sizes: bool, bodies: bool) -> Rules:
    """Say what counts; a size that one netlist never gives is not held against the other."""
    pair = (a, b)
    return Rules(
        lengths=sizes and all(any(t.length for t in n.transistors) for n in pair),
        widths=sizes and all(any(t.width for t in n.transistors) for n in pair),
        bodies=bodies,
        values=sizes and all(any(k in {"L", "W"} for e in n.elements for k, _ in e.values) for n in pair),
        written=sizes and all(any(e.value_told for e in n.elements) for n in pair),
    )


def _names(graph: Graph, match: list[int]) -> tuple[dict[str, str], dict[str, str]]:
    a, b = graph.a, graph.b
    nets_b, first_b = list(b.nets), len(a.nets)
    nets = {name: nets_b[match[node] - first_b] for name, node in a.nets.items()}
    nodes_a = range(graph.net_count, graph.net_count + len(a.types))
    matched = [match[node] - nodes_a.stop for node in nodes_a]
    devices = {name: b.names[other] for name, other in zip(a.names, matched, strict=True)}
    for at, more in a.twins.items():
        devices.update(zip(more, b.twins[matched[at]], strict=True))
    return nets, devices


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")
