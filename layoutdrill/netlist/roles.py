"""What a net is for, seen from the cell or structure that it belongs to."""

from enum import StrEnum


class Role(StrEnum):
    """What a net is for."""

    INPUT = "input"
    OUTPUT = "output"
    SIGNAL = "signal"  # either way, as at a transmission gate
    DATA = "data"
    CLOCK = "clock"
    ENABLE = "enable"
    SELECT = "select"
    ADDRESS = "address"
    SET = "set"
    RESET = "reset"
    WORD_LINE = "word line"
    BIT_LINE = "bit line"
    SUPPLY = "supply"
    UNUSED = "unused"


PORT_ROLES = tuple(role for role in Role if role not in (Role.SUPPLY, Role.UNUSED))
"""What a port of a cell may be for."""
