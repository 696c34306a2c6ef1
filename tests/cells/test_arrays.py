"""Arrays: counts, functions, sequences, and tilings whose tiles really join into the netlist."""

from itertools import product

import pytest

from layoutdrill.cells import Role, cell_names, load_cell
from layoutdrill.cells.arrays import array_names
from layoutdrill.cells.arrays.names import read_plane
from layoutdrill.cells.arrays.planes import pla, rom_decoded, rom_plane
from layoutdrill.errors import LayoutdrillError
from layoutdrill.recognise.terms import canonical
from layoutdrill.simulate.expression import evaluate, parse
from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.table import table
from layoutdrill.yamldoc import loads
from tests.cells.processes import CMOS, FITTING, STYLES
from tests.each import each
from tests.sampling import covering


def levels(netlist, cell, given, outputs):
    """Return the outputs at one setting of the free inputs; complements of ports follow."""
    given = dict(given) | {p.name: 1 - given[p.complement_of] for p in cell.ports if p.complement_of in given}
    return "".join(map(str, table(netlist, (), outputs, fixed=given).rows[0].outputs))


# Source: the sums are arithmetic: a ratioed array has n transistors and a load in each of 2ⁿ lines; a NAND of n has
# 2n; a tree has 2 + 4 + … + 2ⁿ switches; an inverter two transistors, one for each address. For n = 3 with inverters:
# 38, 54, and 14 switches.
@pytest.mark.parametrize("n", [2, 3, 4, 5, 6])
def test_decoders_have_the_counts_of_their_sums(n, processes):
    """NOR, NAND and tree, with the inverters of the address lines and without."""
    words = 2**n
    for own, more in (("", 0), ("_own", 2 * n)):
        for kind in STYLES:
            assert load_cell(f"decoder{n}_nor{own}").netlist(processes[kind]).count() == n * words + words + more
            assert load_cell(f"decoder{n}_tree{own}").netlist(processes[kind]).count() == 2 * (words - 1) + more
        assert load_cell(f"decoder{n}_nand{own}").netlist(processes[CMOS]).count() == 2 * n * words + more
        assert load_cell(f"decoder{n}_nand{own}").netlist(processes["nmos"]).count() == n * words + words + more
    if n == 3:
        own = [load_cell(f"decoder3_{form}").netlist(processes[kind]).count()
               for form, kind in (("nor_own", "nmos"), ("nand_own", CMOS), ("tree", CMOS))]  # fmt: skip
        assert own == [38, 54, 14]


# Source: 3-to-8 decoder of the data sheet M74HC138: the line of address k answers to address k alone.
@each(("n", "kind"), covering(product((2, 3, 4), STYLES)))
def test_one_line_answers_to_each_address(n, kind, processes):
    """High alone in the NOR form, low alone in the NAND form; with own inverters and without."""
    for form, own in product(("nor", "nand"), ("", "_own")):
        cell = load_cell(f"decoder{n}_{form}{own}")
        netlist = cell.netlist(processes[kind])
        outputs = cell.of_role(Role.OUTPUT)
        for code in range(2**n):
            given = {f"a{bit}": code >> bit & 1 for bit in range(n)}
            high = "".join(str(int(k == code)) for k in range(2**n))
            expected = high if form == "nor" else high.translate(str.maketrans("01", "10"))
            assert levels(netlist, cell, given, outputs) == expected, (form, own, code)


@pytest.mark.parametrize("kind", STYLES)
def test_the_largest_decoder_answers_at_its_corners(kind, processes):
    """Six address lines, 64 lines out: the first, the last and two between."""
    cell = load_cell("decoder6_nor_own")
    netlist = cell.netlist(processes[kind])
    for code in (0, 21, 42, 63):
        given = {f"a{bit}": code >> bit & 1 for bit in range(6)}
        assert levels(netlist, cell, given, cell.of_role(Role.OUTPUT)).index("1") == code


# Source: a tree of switches is a demultiplexer (common practice): the addressed output follows d, the others float.
@pytest.mark.parametrize("kind", STYLES)
@pytest.mark.parametrize("name", ["decoder3_tree", "decoder3_tree_own"])
def test_a_tree_leads_to_one_output(name, kind, processes):
    """All eight addresses, d at 0 and at 1."""
    cell = load_cell(name)
    netlist = cell.netlist(processes[kind])
    for code, d in product(range(8), (0, 1)):
        given = {f"a{bit}": code >> bit & 1 for bit in range(3)} | {"d": d}
        seen = levels(netlist, cell, given, [f"y{k}" for k in range(8)])
        assert seen == "".join(str(d) if k == code else "Z" for k in range(8))


@each(("name", "kind"), covering([case for case in FITTING if load_cell(case[0]).function]))
def test_the_stated_function_is_the_simulated_one(name, kind, processes):
    """Every row, or for more than five inputs those with one input unlike the others."""
    cell = load_cell(name)
    netlist = cell.netlist(processes[kind])
    free = [p.name for p in cell.ports if p.role is not Role.OUTPUT and not p.complement_of]
    outputs = cell.of_role(Role.OUTPUT)
    functions = {stage.output: stage.value for stage in cell.function}
    for values in product((0, 1), repeat=len(free)):
        if len(free) > 5 and sum(values) not in (0, 1, len(free) - 1, len(free)):
            continue
        given = dict(zip(free, values, strict=True))
        given |= {p.name: 1 - given[p.complement_of] for p in cell.ports if p.complement_of}
        expected = "".join(str(int(evaluate(functions[out], given))) for out in outputs)
        assert levels(netlist, cell, given, outputs) == expected, given


WORDS = ("1000", "1100", "0110", "1011", "0001", "1010", "0111", "0100")


# Source: counting: a transistor for each 0 (with p transistors, each 1), a load for each bit.
def test_a_rom_holds_its_table(processes):
    """Words read one after the other by their word line alone, and through a decoder by their address."""
    plane = rom_plane("rom_own", "own", WORDS)
    zeros = sum(word.count("0") for word in WORDS)
    for kind in (CMOS, "nmos"):
        netlist = plane.netlist(processes[kind])
        assert netlist.count() == zeros + 4
        read = [
            levels(netlist, plane, {f"w{r}": int(r == k) for r in range(8)}, plane.of_role(Role.OUTPUT))
            for k in range(8)
        ]
        assert tuple(read) == WORDS
    plane = rom_plane("rom_own_p", "own", WORDS, p_kind=True)
    netlist = plane.netlist(processes["pmos"])
    assert netlist.count() == 32 - zeros + 4
    read = [
        levels(netlist, plane, {f"w{r}": int(r != k) for r in range(8)}, plane.of_role(Role.OUTPUT)) for k in range(8)
    ]
    assert tuple(read) == WORDS
    whole = rom_decoded("rom_whole", "own", WORDS)
    for kind in STYLES:
        netlist = whole.netlist(processes[kind])
        given = [{f"a{bit}": k >> bit & 1 for bit in range(3)} for k in range(8)]
        assert tuple(levels(netlist, whole, row, whole.of_role(Role.OUTPUT)) for row in given) == WORDS
        transistors = (32 - zeros if kind == "pmos" else zeros) + 4
        assert netlist.count() == 38 + transistors  # the decoder of 3, its inverters, and the plane


SUMS = ("x = a*b + !a*c", "y = !a*c + a*!b*!c", "z = b*c")


# Source: a ratioed PLA has its AND-plane literals, its OR-plane connections, a load for each term and each output and
# its inverters (Mead & Conway 1980, from memory). The function is evaluated from the equations as they are written.
def test_a_pla_is_its_sums_of_products(processes):
    """Four products, one shared; with n transistors an inverter behind each sum."""
    cell = pla("pla_own", "own", ("a", "b", "c"), SUMS)
    literals, connections, terms, outputs, inputs = 2 + 2 + 3 + 2, 2 + 2 + 1, 4, 3, 3
    for kind in STYLES:
        netlist = cell.netlist(processes[kind])
        after = 0 if kind == "pmos" else 2 * outputs
        assert netlist.count() == literals + connections + terms + outputs + 2 * inputs + after
        for values in product((0, 1), repeat=3):
            given = dict(zip("abc", values, strict=True))
            wanted = "".join(str(int(evaluate(parse(line.partition("=")[2], "abc"), given))) for line in SUMS)
            assert levels(netlist, cell, given, ("x", "y", "z")) == wanted


# Source: the definition of a static RAM (encyclopedia article): a word is written and read by its word line alone.
@pytest.mark.parametrize("kind", STYLES)
def test_a_ram_array_keeps_every_word_apart(kind, processes):
    """Four words of four written one after the other, then read in another order with the bit lines let go."""
    cell = load_cell("ram_array_4x4")
    netlist = cell.netlist(processes[kind])
    assert netlist.count() == 4 * 4 * 6
    on = 0 if kind == "pmos" else 1
    shut = {f"w{r}": 1 - on for r in range(4)}
    words = [(1, 0, 1, 1), (0, 0, 1, 0), (1, 1, 0, 0), (0, 1, 0, 1)]
    steps = [shut]
    for r, word in enumerate(words):
        lines = {f"b{c}": bit for c, bit in enumerate(word)} | {f"b{c}n": 1 - bit for c, bit in enumerate(word)}
        steps += [lines, {f"w{r}": on}, shut]
    free = {f"b{c}{n}": None for c in range(4) for n in ("", "n")}
    order = (2, 0, 3, 1)
    reading = []
    for r in order:
        reading.append(len(steps) + 1)
        steps += [shut | free, {f"w{r}": on}]
    states = sequence(netlist, steps)
    for r, place in zip(order, reading, strict=True):
        assert tuple(int(states[place].level(f"b{c}")) for c in range(4)) == words[r]
        assert tuple(int(states[place].level(f"b{c}n")) for c in range(4)) == tuple(1 - bit for bit in words[r])


# Source: the definitions of a register and of a shift register (common practice).
@pytest.mark.parametrize("kind", STYLES)
def test_rows_of_flip_flops_store_and_shift(kind, processes):
    """A register takes its word at the rise of the clock; a shift register takes one bit a rise."""
    register = load_cell("register_row_4").netlist(processes[kind])
    word = {"d0": 1, "d1": 0, "d2": 0, "d3": 1}
    other = {name: 1 - bit for name, bit in word.items()}
    clock = [{"clk": 0, "clkn": 1}, {"clk": 1, "clkn": 0}]
    state = sequence(register, [word | clock[0], clock[1], other])[-1]
    assert "".join(str(state.level(f"q{n}")) for n in range(4)) == "1001"
    shift = load_cell("shift_register_4").netlist(processes[kind])
    steps = [step for bit in (1, 0, 1, 1) for step in ({"d": bit} | clock[0], clock[1])]
    state = sequence(shift, steps)[-1]
    assert "".join(str(state.level(f"q{n}")) for n in range(4)) == "1101"


@pytest.mark.parametrize(("name", "kind"), [("shift_register_dynamic_4", CMOS)]
                         + [("shift_register_two_phase_4", kind) for kind in STYLES])  # fmt: skip
def test_dynamic_shift_registers_shift_by_two_phases(name, kind, processes):
    """Four bits in, one in each pair of phases that do not overlap."""
    cell = load_cell(name)
    on = 0 if kind == "pmos" else 1
    steps = []
    for bit in (1, 0, 1, 1):
        for first, second in ((1, 0), (0, 0), (0, 1), (0, 0)):
            step = {"d": bit, "ph1": on if first else 1 - on, "ph2": on if second else 1 - on}
            steps.append(step | {p.name: 1 - step[p.complement_of] for p in cell.ports if p.complement_of})
    state = sequence(cell.netlist(processes[kind]), steps)[-1]
    assert "".join(str(state.stored(f"q{n}")) for n in range(4)) == "1101"


def clocked(given):
    """Return one period: the phase at 1 and back at 0."""
    return [dict(given) | {"ph": 1, "phn": 0}, {"ph": 0, "phn": 1}]


# Source: the FIFO of the 40105 type (public data sheets): a stage loads when its marker is 0 and the previous one's is
# 1.
@pytest.mark.parametrize("kind", STYLES)
def test_a_fifo_slice_loads_when_it_is_empty_and_the_one_before_is_full(kind, processes):
    """All four cases of the two markers; the word is kept until the next stage has taken it."""
    cell = load_cell("fifo_slice_4")
    netlist = cell.netlist(processes[kind])
    word = {"d0": 1, "d1": 0, "d2": 1, "d3": 0}
    other = {name: 1 - bit for name, bit in word.items()}
    idle = {"take": 0, "reset": 0, "prev": 0}
    steps = [
        *clocked(word | idle | {"reset": 1}),  # 0, 1: emptied
        *clocked(word | idle),  # 2, 3: empty, nothing before it
        *clocked(word | idle | {"prev": 1}),  # 4, 5: empty, a word before it
        *clocked(other | idle | {"prev": 1}),  # 6, 7: full, a word before it
        *clocked(other | idle),  # 8, 9: full, nothing before it
        *clocked(other | idle | {"take": 1}),  # 10, 11: the next stage takes the word
        *clocked(other | idle | {"prev": 1}),  # 12, 13: empty again, and loaded
    ]
    states = sequence(netlist, steps)

    def seen(step, *ports):
        return "".join(str(states[step].level(port)) for port in ports)

    assert [seen(n, "ld") for n in range(2, 14)] == list("001000000010")
    assert [seen(n, "full") for n in (1, 3, 4, 5, 7, 9, 11, 13)] == list("00011101")
    for n in (5, 6, 7, 8, 9, 10):
        assert seen(n, "q0", "q1", "q2", "q3") == "1010", n
    assert seen(13, "q0", "q1", "q2", "q3") == "0101"


@pytest.mark.parametrize("kind", STYLES)
def test_a_fifo_gives_words_back_in_order(kind, processes):
    """Three words in through three stages, then out again, first in, first out, at one stage a period."""
    cell = load_cell("fifo_3x4")
    netlist = cell.netlist(processes[kind])
    words = [(1, 0, 0, 1), (0, 1, 0, 1), (1, 1, 1, 0)]

    def data(word):
        return {f"d{n}": bit for n, bit in enumerate(word)}

    idle = {"take": 0, "reset": 0, "prev": 0}
    steps = clocked(data(words[0]) | idle | {"reset": 1})
    for word in words:
        steps += clocked(data(word) | idle | {"prev": 1})  # the first stage takes it
        for _ in range(3):
            steps += clocked(data(words[0]) | idle)  # it falls through
    out = []
    for _ in words:
        out.append(len(steps) - 1)
        steps += clocked(idle | {"take": 1})
        for _ in range(3):
            steps += clocked(idle)
    states = sequence(netlist, steps)
    for word, place in zip(words, out, strict=True):
        assert str(states[place].level("full")) == "1"
        assert tuple(int(states[place].level(f"q{n}")) for n in range(4)) == word
    assert str(states[-1].level("full")) == "0"


@each(("name", "kind"), FITTING)
def test_no_net_of_an_array_hangs_loose(name, kind, processes):
    """Every port is used, and every inner net by two terminals at least, but beside a transistor that is tied off."""
    netlist = load_cell(name).netlist(processes[kind])
    touched = [net for t in netlist.transistors for net in (t.gate, *t.ends)]
    off = dict(zip("np", processes[kind].supplies, strict=True))
    idle = {end for t in netlist.transistors if t.gate == off[t.kind.value] for end in t.ends}
    for net in set(netlist.nets) - idle:
        assert touched.count(net) >= (1 if net in netlist.ports else 2), net


@each("name", array_names())
def test_an_array_s_words_are_whole(name):
    """Its structure is a term of the trade, its look-alikes exist, and no cell of the files has its name."""
    cell = load_cell(name)
    assert canonical(cell.structure) == cell.structure
    for look in cell.mistaken_for:
        assert load_cell(look.cell).name != name
    assert name not in cell_names()
    assert load_cell(name) is cell


def test_sizes_out_of_range_and_unknown_names_are_told():
    """What is asked, and what there is."""
    with pytest.raises(LayoutdrillError, match="ram_array_40x4 is out of range; give sizes from 2 to 16"):
        load_cell("ram_array_40x4")
    with pytest.raises(LayoutdrillError, match='no cell "ram_array_4"'):
        load_cell("ram_array_4")


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: rom_plane("r", "t", ("10", "1")), "the words of r are not rows of 0 and 1 of one length"),
        (lambda: rom_plane("r", "t", ("11", "10")), "bit 0 of r has no transistor; give some word"),
        (lambda: rom_decoded("r", "t", ("10", "01", "11")), "r has 3 words; give 4, 8, 16, 32 or 64"),
        (lambda: pla("p", "t", ("a", "b"), ("y = a*(a+b)",)), "“a*(a + b)” in “y = a*(a+b)” is no product"),
        (lambda: pla("p", "t", ("a", "b"), ("a*b",)), "“a*b” names no output; write “y = a*!b + c”"),
    ],
)  # fmt: skip
def test_contents_that_make_no_plane_are_refused(make, said):
    """With the reason and what to do."""
    with pytest.raises(LayoutdrillError) as caught:
        make()
    assert said in str(caught.value)


def test_a_plane_entry_needs_contents():
    """With the place in the file."""
    with pytest.raises(LayoutdrillError, match=r"own\.yaml:1:1: neither words nor inputs and sums are given"):
        read_plane(loads("{name: a, title: b}", "own.yaml").root)
