"""
Decide between conducting paths to both supplies: the level at which the currents through them are equal.

Each device is compared with what it pulls against, never with an average: the level-1 equations (H. Shichman, D. A.
Hodges, IEEE J. Solid-State Circuits SC-3, 1968), in units of the supply, with thresholds of 0.2 and a depletion
threshold of -0.6 (Mead & Conway 1980, from memory), no body effect, and gates at the rails.
"""

from collections.abc import Sequence
from math import inf
from typing import Any

THRESHOLD, DEPLETION = 0.2, -0.6
RESISTOR_UNIT = 8_000.0
"""
Ohms that conduct as much as a transistor of factor 1: 1 / (k' VDD) for k' = 25 µA/V² and 5 V (common practice of the
era; a square n channel then is about 10 kΩ, as Mead & Conway 1980 have it, from memory).
"""
LOW_AT, HIGH_AT = 0.2, 0.7
"""A level up to the threshold turns the next gate off; from the other bound on, it turns it fully on."""
CLEAR = 0.1
"""Where neither side is a load or a keeper, only so small a remainder counts as won."""
MOST_NODES = 40
_SWEEPS, _CLOSE, _FINE = 200, 1e-3, 1e-4

Law = tuple[str, float, int]
"""
(sort, factor, gate): n, p, nd, pd or r; W/L (times the mobility's share for p; 0.0 unknown) or 8 kΩ over the
resistance; the gate's slot, or TIED_X, TIED_Y where the gate is on one of the device's own ends.
"""
TIED_X, TIED_Y = -2, -3
Branch = tuple[int, int, Law]
"""(end, end, law) of a conducting device."""


def balance(
    nodes: Sequence[int], branches: Sequence[Branch], fixed: dict[int, float], gates: Sequence[int]
) -> dict[int, float]:
    """
    Return the voltage of each node, 0 to 1, at which what flows in flows out again.

    `fixed` are the voltages of the sources, `gates` the codes of the gate slots. Gauss-Seidel: a node's current falls
    steadily with its own voltage, so each step finds one root between two bounds.
    """
    volts = dict(fixed) | dict.fromkeys(nodes, 0.5)
    around: dict[int, list[_Arm]] = {node: [] for node in nodes}
    for x, y, law in branches:
        if x in around:
            around[x].append(_arm(y, law, gates, here_is_x=True))
        if y in around:
            around[y].append(_arm(x, law, gates, here_is_x=False))
    for _ in range(_SWEEPS):
        moved = 0.0
        for node in nodes:
            before = volts[node]
            volts[node] = _level(before, [(volts[far], *rest) for far, *rest in around[node]])
            moved = max(moved, abs(volts[node] - before))
        if moved < _CLOSE:
            break
    return volts


_Arm = tuple[int, bool, float, float, float | None, bool]
"""(far end, whether n, factor, threshold, level of the gate or None where tied to an end, whether tied to this end)."""


def _arm(far: int, law: Law, gates: Sequence[int], *, here_is_x: bool) -> _Arm:
    """Return a device as a node sees it; a resistor has an endless threshold."""
    sort, factor, gate = law
    if sort == "r":
        return far, True, factor, inf, 0.0, False
    threshold = DEPLETION if sort.endswith("d") else THRESHOLD
    if gate in (TIED_X, TIED_Y):
        return far, sort[0] == "n", factor, threshold, None, (gate == TIED_X) == here_is_x
    return far, sort[0] == "n", factor, threshold, float(gates[gate] == 1), False


def _level(guess: float, arms: Sequence[Sequence[Any]]) -> float:
    """
    Return the lowest level at which no more flows in, searched from a guess.

    By the secant between the bounds (the Illinois method: M. Dowell, P. Jarratt, BIT 11, 1971, from memory), by halves
    where nothing flows at the upper one.
    """
    low, high, at = 0.0, 1.0, guess
    flow_low, flow_high = inf, -inf
    side = 0
    while high - low > _FINE:
        flow = _inflow(at, arms)
        if flow > 0:
            low, flow_low = at, flow
            if side > 0:
                flow_high /= 2
            side = 1
        else:
            high, flow_high = at, flow
            if side < 0:
                flow_low /= 2
            side = -1
        if flow_high == 0 or flow_low == inf or flow_high == -inf:
            at = (low + high) / 2
        else:
            at = low + (high - low) * flow_low / (flow_low - flow_high)
            at = min(max(at, low + _FINE / 2), high - _FINE / 2)
    return (low + high) / 2


def _inflow(here: float, arms: Sequence[Sequence[Any]]) -> float:
    """Return the current into a node from all around it, in units of k' VDD²."""
    total = 0.0
    for far, is_n, factor, threshold, gate, tied_here in arms:
        if threshold == inf:
            total += factor * (far - here)
            continue
        at = gate if gate is not None else here if tied_here else far
        low, high = (here, far) if far > here else (far, here)
        drive = (at - low if is_n else high - at) - threshold
        if drive <= 0:
            continue
        across = min(high - low, drive)
        size = factor * across * (drive - across / 2)
        total += size if far > here else -size
    return total
