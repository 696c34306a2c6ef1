"""Put structures together into larger ones."""

from collections import defaultdict
from collections.abc import Callable, Iterable

from layoutdrill.netlist.model import Netlist
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.view import View
from layoutdrill.unions import Unions


def merge(
    view: View, term: str, parts: list[Structure], ports: list[Port], function: str, notes: tuple[str, ...] = ()
) -> Structure:
    """Return one structure of several, ports without repeats."""
    order = view.order
    names = tuple(sorted((n for p in parts for n in p.transistors), key=order.__getitem__))
    seen: dict[str, Port] = {}
    for port in ports:
        seen.setdefault(port.net, port)
    return Structure(term, names, tuple(seen.values()), tuple(parts), function, notes)


def joined(items: list[Structure], nets_of: Callable[[Structure], Iterable[str]]) -> list[list[Structure]]:
    """Group structures that share a net, directly or through others."""
    owner: dict[str, int] = {}
    sharing = Unions()
    for i, item in enumerate(items):
        for net in nets_of(item):
            sharing.join(i, owner.setdefault(net, i))
    groups: dict[int, list[Structure]] = defaultdict(list)
    for i, item in enumerate(items):
        groups[sharing.find(i)].append(item)
    return list(groups.values())


def device_order(netlist: Netlist) -> dict[str, int]:
    """Return where each transistor stands in a netlist."""
    return {t.name: i for i, t in enumerate(netlist.transistors)}


def in_order(order: dict[str, int], structures: Iterable[Structure]) -> tuple[Structure, ...]:
    """Return structures by the place of their first transistor, those without any first."""
    return tuple(sorted(structures, key=lambda s: order[s.transistors[0]] if s.transistors else -1))


def in_netlist_order(netlist: Netlist, structures: Iterable[Structure]) -> tuple[Structure, ...]:
    """Return structures in the order in which a netlist has their transistors."""
    return in_order(device_order(netlist), structures)
