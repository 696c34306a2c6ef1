"""Change one thing in a netlist, in nine ways, for a comparison to notice."""

from collections.abc import Callable
from dataclasses import replace
from random import Random

from layoutdrill.netlist.model import Kind, Netlist, Transistor

Change = Callable[[Netlist, Random], Netlist | None]
TERMINALS = ("gate", "source", "drain")


def terminal_moved(n: Netlist, rng: Random) -> Netlist | None:
    """Put one gate, source or drain on another net."""
    at, t = _pick(n, rng)
    terminal = rng.choice(TERMINALS)
    others = sorted({net for u in n.transistors for net in (u.gate, u.source, u.drain)} - {getattr(t, terminal)})
    return _with(n, at, replace(t, **{terminal: rng.choice(others)})) if others else None


def kind_flipped(n: Netlist, rng: Random) -> Netlist | None:
    at, t = _pick(n, rng)
    return _with(n, at, replace(t, kind=Kind.P if t.kind is Kind.N else Kind.N))


def nets_joined(n: Netlist, rng: Random) -> Netlist | None:
    """Make one net of two that devices are on."""
    nets = sorted({net for t in n.transistors for net in (t.gate, t.source, t.drain)})
    if len(nets) < 2:
        return None
    keep, lose = rng.sample(nets, 2)
    return replace(
        n,
        transistors=tuple(t.renamed({lose: keep}) for t in n.transistors),
        elements=tuple(replace(e, nodes=tuple(keep if x == lose else x for x in e.nodes)) for e in n.elements),
    )


def net_split(n: Netlist, rng: Random) -> Netlist | None:
    """Move some, but not all, of a net's terminals to a net of their own."""
    pins = {}
    for at, t in enumerate(n.transistors):
        for terminal in TERMINALS:
            pins.setdefault(getattr(t, terminal), []).append((at, terminal))
    nets = sorted(net for net, on in pins.items() if len(on) > 1)
    if not nets:
        return None
    on = pins[rng.choice(nets)]
    moved = rng.sample(on, rng.randrange(1, len(on)))
    transistors = list(n.transistors)
    for at, terminal in moved:
        transistors[at] = replace(transistors[at], **{terminal: "a net of its own"})
    return replace(n, transistors=tuple(transistors))


def width_changed(n: Netlist, rng: Random) -> Netlist | None:
    at, t = _pick(n, rng)
    return _with(n, at, replace(t, width=t.width + rng.choice((-5, 5, 10, 100))))


def length_changed(n: Netlist, rng: Random) -> Netlist | None:
    at, t = _pick(n, rng)
    return _with(n, at, replace(t, length=t.length + rng.choice((-5, 5, 10, 100))))


def device_dropped(n: Netlist, rng: Random) -> Netlist | None:
    at, _ = _pick(n, rng)
    return replace(n, transistors=n.transistors[:at] + n.transistors[at + 1 :])


def device_doubled(n: Netlist, rng: Random) -> Netlist | None:
    _, t = _pick(n, rng)
    return replace(n, transistors=(*n.transistors, replace(t, name="twin")))


def body_moved(n: Netlist, rng: Random) -> Netlist | None:
    at, t = _pick(n, rng)
    others = sorted({net for u in n.transistors for net in u.terminals} - {t.body})
    return _with(n, at, replace(t, body=rng.choice(others))) if others else None


CHANGES: tuple[Change, ...] = (
    terminal_moved,
    kind_flipped,
    nets_joined,
    net_split,
    width_changed,
    length_changed,
    device_dropped,
    device_doubled,
    body_moved,
)


def _pick(n: Netlist, rng: Random) -> tuple[int, Transistor]:
    at = rng.randrange(len(n.transistors))
    return at, n.transistors[at]


def _with(n: Netlist, at: int, t: Transistor) -> Netlist:
    return replace(n, transistors=(*n.transistors[:at], t, *n.transistors[at + 1 :]))
