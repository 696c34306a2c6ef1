"""Say which nets of two netlists belong together by their names: ports, or only the rails."""

from collections.abc import Iterable, Mapping, Sequence

from layoutdrill.netlist.model import Netlist

RAILS = frozenset({"vdd", "vcc", "vss", "gnd", "vee", "vbb", "vgg", "vpwr", "vgnd", "vpb", "vnb", "0"})
"""Names of rails, in lower case (common practice, and the open kit's)."""


def known_nets(
    a: Netlist,
    b: Netlist,
    nets: tuple[set[str], set[str]],
    *,
    ports: bool,
    rails: frozenset[str],
    titles: tuple[str, str],
) -> tuple[list[tuple[str, str]], tuple[str, ...]]:
    """
    Return pairs of nets (of A, of B) known by name, and what is wrong with the ports, in words.

    `nets` are the nets of each that a terminal is on.

    A port that touches nothing compared and is missing on the other side is passed over.
    """
    nets_a, nets_b = nets
    if not ports:
        return _paired(_rails((*a.ports, *nets_a), rails), _rails((*b.ports, *nets_b), rails)), ()
    pairs = _paired(a.ports or b.ports, b.ports or a.ports)
    findings: list[str] = []
    if a.ports and b.ports:
        of_a, of_b = {x for x, _ in pairs}, {y for _, y in pairs}
        missing_b = [p for p in a.ports if p not in of_a and p in nets_a]
        missing_a = [p for p in b.ports if p not in of_b and p in nets_b]
        if missing_b:
            findings += _missing(missing_b, sorted(nets_b - of_b), titles)
            pairs += _paired(missing_b, sorted(nets_b - of_b))
        if missing_a:
            findings += _missing(missing_a, sorted(nets_a - of_a), titles[::-1])
            pairs += [(x, y) for y, x in _paired(missing_a, sorted(nets_a - of_a))]
    elif a.ports:
        pairs = _paired(a.ports, sorted(nets_b))
    elif b.ports:
        pairs = _paired(sorted(nets_a), b.ports)
    of_a, of_b = {x for x, _ in pairs}, {y for _, y in pairs}
    pairs += _paired(_rails(nets_a - of_a, rails), _rails(nets_b - of_b, rails))
    return pairs, tuple(findings)


def _rails(nets: Iterable[str], rails: frozenset[str]) -> list[str]:
    return sorted({net for net in nets if net.lower() in rails})


def _missing(names: list[str], nets: list[str], titles: tuple[str, str]) -> list[str]:
    inside = {n.lower() for n in nets}
    return [
        f"port {name}: {titles[0]} has it, in {titles[1]} it is a net, but no port"
        if name.lower() in inside
        else _unknown(name, titles)
        for name in names
    ]


def _unknown(name: str, titles: tuple[str, str]) -> str:
    return f"port {name}: {titles[0]} has it, in {titles[1]} there is none of this name"


def called(
    a: Netlist, b: Netlist, nets: Mapping[str, str], findings: Sequence[str], titles: tuple[str, str]
) -> tuple[str, ...]:
    """Return the findings with one for every port that only goes by another name, where the circuits are the same."""
    ports_b = set(b.ports)
    kept = set(findings)
    lines = []
    for port in a.ports:
        other = nets.get(port, "")
        both = {_unknown(port, titles), _unknown(other, titles[::-1])}
        if other in ports_b and both <= kept:
            lines.append(f"port {port} of {titles[0]} is called {other} in {titles[1]}")
            kept -= both
    return (*lines, *(f for f in findings if f in kept))


def _paired(names_a: Sequence[str], names_b: Sequence[str]) -> list[tuple[str, str]]:
    """Pair equal names, and then those that differ only in case, where that leaves no doubt."""
    set_b = set(names_b)
    pairs = [(name, name) for name in dict.fromkeys(names_a) if name in set_b]
    same = {name for name, _ in pairs}
    folded_a, folded_b = _folded(set(names_a) - same), _folded(set_b - same)
    pairs += [
        (names[0], folded_b[key][0])
        for key, names in sorted(folded_a.items())
        if len(names) == 1 and len(folded_b.get(key, ())) == 1
    ]
    return pairs


def _folded(names: set[str]) -> dict[str, list[str]]:
    folded: dict[str, list[str]] = {}
    for name in sorted(names):
        folded.setdefault(name.lower(), []).append(name)
    return folded


def used_nets(netlist: Netlist) -> set[str]:
    """Return the nets that any terminal is on."""
    ts = netlist.transistors
    nets = {t.gate for t in ts} | {t.source for t in ts} | {t.drain for t in ts} | {t.body for t in ts if t.body}
    return nets | {net for e in netlist.elements for net in e.nodes}
