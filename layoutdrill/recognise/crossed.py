"""Find stores of crossed gates: SR latches, gated latches, and the register bit of six gates."""

from layoutdrill.netlist.model import Kind
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.gates import substitute
from layoutdrill.recognise.model import Port
from layoutdrill.recognise.work import Called, Work
from layoutdrill.simulate.expression import truth, variables


def find_set_reset(work: Work) -> None:
    """Take cross-coupled gates: SR latches, gated latches, and the register bit of six gates."""
    view = work.view
    for q in list(view.gates):
        gate = work.gate(q)
        if gate is None or gate.kind not in ("static", "ratioed") or len(gate.inputs) < 2:
            continue
        for qn in gate.inputs:
            other = work.gate(qn)
            if (
                other is None
                or other.kind not in ("static", "ratioed")
                or q not in other.inputs
                or len(other.inputs) < 2
            ):
                continue
            if _gated_pair(work, q, qn):
                break
            if {gate.term.rstrip("23456789"), other.term.rstrip("23456789")} not in ({"NAND"}, {"NOR"}):
                continue
            if _six_gates(work, q, qn) or _gated(work, q, qn):
                break
            if not _inside_six(work, q, qn):
                _plain_pair(work, q, qn)
                break


def find_held_pairs(work: Work) -> None:
    """
    Take two stages that hold each other while two nets are both still, one of which sets the pair and one resets it.

    Their networks meet where both nets act, which never happens (Nikolić and others 2000; from memory).
    """
    view = work.view
    for q in list(view.gates):
        for qn in view.gates[q].inputs:
            gates = [work.gate(n) for n in (q, qn)]
            if any(g is None or g.kind != "torn" for g in gates) or q not in view.gates[qn].inputs:
                continue
            names = {n for g in gates if g is not None for n in (view.root(i)[0] for i in g.inputs)} - {q, qn}
            acts = [_acts(work, net, mate, tuple(sorted(names))) for net, mate in ((q, qn), (qn, q))]
            if view.place[qn] < view.place[q] or len(names) != 2 or None in acts or acts[0] != acts[1][::-1]:  # type: ignore[index]
                continue
            assert acts[0] is not None
            (up, up_level), (down, _) = acts[0]
            ports = [Port(up, Role.SET), Port(down, Role.RESET), Port(q, Role.OUTPUT), Port(qn, Role.OUTPUT, q)]
            words = (
                f"{up} at {up_level} sets {q}, {down} at {up_level} resets it; each side lets go where the other acts"
            )
            work.build("SR latch", {q, qn}, set(), ports, words)
            break


def _acts(work: Work, net: str, mate: str, names: tuple[str, ...]) -> tuple[tuple[str, int], tuple[str, int]] | None:
    """Return which of two nets brings a stage up and which down, each with the level that does; its mate else rules."""
    view = work.view
    pull = view.stages[net].pull
    if set(pull) != {(Kind.N, "low"), (Kind.P, "high")} or len(names) != 2:
        return None
    forms = [substitute(pull[key], view.roots) for key in ((Kind.N, "low"), (Kind.P, "high"))]
    order = (*names, mate)
    if not {n for form in forms for n in variables(form)} <= set(order):
        return None
    low, high = (truth(form, order) for form in forms)  # rows by the levels of the two nets, two bits for the mate's
    for level in (0, 1):
        idle = 3 * (1 - level)
        both = idle ^ 3
        seen = {pair: (low >> 2 * pair & 3, high >> 2 * pair & 3) for pair in range(4) if pair != both}
        if seen.pop(idle) != (0b10, 0b01):
            continue
        ups = [pair for pair, levels in seen.items() if levels == (0, 3)]
        downs = [pair for pair, levels in seen.items() if levels == (3, 0)]
        if len(ups) == len(downs) == 1:
            at = [names[0] if pair ^ idle == 2 else names[1] for pair in (ups[0], downs[0])]
            return (at[0], level), (at[1], level)
    return None


def _inside_six(work: Work, q: str, qn: str) -> bool:
    """Tell whether the pair is one of the two front loops of a six-gate register bit, which is found from its back."""
    view = work.view
    for net in (q, qn):
        for reader in view.readers.get(net, ()):
            if reader in (q, qn) or reader not in work.free_gates:
                continue
            for partner in view.gates[reader].inputs:
                if partner not in (q, qn) and partner in view.gates and reader in view.gates[partner].inputs:
                    return True
    return False


def _plain_pair(work: Work, q: str, qn: str) -> None:
    view = work.view
    q, qn = sorted((q, qn), key=view.place.__getitem__)
    nand = view.gates[q].term.startswith("NAND")
    at_q = [n for n in view.gates[q].inputs if n != qn]
    at_qn = [n for n in view.gates[qn].inputs if n != q]
    sets, resets = (at_q, at_qn) if nand else (at_qn, at_q)
    ports = [Port(n, Role.SET) for n in sets] + [Port(n, Role.RESET) for n in resets]
    ports += [Port(q, Role.OUTPUT), Port(qn, Role.OUTPUT, q)]
    level = "0" if nand else "1"
    work.build("SR latch", {q, qn}, set(), ports,
               f"{', '.join(sets)} at {level} sets {q}, {', '.join(resets)} at {level} resets it")  # fmt: skip


def _gated_pair(work: Work, q: str, qn: str) -> bool:
    """Take crossed gates each of which an input forces while a third net, common to both, lets it."""
    view = work.view
    sides = [_forcing(work, net, mate) for net, mate in ((q, qn), (qn, q))]
    if sides[0] is None or sides[1] is None or sides[0][0] != sides[1][0]:
        return False
    level, first, second = sides[0][0], sides[0][1], sides[1][1]
    common = [n for n in first if n in second]
    if len(common) != 1 or len({*first, *second}) != 3:
        return False
    enable = common[0]
    (at_q,), (at_qn,) = ([n for n in nets if n != enable] for nets in (first, second))
    outputs = sorted((q, qn), key=view.place.__getitem__)
    ports = [Port(enable, Role.ENABLE), Port(outputs[0], Role.OUTPUT), Port(outputs[1], Role.OUTPUT, outputs[0])]
    gates = {q, qn}
    (root, straight), (other, up) = view.root(at_q), view.root(at_qn)
    if root == other and straight != up:
        gates |= {n for n in (at_q, at_qn) if n != root and work.gate(n) and set(view.readers.get(n, ())) <= gates}
        words = f"follows {root} while {enable} is {level}, else holds"
        work.build("latch", gates, set(), [Port(root, Role.DATA), *ports], words)
        return True
    sets, resets = (at_qn, at_q) if (q == outputs[0]) == bool(level) else (at_q, at_qn)
    ports = [Port(sets, Role.SET), Port(resets, Role.RESET), *ports]
    words = f"while {enable} is {level}, {sets} at {level} sets {outputs[0]} and {resets} at {level} resets it"
    work.build(Called("gated SR latch", ("SR latch",)), gates, set(), ports, words)
    return True


def _forcing(work: Work, net: str, mate: str) -> tuple[int, list[str]] | None:
    """Return the level at which two inputs together force an inverting gate that else inverts its mate, and the two."""
    gate = work.view.gates[net]
    others = [n for n in gate.inputs if n != mate]
    if len(gate.inputs) != 3 or len(others) != 2:
        return None
    table = truth(gate.form, (mate, *others))
    for level in (1, 0):
        both = 0b1000 if level else 0b0001  # the row where both inputs stand at the level that forces
        free = 0b1111 ^ both
        forced = 0 if level else both
        if table == (free | forced) | forced << 4:  # rows of the mate at 0 first, then at 1
            return level, others
    return None


def _gated(work: Work, q: str, qn: str) -> bool:
    """Find the two gates that open an SR latch to data: both read one enable, their other inputs are opposite."""
    view = work.view
    fronts = [n for net, other in ((q, qn), (qn, q)) for n in view.gates[net].inputs if n != other]
    if len(fronts) != 2:
        return False
    s, r = fronts
    first, second = work.gate(s), work.gate(r)
    if first is None or second is None or first.kind != second.kind or first.term != second.term:
        return False
    if len(first.inputs) != 2 or len(second.inputs) != 2 or first.term[:3] not in ("NAN", "NOR"):
        return False
    common = set(first.inputs) & set(second.inputs)
    if len(common) != 1:
        return False
    enable = common.pop()
    d = next(n for n in first.inputs if n != enable)
    dn = next(n for n in second.inputs if n != enable)
    gates = {q, qn, s, r}
    if dn == s or d == r:
        data = d if dn == s else dn
    else:
        root, straight = view.root(d)
        if view.root(dn) != (root, not straight):
            return False
        data = root
        for net in (d, dn):
            if net != root and work.gate(net) is not None and set(view.readers.get(net, ())) <= gates:
                gates.add(net)
    outputs = sorted((q, qn), key=view.place.__getitem__)
    ports = [Port(data, Role.DATA), Port(enable, Role.ENABLE), Port(outputs[0], Role.OUTPUT)]
    ports.append(Port(outputs[1], Role.OUTPUT, outputs[0]))
    level = "1" if first.term.startswith("NAND") else "0"
    work.build("latch", gates, set(), ports, f"follows {data} while {enable} is {level}, else holds")
    return True


def _six_gates(work: Work, q: str, qn: str) -> bool:
    """Find the edge-triggered register bit of three cross-coupled pairs of gates."""
    view = work.view
    fronts = [n for net, other in ((q, qn), (qn, q)) for n in view.gates[net].inputs if n != other]
    loops = []
    for net in fronts:
        gate = work.gate(net)
        if gate is None:
            continue
        partners = [
            n for n in gate.inputs if work.gate(n) is not None and net in view.gates[n].inputs and n not in fronts
        ]
        if partners:
            loops.append((net, partners[0]))
    if len(loops) != 2:
        return False
    (s, m), (r, k) = loops
    clock = (set(view.gates[s].inputs) & set(view.gates[r].inputs)) - {s, r, m, k}
    inner = {s, r, m, k}
    clock -= {n for net in (q, qn) for n in view.gates[net].inputs}  # what forces the back pair is no clock
    forced = [n for n in fronts if n not in inner]
    outer = dict.fromkeys(n for net in (m, k) for n in view.gates[net].inputs if n not in inner)
    data = [n for n in outer if n not in forced] or list(outer)
    turned = {q, qn} & set(data) and not (s in view.gates[r].inputs or r in view.gates[s].inputs)
    if len(clock) != 1 or not data or turned:
        return False
    outputs = sorted((q, qn), key=view.place.__getitem__)
    sets = [n for n in forced if n in view.gates[outputs[0]].inputs and n not in data]
    if view.gates[q].term.startswith("NOR"):
        sets = [n for n in forced if n not in sets and n not in data]
    edge = "rise" if view.gates[s].term.startswith("NAND") else "fall"
    ports = [Port(n, Role.DATA) for n in data] + [Port(n, Role.CLOCK) for n in clock]
    ports += [Port(n, Role.SET if n in sets else Role.RESET) for n in dict.fromkeys(forced) if n not in data]
    ports += [Port(outputs[0], Role.OUTPUT), Port(outputs[1], Role.OUTPUT, outputs[0])]
    function = f"takes {', '.join(data)} at the {edge} of {next(iter(clock))}"
    work.build("register bit", {q, qn, *inner}, set(), ports, function)
    return True
