"""Tell from a model's name, or its `.model` card, what device it stands for."""

import re

from layoutdrill.netlist.number import number
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.value import value

_CHANNEL = re.compile(r"(?:^|_)([np])(?:mos|fet|ch)(d?)(?:\d*$|_)|^([np])(d?)$")
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
    Read a transistor's model name: nmos, pmosd (depletion), nfet_01v8, p; None for anything else.

    A kit's prefix (all before a double underscore) is passed over.
    """
    found = _CHANNEL.search(model.lower().rpartition("__")[2])
    if not found:
        return None
    return Channel(Kind(found[1] or found[3]), Mode.DEPLETION if found[2] or found[4] else Mode.ENHANCEMENT)


def other_device(model: str) -> str | None:
    """Read the name of another kit device: diode, resistor or capacitor; None when it is neither."""
    name = model.lower().rpartition("__")[2]
    return next((kind for kind, pattern in _OTHERS if pattern.search(name)), None)


def card(kind: str, values: tuple[tuple[str, str], ...]) -> Channel | None:
    """
    Read a `.model` card: its type NMOS or PMOS, and depletion when its threshold lies on the wrong side of 0
    (negative for n, positive for p: the sign convention of SPICE's VTO).
    """
    types = {"nmos": Kind.N, "pmos": Kind.P}
    if kind.lower() not in types:
        return None
    polarity = types[kind.lower()]
    text = next((v for k, v in values if k in {"vto", "vt0", "vth0"}), None)
    threshold = number(text) if text else None
    wrong = threshold is not None and (threshold < 0 if polarity is Kind.N else threshold > 0)
    return Channel(polarity, Mode.DEPLETION if wrong else Mode.ENHANCEMENT)
