"""The levels a reader may see on a net."""

from enum import StrEnum


class Level(StrEnum):
    """0, 1, X (not known), floating (no path to a supply: charge may be there), fight (paths to both, equal)."""

    LOW = "0"
    HIGH = "1"
    UNKNOWN = "X"
    FLOATING = "Z"
    FIGHT = "!"

    @property
    def known(self) -> bool:
        return self in (Level.LOW, Level.HIGH)
