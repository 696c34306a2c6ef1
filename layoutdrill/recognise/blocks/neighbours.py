"""Which structure drives a net and which read it, and how several become one block."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from operator import is_

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.view import View
from layoutdrill.value import mutable

READS = (Role.INPUT, Role.DATA, Role.CLOCK, Role.ENABLE, Role.SELECT, Role.ADDRESS, Role.SET, Role.RESET,
         Role.WORD_LINE, Role.SIGNAL, Role.BIT_LINE)  # fmt: skip
FOLLOWING = ("inverter", "buffer", "super buffer")
"""What hands a level on, itself or inverted."""
SMALL = ("inverter", "buffer", "NAND", "NOR", "AND", "OR", "AOI", "OAI", "AO", "OA", "XOR", "XNOR")


def plain(term: str) -> str:
    """Return a term without the input counts at its end."""
    return term.rstrip("0123456789")


@mutable
class Neighbours:
    """The structures by the nets that they drive and read."""

    view: View
    items: list[Structure]
    drivers: dict[str, list[Structure]]
    readers: dict[str, list[Structure]]

    @classmethod
    def of(cls, view: View, items: Sequence[Structure]) -> "Neighbours":
        """Return the structures by their nets; most steps join nothing, and the next asks for the same again."""
        last = view.neighbours
        if isinstance(last, Neighbours) and len(last.items) == len(items) and all(map(is_, last.items, items)):
            return last
        view.neighbours = near = cls._made(view, items)
        return near

    @classmethod
    def _made(cls, view: View, items: Sequence[Structure]) -> "Neighbours":
        drivers: dict[str, list[Structure]] = defaultdict(list)
        readers: dict[str, list[Structure]] = defaultdict(list)
        for s in items:
            for p in s.ports:
                if p.role is Role.OUTPUT:
                    drivers[p.net].append(s)
                if p.role is not Role.OUTPUT:
                    readers[p.net].append(s)
        return cls(view, list(items), dict(drivers), dict(readers))

    def driver(self, net: str) -> Structure | None:
        drivers = self.drivers.get(net, [])
        return drivers[0] if len(drivers) == 1 else None

    def behind(self, net: str) -> Structure | None:
        """Return what drives a net, seen through inverters and buffers."""
        for _ in range(6):
            s = self.driver(net)
            if s is None or s.term not in ("inverter", "buffer"):
                return s
            net = s.nets(Role.INPUT)[0]
        return None

    def feeders(self, group: Iterable[Structure], terms: Sequence[str] = ("inverter", "buffer")) -> list[Structure]:
        """Return the structures of some terms that feed nothing but a group and each other."""
        inside = set(group)
        own: list[Structure] = []
        front = list(group)
        ports = self.view.ports
        while front:
            nets = {p.net for s in front for p in s.ports if p.role is not Role.OUTPUT}
            front = []
            for net in sorted(nets, key=self.view.place.__getitem__):
                s = self.driver(net)
                if s is None or s in inside or plain(s.term) not in terms or set(s.nets(Role.OUTPUT)) & ports:
                    continue
                if all(r in inside for n in s.nets(Role.OUTPUT) for r in self.readers.get(n, ())):
                    inside.add(s)
                    own.append(s)
                    front.append(s)
        return own

    def root(self, net: str) -> str:
        return self.view.root(net)[0]


def after_net(near: Neighbours, net: str, inside: list[Structure]) -> list[Structure]:
    """Return the chain of inverters that a net leads out by."""
    after: dict[Structure, None] = {}
    front = [net]
    for here in front:
        for r in near.readers.get(here, ()):
            if r.term in FOLLOWING and r not in after and r not in inside:
                after[r] = None
                front += r.nets(Role.OUTPUT)
    return list(after)


def block(
    view: View,
    term: str,
    parts: Sequence[Structure],
    function: str,
    notes: tuple[str, ...] = (),
    also: tuple[str, ...] = (),
) -> Structure:
    """Return several structures as one: its ports are those that lead outside."""
    order = view.order
    names = tuple(sorted({n for p in parts for n in p.transistors}, key=order.__getitem__))
    driven = {p.net for s in parts for p in s.ports if p.role is Role.OUTPUT}
    own = set(names)
    ports = view.ports

    def outside(net: str) -> bool:
        return net in ports or any(name not in own for name in view.touching.get(net, ()))

    seen: dict[str, Port] = {}
    for s in parts:
        for p in s.ports:
            if p.role is not Role.OUTPUT and p.net in driven:
                continue
            if p.role is Role.OUTPUT and not outside(p.net):
                continue
            if p.net not in seen or seen[p.net].role in (Role.SIGNAL, Role.INPUT):
                seen[p.net] = p
    return Structure(term, names, tuple(seen.values()), tuple(parts), function, notes, also)


def replaced(items: Sequence[Structure], parts: Iterable[Structure], whole: Structure) -> list[Structure]:
    """Return the structures with some replaced by the block that they make."""
    gone = set(parts)
    return [s for s in items if s not in gone] + [whole]
