"""Make arrays of library cells: RAM arrays, register rows, shift registers, FIFO slices and FIFOs."""

from layoutdrill.cells.arrays.floor import Floor, Notes, array
from layoutdrill.cells.build import flat
from layoutdrill.cells.compact import HIGH, LOW
from layoutdrill.cells.library import library_cell
from layoutdrill.cells.model import Cell, Port, Role, Style
from layoutdrill.cells.tiling import Tile, Tiling
from layoutdrill.value import value

Cells = dict[Style, str]
"""The library cell that an array is made of, by logic style."""

RATIOED = (Style.DEPLETION_LOAD, Style.ENHANCEMENT_LOAD, Style.ENHANCEMENT_LOAD_N)
SIX = {Style.COMPLEMENTARY: "ram_6t", Style.DEPLETION_LOAD: "ram_6t", Style.ENHANCEMENT_LOAD: "ram_6t_p",
       Style.ENHANCEMENT_LOAD_N: "ram_6t"}  # fmt: skip
SEPARATE = {
    Style.COMPLEMENTARY: "memory_bit",
    Style.DEPLETION_LOAD: "memory_bit",
    Style.ENHANCEMENT_LOAD_N: "memory_bit",
}
FLIP_FLOP = {Style.COMPLEMENTARY: "ff_switches", **dict.fromkeys(RATIOED, "ff_pass")}
RESET = {Style.COMPLEMENTARY: "ff_reset"}
LOADED = {Style.COMPLEMENTARY: "register_load"}
LATCH = {Style.COMPLEMENTARY: "latch_static", **dict.fromkeys(RATIOED, "latch_pass")}
MARKER = dict.fromkeys(Style, "fifo_marker")


def cell_tile(name: str, style: Style, left: tuple[str, ...], right: tuple[str, ...], bottom: tuple[str, ...],
              top: tuple[str, ...]) -> Tile:  # fmt: skip
    """Return a library cell as a tile, its ports on the edges given."""
    cell = library_cell(name)
    return Tile(name, cell.title, flat(cell, style, library_cell), left, right, bottom, top, (LOW, HIGH))


def ram_array(name: str, rows: int, columns: int) -> Cell:
    """Return rows × columns RAM cells of six transistors: word lines w0 … across, bit lines b0, b0n … upright."""
    ports = [Port(f"w{r}", Role.WORD_LINE) for r in range(rows)]
    for c in range(columns):
        ports += [Port(f"b{c}", Role.BIT_LINE), Port(f"b{c}n", Role.BIT_LINE, f"b{c}")]

    def lay(style: Style) -> Tiling:
        tile = cell_tile(SIX[style], style, ("word",), ("word",), ("bit", "bitn"), ("bit", "bitn"))
        floor = Floor()
        for r in range(rows):
            for c in range(columns):
                floor.put(r, c, tile, {"word": f"w{r}", "bit": f"b{c}", "bitn": f"b{c}n"}, flipped=bool(r % 2))
        return floor.tiling()

    notes = Notes(
        title=f"RAM array, {rows} words of {columns}",
        structure="RAM array",
        aliases=("sram array", "memory array", "ram", "static ram array"),
        boundary="the cells alone: no decoder, no precharge, no amplifiers",
        look_for="one cell again and again, every second row upside down; word lines one way, bit lines the other.",
        mistaken_for=(("rom_flash", "one transistor or none at a crossing"),
                      ("register_row_4", "clock lines in place of word lines, and no bit lines")),
        does="a selected word line (1; with p transistors 0) joins its row of loops to the bit lines.",
    )  # fmt: skip
    return array(name, notes, tuple(ports), {style: lay(style) for style in SIX})


def memory_array(name: str, rows: int, columns: int) -> Cell:
    """Return rows × columns memory bits with write and read lines across and lines in and out upright."""
    ports = [Port(f"{line}{r}", Role.WORD_LINE) for r in range(rows) for line in ("write", "read")]
    ports += [Port(f"{line}{c}", Role.BIT_LINE) for c in range(columns) for line in ("in", "out")]

    def lay(style: Style) -> Tiling:
        tile = cell_tile(SEPARATE[style], style, ("write", "read"), ("write", "read"), ("in", "out"), ("in", "out"))
        floor = Floor()
        for r in range(rows):
            for c in range(columns):
                nets = {"write": f"write{r}", "read": f"read{r}", "in": f"in{c}", "out": f"out{c}"}
                floor.put(r, c, tile, nets, flipped=bool(r % 2))
        return floor.tiling()

    notes = Notes(
        title=f"array of memory bits, {rows} words of {columns}",
        structure="RAM array",
        aliases=("memory array", "ram", "register file", "static ram array"),
        boundary="the bits alone: no decoder",
        look_for="one bit again and again; two lines across every row and two up every column.",
        mistaken_for=(("ram_array_4x4", "one word line to a row"),),
        does="a write line at 1 takes the lines in into its row; a read line at 1 puts its row inverted on the outs.",
    )
    return array(name, notes, tuple(ports), {style: lay(style) for style in SEPARATE})


@value
class _Row:
    """How bits stand in a row: what runs across, and what comes in below and leaves above."""

    cells: Cells
    across: tuple[Port, ...]
    into: Port
    out: Port
    title: str
    structure: str
    aliases: tuple[str, ...]
    look_for: str
    does: str
    mistaken_for: tuple[tuple[str, str], ...]


_REGISTER = _Row(
    FLIP_FLOP,
    (Port("clk", Role.CLOCK), Port("clkn", Role.CLOCK, "clk")),
    Port("d", Role.DATA),
    Port("q", Role.OUTPUT),
    "register",
    "register row",
    ("register", "word register", "data register"),
    "one flip-flop again and again on the same two clock lines; every bit has its own input and output.",
    "at the rise of clk every q takes its d.",
    (("shift_register_4", "the output of each bit is the input of the next"),),
)
_RESET_ROW = _Row(
    RESET,
    (*_REGISTER.across, Port("rn", Role.RESET)),
    Port("d", Role.DATA),
    Port("q", Role.OUTPUT),
    "register with reset",
    "register row",
    ("register", "word register", "state register"),
    "one flip-flop again and again on the same two clock lines and one line of the reset.",
    "at the rise of clk every q takes its d; while rn is 0 all are 0, whatever the clock does.",
    (("register_row_4", "its loops hold inverters only, and no third line runs across"),),
)
_LOAD_ROW = _Row(
    LOADED,
    (Port("ld", Role.ENABLE), Port("ldn", Role.ENABLE, "ld"), Port("rd", Role.ENABLE), Port("rdn", Role.ENABLE, "rd")),
    Port("d", Role.DATA),
    Port("y", Role.OUTPUT),
    "register with load and read enable",
    "register row",
    ("register", "word register", "loadable register"),
    "one loop with a switch and a stack again and again; four lines run across all bits.",
    "while ld is 1 the row takes every d; while rd is 1 every y is the opposite of what is stored, else y floats.",
    (("register_row_4", "two loops to a bit"),),
)


def register_row(name: str, bits: int) -> Cell:
    """Return flip-flops side by side on one clock."""
    return _row(name, bits, _REGISTER)


def reset_row(name: str, bits: int) -> Cell:
    """Return flip-flops side by side on one clock and one reset."""
    return _row(name, bits, _RESET_ROW)


def load_row(name: str, bits: int) -> Cell:
    """Return register bits with load and read enable side by side."""
    return _row(name, bits, _LOAD_ROW)


def _row(name: str, bits: int, row: _Row) -> Cell:
    lines = tuple(port.name for port in row.across)
    ports = list(row.across)
    ports += [Port(f"{row.into.name}{n}", row.into.role) for n in range(bits)]
    ports += [Port(f"{row.out.name}{n}", row.out.role) for n in range(bits)]

    def lay(style: Style) -> Tiling:
        tile = cell_tile(row.cells[style], style, lines, lines, (row.into.name,), (row.out.name,))
        floor = Floor()
        for n in range(bits):
            own = {row.into.name: f"{row.into.name}{n}", row.out.name: f"{row.out.name}{n}"}
            floor.put(0, n, tile, {line: line for line in lines} | own)
        return floor.tiling()

    notes = Notes(f"{row.title}, {bits} bits", row.structure, row.aliases, "the bits; control lines come from outside",
                  row.look_for, row.mistaken_for, row.does)  # fmt: skip
    return array(name, notes, tuple(ports), {style: lay(style) for style in row.cells})


_CHAINS: dict[str, tuple[Cells, tuple[Port, ...], str]] = {
    "": (FLIP_FLOP, (Port("clk", Role.CLOCK), Port("clkn", Role.CLOCK, "clk")),
         "at the rise of clk every bit takes the one before it; the first takes d."),
    "dynamic": ({Style.COMPLEMENTARY: "shift_dynamic"},
                (Port("ph1", Role.CLOCK), Port("ph1n", Role.CLOCK, "ph1"),
                 Port("ph2", Role.CLOCK), Port("ph2n", Role.CLOCK, "ph2")),
                "ph1 and then ph2 at 1 shift every bit on by one place; charge holds the bits between."),
    "two_phase": ({Style.COMPLEMENTARY: "shift_two_phase", Style.DEPLETION_LOAD: "shift_two_phase",
                   Style.ENHANCEMENT_LOAD_N: "shift_two_phase", Style.ENHANCEMENT_LOAD: "shift_two_phase_p"},
                  (Port("ph1", Role.CLOCK), Port("ph2", Role.CLOCK)),
                  "ph1 and then ph2 at 1 (with p transistors at 0) shift every bit on by one; charge holds them."),
}  # fmt: skip


def shift_register(name: str, form: str, bits: int) -> Cell:
    """Return bits in a row, each of which takes the one before; `form` is "", dynamic or two_phase."""
    cells, clocks, does = _CHAINS[form]
    lines = tuple(port.name for port in clocks)
    outs = [f"q{n}" for n in range(bits)]
    ports = [Port("d", Role.DATA), *clocks, *(Port(out, Role.OUTPUT) for out in outs)]

    def lay(style: Style) -> Tiling:
        tile = cell_tile(cells[style], style, ("d", *lines), ("q", *lines), (), ("q",))
        floor = Floor()
        for n, out in enumerate(outs):
            floor.put(0, n, tile, {line: line for line in lines} | {"d": outs[n - 1] if n else "d", "q": out})
        return floor.tiling()

    notes = Notes(
        title=f"shift register, {bits} bits" + (f", {form.replace('_', '-')}" if form else ""),
        structure="shift register",
        aliases=("shift-register", "serial register"),
        boundary="the bits alone; all clock signals come from outside",
        look_for="one bit again and again on the same clock lines; the output of each is the input of the next.",
        mistaken_for=(("register_row_4", "every bit has an input of its own"),),
        does=does,
    )
    return array(name, notes, tuple(ports), {style: lay(style) for style in cells})


def fifo(name: str, stages: int, bits: int, *, ready: bool = False) -> Cell:
    """
    Return FIFO stages one above the other, each a row of latches and its marker logic.

    A stage loads when its marker is 0 and the previous one's is 1 (the behaviour of the 40105 type of FIFO, public data
    sheets), here in step with a clock: the load line is up while ph is 1, the markers change while ph is 0. With
    `ready` the opposites of the markers leave on the left; that of the first stage says that a word can go in.
    """
    ports = [Port("ph", Role.CLOCK), Port("phn", Role.CLOCK, "ph"), Port("reset", Role.RESET)]
    ports += [Port("prev", Role.INPUT), Port("take", Role.INPUT), *(Port(f"d{n}", Role.DATA) for n in range(bits))]
    ports += [Port("full", Role.OUTPUT), Port("ld", Role.OUTPUT), *(Port(f"q{n}", Role.OUTPUT) for n in range(bits))]
    ports += [Port("ready", Role.OUTPUT)] * ready

    def inner(label: str, stage: int) -> str:
        """Return the net of a stage's own signal; the last stage's marker and the first one's load line are ports."""
        if label == "m":
            return "prev" if stage < 0 else "full" if stage == stages - 1 else f"m{stage}"
        if label == "ld":
            return "take" if stage == stages else "ld" if stage == 0 else f"ld{stage}"
        return f"{label}{stage}"

    def word(stage: int, n: int) -> str:
        return f"d{n}" if stage < 0 else f"q{n}" if stage == stages - 1 else f"s{stage}_{n}"

    def lay(style: Style) -> Tiling:
        marked = ("mn",) * ready
        marker = cell_tile(
            MARKER[style],
            style,
            ("ph", "phn", *marked),
            ("ld", "ldn"),
            ("reset", "prev", "ld"),
            ("reset", "m", "take"),
        )
        bit = cell_tile(LATCH[style], style, ("on", "off"), ("on", "off"), ("d",), ("q",))
        floor = Floor()
        for s in range(stages):
            ld, ldn = inner("ld", s), f"ld{s}n"
            nets = {"ph": "ph", "phn": "phn", "reset": "reset", "prev": inner("m", s - 1), "m": inner("m", s)}
            nets |= {"mn": f"m{s}n" if s else "ready"} if ready else {}
            floor.put(s, 0, marker, nets | {"ld": ld, "ldn": ldn, "take": inner("ld", s + 1)})
            for n in range(bits):
                floor.put(s, n + 1, bit, {"on": ld, "off": ldn, "d": word(s - 1, n), "q": word(s, n)})
        return floor.tiling()

    many = f"FIFO, {stages} stages of {bits} bits" if stages > 1 else f"FIFO slice, {bits} bits"
    notes = Notes(
        title=many,
        structure="FIFO slice" if stages == 1 else "FIFO",
        aliases=("fifo stage",) if stages == 1 else ("fifo", "fifo memory", "first-in first-out memory"),
        boundary="the latches and the marker logic of every stage; both phases of the clock come from outside",
        look_for="a row of latches on one load line, and at its end the crossed pair that says whether a word is held.",
        mistaken_for=(("register_row_4", "no marker logic at its end"),),
        does="while ph is 1 a stage with marker 0 takes the word of a stage before it with marker 1; then both change.",
    )
    return array(name, notes, tuple(ports), {style: lay(style) for style in LATCH})
