"""
A reference of a few lines for what transistors do: open and closed switches, found by walking, until nothing changes.

It knows nothing of strengths but this: a driver beats a load, which has four times its squares or is never off
(Mead & Conway 1980; from memory), and it beats a resistor, or a switch that is never off and four times as long as
wide, which stands for one (common practice, as across an oscillator's inverter).
"""

from layoutdrill.netlist.model import Kind, Mode


def levels(netlist, given, rails):
    """
    Return the level of each net: 0, 1, "z" (reached by nothing), "x" (by both), or None where it is not settled.

    `rails` are the levels of the supplies, that of the loads' gates among them.
    """
    known = {**rails, **given}
    links = [
        (None if t.mode is Mode.DEPLETION else t.gate, t.ends, int(t.kind is Kind.N), is_load(t, netlist, rails))
        for t in netlist.transistors
    ]
    links += [(None, e.nodes, None, True) for e in netlist.elements if e.kind == "resistor"]
    fixed = frozenset(known)
    for _ in range(4 * len(netlist.nets) + 4):
        found = dict(known)
        for net in netlist.nets:
            if net in fixed:
                continue
            sure, weak, able = (
                {at: _reached(links, net, known, at, fixed, loads=loads, maybe=maybe) for at in (0, 1)}
                for loads, maybe in ((False, False), (True, False), (True, True))
            )
            if sure[0] and sure[1]:
                found[net] = "x"
            elif sure[0] or sure[1]:
                at = 0 if sure[0] else 1
                strong = _reached(links, net, known, 1 - at, fixed, loads=False, maybe=True)
                found[net] = None if strong else at
            elif weak[0] != weak[1] and not able[1 if weak[0] else 0]:
                found[net] = 0 if weak[0] else 1
            elif not able[0] and not able[1]:
                found[net] = "z"
            else:
                found[net] = None
        if found == known:
            break
        known = found
    return known


def is_load(t, netlist, rails):
    """Tell whether a transistor is weak: in depletion, a load of logic of one kind, or as good as a resistor."""
    opens = int(t.kind is Kind.N)
    if t.mode is Mode.DEPLETION:
        return True
    if len({other.kind for other in netlist.transistors}) == 1:
        pull_up = [end for end in t.ends if rails.get(end) == opens]
        if pull_up and rails.get(t.gate) == opens:
            return True
        if pull_up and t.gate not in rails:
            return _is_clocked_load(t, netlist, pull_up[0])
    return rails.get(t.gate) == opens and t.gate not in t.ends and _squares(t) >= 4


def _is_clocked_load(t, netlist, rail):
    """Tell whether a switch to the rail has four times the squares of whatever pulls against it."""
    net = t.drain if t.source == rail else t.source
    against = [_squares(o) for o in netlist.transistors if net in o.ends and rail not in o.ends]
    return bool(against) and _squares(t) >= 4 * max(against)


def _squares(t):
    return t.length / t.width if t.width else 0


def _reached(links, start, known, level, fixed, *, loads, maybe):
    """Walk over what is open (or may be) from a net to one that is fixed at the level."""
    seen, edge = {start}, [start]
    while edge:
        net = edge.pop()
        for gate, ends, opens, weak in links:
            if net not in ends or (weak and not loads):
                continue
            at = known.get(gate)
            on = gate is None or opens == at
            if not on and not (maybe and at not in (0, 1)):
                continue
            other = ends[1] if ends[0] == net else ends[0]
            if other in seen:
                continue
            seen.add(other)
            if other in fixed:
                if known[other] == level:
                    return True
                continue
            edge.append(other)
    return False
