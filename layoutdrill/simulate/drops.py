"""
Note poor levels: how many threshold voltages a settled net lies short of its rail.

An n transistor passes a 0 fully and a 1 one threshold below its gate; a p transistor the other way round; a depletion
transistor passes both (Mead & Conway 1980; Weste & Harris). A level that comes through several paths is as good as the
best of them.
"""

from layoutdrill.netlist.model import Kind, Mode
from layoutdrill.simulate.settle import State

ROUNDS = 12
_FAR = 99


def drops(state: State) -> dict[str, int]:
    """Return, for each net that is driven to 0 or 1 short of the rail, by how many thresholds."""
    circuit = state.circuit
    codes = state.codes
    number = circuit.number
    value = [0 if circuit.is_source[i] else _FAR for i in range(len(codes))]
    on = []
    for t in circuit.netlist.transistors:
        g = codes[number[t.gate]]
        if t.mode is Mode.DEPLETION or g == (1 if t.kind is Kind.N else 0):
            a, b = number[t.source], number[t.drain]
            if codes[a] == codes[b] and codes[a] != 2 and a != b:
                on.append((number[t.gate], a, b, t.mode is Mode.DEPLETION, codes[a] == (1 if t.kind is Kind.N else 0)))
    for e in circuit.netlist.elements:
        if e.kind == "resistor" and len(e.nodes) >= 2:
            a, b = number[e.nodes[0]], number[e.nodes[1]]
            if codes[a] == codes[b] != 2:
                on.append((a, a, b, True, False))
    for _ in range(ROUNDS):
        gates = list(value)  # the drop at the gates, as known so far
        fresh = [0 if circuit.is_source[i] else _FAR for i in range(len(codes))]
        changed = True
        while changed:
            changed = False
            for g, a, b, full, poor in on:
                for here, there in ((a, b), (b, a)):
                    reach = fresh[here]
                    if poor and not full:
                        reach = max(reach, (0 if gates[g] == _FAR else gates[g]) + 1)
                    if reach < fresh[there]:
                        fresh[there] = reach
                        changed = True
        if fresh == value:
            break
        value = fresh
    return {net: value[i] for i, net in enumerate(circuit.nets) if 0 < value[i] < _FAR}
