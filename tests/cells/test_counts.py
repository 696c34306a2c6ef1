"""The library's cells have the transistor counts that textbooks give, in every process that can build them."""

from layoutdrill.cells import cell_names, load_cell
from layoutdrill.netlist.model import Kind
from layoutdrill.process import load_process
from tests.each import each

PROCESSES = ("metal-gate-sapphire", "silicon-gate-cmos")

# (cell, transistors, source). GT: Georgia Tech ECE2030 course notes. ENC: encyclopedia articles on XOR gates and
# latches. WH: Weste & Harris, CMOS VLSI Design, from memory. SUM: the sum of parts counted so. SLIDES: course slides.
COUNTS = [
    ("inverter", 2, "GT"),
    ("nand2", 4, "GT: 2n"),
    ("nand3", 6, "GT: 2n"),
    ("nand4", 8, "GT: 2n"),
    ("nor2", 4, "GT: 2n"),
    ("nor3", 6, "GT: 2n"),
    ("nor4", 8, "GT: 2n"),
    ("and2", 6, "GT: 2n + 2"),
    ("and3", 8, "GT: 2n + 2"),
    ("and4", 10, "GT: 2n + 2"),
    ("or2", 6, "GT: 2n + 2"),
    ("or3", 8, "GT: 2n + 2"),
    ("or4", 10, "GT: 2n + 2"),
    ("buffer", 4, "SUM: two inverters"),
    ("aoi21", 6, "WH: two per literal"),
    ("oai21", 6, "WH: two per literal"),
    ("aoi22", 8, "WH: two per literal"),
    ("oai22", 8, "WH: two per literal"),
    ("aoi211", 8, "WH: two per literal"),
    ("oai211", 8, "WH: two per literal"),
    ("aoi222", 12, "WH: two per literal"),
    ("oai222", 12, "WH: two per literal"),
    ("transmission_gate", 2, "WH"),
    ("transmission_gate_own", 4, "WH: +2 for its own complement"),
    ("tristate", 4, "WH"),
    ("tristate_own", 6, "WH: +2 enable inverter"),
    ("tristate_switch", 4, "SUM: inverter and transmission gate"),
    ("mux2_pass", 2, "WH: n pass transistors"),
    ("mux2_tg", 6, "WH: 4 + 2"),
    ("mux2_tristate", 10, "WH: 8 + 2"),
    ("mux2_gates", 14, "SUM: three NAND2 and an inverter"),
    ("xor2_nand", 16, "SUM: four NAND2"),
    ("xor2_aoi", 12, "SUM: AOI22 and two inverters"),
    ("xor2_nor", 10, "SUM: NOR2 and AOI21"),
    ("xor2_tg", 8, "ENC"),
    ("xor2_compact", 6, "ENC"),
    ("latch_dynamic", 4, "SUM: transmission gate and inverter"),
    ("latch_static", 8, "ENC"),
    ("latch_static_clock", 10, "ENC"),
    ("latch_gates", 18, "SUM: four NAND2 and an inverter"),
    ("ff_clocked", 8, "SUM: two clocked inverters"),
    ("ff_switches", 16, "WH: two static latches"),
    ("ff_switches_clock", 18, "WH: +2 clock"),
    ("ff_switches_buffer", 20, "WH: +4 clock"),
    ("ff_nand", 26, "SUM: five NAND2 and a NAND3"),
    ("ff_set", 20, "SUM: the 16 of two static latches, two NOR2 in place of two inverters"),
    ("ff_reset", 20, "SUM: the 16 of two static latches, two NAND2 in place of two inverters"),
    ("ff_set_reset", 24, "SUM: four transmission gates and four NOR2"),
    ("ff_toggle", 18, "SUM: a register bit of 16 and an inverter"),
    ("ff_toggle_input", 32, "SUM: a register bit of 16 and an XOR of four NAND2"),
    ("ff_jk", 32, "SUM: a register bit of 16, three NAND2, two inverters"),
    ("counter_ripple_3", 54 + 2, "SUM: three toggle flip-flops and an inverter"),
    ("counter_johnson_3", 50, "SUM: three register bits and an inverter"),
    ("shift_feedback_3", 58, "SUM: three register bits and an XOR of NOR2 and AOI21"),
    ("comparator_2", 24, "SUM: two XORs of 10 and a NOR2"),
    ("bus_keeper", 4, "SUM: two inverters"),
    ("clock_two_phase", 10, "SUM: two NOR2 and an inverter"),
    ("ring_oscillator_gated", 14, "SUM: a NAND2 and five inverters"),
    ("ram_3t", 3, "the three-transistor cell, common practice"),
    ("open_drain", 3, "SUM: an inverter and one transistor"),
    ("carry_chain_2", 16, "SUM: two AOI21 and two inverters"),
    ("ram_6t", 6, "WH"),
    ("ram_8t", 8, "WH: 6 and a read stack of two"),
    ("ram_8t_ports", 8, "WH: 6 and a second port of two"),
    ("full_adder", 28, "WH: 24 core and two inverters"),
    ("full_adder_mirror", 28, "WH: 24 core and two inverters"),
    ("schmitt", 6, "SLIDES"),
    ("precharged_nand2", 4, "WH: n + 2 footed"),
    ("precharged_nand2_unfooted", 3, "WH: n + 1 unfooted"),
    ("domino_and2", 6, "WH: +2"),
    ("domino_and2_keeper", 7, "WH: +1 keeper"),
]


@each("process", PROCESSES)
@each(("cell", "transistors", "source"), COUNTS, ids=[row[0] for row in COUNTS])
def test_the_count_is_the_textbook_s(cell, transistors, source, process):
    """Within the stated boundary, in either process."""
    assert load_cell(cell).netlist(load_process(process)).count() == transistors, source


# Source: the decoder of n = 3 as a NAND array has 2n·2ⁿ + 2n = 54 transistors (counted: 8 gates of 6, 3 inverters).
def test_the_eight_decoder_columns_make_the_array_of_54():
    """Each column is a NAND3 of 6; a column's inverters are those of its complemented lines, shared in the array."""
    process = load_process("silicon-gate-cmos")
    columns = [load_cell(f"decoder3_{k}") for k in range(8)]
    own = [column.netlist(process).count() - 6 for column in columns]
    assert own == [2 * (3 - k.bit_count()) for k in range(8)]
    assert sum(6 for _ in columns) + 2 * 3 == 54


# Source: common practice: a complementary network has one p for every n.
@each("cell", [name for name in cell_names() if load_cell(name).stages])
def test_static_gates_have_as_many_p_as_n(cell):
    """Every cell built of static gates, without exception."""
    netlist = load_cell(cell).netlist(load_process("silicon-gate-cmos"))
    assert netlist.count(Kind.N) == netlist.count(Kind.P)


# Source: the mirror adder's n and p networks have the same shape (Weste & Harris, from memory).
def test_the_mirror_adder_is_its_own_mirror():
    """Exchanging n with p and the rails gives the same devices; for the dual form it does not."""
    process = load_process("metal-gate-sapphire")

    def sides(name):
        found = {Kind.N: [], Kind.P: []}
        for t in load_cell(name).netlist(process).transistors:
            found[t.kind].append((t.gate, frozenset("rail" if e in process.supplies else e for e in t.ends)))
        return found

    def shape(devices):
        inner = {}
        told = []
        for gate, ends in devices:
            named = [
                e if e in ("rail", "cn", "sn", "co", "s") else inner.setdefault(e, len(inner)) for e in sorted(ends)
            ]
            told.append((gate, frozenset(named)))
        return sorted(told, key=str)

    mirror = sides("full_adder_mirror")
    assert shape(mirror[Kind.N]) == shape(mirror[Kind.P])
    dual = sides("full_adder")
    assert shape(dual[Kind.N]) != shape(dual[Kind.P])
