"""Say which nets of two netlists belong together by their names: ports, or only the rails."""

from layoutdrill.netlist.model import Netlist

RAILS = frozenset({"vdd", "vcc", "vss", "gnd", "vee", "vbb", "vgg", "vpwr", "vgnd", "vpb", "vnb", "0"})
"""Names of rails, in lower case (common practice, and the open kit's)."""


def known_nets(
    a: Netlist, b: Netlist, *, ports: bool, rails: frozenset[str], titles: tuple[str, str]
) -> tuple[list[tuple[str, str]], tuple[str, ...]]:
    """
    Return pairs of nets (of A, of B) known by name, and what is wrong with the ports, in words.

    A port that touches nothing compared and is missing on the other side is passed over.
    """
    nets_a, nets_b = _used(a), _used(b)
    if not ports:
        rails_a = [n for n in (*a.ports, *nets_a) if n.lower() in rails]
        return _paired(rails_a, [n for n in (*b.ports, *nets_b) if n.lower() in rails]), ()
    pairs = _paired(a.ports or b.ports, b.ports or a.ports)
    findings: list[str] = []
    if a.ports and b.ports:
        of_a, of_b = {x for x, _ in pairs}, {y for _, y in pairs}
        missing_b = [p for p in a.ports if p not in of_a and p in nets_a]
        missing_a = [p for p in b.ports if p not in of_b and p in nets_b]
        findings += _missing(missing_b, [n for n in nets_b if n not in of_b], titles)
        findings += _missing(missing_a, [n for n in nets_a if n not in of_a], titles[::-1])
        pairs += _paired(missing_b, [n for n in nets_b if n not in of_b])
        pairs += [(x, y) for y, x in _paired(missing_a, [n for n in nets_a if n not in of_a])]
    elif a.ports:
        pairs = _paired(a.ports, list(nets_b))
    elif b.ports:
        pairs = _paired(list(nets_a), b.ports)
    of_a, of_b = {x for x, _ in pairs}, {y for _, y in pairs}
    pairs += _paired(
        [n for n in nets_a if n not in of_a and n.lower() in rails],
        [n for n in nets_b if n not in of_b and n.lower() in rails],
    )
    return pairs, tuple(findings)


def _missing(names: list[str], nets: list[str], titles: tuple[str, str]) -> list[str]:
    inside = {n.lower() for n in nets}
    return [
        f"port {name}: {titles[0]} has it, in {titles[1]} "
        + ("it is a net, but no port" if name.lower() in inside else "there is none of this name")
        for name in names
    ]


def _paired(names_a: tuple[str, ...] | list[str], names_b: tuple[str, ...] | list[str]) -> list[tuple[str, str]]:
    """Pair equal names, and then those that differ only in case, where that leaves no doubt."""
    same = set(names_a) & set(names_b)
    pairs = [(name, name) for name in dict.fromkeys(names_a) if name in same]
    folded_a, folded_b = _folded(names_a, same), _folded(names_b, same)
    pairs += [
        (found[0], folded_b[key][0])
        for key, found in folded_a.items()
        if len(found) == 1 and len(folded_b.get(key, ())) == 1
    ]
    return pairs


def _folded(names: tuple[str, ...] | list[str], without: set[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name in dict.fromkeys(names):
        if name not in without:
            found.setdefault(name.lower(), []).append(name)
    return found


def _used(netlist: Netlist) -> dict[str, None]:
    """Return the nets that a compared terminal is on, in order of appearance."""
    nets: dict[str, None] = {}
    for t in netlist.transistors:
        nets.update(dict.fromkeys(t.terminals))
    for e in netlist.elements:
        nets.update(dict.fromkeys(e.nodes))
    return nets
