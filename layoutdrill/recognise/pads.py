"""See what stands at the border of a circuit: output drivers, input protection, tie cells, the logic convention."""

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Sequence

from layoutdrill.netlist.model import Kind, Transistor
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import variables

WIDE = 4
"""
A stage of at least this many fingers on each side, or this many times as wide as most, counts as an output driver
(common practice).
"""


def any_drives_out(view: View, structures: Iterable[Structure]) -> bool:
    """Tell whether the last stage of any structure is a wide pair of many fingers on a port."""
    widths = sorted(t.width for t in view.netlist.transistors if t.width)
    return any(_drives_out(view, structure, widths) for structure in structures)


def _drives_out(view: View, structure: Structure, widths: Sequence[int]) -> bool:
    for net in structure.nets(Role.OUTPUT):
        gate = view.gates.get(net)
        if gate is None or net not in view.ports:
            continue
        if gate.inverter_of is None and not all(len(variables(f)) == 1 for f in view.stages[net].pull.values()):
            continue
        fingers = dict.fromkeys(Kind, 0)
        for name in view.names(gate.members):
            t = view.netlist.transistors[view.order[name]]
            fingers[t.kind] += t.fingers
        if all(count >= WIDE for kind, count in fingers.items() if count or view.one_kind is None):
            return True
        own = sorted(view.netlist.transistors[view.order[name]].width for name in view.names(gate.members))
        usual = _usual(widths, [width for width in own if width])
        if usual and own[0] >= WIDE * usual:
            return True
    return False


def _usual(widths: Sequence[int], own: Sequence[int]) -> int:
    """Return the median of the others' widths, 0 where there are none; both are sorted, `own` are among the first."""
    place = (len(widths) - len(own)) // 2
    for width in own:
        place += bisect_left(widths, width) <= place
    return widths[place] if len(widths) > len(own) else 0


_NEGATIVE = {"NAND": "NOR", "NOR": "NAND", "AND": "OR", "OR": "AND", "AOI": "OAI", "OAI": "AOI", "AO": "OA", "OA": "AO"}


def negative(term: str) -> str:
    """Return what a gate is called where the lower level means 1."""
    kind = term.rstrip("0123456789")
    return _NEGATIVE[kind] + term[len(kind) :] if kind in _NEGATIVE else term


def protections(view: View) -> list[Structure]:
    """Return clamps: transistors that are never on, and diodes, between a signal and a rail, with resistors between."""
    netlist, rails = view.netlist, view.prepared.supplies.nets
    clamps: dict[str, list[str]] = {}
    idle = frozenset(view.prepared.idle)
    for name in view.prepared.idle:
        t = netlist.transistors[view.order[name]]
        nets = [end for end in t.ends if end not in rails]
        meets = len(nets) == 1 and (nets[0] in view.ports or not idle.issuperset(view.touching[nets[0]]))
        if meets and t.gate in rails and (nets[0] not in view.gates or _broad(view, t)):
            clamps.setdefault(nets[0], []).append(name)
    for e in netlist.elements:
        nets = [n for n in e.nodes[:2] if n not in rails]
        if e.kind == "diode" and len(nets) == 1:
            clamps.setdefault(nets[0], [])
    clamps_of = []
    done: set[str] = set()
    for net in clamps:
        if net in done:
            continue
        group = [net]
        for here in group:
            for e in netlist.elements:
                if e.kind == "resistor" and here in e.nodes[:2]:
                    group += [n for n in e.nodes[:2] if n not in group and n not in rails]
        done |= set(group)
        names = tuple(sorted((n for g in group for n in clamps.get(g, ())), key=view.order.__getitem__))
        pads = [n for n in group if n in netlist.ports] or group[:1]
        driven = any(n in view.gates for n in group) and not any(view.prepared.gated.get(n) for n in group)
        term, role = ("output protection", Role.OUTPUT) if driven else ("input protection", Role.INPUT)
        ports = tuple(Port(n, Role.SIGNAL if driven and n in view.gates else role) for n in pads)
        words = f"clamps {', '.join(group)} to {_clamped_to(view, group, names)}"
        clamps_of.append(Structure(term, names, ports, (), words))
    return clamps_of


def _clamped_to(view: View, group: Sequence[str], names: Sequence[str]) -> str:
    """Return the one rail that clamps lead to from a group of nets, or the rails."""
    rails = view.prepared.supplies.nets
    ends: list[tuple[str, ...]] = [view.netlist.transistors[view.order[name]].ends for name in names]
    ends += [e.nodes[:2] for e in view.netlist.elements if e.kind == "diode" and set(e.nodes[:2]) & set(group)]
    met = {n for pair in ends for n in pair if n in rails}
    return met.pop() if len(met) == 1 else "the rails"


def fingers(view: View) -> Counter[tuple[str, tuple[str, str], Kind]]:
    """Return how many fingers each transistor has, apart or counted as one, by its gate, its ends and its kind."""
    count: Counter[tuple[str, tuple[str, str], Kind]] = Counter()
    for t in view.netlist.transistors:
        count[t.gate, t.ends, t.kind] += t.fingers
    return count


def _broad(view: View, t: Transistor) -> bool:
    """Tell whether a transistor has many fingers, or is far wider than most: a clamp, not a transistor left over."""
    widths = sorted(o.width for o in view.netlist.transistors if o.width)
    return fingers(view)[t.gate, t.ends, t.kind] >= WIDE or bool(widths and t.width >= WIDE * widths[len(widths) // 2])


def tied_off(view: View) -> list[Structure]:
    """
    Return transistors that are never on and end on nets that stages drive, which they keep apart on one strip; where
    there are some, those that lead to nothing as well: the ones of a gate array that nobody used.
    """
    apart, unused = [], []
    for name in view.prepared.idle:
        t = view.netlist.transistors[view.order[name]]
        driven = [end for end in t.ends if end in view.gates]
        if driven and t.gate in view.prepared.supplies.nets and t.source != t.drain and not _broad(view, t):
            ports = tuple(Port(net, Role.SIGNAL) for net in driven)
            words = f"its gate lies on {t.gate}: never on, between {t.ends[0]} and {t.ends[1]}"
            apart.append(Structure("tied-off transistor", (name,), ports, (), words))
        elif t.gate in view.prepared.supplies.nets and any(len(view.touching[end]) < 3 for end in t.ends):
            words = f"its gate lies on {t.gate}: never on, and not used"
            unused.append(Structure("tied-off transistor", (name,), (), (), words))
    return [*apart, *unused] if apart else []


def ties(view: View) -> list[Structure]:
    """Return the resistors that give a net a constant level, as tie cells; between both rails they divide."""
    supplies = view.prepared.supplies
    cells = []
    pulled = {frozenset(e.nodes[:2]) for e in view.netlist.elements if e.kind == "resistor"}
    up, down = ({n for pair in pulled if pair & rails for n in pair - rails} for rails in (supplies.high, supplies.low))
    for e in view.netlist.elements:
        if e.kind == "resistor" and len(set(e.nodes[:2]) & supplies.nets) == 1:
            rail, net = sorted(e.nodes[:2], key=lambda n: n not in supplies.nets)
            if net not in view.prepared.at and net in view.ports - (up & down):
                level = int(rail in supplies.high)
                cells.append(Structure("tie cell", (), (Port(net, Role.OUTPUT),), (), f"{net} = {level}"))
    return cells
