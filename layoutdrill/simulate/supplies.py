"""Find the supplies of a netlist: by label, by what the caller says, or by structure with the reasoning told."""

import re
from collections import Counter
from collections.abc import Mapping

from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Kind, Mode, Netlist
from layoutdrill.value import value

_HIGH = re.compile(
    r"(?:a|d|io)?v(?:dd|cc|pwr|pb|ddpe|ddce)[a-z]{0,3}[0-9]?!?|kapwr|lowlvpwr|vpp|pwr|power|vplus|v\+", re.IGNORECASE
)
_LOW = re.compile(r"(?:a|d|io)?(?:v(?:ss|ee|gnd|nb)|gnd)[a-z]{0,3}[0-9]?!?|ground|vminus|v-|0", re.IGNORECASE)
_NEGATIVE = re.compile(r"v(?:dd|gg|bb)[0-9]?", re.IGNORECASE)
_FOR_GATES = re.compile(r"vgg[0-9]?", re.IGNORECASE)
_POSITIVE = re.compile(r"(?:v(?:ss|cc)|gnd|vgnd|ground)[0-9]?", re.IGNORECASE)


@value
class Supplies:
    """
    The nets that are always high and always low, electrically (the high one is the more positive).

    `reasons` says, one sentence each, how they were found.
    """

    high: frozenset[str]
    low: frozenset[str]
    reasons: tuple[str, ...] = ()

    @property
    def nets(self) -> frozenset[str]:
        return self.high | self.low

    def values(self) -> dict[str, int]:
        return dict.fromkeys(sorted(self.high), 1) | dict.fromkeys(sorted(self.low), 0)


SuppliesLike = Supplies | Mapping[str, int] | None


def find_supplies(netlist: Netlist, given: SuppliesLike = None) -> Supplies:
    """
    Return the supplies: as `given` (net name to 0 or 1), else by label, else by structure.

    In a netlist of p transistors alone, VDD and VGG are the low side (PMOS logic runs on a negative supply), unless
    they are the body of the transistors: that is the most positive net.
    Raises LayoutdrillError where a given supply is not in the netlist, or 0 and 1 are not the values.
    """
    if isinstance(given, Supplies):
        return given
    if given is not None:
        return _given(netlist, given)
    nets = netlist.nets
    only = {t.kind for t in netlist.transistors}
    bodies = {t.body for t in netlist.transistors}
    if only == {Kind.P} and not any(_HIGH.fullmatch(body) for body in bodies):
        return _pmos(netlist)
    high = frozenset(net for net in nets if _HIGH.fullmatch(net))
    low = frozenset(net for net in nets if _LOW.fullmatch(net))
    reasons = [f"{', '.join(sorted(high))} is high by its name" for _ in (1,) if high]
    reasons += [f"{', '.join(sorted(low))} is low by its name" for _ in (1,) if low]
    loaded = any(t.mode is Mode.DEPLETION or t.gate in t.ends for t in netlist.transistors)
    if only == {Kind.N} and not loaded and not (low and high):
        return Supplies(high, low, tuple(reasons))  # switches alone: nothing tells a rail from a signal
    if not low:
        low = _rail(netlist, Kind.N, high, reasons)
    if not high:
        high = _load_rail(netlist, low, reasons) if only == {Kind.N} else _rail(netlist, Kind.P, low, reasons)
    return Supplies(high, low, tuple(reasons))


def is_supply_label(net: str) -> bool:
    """Tell whether a name alone says that a net is a supply."""
    return bool(_HIGH.fullmatch(net) or _LOW.fullmatch(net))


def _given(netlist: Netlist, given: Mapping[str, int]) -> Supplies:
    nets = set(netlist.nets)
    for net, level in given.items():
        if level not in (0, 1):
            raise LayoutdrillError(f'supply "{net}" is given as {level!r}', todo="give 0 or 1")
    known = {net: level for net, level in given.items() if net in nets}
    if given and not known:
        raise LayoutdrillError(
            f"none of the supplies {', '.join(given)} is a net of {netlist.name}", todo="check the names"
        )
    return Supplies(
        frozenset(net for net, level in known.items() if level == 1),
        frozenset(net for net, level in known.items() if level == 0),
        ("supplies as given",),
    )


def _pmos(netlist: Netlist) -> Supplies:
    """Tell the rails of PMOS logic: loads are tied to the negative one."""
    nets = netlist.nets
    loads = {(t.gate, t.ends) for t in netlist.transistors if t.gate in t.ends and t.mode is Mode.ENHANCEMENT}
    met = Counter(end for t in netlist.transistors if t.gate not in t.ends for end in t.ends)
    # A load has drivers beside it; what has none is a clamp at a pad, however many turns or pads it serves.
    driven = [gate for gate, ends in loads if all(met[end] for end in ends if end != gate)]
    tied = Counter(driven or (gate for gate, _ in loads))
    # What also opens switches between others is a phase that charges from its own line.
    phases = {t.gate for t in netlist.transistors if t.gate not in t.ends and not is_supply_label(t.gate)}
    # All loads of a circuit are tied to one rail: nets that as many are tied to charge in turn.
    often = max(tied.values(), default=0)
    sharing = [net for net, count in tied.items() if count > 1 and 2 * count >= often and not is_supply_label(net)]
    phases |= set(sharing) if len(sharing) > 1 else set()
    for net in phases & set(tied):
        del tied[net]
    low = frozenset(net for net in nets if _NEGATIVE.fullmatch(net))
    high = frozenset(net for net in nets if _POSITIVE.fullmatch(net))
    reasons = []
    order = sorted(tied, key=lambda net: (-tied[net], not _NEGATIVE.fullmatch(net)))  # a clamp may be tied too
    labelled = [net for net in order if is_supply_label(net)]
    beyond = sorted(net for net in nets if _FOR_GATES.fullmatch(net))
    if beyond and low != frozenset(beyond):  # the loads are not tied to their own rail, so what is tied is a clamp
        reasons.append(f"{', '.join(beyond)} is named as the supply for the gates of loads, beyond the low side")
    elif labelled:  # what a load is tied to says more than a name
        low = frozenset(labelled[:1])
        high = frozenset(net for net in nets if is_supply_label(net)) - low
        reasons.append(f"{labelled[0]} is the low, negative side: the loads have gate and drain on it")
    elif low:
        reasons.append(f"{', '.join(sorted(low))} is the low side: PMOS logic runs on a negative supply")
    elif tied:
        net = tied.most_common(1)[0][0]
        low = frozenset({net})
        reasons.append(f"{net} is the low side: the loads have gate and drain on it")
    if high:
        reasons.append(f"{', '.join(sorted(high))} is the high side by its name")
    elif clamps := Counter(gate for gate, _ in loads if driven and gate not in low | phases):
        high = frozenset({clamps.most_common(1)[0][0]})
        reasons.append(f"{', '.join(high)} is the high side: clamps have gate and source on it")
    elif tied:
        high = _rail(netlist, Kind.P, low, reasons)
    return Supplies(high, low, tuple(reasons))  # switches alone: nothing tells a rail from a signal


def _load_rail(netlist: Netlist, low: frozenset[str], reasons: list[str]) -> frozenset[str]:
    """Find the high rail of NMOS logic: where the loads end."""
    ends: Counter[str] = Counter()
    for t in netlist.transistors:
        if t.mode is Mode.DEPLETION:
            ends.update(end for end in t.ends if end not in low and end != t.gate)
        elif t.gate in t.ends and t.gate not in low:  # else a clamp
            ends[t.gate] += 1
    if not ends:
        return frozenset()
    net, count = ends.most_common(1)[0]
    reasons.append(f"{net} is high: {count} load{'s' if count > 1 else ''} end on it")
    return frozenset({net})


def _rail(netlist: Netlist, kind: Kind, other: frozenset[str], reasons: list[str]) -> frozenset[str]:
    """Find the rail on which the pull network of one kind ends: it gates nothing, and the other kind stays away."""
    mine = [t for t in netlist.transistors if t.kind is kind]
    gates = {t.gate for t in netlist.transistors}
    foreign = {end for t in netlist.transistors if t.kind is not kind for end in t.ends}
    pulls = [t for t in mine if t.mode is Mode.ENHANCEMENT and not set(t.ends) & other]
    degree = Counter(end for t in pulls for end in t.ends)
    candidates = [net for net in degree if net not in gates and net not in foreign and net not in other]
    if not candidates:
        return frozenset()
    bodies = Counter(t.body for t in mine if t.body)

    def merit(net: str) -> tuple[bool, int, int, int, str]:
        dead = sum(1 for c in candidates if c != net and degree[c] == 1 and c not in netlist.ports)
        return (net in netlist.ports, bodies[net], -dead, degree[net], net)

    best = max(candidates, key=merit)
    side = "low" if kind is Kind.N else "high"
    why = [f"only {kind} channels end on it"]
    if bodies[best]:
        why.append("it is their body")
    reasons.append(f"{best} is taken as the {side} supply: {' and '.join(why)}")
    return frozenset({best})
