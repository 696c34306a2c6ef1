"""
A reference of a few lines for what transistors do: open and closed switches, found by walking, until nothing changes.

It knows nothing of strengths but two rules: a driver beats a load (Mead & Conway 1980; from memory), and it beats a
switch that is never off and four times as long as wide, which stands for a resistor (common practice, as across an
oscillator's inverter).
"""

from layoutdrill.netlist.model import Kind, Mode


def levels(netlist, given, supplies):
    """Return the level of each net: 0, 1, "z" (reached by nothing), "x" (by both), or None where it is not settled."""
    low, high = supplies
    known = {low: 0, high: 1, **given}
    fixed = frozenset(known)
    for _ in range(4 * len(netlist.nets) + 4):
        found = dict(known)
        for net in netlist.nets:
            if net in fixed:
                continue
            sure, weak, able = (
                {at: _reached(netlist, net, known, at, fixed, loads=loads, maybe=maybe) for at in (0, 1)}
                for loads, maybe in ((False, False), (True, False), (True, True))
            )
            if sure[0] and sure[1]:
                found[net] = "x"
            elif sure[0] or sure[1]:
                at = 0 if sure[0] else 1
                strong = _reached(netlist, net, known, 1 - at, fixed, loads=False, maybe=True)
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


def is_load(t, netlist):
    rails = {"VDD", "VSS", "VGG", "VPWR", "VGND"}
    single = len({other.kind for other in netlist.transistors}) == 1
    return t.mode is Mode.DEPLETION or (single and t.gate in rails and t.gate in t.ends) or _is_resistor(t)


def _is_resistor(t):
    opened_by = {"VDD", "VPWR"} if t.kind is Kind.N else {"VSS", "VGND"}
    return t.gate in opened_by and not set(t.ends) & opened_by and 0 < 4 * t.width <= t.length


def _reached(netlist, start, known, level, fixed, *, loads, maybe):
    """Walk over channels that are open (or may be) from a net to one that is fixed at the level."""
    seen, edge = {start}, [start]
    while edge:
        net = edge.pop()
        for t in netlist.transistors:
            if net not in t.ends or (is_load(t, netlist) and not loads):
                continue
            gate = known.get(t.gate)
            opens = 1 if t.kind is Kind.N else 0
            on = is_load(t, netlist) or gate == opens
            if not on and not (maybe and gate not in (0, 1)):
                continue
            other = t.drain if t.source == net else t.source
            if other in seen:
                continue
            seen.add(other)
            if other in fixed:
                if known[other] == level:
                    return True
                continue
            edge.append(other)
    return False
