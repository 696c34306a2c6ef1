"""
Read and write the numbers of SPICE text: `0.65u`, `1e+06u`, `4.7k`, `10meg`.

A suffix scales (t g meg k mil m u n p f a, any case; µ as u) and letters after it are units and ignored.
Source: the SPICE3 user's manual, "Numeric fields" (from memory).
"""

import re
from decimal import Decimal
from functools import lru_cache

_NUMBER = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d{1,3})?)(meg|mil|[tgkmunpfaµμ])?[a-zµμ]*", re.IGNORECASE)
_SCALE = {
    "t": Decimal("1e12"),
    "g": Decimal("1e9"),
    "meg": Decimal("1e6"),
    "k": Decimal("1e3"),
    "mil": Decimal("25.4e-6"),
    "m": Decimal("1e-3"),
    "u": Decimal("1e-6"),
    "µ": Decimal("1e-6"),  # the micro sign
    "μ": Decimal("1e-6"),  # the Greek letter that looks the same
    "n": Decimal("1e-9"),
    "p": Decimal("1e-12"),
    "f": Decimal("1e-15"),
    "a": Decimal("1e-18"),
}
_LONGEST = 64
# No channel is 10 mm long: such a number is in µm, whether it is bare (0.15) or scaled once too often (150000u).
_IN_MICROMETRES = Decimal("0.01")


@lru_cache(maxsize=4096)
def number(text: str) -> Decimal | None:
    """Return the number, or None when `text` is none, or longer than any number of a netlist."""
    match = _NUMBER.fullmatch(text) if len(text) <= _LONGEST else None
    if not match:
        return None
    return Decimal(match[1]) * _SCALE[(match[2] or "").lower()] if match[2] else Decimal(match[1])


@lru_cache(maxsize=4096)
def nanometres(text: str, scale: Decimal | None = None) -> int | None:
    """
    Return a channel's length or width in whole nm, or None when `text` is no number, or 1 m and more.

    `scale` is that of `.option scale=`. Without it the number is in metres, or in µm where metres make no sense
    (10 mm and more): `0.65u`, `0.65` and `650000u` all are 650 nm.
    """
    value = number(text)
    if value is None:
        return None
    if scale is not None:
        value *= scale
    elif abs(value) >= _IN_MICROMETRES:
        value *= Decimal("1e-6")
    if abs(value) >= 1:
        return None
    return int((value * 1_000_000_000).to_integral_value())


def micrometres(nm: int) -> str:
    """Write nm as SPICE text in µm: 650 as `0.65u`."""
    whole, rest = divmod(nm, 1000)
    return f"{whole}.{rest:03d}".rstrip("0").rstrip(".") + "u" if rest else f"{whole}u"
