"""
Join cells with the lines that read them by stacks of two: ports of a register file, words that are compared.

Forms as in textbooks of memory design: a stack of a select and the cell's net to a charged line; two stacks a cell,
each of one side of the cell and the opposite side of the bit sought, to a line that falls where any bit differs (Weste
& Harris), from memory.
"""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.charged import charged_nets
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, replaced
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.view import View
from layoutdrill.recognise.work import literal
from layoutdrill.simulate.expression import And, Expression, Not, Or
from layoutdrill.value import value

_LINES = ("precharged gate", "domino gate", "pull-down", "pull-up", "clocked-load gate", "tri-state bus")
_RATIOED = ("AOI", "OAI", "complex gate")


@value
class Stack:
    """What lets a line go: a cell by number, whether by the cell's first net, and the net that asks."""

    cell: int
    first: bool
    asks: str


def join_read_lines(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with arrays and the lines that read their cells joined."""
    result = structures
    for array in [s for s in structures if s.term in ("RAM array", "static RAM cell")]:
        near = Neighbours.of(view, result)
        cells = [p for p in array.parts if p.term == "static RAM cell"] if array.term == "RAM array" else [array]
        inner = {n: (i, at == 0) for i, c in enumerate(cells) for at, n in enumerate(inner_nets(view, c))}
        lines: dict[Structure, list[Stack]] = {}
        for s in [s for s in result if s.term in _LINES or s.term.startswith(_RATIOED)]:
            if len(s.nets(Role.OUTPUT)) == 1 and (stacks := _stacks(view, s, inner)):
                lines[s] = stacks
        if not lines:
            if (word := _opened_words(view, result, array, cells)) is not None:
                result = replaced(result, word.parts, word)
            continue
        named = _compared(cells, lines) or _ports(cells, lines)
        if named is None:
            continue
        term, words = named
        after = [
            r for s in lines for r in near.readers.get(s.nets(Role.OUTPUT)[0], ()) if r.term in ("inverter", "buffer")
        ]
        loads = [s for s in result if s.term in ("pull-up", "precharge") and _holds(s, lines)]
        parts = list(dict.fromkeys((array, *lines, *after, *loads)))
        parts += [p for p in near.feeders(parts) if p not in parts]
        also = ("RAM array",) if array.term == "RAM array" else ("static RAM cell",)
        result = replaced(result, parts, block(view, term, parts, words, also=also))
    return result


def _opened_words(
    view: View, structures: list[Structure], array: Structure, cells: list[Structure]
) -> Structure | None:
    """
    Join cells with the charged lines whose every transistor a cell opens: the bit sought, or the one that it is not,
    comes through the side of the cell that holds a 1.

    In series they let the line go where all bits fit, in parallel where one does not (Pagiamtzis and Sheikholeslami
    2006; from memory).
    """
    inner = {n: (i, at) for i, c in enumerate(cells) for at, n in enumerate(inner_nets(view, c))}
    words: dict[Structure, list[int]] = {}
    names: set[str] = set()
    in_series = False
    for line in [s for s in structures if s.term in ("precharged gate", "domino gate") and charged_nets(s)]:
        opened: dict[str, int] = {}
        switches: set[str] = set()
        for n in line.nets(Role.INPUT):
            links = [view.links[k] for k in view.links_at.get(n, ())]
            plain = [(k, on[0]) for k in links if (on := literal(k.when)) is not None and on[0] in inner]
            sides = [inner[net] for k, net in plain if k.other(n) in cells[inner[net][0]].nets(Role.BIT_LINE)]
            if len(links) == len(sides) == 2 and sides[0][0] == sides[1][0] and sides[0][1] != sides[1][1]:
                opened[n] = sides[0][0]
                switches |= {name for k in links for name in view.names(k.members)}
        if len(opened) == len(line.nets(Role.INPUT)) == len(set(opened.values())) > 1:
            words[line] = list(opened.values())
            names |= switches
            form = view.gates[charged_nets(line)[0]].form
            in_series = isinstance(form, Not) and isinstance(form.term, And)
    widths = {len(w) for w in words.values()}
    rows = [{cells[i].nets(Role.WORD_LINE) for i in w} for w in words.values()]
    every = sorted(i for w in words.values() for i in w)
    if len(widths) != 1 or every != list(range(len(cells))) or any(len(row) != 1 for row in rows):
        return None
    parts = [array, *words, *(s for s in structures if s.transistors and set(s.transistors) <= names)]
    (width,), count = widths, len(words)
    if count > 1:
        term = f"{count} × {width} content-addressable memory"
        told = f"{count} words of {width} bits, all compared with the bits sought at once"
        return block(view, term, parts, told, also=(array.term,))
    falls = "only where every bit sought is the one kept" if in_series else "where a bit sought is not the one kept"
    return block(view, "content-addressable word", parts, f"{width} cells; the line falls {falls}", also=(array.term,))


def _holds(s: Structure, lines: dict[Structure, list[Stack]]) -> bool:
    mine = {n for line in lines for n in line.nets(Role.OUTPUT)}
    return bool(mine & set(s.nets(Role.OUTPUT, Role.SIGNAL, Role.BIT_LINE)))


def inner_nets(view: View, cell: Structure) -> tuple[str, ...]:
    """Return the two nets that hold a cell's bit."""
    lines = set(cell.nets(Role.BIT_LINE, Role.WORD_LINE))
    order = view.prepared.netlist.transistors
    ends = {e for t in (order[view.order[n]] for n in cell.transistors) for e in (*t.ends, t.gate)}
    own = [n for n in ends - lines - view.prepared.supplies.nets if n in view.gates]
    return tuple(sorted(own, key=view.place.__getitem__))


def _stacks(view: View, s: Structure, inner: dict[str, tuple[int, bool]]) -> list[Stack] | None:
    """Return the stacks of a line each of which reads a cell; None where anything else lets it go."""
    gate = view.gates.get((charged_nets(s) or s.nets(Role.OUTPUT))[0])
    if gate is None:
        return None
    form = gate.form.term if isinstance(gate.form, Not) else gate.form
    terms: tuple[Expression, ...] = form.terms if isinstance(form, Or) else (form,)
    stacks = []
    for term in terms:
        nets = [plain[0] for t in term.terms if (plain := literal(t)) is not None] if isinstance(term, And) else []
        mine = [n for n in nets if n in inner]
        if len(nets) != 2 or len(mine) != 1:
            return None
        (asks,) = (n for n in nets if n != mine[0])
        stacks.append(Stack(*inner[mine[0]], asks))
    return stacks


def _compared(cells: list[Structure], lines: dict[Structure, list[Stack]]) -> tuple[str, str] | None:
    """Name words that are compared: each line two stacks a cell, of both its sides, asked by nets of their own."""
    words = []
    for stacks in lines.values():
        by_cell: dict[int, list[Stack]] = {}
        for s in stacks:
            by_cell.setdefault(s.cell, []).append(s)
        both = all(len(two) == 2 and two[0].first != two[1].first for two in by_cell.values())
        rows = {cells[i].nets(Role.WORD_LINE) for i in by_cell}
        if not both or len({s.asks for s in stacks}) != len(stacks) or len(rows) != 1:
            return None
        words.append(sorted(by_cell))
    widths = {len(w) for w in words}
    if len(widths) != 1 or len({i for w in words for i in w}) != len(cells) or sum(map(len, words)) != len(cells):
        return None
    asked = {frozenset(s.asks for s in stacks) for stacks in lines.values()}
    (width,) = widths
    if len(words) == 1:
        return "content-addressable word", f"{width} cells; the line falls where the bits sought differ from those kept"
    if len(asked) != 1:
        return None
    term = f"{len(words)} × {width} content-addressable memory"
    return term, f"{len(words)} words of {width} bits, all compared with the bits sought at once"


def _ports(cells: list[Structure], lines: dict[Structure, list[Stack]]) -> tuple[str, str] | None:
    """Name a register file: each line reads one column, a select a word, the same selects across the columns."""
    columns: dict[frozenset[str], set[int]] = {}
    rows: dict[tuple[str, ...], set[int]] = {}
    for i, c in enumerate(cells):
        columns.setdefault(frozenset(c.nets(Role.BIT_LINE)), set()).add(i)
        rows.setdefault(c.nets(Role.WORD_LINE), set()).add(i)
    ports: dict[tuple[tuple[str, int], ...], list[set[int]]] = {}
    place = {i: k for k, row in enumerate(rows.values()) for i in row}
    for stacks in lines.values():
        read = {s.cell for s in stacks}
        if read not in columns.values() or len(read) != len(stacks) or len({s.asks for s in stacks}) != len(stacks):
            return None
        ports.setdefault(tuple(sorted((s.asks, place[s.cell]) for s in stacks)), []).append(read)
    width, count = len(columns), len(rows)
    if count < 2 or any(len(p) != width or len({frozenset(c) for c in p}) != width for p in ports.values()):
        return None
    shared = [{a for a, _ in port} for port in ports]
    if any(a & b for k, a in enumerate(shared) for b in shared[:k]):
        return None
    words = f"{count} words of {width} bits, {len(ports)} read port{'s' if len(ports) > 1 else ''}"
    return f"{count} × {width} register file", words
