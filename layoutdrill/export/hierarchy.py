"""Turn what was recognised into a hierarchy: a block for each kind of structure, placed as often as it stands there."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from layoutdrill.export.names import MOST_PORTS, block_name, inner_names, natural, port_names, undotted
from layoutdrill.netlist.compare import Merge, Terms, compare_by
from layoutdrill.netlist.model import Element, Netlist, Transistor
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Recognition, Structure
from layoutdrill.value import value

_DEEPEST = 8


@value
class Place:
    """A block, placed: `joined` leads from the block's ports to nets around it."""

    name: str
    block: str
    joined: Mapping[str, str]


@value
class Block:
    """
    One kind of structure. `ports` are its nets that are seen outside, rails left out, `outputs` those among them that
    recognition calls so; `netlist` is all of it, flat.

    `transistors` and `elements` lie in it directly, `places` are the blocks inside, `roles` say what its ports are for.
    """

    name: str
    term: str
    ports: tuple[str, ...]
    transistors: tuple[Transistor, ...]
    elements: tuple[Element, ...]
    places: tuple[Place, ...]
    netlist: Netlist
    outputs: frozenset[str]
    roles: Mapping[str, Role]


@value
class Hierarchy:
    """The blocks, parts before wholes; the last one is the circuit itself. `rails` are nets that every block shares."""

    blocks: tuple[Block, ...]
    rails: tuple[str, ...]
    high: frozenset[str]

    @property
    def top(self) -> Block:
        return self.blocks[-1]


def hierarchy(recognition: Recognition) -> Hierarchy:
    """Return the structures of a netlist as blocks; those that are the same circuit are one block."""
    supplies = recognition.supplies
    rails = tuple(net for net in recognition.netlist.nets if net in supplies.nets)
    builder = _Builder(recognition.netlist, frozenset(rails))
    ports = tuple(net for net in recognition.netlist.ports if net not in supplies.nets)
    builder.add("", recognition.netlist, ports, recognition.structures, recognition.netlist.name, 0)
    return Hierarchy(tuple(builder.named()), rails, supplies.high)


class _Builder:
    def __init__(self, whole: Netlist, rails: frozenset[str]) -> None:
        self.whole = whole
        self.rails = rails
        self.blocks: list[Block] = []
        self.names: set[str] = {whole.name.lower()}
        self.names_of: dict[str, dict[str, str]] = {}
        self.order = {t.name: at for at, t in enumerate(whole.transistors)}

    def add(
        self, term: str, netlist: Netlist, ports: tuple[str, ...], parts: Iterable[Structure], name: str, depth: int
    ) -> Block:
        """Add a block with those of its parts inside, and return it."""
        inside = {t.name for t in netlist.transistors}
        taken: set[str] = set()
        places: list[Place] = []
        for part in _opened(parts, inside):
            members = set(part.transistors)
            if len(members) < 2 or not members <= inside or members & taken or members == inside or depth > _DEEPEST:
                continue
            taken |= members
            block, joined = self.block_of(part, netlist, ports, depth + 1)
            places.append(Place(f"X{len(places) + 1}", block.name, joined))
        free = tuple(t for t in netlist.transistors if t.name not in taken)
        places = _in_order(places)
        block = Block(name, term, ports, free, netlist.elements, tuple(places), netlist, frozenset(), {})
        self.blocks.append(block)
        return block

    def block_of(
        self, structure: Structure, around: Netlist, ports: tuple[str, ...], depth: int
    ) -> tuple[Block, dict[str, str]]:
        """Return the block that a structure is, a new one or one there already, and how its ports are joined."""
        members = set(structure.transistors)
        own = tuple(t for t in around.transistors if t.name in members)
        nets = dict.fromkeys(net for t in own for net in t.terminals)
        outside = {net for t in around.transistors if t.name not in members for net in t.terminals} | set(ports)
        outside |= {node for e in around.elements for node in e.nodes}
        border = tuple(net for net in nets if net in outside and net not in self.rails)
        roles = {port.net: at for at, port in enumerate(structure.ports)}
        if len(border) > MOST_PORTS:
            kinds = {port.net: list(Role).index(port.role) for port in structure.ports}
            border = tuple(sorted(border, key=lambda net: (kinds.get(net, len(Role)), natural(net))))
        else:
            border = tuple(sorted(border, key=lambda net: (roles.get(net, len(roles)), net)))
        shared = tuple(net for net in nets if net in self.rails)
        netlist = Netlist("part", (*shared, *border), own)
        for block in self.blocks:
            joined = self.same(block, structure, netlist, border)
            if joined is not None:
                return block, joined
        # A block has nets of its own: those of the first place where it stands.
        name = block_name(structure.term, self.names)
        block = self.add(structure.term, replace(netlist, name=name), border, structure.parts, name, depth)
        outputs = frozenset(structure.nets(Role.OUTPUT)) & set(border)
        meant = {port.net: port.role for port in structure.ports if port.net in border}
        self.blocks[-1] = block = replace(block, outputs=outputs, roles=meant)
        self.names_of[name] = port_names(structure.term, structure.function, structure.ports, border)
        return block, {net: net for net in border}

    def same(
        self, block: Block, structure: Structure, netlist: Netlist, border: tuple[str, ...]
    ) -> dict[str, str] | None:
        """Return how the ports of a block that is the same circuit with the same border are joined here, or None."""
        if block.term != structure.term or len(block.ports) != len(border):
            return None
        if _tally(block.netlist) != _tally(netlist):
            return None
        there, here = _bordered(block.netlist, block.ports), _bordered(netlist, border)
        rails = frozenset(net.lower() for net in self.rails)
        terms = Terms(ports=False, sizes=True, bodies=True, merge=Merge.NONE, rails=rails, explain=False)
        result = compare_by(there, here, terms)
        if not result.equal:
            return None
        joined = {port: result.net_map[port] for port in block.ports}
        return joined if set(joined.values()) == set(border) else None

    def named(self) -> Iterator[Block]:
        """Yield the blocks with ports and inner nets called by what they are for; the top keeps its own names."""
        count = Counter(place.block for block in self.blocks for place in block.places)
        called: dict[str, Mapping[str, str]] = {}
        for block in self.blocks:
            own = self.names_of.get(block.name, {})
            if len(own) > MOST_PORTS and count[block.name] == 1:
                own = {net: net for net in own}
            used = dict.fromkeys(net for place in block.places for net in place.joined.values())
            used |= dict.fromkeys(net for t in block.transistors for net in t.terminals)
            inner = [net for net in {**used, **dict.fromkeys(block.netlist.nets)} if net not in {*own, *self.rails}]
            clash = set(own.values()) | set(self.rails)
            # A dot leads into an instance when the file is read again: X1.n2 is the n2 of X1.
            dotted = [net for net in inner if "." in net]
            if own and (count[block.name] > 1 or clash & set(inner) or dotted):
                own = {**own, **inner_names(inner, clash)}
            elif dotted:
                own = {**own, **undotted(dotted, {*clash, *block.ports, *inner})}
            called[block.name] = own
            yield _renamed(block, own, called)


def _in_order(places: list[Place]) -> list[Place]:
    """Return the places of each block together, by the names of the nets that they join, numbered anew."""
    first = {place.block: at for at, place in reversed(list(enumerate(places)))}
    order = sorted(places, key=lambda p: (first[p.block], [natural(net) for net in p.joined.values()]))
    return [replace(place, name=f"X{at}") for at, place in enumerate(order, 1)]


def _opened(parts: Iterable[Structure], inside: set[str]) -> Iterator[Structure]:
    """Yield the parts, and those of a part that is all there is in its stead."""
    for part in parts:
        if set(part.transistors) == inside and part.parts:
            yield from _opened(part.parts, inside)
        else:
            yield part


def _tally(netlist: Netlist) -> Counter[tuple[object, ...]]:
    return Counter((t.kind, t.mode, t.length, t.width) for t in netlist.transistors)


def _bordered(netlist: Netlist, border: tuple[str, ...]) -> Netlist:
    """Mark the nets of a border by a device, so that they are matched with one another."""
    marks = tuple(Element(f"mark{at}", "border", "", (net,)) for at, net in enumerate(border))
    return replace(netlist, elements=(*netlist.elements, *marks))


def _renamed(block: Block, own: Mapping[str, str], called: Mapping[str, Mapping[str, str]]) -> Block:
    """Return a block with its nets under other names; `called` has those of the blocks placed in it."""

    def named(net: str) -> str:
        return own.get(net, net)

    names = dict(own)
    return replace(
        block,
        ports=tuple(map(named, block.ports)),
        transistors=tuple(t.renamed(names) for t in block.transistors),
        elements=tuple(e.renamed(names) for e in block.elements),
        places=tuple(
            replace(p, joined={called[p.block].get(port, port): named(net) for port, net in p.joined.items()})
            for p in block.places
        ),
        netlist=replace(
            block.netlist,
            ports=tuple(map(named, block.netlist.ports)),
            transistors=tuple(t.renamed(names) for t in block.netlist.transistors),
            elements=tuple(e.renamed(names) for e in block.netlist.elements),
        ),
        outputs=frozenset(map(named, block.outputs)),
        roles={named(net): role for net, role in block.roles.items()},
    )
