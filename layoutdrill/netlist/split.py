"""Join channels and resistors that are split in series: the pieces of one device, at private nodes."""

from collections import defaultdict
from dataclasses import replace

from layoutdrill.netlist.model import Element, Netlist, Transistor
from layoutdrill.netlist.number import micrometres, nanometres

Piece = Transistor | Element


def join_series(netlist: Netlist) -> Netlist:
    """
    Return the netlist with each chain of like pieces as one device, which keeps the first one's name and place.

    Pieces are joined at a node that nothing else is on, no port and no body: transistors of one kind, gate, body and
    width, or resistors. Lengths add up; so do the values of resistors.
    """
    pieces: list[Piece | None] = [*netlist.transistors, *netlist.elements]
    on: defaultdict[str, list[int]] = defaultdict(list)
    barred = set(netlist.ports)
    for at, piece in enumerate(pieces):
        if isinstance(piece, Transistor):
            barred |= {piece.gate, piece.body}
            ends: tuple[str, ...] = piece.ends
        else:
            assert piece is not None
            ends = piece.nodes
        for net in ends:
            on[net].append(at)
    for node, places in on.items():
        if node in barred or len(places) != 2 or places[0] == places[1]:
            continue
        one, other = (pieces[at] for at in places)
        joined = _joined(one, other, node)
        if joined is None:
            continue
        pieces[places[0]], pieces[places[1]] = joined, None
        for net in joined.ends if isinstance(joined, Transistor) else joined.nodes:
            on[net][:] = [places[0] if at == places[1] else at for at in on[net]]
    left = [piece for piece in pieces if piece is not None]
    return replace(
        netlist,
        transistors=tuple(p for p in left if isinstance(p, Transistor)),
        elements=tuple(p for p in left if isinstance(p, Element)),
    )


def _joined(one: Piece | None, other: Piece | None, node: str) -> Piece | None:
    if isinstance(one, Transistor) and isinstance(other, Transistor):
        if any(getattr(one, key) != getattr(other, key) for key in ("kind", "mode", "gate", "body", "width")):
            return None
        far, further = _far(one.ends, node), _far(other.ends, node)
        if far == further or one.gate in {far, further}:
            return None  # a ring of two does nothing; a load tied to its own end is no channel like the next
        length = one.length + other.length if one.length and other.length else 0
        return replace(one, source=far, drain=further, length=length)
    if isinstance(one, Element) and isinstance(other, Element) and one.kind == other.kind == "resistor":
        far, further = _far(one.nodes, node), _far(other.nodes, node)
        return None if far == further else replace(one, nodes=(far, further), values=_in_series(one, other))
    return None


def _far(ends: tuple[str, ...], node: str) -> str:
    return ends[1] if ends[0] == node else ends[0]


def _in_series(one: Element, other: Element) -> tuple[tuple[str, str], ...]:
    """Add written values up, or the lengths of strips for the width of the first; nothing where only one tells any."""
    if one.value and other.value:
        return (("R", f"{one.value + other.value:.6g}"),)
    if one.squares and other.squares:
        width = nanometres(dict(one.values)["W"]) or 0
        return (("L", micrometres(round((one.squares + other.squares) * width))), ("W", micrometres(width)))
    return ()
