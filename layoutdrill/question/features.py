"""Which feature of the picture decides a structure's name, in words."""

import re

_GATE = re.compile(r"(NAND|NOR|AND|OR|XOR|XNOR|AOI|OAI)(\d+)\Z")

_NAMED = {
    "inverter": "one gate runs over one n and one p transistor, and their drains meet in the output",
    "buffer": "two inverters in a row: the first one's output is the second one's gate",
    "transmission gate": "an n and a p transistor side by side between the same two nets, with opposite gates",
    "pass transistor": "one transistor alone between two signals, with neither end on a rail",
    "tri-state inverter": "two in series on each side: the outer or inner pair has the input, the other one the enable",
    "2:1 multiplexer": "two switches meet in one net, and their controls are each other's complement",
    "latch": "a loop of two inverting stages with a switch that opens it to let the input in",
    "SR latch": "two gates feed each other, each with an input of its own",
    "register bit": "two latches in a row that are open on opposite levels of the clock",
    "static RAM cell": "two crossed inverters, and one pass transistor from each to a bit line",
    "half adder": "the same two inputs make an exclusive or and an and",
    "full adder": "a carry stage with a majority network, and a sum stage that uses the carry",
    "majority gate": "any two of the three inputs make a path, on both sides with the same shape",
    "Schmitt inverter": "three in series with one input, and a fourth transistor that feeds the output back",
    "super buffer": "an inverter beside a second stage, whose load is driven by the first one's output",
    "output driver": "very wide transistors of many fingers at the pad",
    "level restorer": "a transistor from VDD whose gate hangs on the inverted output",
    "decoder column": "one row of transistors meets the address lines, true or complement, once each",
}


def feature(structure: str) -> str:
    """Say what decides the name; "" for a structure with no feature of its own in the table."""
    match = _GATE.match(structure)
    if not match:
        return _NAMED.get(structure, "")
    family, digits = match.groups()
    if family in ("NAND", "NOR"):
        series, beside = ("n", "p") if family == "NAND" else ("p", "n")
        return f"{digits} {series} transistors in series, {digits} {beside} transistors side by side"
    if family in ("AND", "OR"):
        return f"a N{family}{digits} followed by an inverter"
    if family in ("XOR", "XNOR"):
        return "each input and its complement are both used, in two branches that meet in the output"
    groups = " + ".join(digits)
    if family == "AOI":
        return f"the n side has branches of {groups} in series, side by side; the p side is the dual"
    return f"the n side has groups of {groups} side by side, in series; the p side is the dual"


def contrast(right: str, given: str) -> str:
    """Say how the two differ, by the feature of each."""
    own, other = feature(right), feature(given)
    if own and other:
        return f"{right}: {own}. {given}: {other}."
    return f"{right}: {own}." if own else ""
