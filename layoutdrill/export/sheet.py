"""
Place symbols in columns and wire them: what feeds stands left of what it feeds.

A net's wire runs in the channels between columns, on a track of its own in each, and passes a column on a line between
its symbols (the layered drawing of K. Sugiyama et al., IEEE Trans. SMC-11, 1981, from memory; tracks by the left-edge
algorithm of A. Hashimoto and J. Stevens, 1971, from memory). Nets with many pins, or far apart, are named at each pin.
"""

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence

from layoutdrill.export.symbols import STEP, Pin, Symbol, dot, line, port, text, text_width, wire
from layoutdrill.value import mutable, value

MOST_PINS = 7
"""A net with more pins is told by its name, and so is one that passes more than `FARTHEST` columns."""
FARTHEST = 5
_TRACK, _TAIL, _GAP, _SWEEPS = 9, 12, 28, 6


@value
class Sheet:
    """A drawing from 0, 0 on."""

    width: int
    height: int
    lines: tuple[str, ...]


@value
class _End:
    """A pin as a channel sees it: the level of a wire, and whether it comes in from the channel's right."""

    y: int
    right: bool


@mutable
class _Passing:
    """A wire's way through a column."""

    net: str
    column: int
    y: int = 0

    height = STEP


def drawn(symbols: Sequence[Symbol], inputs: Sequence[str], outputs: Sequence[str], named: frozenset[str]) -> Sheet:
    """
    Return the symbols placed and wired; `inputs` stand at the left, `outputs` at the right.

    Nets in `named` are not wired but told by name.
    """
    _columns(symbols)
    last = max((s.column for s in symbols), default=0) + 1
    on = {pin.net for s in symbols for pin in s.pins}
    ports = [port(net, right=False) for net in inputs if net in on]
    ends = [port(net, right=True) for net in outputs if net in on]
    for symbol in ports:
        symbol.column = 0
    for symbol in ends:
        symbol.column = last
    every = [*ports, *symbols, *ends]
    told = set(named)
    while True:
        clash = _Wiring(every, last, told).clash
        if not clash:
            break
        told |= clash
    return _Wiring(every, last, told).sheet()


def _columns(symbols: Sequence[Symbol]) -> None:
    """Put each symbol right of those that feed it, along paths that do not come back."""
    makers: defaultdict[str, list[int]] = defaultdict(list)
    for at, symbol in enumerate(symbols):
        for pin in symbol.pins:
            if pin.right:
                makers[pin.net].append(at)
    before = [
        sorted({m for pin in s.pins if not pin.right for m in makers[pin.net] if m != at})
        for at, s in enumerate(symbols)
    ]
    state = [0] * len(symbols)
    for root in range(len(symbols)):
        stack = [(root, 0)] if not state[root] else []
        while stack:
            at, step = stack.pop()
            state[at] = 1
            while step < len(before[at]) and state[before[at][step]]:
                step += 1
            if step < len(before[at]):
                stack += [(at, step + 1), (before[at][step], 0)]
                continue
            done = [symbols[i].column for i in before[at] if state[i] == 2]
            symbols[at].column = max(done, default=0) + 1
            state[at] = 2


def _by_number(row: Sequence[Symbol | _Passing]) -> list[Symbol | _Passing]:
    """Return a column of ports in which those of one word, as a0 to a3, stand in the order of their numbers."""
    places: defaultdict[tuple[str, ...], list[int]] = defaultdict(list)
    numbers: dict[int, int] = {}
    for at, entry in enumerate(row):
        numbered = None if isinstance(entry, _Passing) else re.fullmatch(r"(.*?)(\d+)(\D*)", entry.pins[0].net)
        if numbered is not None:
            places[numbered[1], numbered[3]].append(at)
            numbers[at] = int(numbered[2])
    result = list(row)
    for word in places.values():
        for at, source in zip(word, sorted(word, key=numbers.__getitem__), strict=True):
            result[at] = row[source]
    return result


class _Wiring:
    """Symbols in their columns with the wires between; `clash` are nets that must be told by name instead."""

    def __init__(self, symbols: Sequence[Symbol], last: int, told: set[str]) -> None:
        self.last = last
        self.symbols = symbols
        self.pins: defaultdict[str, list[tuple[Symbol, Pin]]] = defaultdict(list)
        for symbol in symbols:
            for pin in symbol.pins:
                self.pins[pin.net].append((symbol, pin))
        self.wired = {net: self._channels(net) for net in self.pins if net not in told and self._is_wired(net)}
        self.rows: list[list[Symbol | _Passing]] = [[] for _ in range(last + 1)]
        for symbol in symbols:
            self.rows[symbol.column].append(symbol)
        self.passing: dict[tuple[str, int], _Passing] = {}
        for net, (low, high) in self.wired.items():
            for column in range(low, high):
                way = self.passing[net, column] = _Passing(net, column)
                self.rows[column].append(way)
        self._order()
        self._stack()
        self.tracks: list[dict[str, int]] = []
        self.clash: set[str] = set()
        for channel in range(1, last + 1):
            self.tracks.append(self._assigned(channel))

    def _channels(self, net: str) -> tuple[int, int]:
        at = [symbol.column + pin.right for symbol, pin in self.pins[net]]
        return min(at), max(at)

    def _is_wired(self, net: str) -> bool:
        low, high = self._channels(net)
        return 1 < len(self.pins[net]) <= MOST_PINS and high - low <= FARTHEST and low > 0 and high <= self.last

    def _levels(self, entry: Symbol | _Passing) -> list[tuple[str, int, bool]]:
        """Return (net, level, right) of each end of an entry of a column that is wired."""
        if isinstance(entry, _Passing):
            return [(entry.net, entry.y + STEP // 2, side) for side in (False, True)]
        return [(pin.net, entry.y + pin.y, pin.right) for pin in entry.pins if pin.net in self.wired]

    def _order(self) -> None:
        for row in self.rows:
            self._spread(row)
        for sweep in range(_SWEEPS):
            order = range(len(self.rows)) if sweep % 2 == 0 else range(len(self.rows) - 1, -1, -1)
            for column in order:
                beside = column - 1 if sweep % 2 == 0 else column + 1
                if 0 <= beside < len(self.rows):
                    levels = self._heights(beside)
                    row = self.rows[column]
                    places = [self._mean(entry, levels) for entry in row]
                    kept = [place if place is not None else entry.y for place, entry in zip(places, row, strict=True)]
                    sorted_row = [row[at] for at in sorted(range(len(row)), key=kept.__getitem__)]
                    self.rows[column] = _by_number(sorted_row) if column in (0, self.last) else sorted_row
                    self._spread(self.rows[column])

    def _spread(self, row: Sequence[Symbol | _Passing]) -> None:
        y = 0
        for entry in row:
            entry.y = y
            y += _deep(entry)

    def _heights(self, column: int) -> Mapping[str, float]:
        levels: defaultdict[str, list[int]] = defaultdict(list)
        for entry in self.rows[column]:
            for net, level, _ in self._levels(entry):
                levels[net].append(level)
        return {net: sum(ys) / len(ys) for net, ys in levels.items()}

    def _mean(self, entry: Symbol | _Passing, levels: Mapping[str, float]) -> float | None:
        seen = [levels[net] for net, _, _ in self._levels(entry) if net in levels]
        return sum(seen) / len(seen) if seen else None

    def _stack(self) -> None:
        """Give each entry its level: that of what it is joined to on its left, where there is room."""
        for column, row in enumerate(self.rows):
            levels = self._heights(column - 1) if column else {}
            y = 0
            for entry in row:
                entry.y = 0
                wants = [
                    levels[net] - level for net, level, right in self._levels(entry) if net in levels and not right
                ]
                entry.y = max(y, int(min(wants)) // 8 * 8 if wants else y)
                y = entry.y + _deep(entry)

    def _ends(self, channel: int) -> dict[str, list[_End]]:
        ends: defaultdict[str, list[_End]] = defaultdict(list)
        for column in (channel - 1, channel):
            for entry in self.rows[column]:
                for net, level, right in self._levels(entry):
                    if right == (column == channel - 1):
                        ends[net].append(_End(level, column == channel))
        return ends

    def _assigned(self, channel: int) -> dict[str, int]:
        """Return the track of each net of a channel that needs one, counted from the left."""
        ends = self._ends(channel)
        from_left = {end.y: net for net, es in ends.items() for end in es if not end.right}
        bent = {net for net, es in ends.items() if len({end.y for end in es}) > 1}
        before: defaultdict[str, set[str]] = defaultdict(set)
        for net, es in ends.items():
            for end in es:
                other = from_left.get(end.y)
                if end.right and other is not None and other != net:
                    before[net].add(other)
        tracks: dict[str, int] = {}
        spans: list[list[tuple[int, int]]] = []
        waiting = sorted(bent, key=lambda net: min(end.y for end in ends[net]))
        while waiting:
            ready = [n for n in waiting if not before[n] & (set(waiting) - {n})]
            if not ready:
                self.clash.add(waiting[0])
                return tracks
            net = ready[0]
            waiting.remove(net)
            ys = [end.y for end in ends[net]]
            low, high = min(ys) - 2, max(ys) + 2
            least = max((tracks[n] + 1 for n in before[net] if n in tracks), default=0)
            while True:
                if least == len(spans):
                    spans.append([])
                if all(high < a or low > b for a, b in spans[least]):
                    break
                least += 1
            spans[least].append((low, high))
            tracks[net] = least
        return tracks

    def sheet(self) -> Sheet:
        """Return the drawing."""
        x, lines, rights = 0, [], []
        wide = [max((s.width for s in row if isinstance(s, Symbol)), default=0) for row in self.rows]
        starts = []
        tracks_at: list[int] = []
        for column in range(len(self.rows)):
            starts.append(x)
            rights.append(x + wide[column])
            x += wide[column]
            if column < self.last:
                left = self._labels(column, right=True)
                right = self._labels(column + 1, right=False)
                tracks_at.append(x + _TAIL + left)
                count = max(self.tracks[column].values(), default=-1) + 1
                x += 2 * _TAIL + left + right + _TRACK * max(0, count - 1)
        for symbol in self.symbols:
            symbol.x = starts[symbol.column]
            if symbol.column == 0:
                symbol.x = rights[0] - symbol.width
        for channel in range(1, self.last + 1):
            lines += self._channel(channel, rights[channel - 1], tracks_at[channel - 1], starts[channel])
        for (_, column), way in self.passing.items():
            level = way.y + STEP // 2
            lines.append(wire(way.net, starts[column], level, rights[column], level))
        for symbol in self.symbols:
            lines += self._tails(symbol, rights[symbol.column])
            lines += symbol.draw(symbol.x, symbol.y)
        high = max((e.y + _deep(e) for row in self.rows for e in row), default=0)
        return Sheet(x, high, tuple(lines))

    def _labels(self, column: int, *, right: bool) -> int:
        """Return the room that names beside a column take."""
        names = [
            pin.net
            for entry in self.rows[column]
            if isinstance(entry, Symbol) and not self._is_port(entry)
            for pin in entry.pins
            if pin.right is right and pin.net not in self.wired
        ]
        return max(map(text_width, names), default=0)

    def _is_port(self, symbol: Symbol) -> bool:
        return symbol.column == 0 or (symbol.column == self.last and len(symbol.pins) == 1 and not symbol.pins[0].right)

    def _tails(self, symbol: Symbol, edge: int) -> list[str]:
        """Lead a pin to the edge of its column where it is wired, and name its net where it is not."""
        lines = []
        for pin in symbol.pins:
            x, y = symbol.x + pin.x, symbol.y + pin.y
            if pin.net in self.wired:
                if pin.right and x < edge:
                    lines.append(wire(pin.net, x, y, edge, y))
            elif not self._is_port(symbol):
                to = x + 8 if pin.right else x - 8
                lines += [
                    line(x, y, to, y),
                    text(to + (2 if pin.right else -2), y, pin.net, "start" if pin.right else "end"),
                ]
        return lines

    def _channel(self, channel: int, left: int, first: int, right: int) -> list[str]:
        lines = []
        for net, ends in self._ends(channel).items():
            levels = sorted({end.y for end in ends})
            track = self.tracks[channel - 1].get(net)
            if track is None:
                sides = {end.right for end in ends}
                a, b = (left if False in sides else right), (right if True in sides else left)
                lines.append(wire(net, a, levels[0], b, levels[0]))
                continue
            x = first + _TRACK * track
            lines.append(wire(net, x, levels[0], x, levels[-1]))
            lines += [wire(net, x, end.y, right if end.right else left, end.y) for end in ends]
            for level in levels:
                at = sum(end.y == level for end in ends)
                if at + (levels[0] < level) + (level < levels[-1]) > 2:
                    lines.append(dot(x, level))
        return lines


def _deep(entry: Symbol | _Passing) -> int:
    """Return how far the next entry of a column stands below this one's top."""
    if isinstance(entry, _Passing):
        return STEP
    return -(-(entry.height + (_GAP if entry.height > STEP else 4)) // 8) * 8
