"""Slips at cells of a memory: one that stands beside its column, and two of a column on one word line."""

from collections import Counter
from collections.abc import Iterator

from layoutdrill.errors import plural
from layoutdrill.netlist.roles import Role
from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.recognise.view import Link
from layoutdrill.simulate.effort import spend


def cell_slips(scene: Scene) -> Iterator[Slip]:
    """Yield the slips that show in the lines of cells."""
    yield from _sides(scene)
    yield from _charged_cells(scene)
    yield from _twice_in_a_column(scene)


def _sides(scene: Scene) -> Iterator[Slip]:
    """Yield cross-coupled cells whose access leads to other lines than those of their likes."""
    view = scene.view
    cells: list[tuple[str, str, list[Link]]] = []
    for q, gate in view.gates.items():
        qn = gate.inverter_of
        if qn is None or qn not in view.gates or view.gates[qn].inverter_of != q or view.place[q] > view.place[qn]:
            continue
        access = [
            view.links[k] for net in (q, qn) for k in view.links_at.get(net, ())
            if view.links[k].term == "pass transistor" and view.links[k].other(net) not in (q, qn)
        ]  # fmt: skip
        if access:
            cells.append((q, qn, access))
    if len(cells) < 4:
        return
    shapes = Counter(len(a) for _, _, a in cells)
    usual, count = shapes.most_common(1)[0]
    if 4 * count < 3 * len(cells):
        return
    columns = Counter(_column(q, qn, access) for q, qn, access in cells)
    shared = _shared(cells)
    most = columns.most_common(1)[0][1]
    for q, qn, access in cells:
        names = tuple(n for k in access for n in view.names(k.members))
        if len(access) != usual:
            own = plural(len(access), "access transistor")
            text = f"the cell of {q} and {qn} has {own}; {count} others have {usual}"
            beside = ", ".join(sorted(_column(q, qn, access)))
            yield Slip("missing device" if len(access) < usual else "wrong side", text, names, (q, qn),
                       f"look for the other access transistor beside {beside}")  # fmt: skip
            continue
        words = {k.controls[0] for k in access}
        lines = _column(q, qn, access)
        if usual == 2 and len(words) == 2 and shared:
            text = f"the cell of {q} and {qn} is opened by {' and '.join(sorted(words))}; the others by one line each"
            yield Slip("wrong side", text, names, (q, qn, *sorted(words)), "one of its gates is on the other word line")
        elif columns[lines] == 1 and most > 1:
            spend(len(columns))
            near = [c for c, n in columns.most_common() if n > 1 and c & lines]
            text = f"the cell of {q} and {qn} stands on {' and '.join(sorted(lines))}; no other does"
            repair = f"its column is {' and '.join(sorted(near[0]))}" if near else ""
            yield Slip("wrong side", text, names, (q, qn, *sorted(lines)), repair)


def _charged_cells(scene: Scene) -> Iterator[Slip]:
    """Yield the cell of three transistors whose two lines, or two selects, no other cell has together."""
    cells = [s for s in scene.recognition.all() if s.term == "dynamic RAM cell" and len(s.transistors) == 3]
    for role, what in ((Role.WORD_LINE, "opened by"), (Role.BIT_LINE, "on")):
        pairs = [frozenset(s.nets(role)) for s in cells]
        counts = Counter(pairs)
        odd = [at for at, pair in enumerate(pairs) if counts[pair] == 1]
        if len(odd) == 2:  # where a word has two cells, its other one is alone as well
            mixed = [at for at in odd if any(n > 1 and p & pairs[at] for p, n in counts.items())]
            fewer = [at for at in odd if len(pairs[at]) < max(len(pairs[o]) for o in odd)]
            odd = mixed if len(mixed) == 1 else fewer or odd
        if len(odd) != 1 or len(cells) < 4:
            continue
        cell, pair = cells[odd[0]], pairs[odd[0]]
        near = [sorted(p) for p in counts if counts[p] > 1 and p & pair]
        text = f"the cell of {', '.join(cell.transistors)} is {what} {' and '.join(sorted(pair))}; no other is"
        repair = f"its likes are {what} {' and '.join(near[0])}" if near else ""
        yield Slip("wrong side", text, cell.transistors, tuple(sorted(pair)), repair)


def _twice_in_a_column(scene: Scene) -> Iterator[Slip]:
    """Yield cells of one transistor that share their word line with another of the column, which leaves one out."""
    every = [s for s in scene.recognition.all() if s.term == "dynamic RAM cell" and len(s.transistors) == 1]
    others = {n for s in every for n in s.nets(Role.WORD_LINE)}
    for amplifier in [s for s in scene.recognition.all() if s.term == "sense amplifier"] if every else ():
        lines = set(amplifier.nets(Role.BIT_LINE))
        cells = [c for c in every if lines & set(c.nets(Role.BIT_LINE))]
        words = Counter(n for c in cells for n in c.nets(Role.WORD_LINE))
        free = sorted(others - set(words))
        for word, count in words.items():
            if count == 2 and len(free) == 1:
                names = tuple(n for c in cells if word in c.nets(Role.WORD_LINE) for n in c.transistors)
                text = f"{' and '.join(names)}, of one column, are both opened by {word}, and none by {free[0]}"
                yield Slip("same address", text, names, (word, free[0]), f"one of them with its gate on {free[0]}")


def _column(q: str, qn: str, access: list[Link]) -> frozenset[str]:
    return frozenset(k.ends[0] if k.ends[1] in (q, qn) else k.ends[1] for k in access)


def _shared(cells: list[tuple[str, str, list[Link]]]) -> bool:
    """Tell whether most cells are opened by one line each."""
    single = [a for _, _, a in cells if len({k.controls[0] for k in a}) == 1]
    return 4 * len(single) >= 3 * len(cells)
