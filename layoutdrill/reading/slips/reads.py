"""Slips at the stacks that read cells: a select of another word, a cell of another column."""

from collections import Counter, defaultdict
from collections.abc import Iterator

from layoutdrill.netlist.roles import Role
from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.recognise.blocks.read_lines import inner_nets
from layoutdrill.recognise.view import Link, View
from layoutdrill.recognise.work import literal
from layoutdrill.simulate.expression import And
from layoutdrill.value import value

LEAST = 3
"""So many stacks on a select, or on a line, must agree before one that does not is odd."""


@value
class Read:
    """A stack that reads: the line, the cell by number, its net, the select, and the transistors."""

    line: str
    cell: int
    net: str
    select: str
    names: tuple[str, ...]


def read_slips(scene: Scene) -> Iterator[Slip]:
    """Yield the stack that reads another word or column than its likes, and the cell one side of which asks twice."""
    yield from _same_side(scene)
    view = scene.view
    cells = [s for s in scene.recognition.all() if s.term == "static RAM cell"]
    inner = {n: i for i, c in enumerate(cells) for n in inner_nets(view, c)}
    reads = [r for line in view.gates for r in _reads(view, line, inner)] if len(cells) > 1 else []
    if len(reads) < 2 * LEAST:
        return
    words = {i: c.nets(Role.WORD_LINE) for i, c in enumerate(cells)}
    columns = {i: frozenset(c.nets(Role.BIT_LINE)) for i, c in enumerate(cells)}
    of_select = {s: Counter(words[r.cell] for r in reads if r.select == s) for s in {r.select for r in reads}}
    of_line = {n: Counter(columns[r.cell] for r in reads if r.line == n) for n in {r.line for r in reads}}
    if sum(len(c) == 1 for c in of_line.values()) < len(of_line) // 2:
        return  # lines that compare a word with what is sought
    twice = Counter((r.line, r.select) for r in reads)
    for r in reads:
        here, there = of_select[r.select], of_line[r.line]
        text = repair = ""
        who = " and ".join(r.names)
        others = [o for o in reads if o.line == r.line and o is not r]
        if len(there) > 1 and there[columns[r.cell]] == 1 and there.total() > LEAST - 1:
            text = f"{who} read a cell of another column by {r.net}; {there.total() - 1} on {r.line} do not"
            repair = "its gate belongs on the cell of the same word in that column"
        elif twice[r.line, r.select] > 1 and here[words[r.cell]] < max(here.values()):
            free = sorted(set(of_select) - {o.select for o in others} - {r.select})
            mine = [s for s in free if of_select[s].most_common(1)[0][0] == words[r.cell]]
            text = f"{r.select} lets two cells to {r.line}, one of them by {who}"
            repair = f"its gate belongs on {' or '.join(mine or free)}" if mine or free else ""
        elif len(here) > 1 and here[words[r.cell]] == 1 and here.most_common(1)[0][1] > 1:
            text = f"{who} read a cell of {', '.join(words[r.cell])} on {r.select}, which reads another word"
            repair = "one of its gates is on the wrong line"
        if text:
            yield Slip("wrong side", text, r.names, (r.line, r.select), repair)


def _same_side(scene: Scene) -> Iterator[Slip]:
    """Yield the net that two lines reach by one and the same control, where others reach it by one each."""
    view = scene.view
    pairs: dict[frozenset[str], list[tuple[str, list[Link]]]] = defaultdict(list)
    for net, numbers in view.links_at.items():
        links = [view.links[k] for k in numbers]
        if len(links) == 2 and net not in view.gates and all(literal(k.when) for k in links):
            ends = frozenset(k.other(net) for k in links)
            if len(ends) == 2:
                pairs[ends].append((net, links))
    alike = [(net, links, ends) for ends, likes in pairs.items() for net, links in likes if len(likes) > 1]
    odd = [(net, links, ends) for net, links, ends in alike if links[0].controls == links[1].controls]
    if len(odd) != 1 or len(alike) <= LEAST:
        return
    ((net, links, ends),) = odd
    names = tuple(n for k in links for n in view.names(k.members))
    lines, control = " and ".join(sorted(ends)), links[0].controls[0]
    text = f"{control} joins {net} to {lines} at once; {len(alike) - 1} like it have a control for each"
    other = view.gates[control].inverter_of if control in view.gates else None
    repair = f"one of {' and '.join(names)} with its gate on {other}" if other else "one of the gates belongs elsewhere"
    yield Slip("two ways at once", text, names, (net, control), repair)


def _reads(view: View, line: str, inner: dict[str, int]) -> Iterator[Read]:
    for _, _, when, members in view.stages[line].parts if line not in inner else ():
        nets = [p[0] for t in when.terms if (p := literal(t)) is not None] if isinstance(when, And) else []
        mine = [n for n in nets if n in inner]
        if len(nets) == 2 and len(mine) == 1:
            (select,) = (n for n in nets if n != mine[0])
            yield Read(line, inner[mine[0]], mine[0], select, view.names(set(members)))
