"""Find cross-coupled inverters with what gives access to them: static RAM cells and bits like them."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Port
from layoutdrill.recognise.view import View
from layoutdrill.recognise.work import Called, Work, literal


def find_ram_cells(work: Work) -> None:
    """Take cross-coupled inverters with what gives access to them."""
    view = work.view
    for q in list(view.gates):
        gate = work.gate(q)
        qn = gate.inverter_of if gate else None
        if qn is None or not q < qn:
            continue
        other = work.gate(qn)
        if other is None or other.inverter_of != q:
            continue
        _ram_cell(work, q, qn)


def _ram_cell(work: Work, q: str, qn: str) -> None:
    view = work.view
    sides: dict[str, list[int]] = {q: [], qn: []}
    for net in (q, qn):
        for k in view.links_at.get(net, ()):
            if k in work.free_links and view.links[k].other(net) not in (q, qn):
                sides[net].append(k)
    links = {k for ks in sides.values() for k in ks}
    gates = {q, qn}
    stacks = [
        net
        for side in (q, qn)
        for net in view.readers.get(side, ())
        if net in work.free_gates and view.gates[net].kind == "pull-down" and len(view.gates[net].inputs) == 2
    ]
    simple = all(view.links[k].term == "pass transistor" and literal(view.links[k].when) for k in links)
    if not links and not stacks:
        if view.readers.get(q) == [qn] and view.readers.get(qn) == [q] and _alone(view, q, qn):
            ports = [Port(q, Role.SIGNAL), Port(qn, Role.SIGNAL, q)]
            work.build("cross-coupled inverters", gates, set(), ports, f"{q} and {qn} hold opposite levels")
        return
    if not simple or not links:
        return
    words = {net: [view.links[k].controls[0] for k in sides[net]] for net in (q, qn)}
    ports = []
    for net in (q, qn):
        for k in sides[net]:
            ports.append(Port(view.links[k].controls[0], Role.WORD_LINE))
            ports.append(Port(view.links[k].other(net), Role.BIT_LINE))
    if words[q] and sorted(words[q]) == sorted(words[qn]):
        for line, pair in ((k, j) for k in sides[q] for j in sides[qn]):
            if view.links[line].controls == view.links[pair].controls:
                first, second = view.links[line].other(q), view.links[pair].other(qn)
                if first > second:
                    first, second = second, first
                ports = [p if p.net != second else Port(second, Role.BIT_LINE, first) for p in ports]
        for net in stacks:
            stack = view.gates[net]
            gates.add(net)
            ports.append(Port(next(n for n in stack.inputs if n not in (q, qn)), Role.WORD_LINE))
            ports.append(Port(net, Role.BIT_LINE))
        word = " or ".join(sorted(set(words[q])))
        note = (f"with a read stack on {', '.join(stacks)}",) if stacks else ()
        called = Called("static RAM cell", notes=note)
        work.build(called, gates, links, ports, f"holds a bit; {word} joins it to its bit lines")
    elif len(words[q]) == len(words[qn]) == 1:
        called = Called("memory bit", ("static RAM cell",))
        work.build(called, gates, links, ports, "holds a bit; one line writes it, another reads it")
    elif len(links) == 1:
        k = next(iter(links))
        inside = q if sides[q] else qn
        out = [n for n in (q, qn) if n != inside]
        ports = [Port(view.links[k].other(inside), Role.DATA), Port(view.links[k].controls[0], Role.ENABLE)]
        ports += [Port(n, Role.OUTPUT) for n in out]
        called = Called("latch", ("static RAM cell", "memory bit"))
        work.build(called, gates, links, ports, "holds a bit written through one transistor against a weak loop")


def _alone(view: View, q: str, qn: str) -> bool:
    return not any(net in view.controlled or net in view.links_at for net in (q, qn))
