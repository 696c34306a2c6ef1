"""
Make whole decoders from the number of address lines: parallel columns, series columns, and the tree of switches.

Counts for n lines (the sums are the arithmetic of the rows): ratioed n·2ⁿ + 2ⁿ, complementary NAND 2n·2ⁿ, tree
2(2ⁿ − 1), and 2n more where the array makes the complements itself.
"""

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
from layoutdrill.cells.compact import HIGH, LOW, Device
from layoutdrill.cells.model import Cell, Port, Role, Style
from layoutdrill.cells.tiling import Part, Tile, Tiling
from layoutdrill.process.terms import Kind, Mode

NAND, NOR, TREE = "nand", "nor", "tree"
TRUE_LINK, COMPLEMENT_LINK = "link_true", "link_complement"
"""The tiles of a line in series: its transistor on the true line, or on the complement."""


def decoder(name: str, lines: int, form: str, *, own: bool) -> Cell:
    """
    Return the decoder of `lines` addresses. `own`: it makes the complements of the address lines itself.

    nor: y is 1 for its address alone; nand: y is 0 for its address alone; tree: d is led to the output addressed.
    """
    addresses = [f"a{bit}" for bit in reversed(range(lines))]
    ports = [Port("d", Role.SIGNAL)] if form == TREE else []
    for a in addresses:
        ports.append(Port(a, Role.ADDRESS))
        if not own:
            ports.append(Port(f"{a}n", Role.ADDRESS, a))
    words = 1 << lines
    outputs = [f"y{k}" for k in range(words)]
    ports += [Port(y, Role.SIGNAL if form == TREE else Role.OUTPUT) for y in outputs]
    function: tuple[str, ...] = ()
    if form != TREE:
        products = ["*".join(a if bit else f"!{a}" for a, bit in zip(addresses, bits(k, lines), strict=True))
                    for k in range(words)]  # fmt: skip
        function = tuple(
            f"{y} = {product}" if form == NOR else f"{y} = !({product})"
            for y, product in zip(outputs, products, strict=True)
        )
    lay = _tree if form == TREE else _columns
    tilings = {style: lay(style, lines, form, own) for style in ARRAY_STYLES}
    return array(name, _notes(lines, form, own=own), tuple(ports), tilings, function)


def bits(code: int, count: int) -> tuple[int, ...]:
    """Return a code's bits, the most significant first."""
    return tuple(code >> place & 1 for place in reversed(range(count)))


def pair(style: Style, on_true: bool | None) -> Tile:
    """Return a crosspoint of two lines a, an with a line y: a transistor to the rail on one of them, or on none."""
    rail = rail_of(style)
    names = {True: "cross_true", False: "cross_complement", None: "cross_none"}
    about = {True: "transistor on the true line", False: "transistor on the complement", None: "no transistor"}
    devices = () if on_true is None else (switch(style, "a" if on_true else "an", ("y", rail)),)
    rails = () if on_true is None else (rail,)
    lines = ("a", "an")
    return Tile(
        names[on_true], about[on_true], devices, ("y",), ("y",), lines, lines, rails, (Part.CROSSING,) * len(devices)
    )


def start(style: Style) -> Tile:
    """Return the load at the beginning of a line."""
    rails = (LOW, HIGH) if style is Style.COMPLEMENTARY else (supply_of(style),)
    return Tile("load", "load of the line", (plane_load(style, "y"),), right=("y",), rails=rails, parts=(Part.LOAD,))


def complement(style: Style) -> Tile:
    """Return the inverter that gives an address or input line its complement."""
    return Tile(
        "complement", "inverter of the line", inverter(style, "a", "an"), bottom=("a",), top=("a", "an"),
        rails=(LOW, HIGH), parts=(Part.DRIVER, Part.PULL_UP),
    )  # fmt: skip


def columns_into(floor: Floor, style: Style, lines: int, form: str, own: bool) -> int:
    """Lay a decoder's lines y0 … and return the row of y0: column 0 is the loads, then one column an address."""
    first = 1 if own else 0
    addresses = [f"a{bit}" for bit in reversed(range(lines))]
    if own:
        for column, a in enumerate(addresses, start=1):
            floor.put(0, column, complement(style), {"a": a, "an": f"{a}n"})
    series = (form == NOR) == (style is Style.ENHANCEMENT_LOAD)
    for code in range(1 << lines):
        row, y = first + code, f"y{code}"
        flipped = bool(row % 2)
        at = bits(code, lines)
        if series:
            _series_row(floor, style, row, code, addresses, form)
            continue
        floor.put(row, 0, start(style), {"y": y}, flipped=flipped)
        for column, (a, bit) in enumerate(zip(addresses, at, strict=True), start=1):
            on_true = bool(bit) == (form == NAND)
            floor.put(row, column, pair(style, on_true), {"a": a, "an": f"{a}n", "y": y}, flipped=flipped)
    return first


def _columns(style: Style, lines: int, form: str, own: bool) -> Tiling:
    floor = Floor()
    columns_into(floor, style, lines, form, own)
    return floor.tiling()


def _series_row(floor: Floor, style: Style, row: int, code: int, addresses: list[str], form: str) -> None:
    """Lay one line whose transistors are in series from the rail at its beginning to the line at its end."""
    y, at = f"y{code}", bits(code, len(addresses))
    flipped = bool(row % 2)
    rail = rail_of(style)
    full = style is Style.COMPLEMENTARY
    if full:
        begin = Tile("begin", "the series begins on the rail", (), right=("y", rail), rails=(rail,))
    else:
        begin = Tile("begin", "load of the line; the series begins on the rail", (plane_load(style, "y"),),
                     right=("y", rail), rails=(LOW, HIGH), parts=(Part.LOAD,))  # fmt: skip
    floor.put(row, 0, begin, {"y": y}, flipped=flipped)
    chain = [rail, *(f"{y}_{n}" for n in range(1, len(addresses))), y]
    for column, (a, bit) in enumerate(zip(addresses, at, strict=True), start=1):
        on_true = bool(bit) == (form == NAND)
        gate = "a" if on_true else "an"
        devices: tuple[Device, ...] = (switch(style, gate, ("s", "t")),)
        if full:
            devices += (Device(Kind.P, Mode.ENHANCEMENT, gate, ("y", HIGH)),)
        tile = Tile(
            TRUE_LINK if on_true else COMPLEMENT_LINK,
            f"transistor in series on the {'true' if on_true else 'complement'} line"
            + (", and one beside the others to the other rail" if full else ""),
            devices, ("y", "s"), ("y", "t"), ("a", "an"), ("a", "an"), (HIGH,) if full else (),
            (Part.LINK, Part.BESIDE)[: len(devices)],
        )  # fmt: skip
        nets = {"a": a, "an": f"{a}n", "y": y, "s": chain[column - 1], "t": chain[column]}
        floor.put(row, column, tile, nets, flipped=flipped)
    end = Tile("end", "the series ends on the line", (), left=("y", "y"), right=("y",))
    floor.put(row, len(addresses) + 1, end, {"y": y}, flipped=flipped)


def _tree(style: Style, lines: int, form: str, own: bool) -> Tiling:
    """Lay the tree: each level's switches in a column, most significant address first, outputs at the right."""
    assert form == TREE
    floor = Floor()
    first = 1 if own else 0
    addresses = [f"a{bit}" for bit in reversed(range(lines))]
    if own:
        for column, a in enumerate(addresses):
            floor.put(0, column, complement(style), {"a": a, "an": f"{a}n"})
    for code in range(1 << lines):
        for level, a in enumerate(addresses):
            half = 1 << (lines - 1 - level)
            within, base = code % (2 * half), code - code % (2 * half)
            nets = {"a": a, "an": f"{a}n", "s": _node(level, base, lines), "t": _node(level + 1, code, lines)}
            floor.put(first + code, level, _fork(style, within, half), nets)
    return floor.tiling()


def _node(level: int, code: int, lines: int) -> str:
    """Return the net from which the switches of a level lead on, for the addresses from `code` on."""
    if level == 0:
        return "d"
    return f"y{code}" if level == lines else f"t{level}_{code}"


def _fork(style: Style, within: int, half: int) -> Tile:
    """Return a level's tile at a row: the branch for 0, the way up to the branch for 1, that branch, or nothing."""
    lines, branch = ("a", "an"), ("s", "a", "an")
    high = style is not Style.ENHANCEMENT_LOAD  # an n switch opens at 1
    if within == 0:
        low = switch(style, "an" if high else "a", ("s", "t"))
        return Tile("branch_0", "switch for address bit 0", (low,), ("s",), ("t",), lines, branch, parts=(Part.LINK,))
    if within == half:
        up = switch(style, "a" if high else "an", ("s", "t"))
        return Tile("branch_1", "switch for address bit 1", (up,), (), ("t",), branch, lines, parts=(Part.LINK,))
    if within < half:
        return Tile("riser", "the wire to the branch for 1", (), (), (), branch, branch)
    return Tile("lines", "the address lines alone", (), (), (), lines, lines)


def _notes(lines: int, form: str, *, own: bool) -> Notes:
    words = 1 << lines
    made = "the array with the inverters of its address lines" if own else "the array; complements come from outside"
    with_own = ", with address inverters" if own else ""
    if form == TREE:
        return Notes(
            title=f"{lines}-to-{words} decoder, tree of switches{with_own}",
            structure=f"{lines}-to-{words} decoder",
            aliases=("decoder", "tree decoder", "pass-transistor decoder", "demultiplexer"),
            boundary=made,
            look_for="switches alone, 2 at the first address line, 4 at the next, and so on; no loads.",
            mistaken_for=((f"decoder{lines}_nor", "each of its lines has a load and a transistor for every address"),),
            does="d is joined to the output whose number is the address, and the other outputs float.",
        )
    level = "1" if form == NOR else "0"
    other = f"decoder{lines}_{NAND if form == NOR else NOR}"
    return Notes(
        title=f"{lines}-to-{words} decoder, {form.upper()} array{with_own}",
        structure=f"{lines}-to-{words} decoder",
        aliases=("decoder", "address decoder", "line decoder", "word-line decoder", f"{form} decoder"),
        boundary=f"{made}; no output buffers. The addressed line is {level}, by voltage",
        look_for="lines that each meet every address line once, at the true or at the complement; no two lines alike.",
        mistaken_for=(
            (other, "the transistors of its lines stand the other way, in series or in parallel"),
            ("rom_flash", "its lines meet any number of the crossing lines"),
        ),
    )
