"""What a kit cell's family name says of its structure: the naming rules of the open 130 nm kit's documentation."""

import re


def expected(cell: str) -> str | None:
    """Return the canonical term that a cell's name says, or None where the name says no structure."""
    family = re.sub(r"_[0-9]+$|_m$", "", cell)
    family = re.sub(r"^clk|^lpflow_clk", "", family)
    simple = {
        "inv": "inverter", "bufinv": "inverter", "invlp": "inverter", "buf": "buffer", "bufbuf": "buffer",
        "xor2": "XOR2", "xor3": "XOR3", "xnor2": "XNOR2", "xnor3": "XNOR3", "mux2": "2:1 multiplexer",
        "mux2i": "inverting 2:1 multiplexer", "mux4": "4:1 multiplexer", "ha": "half adder", "fa": "full adder",
        "fah": "full adder", "fahcin": "full adder", "fahcon": "full adder", "maj3": "majority gate",
        "ebufn": "tri-state buffer", "einvn": "tri-state inverter", "einvp": "tri-state inverter", "conb": "tie cell",
    }  # fmt: skip
    if family in simple:
        return simple[family]
    if match := re.fullmatch(r"(nand|nor|and|or)([2-4])b{0,2}", family):
        return match[1].upper() + match[2]
    if match := re.fullmatch(r"([ao])((?:[1-4](?:bb)?)+)b?(o|oi|a|ai)", family):
        digits = "".join(sorted(match[2].replace("b", ""), reverse=True))
        return ("AO" if match[1] == "a" else "OA") + ("I" if match[3].endswith("i") else "") + digits
    return None
