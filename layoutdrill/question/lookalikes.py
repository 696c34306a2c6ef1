"""What each structure is mistaken for, nearest first: the source of fair wrong choices."""

import re

from layoutdrill.question.vocabulary import TERMS

_GATE = re.compile(r"(NAND|NOR|AND|OR|XOR|XNOR|AOI|OAI)(\d+)\Z")

TABLE: dict[str, tuple[str, ...]] = {
    "inverter": ("transmission gate", "buffer", "NAND2", "NOR2"),
    "buffer": ("inverter", "transmission gate", "AND2", "latch"),
    "transmission gate": ("inverter", "pass transistor", "tri-state inverter", "2:1 multiplexer"),
    "pass transistor": ("transmission gate", "inverter", "level restorer"),
    "tri-state inverter": ("NAND2", "NOR2", "transmission gate", "inverter", "2:1 multiplexer"),
    "2:1 multiplexer": ("XOR2", "latch", "AOI22", "tri-state inverter", "XNOR2"),
    "latch": ("2:1 multiplexer", "register bit", "SR latch", "static RAM cell"),
    "SR latch": ("latch", "static RAM cell", "NOR2", "NAND2"),
    "register bit": ("latch", "2:1 multiplexer", "static RAM cell", "full adder"),
    "static RAM cell": ("latch", "SR latch", "buffer", "register bit"),
    "half adder": ("full adder", "XOR2", "majority gate", "2:1 multiplexer"),
    "full adder": ("half adder", "majority gate", "XOR3", "register bit"),
    "majority gate": ("AOI222", "full adder", "AOI21", "half adder"),
    "Schmitt inverter": ("inverter", "NAND3", "buffer", "NOR3"),
    "super buffer": ("buffer", "inverter", "output driver"),
    "output driver": ("inverter", "buffer", "super buffer"),
}
"""Common practice: same outline, one wire or one polarity different."""


def lookalikes(structure: str) -> tuple[str, ...]:
    """Return other canonical terms, the likeliest confusions first, then structures of like size."""
    found: list[str] = list(TABLE.get(structure, ()))
    match = _GATE.match(structure)
    if match:
        found += _gate(match.group(1), match.group(2))
    names = {term.name for term in TERMS}
    found = [name for name in found if name in names]
    own = next((term.transistors for term in TERMS if term.name == structure), 0)
    rest = [t for t in TERMS if t.transistors and t.name not in found and not t.name.startswith(("XNOR3", "XOR3"))]
    rest.sort(key=lambda t: (abs(t.transistors - (own or 8)), t.name))
    found += [term.name for term in rest[:6]]
    return tuple(dict.fromkeys(name for name in found if name != structure))


def _gate(family: str, digits: str) -> list[str]:
    dual = {"NAND": "NOR", "NOR": "NAND", "AND": "OR", "OR": "AND", "XOR": "XNOR", "XNOR": "XOR"}
    if family in dual:
        n = int(digits)
        near = [f"{dual[family]}{n}"]
        if family in ("NAND", "NOR"):
            near += ["AOI21", "OAI21"] if n == 3 else ["AOI22", "OAI22"] if n == 4 else []
            near += [f"{family}{n + 1}", f"{family}{n - 1}", f"{dual[family]}{n + 1}", f"{family.lstrip('N')}{n}"]
        elif family in ("AND", "OR"):
            near += [f"N{family}{n}", f"{family}{n + 1}", f"{family}{n - 1}", f"N{dual[family]}{n}"]
        else:
            near += ["2:1 multiplexer", "AOI22", "half adder"]
        return near
    other = "OAI" if family == "AOI" else "AOI"
    total = sum(int(d) for d in digits)
    near = [other + digits]
    kin = [t.name for t in TERMS if t.name.startswith(family) and t.transistors == 2 * total]
    more = [t.name for t in TERMS if t.name.startswith(family) and abs(t.transistors - 2 * total) == 2]
    near += [*kin, f"NAND{total}", f"NOR{total}", *more]
    return near
