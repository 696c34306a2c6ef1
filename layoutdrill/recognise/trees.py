"""Find trees of switches: a line that forks at every address line, and so is led to one of 2ⁿ ends."""

from dataclasses import field

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.decoders import address_ports, take_as_complements
from layoutdrill.recognise.model import Port
from layoutdrill.recognise.view import Link, View
from layoutdrill.recognise.work import Called, Work, literal
from layoutdrill.value import mutable


@mutable
class _Tree:
    """A tree while it is followed: its links, the two control nets of each level, its ends by code."""

    root: str
    links: set[int] = field(default_factory=set)
    levels: list[tuple[tuple[str, ...], tuple[str, ...]]] = field(default_factory=list)
    ends: list[str] = field(default_factory=list)


def find_trees(work: Work) -> None:
    """Build the decoders of switches: at least two levels, the same two control lines for all forks of a level."""
    view = work.view
    degree = {net: sum(k in work.free_links for k in links) for net, links in view.links_at.items()}
    for root in [n for n, count in degree.items() if count == 2]:
        tree = _follow(work, degree, root)
        if tree is not None:
            _build(work, tree)


def _follow(work: Work, degree: dict[str, int], root: str) -> _Tree | None:
    """Follow a line level by level while each net forks in two, and the two controls are the same all along a level."""
    view = work.view
    tree = _Tree(root)
    front = [(root, -1)]
    while all(_inner_fork(work, degree, net, came) for net, came in front):
        nxt: list[tuple[str, int]] = []
        lines: tuple[tuple[str, ...], tuple[str, ...]] | None = None
        for net, came in front:
            ways = [k for k in view.links_at[net] if k != came and k in work.free_links]
            low, high = (_control(view.links[k]) for k in ways)
            if low is None or high is None or low == high:
                return None
            if lines is None:
                lines = (min(low, high), max(low, high))
            elif lines != (min(low, high), max(low, high)):
                return None
            if lines[0] != low:
                ways.reverse()
            tree.links |= set(ways)
            nxt += [(view.links[k].other(net), k) for k in ways]
        if lines is None or len({net for net, _ in nxt}) < len(nxt) or any(set(lines) == set(x) for x in tree.levels):
            return None
        tree.levels.append(lines)
        front = nxt
    tree.ends = [net for net, _ in front]
    enough = len(tree.levels) > 1 and all(degree[net] == 1 for net in tree.ends)
    driven = any(net in view.gates for net in tree.ends) or root in view.readers
    return tree if enough and not driven and _opposite(view, tree) else None


def _inner_fork(work: Work, degree: dict[str, int], net: str, came: int) -> bool:
    """Tell whether a net leads on by two links, and is nothing else inside the tree."""
    if came < 0:
        return degree[net] == 2
    view = work.view
    bare = net not in view.gates and net not in view.readers and net not in view.ports
    return degree[net] == 3 and bare and net not in view.controlled


def _control(link: Link) -> tuple[str, ...] | None:
    """Return the control nets of a link, that of the n switch first where there are two; None for more."""
    if link.term == "transmission gate" or literal(link.when) is not None:
        return link.controls
    return None


def _opposite(view: View, tree: _Tree) -> bool:
    """Tell whether the two controls of each level are complements, or may be; then they are taken so."""
    unknown = []
    for first, second in tree.levels:
        (a, straight), (b, turned) = view.root(first[0]), view.root(second[0])
        if a == b and straight != turned:
            continue
        if a == b or len(first) > 1 or len(second) > 1:
            return False
        unknown.append((first[0], second[0]))
    lines = [n for pair in unknown for n in pair]
    if len(set(lines)) < len(lines) or any(n in view.roots for n in lines):
        return False
    for pair in unknown:
        take_as_complements(view, *sorted(pair, key=view.place.__getitem__))
    return True


def _build(work: Work, tree: _Tree) -> None:
    view = work.view
    count = len(tree.levels)
    controls = {n for level in tree.levels for side in level for n in side}
    gates = {
        n for n in controls
        if (gate := work.gate(n)) is not None and gate.inverter_of is not None and n not in view.ports
        and not view.readers.get(n) and set(view.controlled.get(n, ())) <= tree.links
    }  # fmt: skip
    lines = controls - gates | {view.gates[n].inputs[0] for n in gates}
    ports = [Port(tree.root, Role.SIGNAL)]
    ports += address_ports(view, sorted(lines, key=view.place.__getitem__))
    ports += [Port(n, Role.SIGNAL) for n in sorted(tree.ends, key=view.place.__getitem__)]
    function = f"joins {tree.root} to one of {len(tree.ends)} lines; the others float"
    also = (f"{len(tree.ends)}:1 multiplexer",)
    work.build(Called(f"{count}-to-{len(tree.ends)} decoder", also), gates, tree.links, ports, function)
