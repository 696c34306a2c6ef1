"""Tell from a model's name, or its `.model` card, what device it stands for."""

import re

from layoutdrill.netlist.number import number
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.value import value

_CHANNEL = re.compile(r"(?:^|_)([np])(?:mos|fet|ch)(d?)(?:\d*$|_)|^([np])(d?)$")
_STEMS = re.compile(
    r"(?:mos|fet|tr|mod)?(?P<before>[np]?)(?:c?mos|fet|ch|m|tran)?(?P<after>[np]?)_?"
    r"(?P<sort>d|dep|depl|depletion|e|en|enh|enhancement)?_?\d*"
)
_DEPLETION = {"d", "dep", "depl", "depletion"}
_OTHERS = (
    ("diode", re.compile(r"(?:^|_)(?:diode|dio)(?:_|$)")),
    ("resistor", re.compile(r"(?:^|_)(?:res|resistor|short|r)(?:_|$)")),
    ("capacitor", re.compile(r"(?:^|_)(?:cap|capacitor|c)(?:_|$)")),
)


@value
class Channel:
    """What a transistor's model says."""

    kind: Kind
    mode: Mode = Mode.ENHANCEMENT


def channel(model: str) -> Channel | None:
    """
    Read a transistor's model name: nmos, pmosd, nfet_01v8, p; None for anything else.

    Depletion transistors go by many names (common practice): nmosd, nmos_d, depletion_nmos, ndep, depl, nd, and
    bare dep or d, which are n-channel: a p-channel one says so. A kit's prefix (all before a double
    underscore) is passed over.
    """
    name = model.lower().rpartition("__")[2]
    match = _CHANNEL.search(name)
    if match:
        sort = name[match.end() :].lstrip("_").rstrip("0123456789_")
        depletion = bool(match[2] or match[4]) or sort in _DEPLETION or name[: match.start()].strip("_") in _DEPLETION
        return Channel(Kind(match[1] or match[3]), Mode.DEPLETION if depletion else Mode.ENHANCEMENT)
    return _by_stem(name)


def _by_stem(name: str) -> Channel | None:
    """Read the names that put the kind last, or say only the sort: cmosn, modp, ndepl, penh, dep."""
    match = _STEMS.fullmatch(name)
    if not match:
        return None
    kind, sort = match["before"] or match["after"], match["sort"] or ""
    if (not kind and sort not in _DEPLETION) or (match["before"] and match["after"]):
        return None
    mode = Mode.DEPLETION if sort in _DEPLETION else Mode.ENHANCEMENT
    return Channel(Kind(kind) if kind else Kind.N, mode)


def other_device(model: str) -> str | None:
    """Read the name of another kit device: diode, resistor or capacitor; None when it is neither."""
    name = model.lower().rpartition("__")[2]
    return next((kind for kind, pattern in _OTHERS if pattern.search(name)), None)


def card(name: str, kind: str, values: tuple[tuple[str, str], ...]) -> Channel | None:
    """
    Read a `.model` card: its type NMOS or PMOS, and depletion when its threshold lies on the wrong side of 0
    (negative for n, positive for p: the sign convention of SPICE's VTO), or, where it gives none, by its name.
    """
    types = {"nmos": Kind.N, "pmos": Kind.P}
    if kind.lower() not in types:
        return None
    polarity = types[kind.lower()]
    text = next((v for k, v in values if k in {"vto", "vt0", "vth0"}), None)
    threshold = number(text) if text else None
    if threshold is None:
        named = channel(name)
        return Channel(polarity, named.mode if named is not None and named.kind is polarity else Mode.ENHANCEMENT)
    wrong = threshold < 0 if polarity is Kind.N else threshold > 0
    return Channel(polarity, Mode.DEPLETION if wrong else Mode.ENHANCEMENT)
