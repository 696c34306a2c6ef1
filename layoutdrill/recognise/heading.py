"""Say what a netlist is in one line: the whole, the block among gates that serve it, or what there is."""

from collections import Counter
from collections.abc import Sequence

from layoutdrill.errors import plural
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Structure

BLOCK = (
    "counter",
    "adder",
    "subtractor",
    "incrementer",
    "comparator",
    "parity tree",
    "multiplexer",
    "shifter",
    "RAM",
    "ROM",
    "register file",
    "FIFO",
    "oscillator",
    "generator",
    "pad",
    "reset",
    "arbiter",
    "C-element",
    "PLA",
    "decoder",
    "shift register",
    "register",
    "driver",
    "encoder",
    "ALU",
    "bus",
    "super buffer",
    "carry chain",
    "converter",
    "accumulator",
    "corrector",
    "detector",
    "recoder",
    "transceiver",
    "prescaler",
    "multiplier",
    "memory",
    "word",
)
SERVING = (
    "inverter",
    "buffer",
    "pass transistor",
    "transmission gate",
    "pull-up",
    "pull-down",
    "capacitor",
    "tie cell",
    "NAND2",
    "NOR2",
    "AND2",
    "OR2",
    "NAND3",
    "NOR3",
    "input protection",
    "output protection",
)
_SWITCHES = ("pass transistor", "transmission gate", "pull-up", "pull-down")
_GATES = ("NAND", "NOR", "AND", "OR", "AOI", "OAI", "XOR", "XNOR")
_ROW_WORDS = {
    "latch": "latch",
    "dynamic latch": "dynamic latch",
    "register bit": "register",
    "shift-register bit": "register",
    "memory bit": "register",
}


def sized(s: Structure) -> str:
    """Return the name of a structure with the size that its parts tell: `4-bit latch`, `8-bit shift register`."""
    count = len(s.parts)
    if s.term == "shift register":
        return f"{count}-bit shift register"
    if s.term == "register row" and s.parts:
        return f"{count}-bit {_ROW_WORDS.get(s.parts[0].term, 'register')}"
    if s.term == "register bit" and s.nets(Role.SET) and s.nets(Role.RESET):
        return "register bit with set and reset"
    if s.term == "RAM array" and (words := len({p.nets(Role.WORD_LINE) for p in s.parts})) and not len(s.parts) % words:
        return f"{words} × {len(s.parts) // words} RAM array"
    return s.term


def heading(structures: Sequence[Structure]) -> str:
    """
    Return the name of a set of structures: of the one that there is, of several alike with their number, of the block
    among gates that serve it, or the list of what there is, the largest first.
    """
    real = [s for s in structures if s.transistors or s.parts]
    if not real:
        return "nothing"
    main = [s for s in real if s.term not in SERVING] or real
    counts = Counter(sized(s) for s in main)
    rows = [s for s in main if s.term.endswith("inverters in a row")]
    if len(rows) == len(main) and any(s.term in _SWITCHES for s in real):
        main = real  # a row of inverters that serves switches is not the whole
    gates = [s for s in real if s.term.rstrip("0123456789") in _GATES]
    if len(counts) == 1 and not (main[0] in gates and len(gates) > 2 * len(main)):
        ((name, count),) = counts.items()
        if name == "super buffer" and count == 1 and any(s.term == "pass transistor" for s in real):
            return f"{name} behind a pass transistor"
        return name if count == 1 else f"{count} × {name}"
    size: Counter[str] = Counter()
    for s in real:
        size[sized(s)] += len(s.transistors)
    whole = sum(size.values())
    first, most = size.most_common(1)[0]
    if 5 * most >= 3 * whole and first.endswith(BLOCK) and counts[first] == 1:
        return first
    everything = Counter(sized(s) for s in real)
    names = sorted(everything, key=lambda n: (-size[n], n))
    listed = [n if everything[n] == 1 else f"{everything[n]} × {n}" for n in names]
    return ", ".join(listed[:4]) + (f" and {plural(len(listed) - 4, 'other kind')}" if len(listed) > 4 else "")
