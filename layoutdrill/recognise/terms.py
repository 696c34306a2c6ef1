"""
Know the trade's words: one canonical term for each structure, what else it is called, what it is confused with.

Gates carry their inputs in the name: `NAND3`, `AOI21`, `XOR2`, `2:1 multiplexer`, `3-to-8 decoder`. Words and aliases
are common practice in textbooks of the field (Weste & Harris; Rabaey; Mead & Conway), from memory.
"""

import re
from collections.abc import Iterator
from functools import cache

from layoutdrill.value import value

UNKNOWN = "unknown structure"
"""What a structure is called that fits nothing known."""


@value
class Term:
    """A canonical term. `about` says in one line what it is; `digits` tells that the name carries its input counts."""

    name: str
    aliases: tuple[str, ...] = ()
    about: str = ""
    digits: bool = False


TERMS: tuple[Term, ...] = (
    # gates
    Term("inverter", ("not", "not gate"), "one pull-up and one pull-down on the same input"),
    Term("buffer", ("two inverters", "non-inverting buffer", "driver stage"), "two inverters in series"),
    Term("NAND", ("not and", "nand gate"), "low only when every input is high", digits=True),
    Term("NOR", ("not or", "nor gate"), "high only when every input is low", digits=True),
    Term("AND", ("and gate",), "a NAND and an inverter", digits=True),
    Term("OR", ("or gate",), "a NOR and an inverter", digits=True),
    Term("AOI", ("and-or-invert", "and or invert gate"), "ANDs into a NOR, in one stage", digits=True),
    Term("OAI", ("or-and-invert", "or and invert gate"), "ORs into a NAND, in one stage", digits=True),
    Term("AO", ("and-or",), "ANDs into an OR: an AOI and an inverter", digits=True),
    Term("OA", ("or-and",), "ORs into an AND: an OAI and an inverter", digits=True),
    Term("complex gate", ("compound gate", "series-parallel gate"), "one stage, neither AOI nor OAI"),
    Term("XOR", ("exclusive or", "exor", "exclusive or gate"), "high when an odd number is high", digits=True),
    Term("XNOR", ("exclusive nor", "equivalence", "coincidence gate"), "high when an even number is high", digits=True),
    Term("majority gate", ("majority", "carry gate", "maj3"), "high when most inputs are high: two of three"),
    Term("minority gate", ("inverted majority", "inverting carry gate"), "low when most inputs are high: two of three"),
    Term("threshold gate", (), "high when so many inputs are high, or more"),
    Term("half adder", ("half-adder",), "sum and carry of two bits"),
    Term("full adder", ("adder", "one-bit adder"), "sum and carry of three bits"),
    Term("equality comparator", ("comparator", "identity comparator", "equality detector"),
         "tells whether two words are the same"),
    Term("carry chain", ("carry line", "carry path", "ripple carry"),
         "the carries of an adder alone, passed from bit to bit"),
    Term("multiplexer", ("mux", "selector", "data selector"), "passes the selected input", digits=True),
    Term("inverting multiplexer", ("inverting mux",), "passes the complement of the selected input", digits=True),
    # switches
    Term("pass transistor", ("single pass transistor", "pass device"), "one transistor in series with a signal"),
    Term("transmission gate", ("tg", "pass gate", "bilateral switch", "analog switch", "complementary switch"),
         "an n and a p transistor in parallel, on opposite gates"),
    Term("tri-state inverter", ("clocked inverter", "three-state inverter", "tristate inverter", "gated inverter"),
         "an inverter with an enable pair in series"),
    Term("tri-state buffer", ("three-state buffer", "tristate buffer"), "a buffer whose output can be let go"),
    Term("open-drain output", ("open drain",), "pulls one way only"),
    # stores
    Term("latch", ("d latch", "transparent latch", "static latch"), "follows while enabled, then holds"),
    Term("dynamic latch", ("dynamic d latch", "dynamic store"), "a switch and the charge on a gate"),
    Term("SR latch", ("rs latch", "set-reset latch", "set reset latch"), "two cross-coupled gates"),
    Term("gated SR latch", ("clocked sr latch", "clocked rs latch", "gated rs latch"),
         "two cross-coupled gates that a third line opens to set and reset"),
    Term("cross-coupled inverters", ("inverter loop", "inverter ring", "keeper loop"), "two inverters head to tail"),
    Term("register bit", ("flip-flop", "flipflop", "d flip-flop", "master-slave", "master-slave flip-flop", "dff"),
         "takes its input at an edge of the clock"),
    Term("shift-register bit", ("shift register bit", "shift stage", "shift register stage"),
         "two switched inverters on two clock phases"),
    Term("toggle flip-flop", ("t flip-flop", "tff", "toggle", "divide by two", "divider by two"),
         "changes at every edge of the clock, or while told to"),
    Term("JK flip-flop", ("jk", "jkff", "j-k flip-flop"), "set, reset, held or toggled at an edge of the clock"),
    Term("static RAM cell", ("sram cell", "bit cell", "memory cell", "ram cell", "6t cell", "six-transistor cell"),
         "cross-coupled inverters behind access transistors"),
    Term("memory bit", ("memory bit with separate read and write",), "a store with its own write and read devices"),
    Term("dynamic RAM cell", ("dram cell", "3t cell", "three-transistor cell"), "charge behind access transistors"),
    Term("clock gate", ("gated clock", "clock gating cell"), "a latch that lets whole clock pulses through"),
    # circuits by behaviour
    Term("Schmitt inverter", ("schmitt trigger", "schmitt"), "an inverter with two thresholds"),
    Term("level restorer", ("keeper", "bleeder", "weak pull-up"), "a weak feedback transistor that makes a level full"),
    Term("level shifter", ("level converter",), "cross-coupled pull-ups between two supplies"),
    Term("precharged gate", ("dynamic gate", "precharge gate"), "precharged by one clock level, read by the other"),
    Term("predischarged gate", ("p dynamic gate", "predischarge gate"),
         "let down by one clock level, pulled up through p transistors by the other"),
    Term("starved inverter", ("current-starved inverter",), "an inverter behind transistors that set its speed"),
    Term("bias stage", ("current mirror", "bias mirror"), "sets the level that others' gates stand at"),
    Term("cascode gate", ("differential cascode gate", "cascode voltage switch"),
         "two crossed p transistors over networks of which one conducts"),
    Term("domino gate", ("domino",), "a precharged gate and an inverter"),
    Term("super buffer", ("superbuffer",), "an NMOS driver whose pull-up is driven as well" ),
    Term("output driver", ("pad driver", "output buffer"), "a wide last stage of many fingers"),
    Term("input protection", ("protection structure", "esd clamp", "input clamp"), "clamps an input to the rails"),
    Term("output protection", ("output clamp", "clamped output"), "clamps an output to the rails"),
    Term("ring oscillator", ("oscillator", "inverter ring oscillator"), "an odd number of inversions in a ring"),
    Term("two-phase clock generator", ("clock generator", "non-overlapping clock generator", "two-phase clock"),
         "crossed gates whose outputs are never 1 together"),
    Term("bus keeper", ("bus holder", "line keeper", "bus hold"), "a weak loop that holds a line's last level"),
    Term("delay", ("delay cell", "delay line"), "slow stages in series"),
    Term("tie cell", ("constant", "tie-high", "tie-low"), "a constant level"),
    Term("capacitor", ("mos capacitor", "decoupling capacitor"), "a transistor used as a capacitor"),
    # arrays and blocks
    Term("decoder column", ("decoder line", "one-of-n line"), "one address of a decoder"),
    Term("decoder", ("address decoder", "line decoder"), "one output for every address", digits=True),
    Term("ROM plane", ("rom", "rom array", "read-only memory"), "words fixed by transistors, there or joined, or not"),
    Term("PLA", ("programmable logic array", "logic array"), "an AND plane and an OR plane"),
    Term("AND plane", ("product plane",), "the product terms of a PLA"),
    Term("OR plane", ("sum plane",), "the sums of a PLA"),
    Term("RAM array", ("sram array", "memory array", "ram"), "cells on word lines and bit lines"),
    Term("register row", ("register", "word register"), "register bits on one clock"),
    Term("shift register", ("shift-register",), "shift-register bits in a chain"),
    Term("ripple counter", ("asynchronous counter", "binary ripple counter", "ripple divider"),
         "toggle flip-flops, each clocked by the one before"),
    Term("ring counter", ("circulating shift register",), "a shift register whose last bit goes in again"),
    Term("Johnson counter", ("twisted ring counter", "switch-tail counter", "moebius counter"),
         "a shift register whose last bit's opposite goes in again"),
    Term("feedback shift register", ("lfsr", "linear feedback shift register", "pseudo-random generator"),
         "a shift register that takes a function of its own bits"),
    Term("FIFO slice", ("fifo stage",), "a word store with the marker that lets it load"),
    Term("FIFO", ("fifo memory", "first-in first-out memory"), "slices in a row, each filled from the one before"),
    Term("marker", ("marker logic", "marker bit", "control latch"), "the bit that says whether a stage holds a word"),
    Term("parallel adder", ("binary adder",), "adds two numbers", digits=True),
    Term("ripple adder", ("ripple-carry adder", "ripple carry adder", "carry-ripple adder"),
         "full adders in a row, the carry of each going into the next"),
    Term("adder-subtractor", ("adder subtractor", "add-subtract unit"), "an adder that one line turns to subtract"),
    Term("incrementer", ("increment unit",), "half adders in a row: adds one"),
    Term("Manchester adder", (), "an adder whose carry runs along a charged line, through pass transistors"),
    Term("Manchester carry chain", ("manchester chain",), "a charged line that a half sum opens from bit to bit"),
    Term("four-phase stage", ("four-phase gate",), "charged by one phase, let go by its data in the next"),
    Term("four-phase shift register", (), "four-phase stages in a row, two for a bit"),
    Term("magnitude comparator", ("number comparator",), "tells which of two numbers is greater"),
    Term("parity tree", ("parity generator", "parity checker"), "XOR gates that tell whether a count is odd"),
    Term("encoder", ("binary encoder",), "the number of the one line that is on", digits=True),
    Term("priority encoder", (), "the number of the highest line that is on"),
    Term("seven-segment decoder", ("segment decoder", "bcd to seven-segment decoder"),
         "lights the segments that make a digit"),
    Term("binary-to-Gray converter", ("gray encoder",), "each bit out is the sum of two neighbours"),
    Term("Gray-to-binary converter", ("gray decoder",), "each bit out is the sum of those above it"),
    Term("single-error corrector", ("hamming corrector", "error corrector"),
         "check sums, and what turns over the bit that they name"),
    Term("phase detector", ("phase and frequency detector", "phase comparator"),
         "tells which of two edges came first, until the other comes"),
    Term("ALU", ("arithmetic and logic unit", "arithmetic logic unit"), "a sum, or a function bit by bit"),
    Term("ALU slice", (), "one bit of an arithmetic and logic unit"),
    Term("barrel shifter", ("rotator",), "shifts a word by any number of places at once"),
    Term("shifter", ("shift unit",), "shifts a word by one place"),
    Term("synchronous counter", ("counter", "binary counter"), "bits on one clock that count its edges"),
    Term("accumulator", ("adding register",), "a register that adds to its own word another"),
    Term("dual-modulus prescaler", ("dual-modulus divider",), "a counter of one or the other number of states"),
    Term("CRC register", ("cyclic redundancy check register", "signature register"),
         "divides what comes in by a polynomial"),
    Term("up/down counter", ("up-down counter", "reversible counter"), "a counter that one line turns round"),
    Term("decade counter", ("bcd counter", "divide-by-ten counter"), "a counter of ten states"),
    Term("up/down decade counter", ("reversible decade counter",), "a counter of ten states, either way"),
    Term("shift register with feedback", (), "a shift register whose first bit takes a function of others"),
    Term("scan register bit", ("scan latch pair",), "takes data, or the bit before it, on clocks of their own"),
    Term("boundary-scan register", ("boundary-scan cells",), "a scan register that can take the place of pins"),
    Term("scan register", ("scan path", "scan chain"), "bits that take a word, or are shifted through"),
    Term("loadable shift register", ("parallel-load shift register",), "a shift register that can take a whole word"),
    Term("shift-and-store register", ("shift register with latches", "shift-and-store bus register"),
         "a shift register, and latches that keep its word"),
    Term("universal shift register", (), "a shift register either way that can also keep or take a word"),
    Term("register with tri-state outputs", ("three-state register",), "a register whose outputs can be let go"),
    Term("serial adder", ("bit-serial adder",), "a full adder and the register bit that keeps its carry"),
    Term("carry-skip adder", ("carry-bypass adder",), "a ripple adder whose carry may pass all bits at once"),
    Term("multiplier", ("array multiplier",), "multiplies two numbers", digits=True),
    Term("multiplier recoder", ("booth recoder", "booth encoder"),
         "turns bits of a multiplier into digits of −2 to 2"),
    Term("decimal adder", ("bcd adder",), "adds two decimal digits"),
    Term("register with enable", ("enabled register",), "a register that keeps its word unless enabled"),
    Term("state register", (), "register bits whose next state depends on their state"),
    Term("static RAM", ("sram",), "static cells with decoder, precharge and drivers"),
    Term("dynamic RAM", ("dram",), "cells that hold by charge, on word lines and bit lines"),
    Term("register file", (), "words of latches on shared lines"),
    Term("content-addressable word", ("associative word", "cam word"), "cells that are compared with a word sought"),
    Term("content-addressable memory", ("associative memory", "cam"), "words that are all compared with one sought"),
    Term("column", (), "what charges and writes the lines of a column"),
    Term("sense-amplifier flip-flop", ("sense flip-flop",), "a sense amplifier, and a pair that keeps what it found"),
    Term("sense amplifier", ("sense latch",), "drives two lines apart the way in which they already differ"),
    Term("column multiplexer", ("column select", "column switch"), "joins one column's lines at a time to shared ones"),
    Term("gate-array gates", ("gate isolation",), "gates on one strip, kept apart by transistors that are never on"),
    Term("tied-off transistor", ("isolation transistor",), "a transistor that is never on, between two circuits"),
    Term("precharge", ("precharge device",), "charges bit lines before they are read"),
    Term("bit-line load", (), "loads that hold bit lines up"),
    Term("write driver", (), "pulls a bit line down to write"),
    Term("transceiver", ("bus transceiver", "bidirectional buffer"), "leads a word one way or the other"),
    Term("tri-state bus", ("three-state bus", "bus"), "a net that several stages drive in turn"),
    Term("bus with keeper", (), "a bus whose level a weak loop keeps"),
    Term("substrate-bias generator", ("back-bias generator", "charge pump"), "an oscillator that pumps charge"),
    Term("voltage multiplier", ("diode pump", "voltage doubler"),
         "diodes in a row, their joints lifted in turn by capacitors"),
    Term("RC oscillator", (), "stages that a resistor and a capacitor pace"),
    Term("crystal oscillator", (), "an inverter with a resistor across, for a crystal"),
    Term("power-on reset", (), "a pulse while the supply comes up"),
    Term("pulsed latch", ("pulse latch", "hybrid latch flip-flop"), "open for a moment at an edge, then kept"),
    Term("edge pulse generator", ("one-shot",), "a pulse at an edge, as long as some inverters take"),
    Term("inverters in a row", ("inverter chain", "inverters"), "inverters that follow one another"),
    Term("clocked-load gate", ("clocked-load inverter", "gate with a clocked load"),
         "a ratioed gate whose load conducts during one phase only"),
    Term("ratioless stage", ("ratioless inverter",), "charged from its phase line, let go to it by its data"),
    Term("ratioless shift register", ("two-phase ratioless shift register",), "ratioless stages, a switch between"),
    Term("push-pull pair", ("push-pull stage",), "two single switches that drive a net both ways in turn"),
    Term("C-element", ("muller c-element", "c element"), "takes the level that all its inputs have"),
    Term("arbiter", ("mutual exclusion element",), "grants one of two requests"),
    Term("bootstrap driver", ("bootstrapped driver",), "a stage whose output lifts the gate of its load"),
    Term("tri-state pad", ("three-state pad",), "a pad that can be let go"),
    Term("bidirectional pad", ("i/o pad",), "a pad that is driven and read"),
    Term("open-drain pad", (), "a pad that is pulled one way only"),
    Term("input pad", (), "a pad that is read"),
    Term("output pad", (), "a pad that is driven"),
    Term("supply pad", ("power pad", "supply pin"), "a pad that brings a supply in: clamped, and read by nothing"),
    # parts of structures
    Term("pull-up", ("pull up", "load"), "what raises an output"),
    Term("pull-down", ("pull down", "driver"), "what lowers an output"),
    Term("word line", ("row select", "row line", "wordline"), "selects the cells of one word"),
    Term("bit line", ("column line", "data line", "bitline"), "carries the bits of one column"),
    Term("dynamic node", ("storage node", "charge node"), "a net that holds its level by charge alone"),
    Term("rail", ("supply line", "supply", "power rail", "vdd", "vcc", "vss", "gnd"), "carries a supply"),
    # sights on a layout
    Term("transistor", ("mos transistor", "device", "fet"), "a channel below a gate"),
    Term("n transistor", ("nmos", "n-channel", "n-channel transistor", "n device"), "on when its gate is high"),
    Term("p transistor", ("pmos", "p-channel", "p-channel transistor", "p device"), "on when its gate is low"),
    Term("contact", ("cut", "contact hole"), "joins metal to silicon"),
    Term("via", ("via hole",), "joins metal to metal"),
    Term("crossing", ("crossover", "wire crossing"), "two wires that pass without touching"),
    Term("crossunder", ("tunnel", "underpass", "diffused crossing", "cross-under"), "a diffusion that passes below"),
    Term("guard ring", ("channel stop", "guard band"), "a doped ring that stops leakage and latch-up"),
    Term("well", ("tub",), "a region that holds transistors of one kind"),
    Term(
        "tap",
        ("well tap", "substrate tap", "body contact", "well contact", "substrate contact"),
        "ties a well or the substrate",
    ),
    Term("diffusion", ("active", "source/drain", "source", "drain", "active area"), "doped silicon"),
    Term("poly", ("polysilicon", "silicon gate"), "the gate layer"),
    Term("metal", ("aluminium", "aluminum"), "the top wire"),
    Term("nothing", ("empty", "bare field", "field oxide"), "no wire and no device"),
)  # fmt: skip

_BY_NAME = {t.name.lower(): t for t in TERMS}
_CONFUSIONS: tuple[tuple[str, str, str], ...] = (
    (
        "transmission gate",
        "pass transistor",
        "a transmission gate has n and p in parallel; a pass transistor is alone",
    ),
    ("latch", "register bit", "a latch follows while it is enabled; a flip-flop takes its input at an edge"),
    ("latch", "SR latch", "an SR latch has set and reset, and no enable"),
    ("latch", "dynamic latch", "a dynamic latch holds by charge alone; this needs a feedback loop"),
    ("latch", "static RAM cell", "a RAM cell has access transistors to bit lines instead of an input"),
    ("dynamic latch", "shift-register bit", "a shift-register bit is two switched inverters, one on each phase"),
    ("inverter", "buffer", "two inverters in series make a buffer"),
    ("inverter", "tri-state inverter", "a tri-state inverter has an enable pair in series"),
    ("inverter", "Schmitt inverter", "a Schmitt inverter has feedback transistors to its middle nodes"),
    ("NAND", "NOR", "series n transistors make a NAND, series p transistors a NOR (positive logic)"),
    ("NAND", "AND", "an inverter follows: look for the extra pair"),
    ("NOR", "OR", "an inverter follows: look for the extra pair"),
    ("AOI", "OAI", "n branches in parallel make an AOI, n branches in series an OAI"),
    ("AOI", "AO", "an inverter follows: look for the extra pair"),
    ("OAI", "OA", "an inverter follows: look for the extra pair"),
    ("XOR", "XNOR", "one is the other inverted: follow which input is complemented"),
    ("AOI", "multiplexer", "in a multiplexer two of the inputs are each other's complement"),
    ("half adder", "full adder", "a full adder has a carry input"),
    ("super buffer", "output driver", "a super buffer is the NMOS stage with a driven pull-up; a pad driver is wide"),
    ("via", "contact", "a via joins metal to metal; a contact joins metal to silicon"),
    ("contact", "crossing", "a contact has its hole; at a crossing the two wires pass"),
    ("crossunder", "via", "a crossunder is a wire in the silicon"),
    ("pull-up", "output driver", "a load raises a node inside; an output driver drives a pad"),
    ("n transistor", "p transistor", "look at the rail its group stands by"),
    ("ROM plane", "RAM array", "a ROM bit is one transistor, present or absent"),
    ("decoder", "ROM plane", "a decoder has one line for each address"),
    ("decoder", "PLA", "a PLA has a second plane, at right angles to the first"),
    (
        "decoder",
        "RAM array",
        "a RAM bit is a loop of two inverters; a decoder has at most one transistor at a crossing",
    ),
    ("ROM plane", "PLA", "a PLA's lines leave out inputs, and its second plane sums few of them"),
    ("PLA", "RAM array", "a RAM bit is a loop of two inverters; a plane has at most one transistor at a crossing"),
    ("register row", "RAM array", "RAM cells share bit lines; a register bit has an input and an output of its own"),
    ("register row", "shift register", "in a shift register the output of each bit is the input of the next"),
    ("register row", "FIFO slice", "a FIFO slice has marker logic at the end of its row"),
    ("shift register", "FIFO slice", "a FIFO slice takes a whole word at once, and has marker logic at its end"),
    ("shift register", "RAM array", "bits in a chain; RAM cells share bit lines and are chosen by a word line"),
    ("FIFO", "shift register", "a FIFO has marker logic to each row, which lets words move on"),
    ("FIFO", "RAM array", "each word of a FIFO feeds the next; RAM words share bit lines"),
    ("FIFO", "register row", "a FIFO is rows above one another, each with marker logic, each fed by the one before"),
)

_NUMBERS = {"two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "eight": "8", "dual": "2", "triple": "3"}
_EMPTY = ("a", "an", "the", "circuit")
_EMPTY_WORD = re.compile(rf"\b({'|'.join(_EMPTY)})\b ?")
_APART = str.maketrans("_-/", "   ")
_SIZED = re.compile(r"(x?n?and|x?n?or|aoi|oai|ao|oa)([1-9][0-9]*)(i?)")


def _plain(text: str) -> str:
    """Fold case, punctuation and number words, so that spellings can be compared."""
    words = " ".join(text.lower().translate(_APART).split()).strip(" .,!?\"'")
    if words.replace(" ", "").isalnum():
        telling = [word for word in words.split() if word not in _EMPTY] or words.split()
    else:
        telling = (_EMPTY_WORD.sub("", words).strip() or words).split()
    return " ".join(_NUMBERS.get(word, word) for word in telling)


def _aliases() -> Iterator[tuple[str, str]]:
    for term in TERMS:
        for word in (term.name, *term.aliases):
            yield _plain(word), term.name


@cache
def _spellings() -> dict[str, str]:
    """Return the terms by every spelling that is known of them; of one that two share, the first term has it."""
    return dict(reversed(list(_aliases())))


def canonical(text: str, *, typos: bool = False) -> str | None:
    """
    Return the canonical term that `text` means, or None.

    Reads `2-input nand`, `NAND 2`, `nand gate` (without digits: the family), `mux 4`, `3 to 8 decoder`. With `typos`,
    one slip in a word of five letters or two in one of nine are forgiven where only one term is that near.
    """
    plain = _plain(text)
    if not plain:
        return None
    if plain in _spellings():
        return _spellings()[plain]
    if sized := _sized(plain):
        return sized
    if typos:
        return _nearest(plain)
    return None


def _sized(plain: str) -> str | None:
    squeezed = plain.replace(" ", "")
    if match := _SIZED.fullmatch(squeezed.removesuffix("gate")):
        return match[1].upper() + match[2]
    if match := re.fullmatch(r"([2-9]) inputs? (n?and|n?or|x?n?or|exclusive n?or)( gate)?", plain):
        kind = match[2].replace("exclusive ", "x").replace(" ", "").upper()
        return kind + match[1]
    if match := re.fullmatch(r"(and or invert|or and invert) (?:gate )?([1-9]+)", plain):
        return ("AOI" if match[1].startswith("and") else "OAI") + match[2]
    if match := re.fullmatch(r"([1-9][0-9]*)(?: ?: ?| to )1 (inverting )?(?:mux|multiplexer|selector)", plain):
        return f"{match[1]}:1 {match[2] or ''}multiplexer"
    if match := re.fullmatch(r"(inverting )?(?:mux|multiplexer) ?([248])(?: to 1| ?: ?1)?", plain):
        return f"{match[2]}:1 {match[1] or ''}multiplexer"
    if match := re.fullmatch(r"([1-9]) (?:to|:) ([1-9][0-9]*)(?: line)? decoder", plain):
        return f"{match[1]}-to-{match[2]} decoder"
    return None


def _nearest(plain: str) -> str | None:
    best, nearest = 3, set[str]()
    for spelling, name in _spellings().items():
        allowed = 2 if len(spelling) >= 9 else 1 if len(spelling) >= 5 else 0
        slips = _slips(plain, spelling, allowed)
        if slips <= allowed and slips <= best:
            nearest = {name} if slips < best else nearest | {name}
            best = slips
    return nearest.pop() if len(nearest) == 1 else None


def _slips(first: str, second: str, most: int) -> int:
    """Return the edits (a neighbour swap is one) that turn one word into the other, or more than `most`."""
    if abs(len(first) - len(second)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(second) + 1))
    for i, a in enumerate(first, 1):
        last, row, before = row, [i], row if i == 1 else before
        for j, b in enumerate(second, 1):
            cost = min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (a != b))
            if i > 1 and j > 1 and a == second[j - 2] and first[i - 2] == b:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        before = last
    return row[-1]


def family(name: str) -> str:
    """Return the term without its digits: `NAND` for `NAND3`, `multiplexer` for `2:1 multiplexer`."""
    if name.lower() in _BY_NAME:
        return name
    if match := re.fullmatch(r"([A-Z]+)[0-9]+", name):
        return match[1]
    if match := re.fullmatch(r"[0-9]+(?:-bit|-input|-state|/[0-9]+| × [0-9]+|) (\D.*)", name):
        name = match[1]
    return re.sub(r"^(inverting )?[0-9]+(:1|-to-[0-9]+) ", r"\1", name)


def term(name: str) -> Term:
    """Return the term that a canonical name belongs to; raises KeyError for a name that is not canonical."""
    own = family(name)
    return _BY_NAME.get(own.lower()) or _BY_NAME[(canonical(own) or own).lower()]


def confusion(right: str, given: str) -> str | None:
    """Return what tells two easily confused structures apart, or None where they are not known as a pair."""
    pair = {family(right), family(given)}
    for first, second, tells in _CONFUSIONS:
        if pair == {first, second}:
            return tells
    return None


def lookalikes(name: str) -> tuple[str, ...]:
    """Return the terms that `name` is most often mistaken for."""
    own = family(name)
    return tuple(b if a == own else a for a, b, _ in _CONFUSIONS if own in (a, b))
