"""Name what stands at the border: pads of every kind, resets, bootstrap drivers."""

from collections import Counter
from itertools import pairwise

from layoutdrill.netlist.model import Kind
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, after_net, block, plain, replaced
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.pads import WIDE, fingers
from layoutdrill.recognise.view import View

_DRIVERS = ("tri-state buffer", "tri-state inverter", "tri-state gate")
_INPUTS = ("inverter", "buffer", "Schmitt inverter")
_GUARDS = ("input protection", "output protection")
_ROW = "inverters in a row"
RATIO = 3.0
"""A pad's transistor is so many times as wide as most (common practice: output devices are the widest)."""


PAD_STAGES = 2
"""Inverters behind a protected pad that are its own (common practice: two); a third is of the core."""


def join_border(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with pads, resets and bootstrap drivers joined."""
    result = structures
    for step in (_bias_generators, _bootstraps, _resets, _open_drains, _pads, _inputs, _outputs):
        result = step(view, result)
    return result


def _wide(view: View, names: tuple[str, ...]) -> bool:
    """Tell whether transistors are several times as wide as most, or of many fingers."""
    ts = view.netlist.transistors
    widths = sorted(t.width for t in ts if t.width)
    mine = [t for t in ts if t.name in set(names)]
    if not mine:
        return False
    count = fingers(view)
    if all(count[t.gate, t.ends, t.kind] >= WIDE for t in mine):
        return True
    return bool(widths) and all(t.width >= RATIO * widths[len(widths) // 2] for t in mine)


def _bias_generators(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a ring oscillator with the capacitor that it swings, and the two diodes through which that pumps charge."""
    result = structures
    diodes = {t.name: t for t in view.netlist.transistors if t.source != t.drain and t.gate in t.ends}
    for ring in [s for s in structures if s.term == "ring oscillator"]:
        for cap in [s for s in structures if s.term == "capacitor"]:
            ends = cap.nets(Role.SIGNAL)
            pumped = [n for n in ends if n not in ring.nets(Role.OUTPUT)]
            if len(ends) != 2 or len(pumped) != 1:
                continue
            pump = [t for t in diodes.values() if pumped[0] in t.ends]
            gates = sorted(t.gate == pumped[0] for t in pump)
            names = {t.name for t in pump}
            parts = [s for s in structures if s.transistors and set(s.transistors) <= names]
            if gates == [False, True] and {n for s in parts for n in s.transistors} == names:
                words = f"pumps charge through {pumped[0]}, one way only"
                parts = [ring, cap, *parts]
                result = replaced(result, parts, block(view, "substrate-bias generator", parts, words))
    return result


def _bootstraps(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a stage whose load's gate a capacitor lifts with its output."""
    result = structures
    drawn = [(s, s.nets(Role.SIGNAL)[:2]) for s in structures if s.term == "capacitor" and len(s.nets(Role.SIGNAL)) > 1]
    written = [tuple(e.nodes[:2]) for e in view.netlist.elements if e.kind == "capacitor"]
    for cap, (gate, plate) in (*drawn, *((None, ends[::way]) for ends in written for way in (1, -1))):
        near = Neighbours.of(view, result)
        lifted = [
            i for i in view.prepared.gated.get(gate, ())
            if plate in view.prepared.switches[i].ends
            and view.prepared.switches[i].other(plate) in view.prepared.supplies.nets
        ]  # fmt: skip
        if not lifted:
            continue
        load = view.prepared.switches[lifted[0]].names[0]  # gated by a signal: a transistor, no resistor
        stage = [s for s in result if load in s.transistors and s is not cap]
        charge = [s for s in result if gate in s.nets(Role.SIGNAL, Role.OUTPUT) and s is not cap and s not in stage]
        parts = list(dict.fromkeys((*stage, *([cap] if cap is not None else []), *charge)))
        if any(s.term == "bootstrap driver" for s in parts):
            continue  # one capacitor more beside the first
        parts += near.feeders(parts)
        words = f"{plate} lifts the gate of its own load by the capacitor, so that it reaches the supply"
        result = replaced(result, parts, block(view, "bootstrap driver", parts, words))
    return result


def _resets(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a resistor and a capacitor between the supplies with what reads their middle."""
    result = structures
    rails = view.prepared.supplies.nets
    near = Neighbours.of(view, structures)
    slow, written = _slowed(view), _slowed(view)
    made: dict[str, list[Structure]] = {}
    for s in structures:  # a long channel that is always on, and a plate
        plates = [n for n in s.nets(Role.SIGNAL, Role.OUTPUT) if n not in rails]
        if len(plates) == 1 and (s.term == "tie cell" or (s.term == "capacitor" and set(s.nets(Role.SIGNAL)) & rails)):
            slow.setdefault(plates[0], set()).add("capacitor" if s.term == "capacitor" else "resistor")
            made.setdefault(plates[0], []).append(s)
    for net, kinds in slow.items():
        drawn = sum(len(s.transistors) or 1 for s in made.get(net, ()) if s.term != "capacitor")
        if kinds != _SLOW or len(view.prepared.at.get(net, ())) > drawn + (written.get(net, set()) >= _SLOW):
            continue
        first = [s for s in near.readers.get(net, ()) if s.term in (*_INPUTS, "NAND2", "NOR2") or s.term.endswith(_ROW)]
        if not first:
            continue
        chain = [s for f in first for n in f.nets(Role.OUTPUT) for s in after_net(near, n, first)]
        guards = [s for s in result if s.term == "input protection" and net in s.nets(Role.INPUT)]
        parts = list(dict.fromkeys((*first, *chain, *made.get(net, ()), *guards)))
        words = f"{net} follows the supply slowly, through its resistor"
        gone = [*parts, *(s for s in result if s.term == "tie cell" and net in s.nets(Role.OUTPUT))]
        result = replaced(result, gone, block(view, "power-on reset", parts, words))
    return result


_SLOW = {"resistor", "capacitor"}


def _slowed(view: View) -> dict[str, set[str]]:
    """Return which of resistor and capacitor lead from a net to a supply."""
    rails = view.prepared.supplies.nets
    slow: dict[str, set[str]] = {}
    for e in view.netlist.elements:
        ends = [n for n in e.nodes[:2] if n not in rails]
        if e.kind in _SLOW and len(ends) == 1:
            slow.setdefault(ends[0], set()).add(e.kind)
    return slow


def _open_drains(view: View, structures: list[Structure]) -> list[Structure]:
    result = structures
    ports = view.ports
    near = Neighbours.of(view, structures)
    for s in structures:
        out = s.nets(Role.OUTPUT)
        if (
            s.term not in ("pull-down", "pull-up")
            or len(out) != 1
            or out[0] not in ports
            or len(s.nets(Role.INPUT)) != 1
        ):
            continue
        driver = near.driver(s.nets(Role.INPUT)[0])
        wide = _wide(view, s.transistors)
        met = near.readers.get(out[0], [])
        read = [r for r in met if r.term != "output protection"]
        if (
            (read and not (wide and all(r.term in (*_INPUTS, *_GUARDS) for r in read)))
            or near.drivers.get(out[0], []) != [s]
            or not (driver or wide)
        ):
            continue
        parts = [s, *near.feeders([s], ("inverter", "buffer", "NAND", "NOR")), *met]
        parts += [r for p in read for n in p.nets(Role.OUTPUT) for r in near.readers.get(n, ()) if r.term == "inverter"]
        way = "down" if s.term == "pull-down" else "up"
        words = f"pulls {out[0]} {way}, and lets it go otherwise"
        result = replaced(result, parts, block(view, "open-drain pad", parts, words, also=("open-drain output",)))
    return result


def _pads(view: View, structures: list[Structure]) -> list[Structure]:
    """Name tri-state drivers whose last stage is wide, with what reads the same pad."""
    result = structures
    ports = view.ports
    for s in [s for s in structures if s.term in _DRIVERS and s.nets(Role.OUTPUT)]:
        (pad,) = s.nets(Role.OUTPUT)[:1]
        gate = view.gates.get(pad)
        if pad not in ports or gate is None or not _wide(view, view.names(gate.members)):
            continue
        near = Neighbours.of(view, result)
        guards = [g for g in result if g.term in _GUARDS and pad in g.nets(Role.INPUT, Role.OUTPUT, Role.SIGNAL)]
        inside = _beyond(view, pad) | {pad}
        reads = [
            r for n in sorted(inside) for r in near.readers.get(n, ()) if r.term in _INPUTS and r is not s
        ]  # fmt: skip
        reads += [f for r in reads for n in r.nets(Role.OUTPUT) for f in after_net(near, n, reads)]
        reads = list(dict.fromkeys(reads))
        also = (s.term, "output driver")
        if reads:
            parts = [s, *guards, *reads]
            words = f"drives {pad} while enabled, and always reads it"
            result = replaced(result, parts, block(view, "bidirectional pad", parts, words, also=also))
        else:
            words = f"drives {pad} while enabled, else lets it go"
            result = replaced(result, [s, *guards], block(view, "tri-state pad", [s, *guards], words, also=also))
    return result


def _beyond(view: View, net: str) -> set[str]:
    """Return the nets that a resistor joins to one."""
    return {
        other for e in view.netlist.elements if e.kind == "resistor" and net in e.nodes[:2]
        for other in e.nodes[:2] if other not in view.prepared.supplies.nets
    }  # fmt: skip


def _inputs(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a pad's protection or pull with the stages that read it."""
    result = structures
    for guard in [s for s in structures if s.term in ("input protection", "tie cell")]:
        if all(guard is not s for s in result):
            continue
        near = Neighbours.of(view, result)
        pads = guard.nets(Role.OUTPUT if guard.term == "tie cell" else Role.INPUT)
        if guard.term == "tie cell" and not view.ports.intersection(pads):
            continue
        inside = {n for p in pads for n in (p, *_beyond(view, p))}
        reads = [r for n in sorted(inside) for r in near.readers.get(n, ()) if r.term in _INPUTS]
        reads += [f for r in reads for n in r.nets(Role.OUTPUT) for f in after_net(near, n, reads)]
        if reads:
            parts = list(dict.fromkeys((guard, *reads)))
            words = f"takes {', '.join(pads)} in"
            if guard.term == "tie cell":
                words += ", held while nothing drives it"
            also = ("input protection", "buffer") if guard.term == "input protection" else ()
            result = replaced(result, parts, block(view, "input pad", parts, words, also=also))
    return result


def join_protected(view: View, structures: list[Structure]) -> list[Structure]:
    """Join protected pads with the inverters behind them that lead to nothing else, before others take these."""
    result = structures
    near = Neighbours.of(view, structures)
    slow = _slowed(view)
    for guard in [s for s in structures if s.term == "input protection"]:
        (pad,) = guard.nets(Role.INPUT)[:1] or ("",)
        if near.drivers.get(pad) or (pad not in view.ports and slow.get(pad, set()) >= _SLOW):
            continue
        chain: list[Structure] = []
        net = pad
        while len(chain) < PAD_STAGES:
            touching = view.touching.get(net, ())
            readers = [s for s in near.readers.get(net, ()) if s is not guard and set(touching) & set(s.transistors)]
            if len(readers) != 1:
                break
            s = readers[0]
            if s.term not in ("inverter", "buffer") or set(s.nets(Role.OUTPUT)) & view.ports or s in chain:
                break
            chain.append(s)
            net = s.nets(Role.OUTPUT)[0]
        if chain:
            also = ("input protection", "buffer")
            whole = block(view, "input pad", [guard, *chain], f"takes {pad} in", also=also)
            result = replaced(result, whole.parts, whole)
    return result


def _outputs(view: View, structures: list[Structure]) -> list[Structure]:
    """Name a chain of inverters that grow towards a port an output pad."""
    wide: Counter[tuple[str, tuple[str, str], Kind]] = Counter()
    for t in view.netlist.transistors:
        wide[t.gate, t.ends, t.kind] += t.width
    width = {t.name: wide[t.gate, t.ends, t.kind] for t in view.netlist.transistors}  # fingers drawn apart are one
    result = structures
    ports = view.ports
    near = Neighbours.of(view, structures)
    for s in structures:
        out = s.nets(Role.OUTPUT)
        if not (s.term == "inverter" or s.term.endswith(_ROW)) or len(out) != 1 or out[0] not in ports:
            continue
        chain = list(s.parts) if s.parts and s.term != "inverter" else [s]
        while (d := near.driver(chain[0].nets(Role.INPUT)[0])) is not None and plain(d.term) == "inverter" and len(
            near.readers.get(d.nets(Role.OUTPUT)[0], [])
        ) == 1 and d not in chain:  # fmt: skip
            chain.insert(0, d)
        if len(chain) < 2:
            continue
        widths = [min((width[n] for n in c.transistors), default=0) for c in chain]
        if widths[0] and all(b >= 2 * a for a, b in pairwise(widths)):
            words = f"{len(chain)} inverters, each wider than the last, drive {out[0]}"
            gone = [*chain, s]
            whole = block(
                view,
                "output pad",
                chain,
                words,
                also=("output driver", "buffer" if len(chain) % 2 == 0 else "inverter"),
            )
            result = replaced(result, gone, whole)
    return result
