"""
Draw a hierarchy's top as a schematic in SVG: a box for each structure, inputs on its left, outputs on its right.

Boxes stand in columns, each right of what feeds it; a net to the next column runs in the channel between, on a track of
its own, and any other is labelled at each pin. Qualifying symbols in the boxes are those of IEC 60617-12 (&, ≥1, =1, 1;
from memory), with a ring at an output that is the opposite.
"""

from collections import defaultdict
from xml.sax.saxutils import escape

from layoutdrill.export.hierarchy import Block, Hierarchy, Place
from layoutdrill.value import mutable, value

MOST_PINS = 6
"""A net with more pins is told by its name."""
MOST_BOXES = 400
_PITCH, _GAP, _TRACK, _LEFT, _HEAD = 18, 26, 8, 90, 40
_FONT = 'font-family="sans-serif" font-size="11"'
_SYMBOLS = {"NAND": ("&", True), "AND": ("&", False), "NOR": ("≥1", True), "OR": ("≥1", False), "XOR": ("=1", False),
            "XNOR": ("=1", True), "inverter": ("1", True), "buffer": ("1", False)}  # fmt: skip


@value
class Pin:
    """A pin of a box: where its wire starts, on which side, and the net and port that it carries."""

    x: int
    y: int
    right: bool
    net: str
    port: str


@mutable
class Box:
    """A structure placed; `column` counts from the left."""

    title: str
    symbol: str
    ring: bool
    inputs: tuple[tuple[str, str], ...]  # (port, net)
    outputs: tuple[tuple[str, str], ...]
    column: int
    x: int = 0
    y: int = 0

    @property
    def height(self) -> int:
        return _PITCH * (max(len(self.inputs), len(self.outputs), 1) + 1)

    @property
    def width(self) -> int:
        longest = max((len(port) for port, _ in (*self.inputs, *self.outputs)), default=0)
        return max(64, 7 * len(self.title) + 16, 14 * longest + 30)

    def pins(self) -> list[Pin]:
        left = [Pin(self.x, self.y + _PITCH * at, False, net, port) for at, (port, net) in enumerate(self.inputs, 1)]
        edge = self.x + self.width + (8 if self.ring else 0)
        return left + [Pin(edge, self.y + _PITCH * at, True, net, p) for at, (p, net) in enumerate(self.outputs, 1)]


def schematic_svg(hierarchy: Hierarchy) -> str:
    """Return the drawing of the top block; what lies directly in it, outside any structure, is told below."""
    top = hierarchy.top
    boxes = _boxes(hierarchy)[:MOST_BOXES]
    _columns(boxes)
    ends = _place(boxes)
    pins = [pin for box in boxes for pin in box.pins()]
    pins += _ports(top, boxes)
    wires, labels = _wires(pins, boxes, set(top.ports) & {net for box in boxes for _, net in box.outputs})
    wide, high = ends[0] + _LEFT, max(ends[1], _PITCH * (len(top.ports) + 2)) + _HEAD
    rest = [t.name for t in top.transistors] + [f"{e.name} ({e.kind})" for e in top.elements]
    remarks = [f"outside any structure: {', '.join(rest[:12])}" + (" …" if len(rest) > 12 else "")] if rest else []
    if len(top.places) > MOST_BOXES:
        remarks.append(f"{len(top.places) - MOST_BOXES} more structures are not drawn")
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high + 16 * len(remarks)}" {_FONT}>',
        '<rect width="100%" height="100%" fill="white"/>',
        f'<text x="12" y="20" font-size="14">{escape(top.name)}</text>',
        *wires,
        *(line for box in boxes for line in _drawn(box)),
        *labels,
        *(f'<text x="12" y="{high + 16 * at}">{escape(text)}</text>' for at, text in enumerate(remarks)),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _boxes(hierarchy: Hierarchy) -> list[Box]:
    blocks = {block.name: block for block in hierarchy.blocks}
    boxes = []
    for place in hierarchy.top.places:
        block = blocks[place.block]
        ins, outs = _sides(block, place)
        stem = block.term.rstrip("0123456789")
        symbol, ring = _SYMBOLS.get(stem, ("", False))
        boxes.append(Box("" if symbol else block.term, symbol, ring and len(outs) == 1, ins, outs, 0))
    return boxes


def _sides(block: Block, place: Place) -> tuple[tuple[tuple[str, str], ...], tuple[tuple[str, str], ...]]:
    """Return (port, net) of the left side and of the right one, where the outputs are."""
    ports = [(port, place.joined[port]) for port in block.ports]
    outs = tuple(pair for pair in ports if pair[0] in block.outputs)
    return tuple(pair for pair in ports if pair not in outs), outs


def _columns(boxes: list[Box]) -> None:
    """Put each box right of what feeds it; loops are cut where they would not end."""
    makers = defaultdict(list)
    for at, box in enumerate(boxes):
        for _, net in box.outputs:
            makers[net].append(at)
    for _ in range(len(boxes)):
        moved = False
        for at, box in enumerate(boxes):
            before = [boxes[i].column for _, net in box.inputs for i in makers[net] if i != at]
            column = min(max(before, default=-1) + 1, len(boxes) - 1)
            if column > box.column and column <= len(boxes) // 2 + 1:
                box.column, moved = column, True
        if not moved:
            break


def _place(boxes: list[Box]) -> tuple[int, int]:
    """Give boxes their places; return how far the drawing reaches to the right and down."""
    columns: defaultdict[int, list[Box]] = defaultdict(list)
    for box in boxes:
        columns[box.column].append(box)
    x, low = _LEFT + 60, _HEAD
    for column in sorted(columns):
        y = _HEAD
        for box in columns[column]:
            box.x, box.y = x, y
            y += box.height + _GAP
        low = max(low, y)
        nets = {net for box in columns[column] for _, net in box.outputs}
        x += max(box.width for box in columns[column]) + 80 + _TRACK * (len(nets) + 4)
    return x, low


def _ports(top: Block, boxes: list[Box]) -> list[Pin]:
    """Return the ports that no box drives, one below the other at the left."""
    made = {net for box in boxes for _, net in box.outputs}
    ins = [port for port in top.ports if port not in made]
    return [Pin(_LEFT, _HEAD + _PITCH * at, True, net, net) for at, net in enumerate(ins, 1)]


def _wires(pins: list[Pin], boxes: list[Box], outputs: set[str]) -> tuple[list[str], list[str]]:
    """Draw nets that lead to the next column alone as wires with a track of their own, and name the others at pins."""
    on: defaultdict[str, list[Pin]] = defaultdict(list)
    for pin in pins:
        on[pin.net].append(pin)
    starts = sorted({box.x for box in boxes})
    used: defaultdict[int, int] = defaultdict(int)
    wires, labels = [], []
    for net, members in on.items():
        source = next((pin for pin in members if pin.right), None)
        others = [pin for pin in members if pin is not source]
        near = source is not None and all(
            not pin.right and _column(pin.x, starts) == _column(source.x, starts) + 1 for pin in others
        )
        if source is not None and others and near and len(members) <= MOST_PINS and net not in outputs:
            channel = _column(source.x, starts)
            track = max(source.x + 14, starts[channel] - 56 - _TRACK * used[channel])
            used[channel] += 1
            low, high = min(pin.y for pin in members), max(pin.y for pin in members)
            wires += [_line(source.x, source.y, track, source.y), _line(track, low, track, high)]
            wires += [_line(track, pin.y, pin.x, pin.y) for pin in others]
            if len(others) > 1:
                wires += [f'<circle cx="{track}" cy="{pin.y}" r="2"/>' for pin in members if low < pin.y < high]
            if source.x == _LEFT:
                labels.append(_label(source, net, at=source.x - 3, anchor="end"))
            continue
        for pin in members:
            if pin.x == _LEFT and others:
                continue  # its name stands at the pins that it leads to
            tail = 12 if pin.right else -12
            wires.append(_line(pin.x, pin.y, pin.x + tail, pin.y))
            at, anchor = (pin.x + 14, "start") if pin.right else (pin.x - 15, "end")
            labels.append(_label(pin, net, at=at, anchor=anchor))
    return wires, labels


def _column(x: int, starts: list[int]) -> int:
    return sum(start <= x for start in starts)


def _line(x0: int, y0: int, x1: int, y1: int) -> str:
    return f'<line x1="{x0}" y1="{y0}" x2="{x1}" y2="{y1}" stroke="black"/>'


def _label(pin: Pin, net: str, *, at: int, anchor: str) -> str:
    return f'<text x="{at}" y="{pin.y + 4}" text-anchor="{anchor}">{escape(net)}</text>'


def _drawn(box: Box) -> list[str]:
    middle = box.x + box.width // 2
    lines = [
        f'<rect x="{box.x}" y="{box.y}" width="{box.width}" height="{box.height}" fill="none" stroke="black"/>',
        f'<text x="{middle}" y="{box.y + 13}" text-anchor="middle">{escape(box.symbol or box.title)}</text>',
    ]
    if box.ring:
        lines += [
            f'<circle cx="{box.x + box.width + 4}" cy="{pin.y}" r="4" fill="white" stroke="black"/>'
            for pin in box.pins()
            if pin.right
        ]
    if box.symbol:
        return lines
    for pin in box.pins():
        at, anchor = (box.x + box.width - 4, "end") if pin.right else (box.x + 4, "start")
        name = escape(pin.port.rpartition(".")[2])
        lines.append(f'<text x="{at}" y="{pin.y + 4}" text-anchor="{anchor}" font-size="9">{name}</text>')
    return lines
