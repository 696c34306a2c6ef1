"""
Make ROM and PLA planes from their contents: a table of words, or outputs as sums of products.

All planes are of lines with a load and transistors side by side, so that a line is the NOR of what crosses it with n
transistors, and the NAND with p transistors; which of the two a process has decides what stands inverted.
"""

from collections.abc import Mapping, Sequence

from layoutdrill.cells.arrays.decoder import NAND, NOR, columns_into, complement, pair, start
from layoutdrill.cells.arrays.floor import (
    ARRAY_STYLES,
    Floor,
    Notes,
    array,
    inverter,
    plane_load,
    rail_of,
    supply_of,
    switch,
)
from layoutdrill.cells.compact import HIGH, LOW
from layoutdrill.cells.model import Cell, Port, Role, Style
from layoutdrill.cells.tiling import Part, Tile, Tiling
from layoutdrill.errors import LayoutdrillError
from layoutdrill.simulate.expression import And, Expression, Not, Or, Var, parse_equation, text

N_STYLES = (Style.COMPLEMENTARY, Style.DEPLETION_LOAD)
P_STYLES = (Style.ENHANCEMENT_LOAD,)
Product = tuple[tuple[str, bool], ...]
"""Literals as (name, whether it stands as it is), in the order of the inputs."""


CONTACT, METAL = "contact", "metal"
"""What programs a plane in which every crossing has a transistor."""

UNPROGRAMMED = {CONTACT: "bit_uncut", METAL: "bit_unjoined"}
"""The tiles of a crossing whose transistor is not joined to its line."""

_PROGRAMS = {
    "": ("a grid of word and bit lines with a transistor at some crossings and none at others; one load a bit.", ""),
    CONTACT: ("a transistor at every crossing; some have a contact on their drain, others none.", "by contact"),
    METAL: ("a transistor at every crossing, each with a contact; of some the metal stops short of the bit line.",
            "by metal"),
}  # fmt: skip
"""By what a plane is programmed: what to look for, and how its title says so."""

POLY_GATES = ("silicon-gate-cmos", "silicon-gate-cmos-pwell", "silicon-gate-cmos-2m", "silicon-gate-nmos")
"""Processes whose bit lines are metal over the drains; under metal gates they are the drains themselves."""


def rom_plane(name: str, title: str, words: Sequence[str], *, p_kind: bool = False, program: str = "") -> Cell:
    """
    Return a plane of word lines w0 … across bit lines b0 …; `words` are rows of 0 and 1, bit 0 first.

    With n transistors a selected word line is 1 and a transistor makes the bit 0; with p (`p_kind`) a selected word
    line is 0 and a transistor makes the bit 1. With a `program` (CONTACT or METAL; textbooks of digital design list
    both beside the mask of the gate oxide) there is one at every crossing, and what is programmed joins some to their
    bit line. Raises LayoutdrillError for words of unequal length.
    """
    width = width_of(name, words)
    present = "1" if p_kind else "0"
    lines = [f"w{r}" for r in range(len(words))]
    ports = [Port(line, Role.WORD_LINE) for line in lines] + [Port(f"b{c}", Role.OUTPUT) for c in range(width)]
    function = []
    for c in range(width):
        on = [line for line, word in zip(lines, words, strict=True) if word[c] == present]
        if not on:
            raise LayoutdrillError(f"bit {c} of {name} has no transistor", todo="give some word the other value there")
        function.append(f"b{c} = !({('*' if p_kind else '+').join(on)})")
    tilings = {style: _rom(style, words, present, program) for style in (P_STYLES if p_kind else N_STYLES)}
    look_for, by = _PROGRAMS[program]
    unlike = () if program else (("decoder3_nor", "every line meets each address line once, true or complement"),)
    selected = "0 and the others 1" if p_kind else "1 and the others 0"
    notes = Notes(
        title=f"{title}, {by}" if by else title,
        structure="ROM plane",
        aliases=("rom", "rom array", "read-only memory", "crosspoint array"),
        boundary=f"the transistors of the plane and the loads; the word line that is selected is {selected}",
        look_for=look_for,
        mistaken_for=(("ram_array_4x4", "every crossing has a loop of two inverters"), *unlike),
    )
    return array(name, notes, tuple(ports), tilings, tuple(function), POLY_GATES if program else ())


def rom_decoded(name: str, title: str, words: Sequence[str]) -> Cell:
    """Return a ROM with its decoder: address lines in, bits b0 … of the word addressed out, in every style."""
    width = width_of(name, words)
    count = len(words)
    lines = count.bit_length() - 1
    if count != 1 << lines or not 2 <= lines <= 6:
        raise LayoutdrillError(f"{name} has {count} words", todo="give 4, 8, 16, 32 or 64")
    addresses = [f"a{bit}" for bit in reversed(range(lines))]
    ports = [Port(a, Role.ADDRESS) for a in addresses] + [Port(f"b{c}", Role.OUTPUT) for c in range(width)]
    function = []
    for c in range(width):
        ones = [k for k, word in enumerate(words) if word[c] == "1"]
        if len(ones) in (0, count):
            raise LayoutdrillError(f"bit {c} of {name} is the same in every word", todo="leave it out")
        terms = ["*".join(a if k >> n & 1 else f"!{a}" for n, a in zip(reversed(range(lines)), addresses, strict=True))
                 for k in ones]  # fmt: skip
        function.append(f"b{c} = " + " + ".join(terms))
    tilings = {style: _decoded(style, words, lines) for style in ARRAY_STYLES}
    notes = Notes(
        title=title,
        structure="ROM plane",
        aliases=("rom", "rom array", "read-only memory", "decoded rom"),
        boundary="the decoder with its address inverters, the plane, and all loads",
        look_for="two planes side by side: in the first no two lines are alike and each meets every address once.",
        mistaken_for=(("pla_flash", "the lines of its first plane may leave inputs out, and it sums few of them"),),
    )
    return array(name, notes, tuple(ports), tilings, tuple(function))


def width_of(name: str, words: Sequence[str]) -> int:
    widths = {len(word) for word in words}
    if len(widths) != 1 or any(set(word) - {"0", "1"} for word in words):
        raise LayoutdrillError(f"the words of {name} are not rows of 0 and 1 of one length")
    return widths.pop()


def crossing(style: Style, *, present: bool) -> Tile:
    """Return the crossing of a word line, across, and a bit line, upright."""
    rail = rail_of(style)
    if present:
        return Tile("bit_device", "a transistor from the bit line to the rail", (switch(style, "word", ("bit", rail)),),
                    ("word",), ("word",), ("bit",), ("bit",), (rail,), (Part.CROSSING,))  # fmt: skip
    return Tile("bit_none", "no transistor", (), ("word",), ("word",), ("bit",), ("bit",))


def unprogrammed(style: Style, program: str) -> Tile:
    """Return a crossing whose transistor is there, and is not joined to the bit line; `program` says by what."""
    lacks = {CONTACT: "no contact", METAL: "metal that stops short of the bit line"}[program]
    return Tile(UNPROGRAMMED[program], f"a transistor with {lacks}",
                (switch(style, "word", ("open", rail_of(style))),),
                ("word",), ("word",), ("bit",), ("bit",), (rail_of(style),),
                ({CONTACT: Part.UNCUT, METAL: Part.UNJOINED}[program],))  # fmt: skip


def _bit_load(style: Style) -> Tile:
    rails = (LOW, HIGH) if style is Style.COMPLEMENTARY else (supply_of(style),)
    return Tile("bit_load", "load of the bit line", (plane_load(style, "bit"),), bottom=("bit",), rails=rails,
                parts=(Part.LOAD,))  # fmt: skip


def _rom(style: Style, words: Sequence[str], present: str, program: str) -> Tiling:
    floor = Floor()
    absent = unprogrammed(style, program) if program else crossing(style, present=False)
    for row, word in enumerate(words):
        for column, bit in enumerate(word):
            nets = {"word": f"w{row}", "bit": f"b{column}"}
            tile = crossing(style, present=True) if bit == present else absent
            floor.put(row, column, tile, nets, flipped=bool(row % 2))
    for column in range(len(words[0])):
        floor.put(len(words), column, _bit_load(style), {"bit": f"b{column}"})
    return floor.tiling()


def _decoded(style: Style, words: Sequence[str], lines: int) -> Tiling:
    """Lay decoder and plane: with p transistors the decoder's lines are 0 when addressed, which suits a p plane."""
    floor = Floor()
    p_kind = style is Style.ENHANCEMENT_LOAD
    first = columns_into(floor, style, lines, NAND if p_kind else NOR, own=True)
    present = "1" if p_kind else "0"
    edge = 1 + lines
    for code, word in enumerate(words):
        row = first + code
        for column, bit in enumerate(word):
            nets = {"word": f"y{code}", "bit": f"b{column}"}
            floor.put(row, edge + column, crossing(style, present=bit == present), nets, flipped=bool(row % 2))
    top = first + len(words)
    for column in range(len(words[0])):
        floor.put(top, edge + column, _bit_load(style), {"bit": f"b{column}"})
    return floor.tiling()


def pla(name: str, title: str, inputs: Sequence[str], sums: Sequence[str]) -> Cell:
    """
    Return a PLA: `sums` are equations such as `y = a*!b + c`, products that several share are made once.

    Raises LayoutdrillError for an equation that is no sum of products over the inputs.
    """
    wanted: dict[str, tuple[Product, ...]] = {}
    for line in sums:
        equation = parse_equation(line, inputs)
        if not equation.name:
            raise LayoutdrillError(f"“{line}” names no output", todo="write “y = a*!b + c”")
        wanted[equation.name] = tuple(_product(term, inputs, line) for term in _terms(equation.expression))
    products = tuple(dict.fromkeys(p for terms in wanted.values() for p in terms))
    ports = [Port(i, Role.INPUT) for i in inputs] + [Port(o, Role.OUTPUT) for o in wanted]
    tilings = {style: _pla(style, inputs, products, wanted) for style in ARRAY_STYLES}
    notes = Notes(
        title=title,
        structure="PLA",
        aliases=("programmable logic array", "logic array", "and-or plane"),
        boundary="both planes with loads, the input inverters that are used, and with n transistors output inverters",
        look_for="two planes: product lines cross the inputs and their complements, then the output lines.",
        mistaken_for=(
            ("rom_flash_decoded", "in its first plane every line meets every address line"),
            ("decoder3_nor", "one plane only"),
        ),
    )
    return array(name, notes, tuple(ports), tilings, tuple(sums))


def _terms(e: Expression) -> tuple[Expression, ...]:
    return e.terms if isinstance(e, Or) else (e,)


def _product(e: Expression, inputs: Sequence[str], line: str) -> Product:
    literals: dict[str, bool] = {}
    for factor in e.terms if isinstance(e, And) else (e,):
        plain = factor.term if isinstance(factor, Not) else factor
        if not isinstance(plain, Var) or plain.name in literals:
            raise LayoutdrillError(f"“{text(e)}” in “{line}” is no product", todo="write “a*!b”, each input once")
        literals[plain.name] = not isinstance(factor, Not)
    return tuple((i, literals[i]) for i in inputs if i in literals)


def _pla(style: Style, inputs: Sequence[str], products: Sequence[Product],
         wanted: Mapping[str, Sequence[Product]]) -> Tiling:  # fmt: skip
    """Lay both planes: with n transistors NOR and NOR with inverters behind, with p NAND and NAND."""
    floor = Floor()
    p_kind = style is Style.ENHANCEMENT_LOAD
    edge = 1 + len(inputs)
    top = 1 + len(products)
    crossed = {name for product in products for name, as_it_is in product if as_it_is != p_kind}
    for column, name in enumerate(inputs, start=1):
        if name in crossed:  # an inverter that nothing reads is left out, and its line is bare
            floor.put(0, column, complement(style), {"a": name, "an": f"{name}_n"})
    for row, product in enumerate(products, start=1):
        flipped, line, has = bool(row % 2), f"p{row}", dict(product)
        floor.put(row, 0, start(style), {"y": line}, flipped=flipped)
        for column, name in enumerate(inputs, start=1):
            on_true = None if name not in has else has[name] == p_kind
            floor.put(row, column, pair(style, on_true), {"a": name, "an": f"{name}_n", "y": line}, flipped=flipped)
        for column, (output, terms) in enumerate(wanted.items(), start=edge):
            sum_line = output if p_kind else f"{output}_n"
            tile = crossing(style, present=product in terms)
            floor.put(row, column, tile, {"word": line, "bit": sum_line}, flipped=flipped)
    for column, output in enumerate(wanted, start=edge):
        if p_kind:
            floor.put(top, column, _bit_load(style), {"bit": output})
            continue
        tile = Tile(
            "sum_end", "load of the sum line, and the output's inverter",
            (plane_load(style, "bit"), *inverter(style, "bit", "y")), bottom=("bit",), top=("y",), rails=(LOW, HIGH),
            parts=(Part.LOAD, Part.DRIVER, Part.PULL_UP),
        )  # fmt: skip
        floor.put(top, column, tile, {"bit": f"{output}_n", "y": output})
    return floor.tiling()
