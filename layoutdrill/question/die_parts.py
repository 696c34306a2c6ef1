"""The parts that a die can have: what repeats in each, how it is called, and by what one knows it at sight."""

from collections.abc import Mapping

from layoutdrill.value import value

INPUT, OUTPUT, SUPPLY, NOTHING = "input", "output", "supply", "none"
"""What a pad can be for."""


@value
class PartWords:
    """
    A family of parts.

    `cells` are the terms of the structures that repeat in it; `said` names it with its article; `known_by` is a
    sentence; `repeat` is what repeats in it and `counts` what one of these stands for, "" where nobody counts them.
    `within` are the terms of what belongs to its field, where not all of a repeat does: not the gates about it.
    """

    cells: tuple[str, ...]
    said: str
    known_by: str
    repeat: str = "cell"
    counts: str = ""
    within: tuple[str, ...] = ()


PARTS: Mapping[str, PartWords] = {
    "FIFO": PartWords(
        ("FIFO slice",),
        "the FIFO",
        "It is the largest field: a row of latches again and again, each row with its marker logic at one end.",
        "row",
        "word",
        ("latch", "SR latch", "register row"),
    ),
    "register row": PartWords(
        ("register bit",),
        "the register row",
        "One row of a like cell, each with two loops, all on the same two clock lines; every bit has an input and an "
        "output of its own.",
        "cell",
        "bit",
    ),
    "decoder": PartWords(
        ("decoder column", "decoder row"),
        "the decoder",
        "Lines that each meet all address lines, at the true line or at the complement, and two alike nowhere.",
        "line",
    ),
    "ripple counter": PartWords(
        ("counter bit", "toggle flip-flop"),
        "the ripple counter",
        "One row of a like cell in which the output of each is the clock of the next; no line clocks them all.",
        "cell",
        "bit",
    ),
    "synchronous counter": PartWords(
        ("counter bit", "toggle flip-flop", "register bit"),
        "the synchronous counter",
        "One row of a like cell on one clock line, each with a gate that sees all the bits before it.",
        "cell",
        "bit",
    ),
    "shift register": PartWords(
        ("shift-register bit", "register bit"),
        "the shift register",
        "One row of a like cell on common clock lines in which the output of each is the input of the next.",
        "cell",
        "bit",
    ),
    "PLA": PartWords(
        ("AND plane", "OR plane"),
        "the PLA",
        "Two planes of gate lines side by side: a transistor or none at each crossing, and no two lines alike.",
        "plane",
    ),
}
"""Every family that is told as a part; the first whose name is in a structure's term is taken."""

AT_PADS: Mapping[str, tuple[str, str]] = {
    OUTPUT: (
        "the driver of an output pad",
        "Beside the pad stand combs: the widest transistors of the die, many gate fingers side by side.",
    ),
    INPUT: (
        "the protection of an input pad",
        "Beside the pad stand a few fingers whose gates lie on a rail, and small inverters lead on inwards.",
    ),
    SUPPLY: ("a supply", "Metal as broad as no signal's leads from it, and no transistor stands between."),
    NOTHING: ("nothing", "No metal leads on from it to any transistor."),
}
"""What stands at a pad, and by what one knows it."""
