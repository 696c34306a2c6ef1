"""
Draw a hierarchy as a schematic in SVG: the circuit first, then each kind of block once, down to its transistors.

Gates stand in their usual shapes, switches and transistors as such, arrays as cells where word and bit lines cross, and
all else as boxes with the names of the block's ports inside.
"""

import re
from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape

from layoutdrill.errors import plural
from layoutdrill.export.cells import field
from layoutdrill.export.hierarchy import Block, Hierarchy, Place
from layoutdrill.export.sheet import Sheet, drawn
from layoutdrill.export.stages import stage
from layoutdrill.export.symbols import SHAPES, Symbol, box, gate, lying, switch, two_ended
from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.netlist.roles import Role
from layoutdrill.netlist.stages import components, split_passes, stage_of

MOST_SYMBOLS = 160
"""On one sheet; what is more is told by its number."""
MOST_SHEETS = 40
_MARGIN, _TITLE = 24, 30
_LEFT = (Role.INPUT, Role.DATA, Role.CLOCK, Role.ENABLE, Role.SELECT, Role.ADDRESS, Role.SET, Role.RESET,
         Role.WORD_LINE)  # fmt: skip


def schematic_svg(hierarchy: Hierarchy) -> str:
    """Return the drawing; what is left out for want of room is told below the sheet where it belongs."""
    blocks = [hierarchy.top, *reversed(hierarchy.blocks[:-1])]
    lines: list[str] = []
    y, wide = _MARGIN, 0
    for block in blocks[:MOST_SHEETS]:
        sheet, remark = _sheet(hierarchy, block)
        title = block.name + (f": {block.term}" if block.term and block.name != block.term else "")
        lines.append(f'<text x="{_MARGIN}" y="{y + 6}" font-size="14" font-weight="bold">{escape(title)}</text>')
        lines.append(f'<g transform="translate({_MARGIN} {y + _TITLE})">')
        lines += [*sheet.lines, "</g>"]
        y += _TITLE + sheet.height + 8
        if remark:
            lines.append(f'<text x="{_MARGIN}" y="{y}">{escape(remark)}</text>')
            y += 16
        y += 16
        wide = max(wide, sheet.width + 2 * _MARGIN, 9 * len(title) + 2 * _MARGIN, 7 * len(remark) + 2 * _MARGIN)
    if len(blocks) > MOST_SHEETS:
        lines.append(
            f'<text x="{_MARGIN}" y="{y}">and {plural(len(blocks) - MOST_SHEETS, "more kind")} of block</text>'
        )
        y += 20
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{y}" viewBox="0 0 {wide} {y}" '
        'font-family="sans-serif" font-size="11">'
    )
    return "\n".join([head, '<rect width="100%" height="100%" fill="white"/>', *lines, "</svg>"]) + "\n"


def _sheet(hierarchy: Hierarchy, block: Block) -> tuple[Sheet, str]:
    """Return a block's own sheet, and what is to be said below it."""
    blocks = {b.name: b for b in hierarchy.blocks}
    symbols, rest = field(block, blocks)
    sources = _sources(block, blocks, rest)
    symbols += [_placed(blocks[place.block], place, sources) for place in rest]
    symbols += _loose(hierarchy, block, sources)
    more = len(symbols) - MOST_SYMBOLS
    shown = symbols[:MOST_SYMBOLS]
    made = {pin.net for s in shown for pin in s.pins if pin.right}
    outputs = [net for net in block.ports if net in made and block.roles.get(net) not in _LEFT]
    inputs = [net for net in block.ports if net not in outputs]
    sheet = drawn(shown, inputs, outputs, frozenset(hierarchy.rails))
    return sheet, f"{plural(more, 'more symbol')} not drawn" if more > 0 else ""


def _sources(block: Block, blocks: dict[str, Block], places: Sequence[Place]) -> set[str]:
    """Return the nets that are driven before any switch: ports, and outputs of gates."""
    nets = {p.joined[port] for p in places for port in blocks[p.block].outputs}
    return nets | {net for net in block.ports if block.roles.get(net) is not Role.OUTPUT}


def _placed(block: Block, place: Place, sources: set[str]) -> Symbol:
    joined = [(port, place.joined[port]) for port in block.ports]
    outs = [(port, net) for port, net in joined if port in block.outputs]
    ins = [(port, net) for port, net in joined if port not in block.outputs]
    shape = SHAPES.get(re.sub(r"\d+\Z", "", block.term))
    if shape is not None and len(outs) == 1 and ins:
        return gate(shape[0], [net for _, net in ins], outs[0][1], turned=shape[1])
    if block.term == "transmission gate" and len(block.transistors) == 2:
        n = next((t for t in block.transistors if t.kind is Kind.N), None)
        p = next((t for t in block.transistors if t.kind is Kind.P), None)
        if n is not None and p is not None and n.ends == p.ends and {n.gate, p.gate, *n.ends} <= set(place.joined):
            one, other = _directed([place.joined[end] for end in n.ends], sources)
            return switch(one, other, place.joined[n.gate], place.joined[p.gate])
    if not outs:
        right = [pair for pair in ins if block.roles.get(pair[0]) in (Role.BIT_LINE, Role.SIGNAL)]
        if len(right) < len(ins):
            ins, outs = [pair for pair in ins if pair not in right], right
    return box(block.name, ins, outs)


def _directed(ends: Sequence[str], sources: set[str]) -> tuple[str, str]:
    """Return two nets, that which drives first where one does."""
    one, other = ends
    return (other, one) if other in sources and one not in sources else (one, other)


def _loose(hierarchy: Hierarchy, block: Block, sources: set[str]) -> Iterator[Symbol]:
    """Yield the transistors that lie directly in a block, stage by stage, and its other devices."""
    own = Netlist(block.name, block.ports, block.transistors)
    highs = [net for net in hierarchy.rails if net in hierarchy.high]
    lows = [net for net in hierarchy.rails if net not in hierarchy.high]
    high, low = _rail(own, highs), _rail(own, lows)
    read = Netlist(block.name, (*block.ports, *_seen(block)), block.transistors)
    passes, rest = split_passes(read, (low, high))
    others: list[Transistor] = []
    for part in components(rest, (low, high)):
        made = stage_of(part, read, (low, high))
        if made is None:
            others += part
        else:
            yield stage(made, high, low)
    for ends, members in sorted(passes.items()):
        n = next((t for t in members if t.kind is Kind.N), None)
        p = next((t for t in members if t.kind is Kind.P), None)
        if n is not None and p is not None and len(members) == 2:
            one, other = _directed(ends, sources)
            yield switch(one, other, n.gate, p.gate)
        else:
            others += members
    for t in others:
        one, other = _directed((t.source, t.drain), sources)
        yield lying(one, other, t.gate, is_p=t.kind is Kind.P, heavy=t.mode is Mode.DEPLETION)
    for e in block.elements:
        if len(e.nodes) >= 2:
            yield two_ended(e.kind, e.name, e.nodes[0], e.nodes[1])


def _rail(netlist: Netlist, rails: Sequence[str]) -> str:
    """Return the rail of a level that most transistors are on."""
    ends = [end for t in netlist.transistors for end in t.ends]
    return max(rails, key=ends.count, default="")


def _seen(block: Block) -> list[str]:
    """Return the nets that anything beside the block's own transistors is on."""
    nets = dict.fromkeys(net for place in block.places for net in place.joined.values())
    return list(nets | dict.fromkeys(node for e in block.elements for node in e.nodes))
