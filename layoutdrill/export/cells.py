"""Draw the cells of an array where their word lines cross their bit lines."""

from collections import defaultdict
from collections.abc import Mapping, Sequence

from layoutdrill.export.hierarchy import Block, Place
from layoutdrill.export.names import natural
from layoutdrill.export.symbols import Pin, Symbol, dot, line, text, text_width
from layoutdrill.netlist.roles import Role

FEWEST, MOST = 4, 8
"""So many cells make an array; so many rows and columns of it are drawn."""
_HIGH = 44


def field(block: Block, blocks: Mapping[str, Block]) -> tuple[list[Symbol], list[Place]]:
    """Return an array of cells for each kind that stands where lines cross, and the places that are left."""
    by_kind: defaultdict[str, list[Place]] = defaultdict(list)
    for place in block.places:
        by_kind[place.block].append(place)
    symbols, rest = [], []
    for name, places in by_kind.items():
        cell = blocks[name]
        words = [port for port in cell.ports if cell.roles.get(port) is Role.WORD_LINE]
        bits = [port for port in cell.ports if cell.roles.get(port) is Role.BIT_LINE]
        if len(places) >= FEWEST and words and bits and len(words) + len(bits) == len(cell.ports):
            symbols.append(_array(cell, places, words, bits))
        else:
            rest += places
    return symbols, rest


def _array(cell: Block, places: Sequence[Place], words: Sequence[str], bits: Sequence[str]) -> Symbol:
    rows = _lines(places, words)
    columns = _lines(places, bits)
    at = {(tuple(p.joined[w] for w in words), tuple(p.joined[b] for b in bits)) for p in places}
    shown_rows, shown_columns = rows[:MOST], columns[:MOST]
    inner = -(-max(48, text_width(cell.name, 9) + 12) // 8) * 8
    pitch = inner + 16 * len(bits) + 16
    step = -(-(_HIGH + 8 * len(words)) // 8) * 8
    bottom = step * len(shown_rows) + 16
    wide = pitch * len(shown_columns) + 16
    pins = [Pin(0, step * r + 8 + 8 * k, False, net) for r, nets in enumerate(shown_rows) for k, net in enumerate(nets)]
    outs = [(c, k, net) for c, nets in enumerate(shown_columns) for k, net in enumerate(nets)]
    pins += [Pin(wide, bottom + 16 * at, True, net) for at, (_, _, net) in enumerate(reversed(outs))]
    high = bottom + 16 * len(outs) + (16 if (rows, columns) != (shown_rows, shown_columns) else 0)

    def draw(x: int, y: int) -> list[str]:
        lines = []
        for r, nets in enumerate(shown_rows):
            for k, _ in enumerate(nets):
                level = y + step * r + 8 + 8 * k
                lines.append(line(x, level, x + wide - 16, level))
        for turn, (c, k, _) in enumerate(reversed(outs)):
            across, level = x + _bit_x(c, k, pitch, inner, len(bits)), y + bottom + 16 * turn
            lines.append(line(across, y, across, level, x + wide, level))
        for r, word in enumerate(shown_rows):
            for c, bit in enumerate(shown_columns):
                if (word, bit) in at:
                    bit_lines = [x + _bit_x(c, k, pitch, inner, len(bits)) for k in range(len(bits))]
                    lines += _cell(cell.name, x + pitch * c + 16, y + step * r + 8 * len(word) + 8, inner, bit_lines)
        if (rows, columns) != (shown_rows, shown_columns):
            lines.append(text(x, y + high - 8, f"{len(rows)} × {len(columns)} in all", size=9))
        return lines

    return Symbol(wide, high, pins, draw)


def _bit_x(column: int, bit: int, pitch: int, inner: int, bits: int) -> int:
    """Return where a bit line runs: the first left of its cells, the others right of them."""
    left = pitch * column + 16
    return left - 8 if bit == 0 else left + inner + 8 * (2 * bit - 1) if bits > 1 else left - 8


def _cell(name: str, x: int, y: int, inner: int, bit_lines: Sequence[int]) -> list[str]:
    """Draw a cell `inner` wide below the word line at y, joined to the bit lines at their places across."""
    top, high = y + 6, 24
    lines = [
        line(x + inner // 2, y - 8, x + inner // 2, top),
        dot(x + inner // 2, y - 8),
        f'<rect x="{x}" y="{top}" width="{inner}" height="{high}" fill="white" stroke="black"/>',
        text(x + inner // 2, top + high // 2, name, "middle", 9),
    ]
    for k, across in enumerate(bit_lines):
        edge = x if across < x else x + inner
        level = top + 8 + 8 * (k > 1)
        lines += [line(across, level, edge, level), dot(across, level)]
    return lines


def _lines(places: Sequence[Place], ports: Sequence[str]) -> list[tuple[str, ...]]:
    every = {tuple(place.joined[port] for port in ports) for place in places}
    return sorted(every, key=lambda nets: [natural(net) for net in nets])
