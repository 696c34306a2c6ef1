"""Say where in an array a device lies: the lines that cross at its cell, as rows and columns of memories have them."""

from collections import Counter

from layoutdrill.netlist.model import Netlist

LINE = 3
"""From so many gates, or so many channel ends, a net may be a line of an array (ours)."""
LEAST_CROSSINGS = 8
"""Fewer places at which a word line meets a bit line are no array (ours)."""
_MOST = 12  # devices of one cell


def place_of(netlist: Netlist, device: str) -> str:
    """
    Return "where word line w2 crosses bit line b3", in the netlist's own names; "" where the device is in no array.

    A word line gates several transistors, a bit line has several channel ends; rails are neither. The
    device's cell is what hangs together with it over nets that are no lines.
    """
    gates = Counter(t.gate for t in netlist.transistors)
    ends = Counter(end for t in netlist.transistors for end in set(t.ends))
    ends.update(node for e in netlist.elements for node in set(e.nodes))
    rails = _rails(netlist, ends)
    words = {net for net, count in gates.items() if count >= LINE and net not in rails}
    # A stored net of a cell has three ends, too, but it gates the other half.
    bits = {n for n, count in ends.items() if count >= LINE + 2 * bool(gates[n]) and n not in rails and n not in words}
    crossings = {(t.gate, end) for t in netlist.transistors if t.gate in words for end in t.ends if end in bits}
    if len(crossings) < LEAST_CROSSINGS:
        return ""
    by_name = {t.name: t for t in netlist.transistors}
    start = by_name.get(device)
    if start is None:
        return ""
    lines = words | bits | rails
    cell, edge = {device}, [start]
    on: dict[str, list[str]] = {}
    for t in netlist.transistors:
        for net in {t.gate, *t.ends} - lines:
            on.setdefault(net, []).append(t.name)
    while edge:
        t = edge.pop()
        for net in {t.gate, *t.ends} - lines:
            for name in on[net]:
                if name not in cell:
                    cell.add(name)
                    edge.append(by_name[name])
        if len(cell) > _MOST:
            return ""
    mine = [by_name[name] for name in cell]
    rows = sorted({t.gate for t in mine} & words)
    columns = sorted({end for t in mine for end in t.ends} & bits)
    if not rows or not columns or len(rows) > 2 or len(columns) > 4:
        return ""
    noun = "word line" if len(rows) == 1 else "word lines"
    other = "bit line" if len(columns) == 1 else "bit lines"
    return f"where {noun} {' and '.join(rows)} cross{'es' if len(rows) == 1 else ''} {other} {' and '.join(columns)}"


def _rails(netlist: Netlist, ends: Counter[str]) -> set[str]:
    """Return the nets that most channels end on: a rail has a share of all devices, a line only of its row."""
    count = len(netlist.transistors)
    return {net for net, number in ends.items() if number > max(LINE, count / 4)}
