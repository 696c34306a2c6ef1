"""The closed sets of words that a process and a netlist share."""

from enum import StrEnum


class Kind(StrEnum):
    """The channel's carrier."""

    N = "n"
    P = "p"


class Mode(StrEnum):
    """Whether a channel is there with no gate voltage (depletion) or not (enhancement)."""

    ENHANCEMENT = "enhancement"
    DEPLETION = "depletion"
