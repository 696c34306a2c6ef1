"""Every cell of the library is drawn and proved in every process that it fits."""

import pytest

from layoutdrill.cells.build import build
from layoutdrill.cells.library import cell_names
from layoutdrill.cells.load import load_cell
from layoutdrill.cells.model import Style, style_of
from layoutdrill.errors import FaultError
from layoutdrill.process import load_process, process_names
from layoutdrill.prove import proof, proved
from layoutdrill.rules import check
from tests.drawing.gates import cell, gate

SILICON = load_process("silicon-gate-cmos")
PROCESSES = [load_process(name) for name in process_names() if load_process(name).rules]

# Transistor counts of textbooks: Weste & Harris, Rabaey, Uyemura. The inverter, NAND, NOR, AND and OR as in the course
# notes of Georgia Tech ECE2030, the Schmitt inverter as in course slides, exclusive or of 8 and of 6 and the latches
# of 8 and of 10 as in an encyclopedia; the others from memory.
COUNTS = {
    "inverter": 2, "nand2": 4, "nand3": 6, "nand4": 8, "nor2": 4, "nor3": 6, "nor4": 8,
    "and2": 6, "and3": 8, "and4": 10, "or2": 6, "or3": 8, "or4": 10,
    "aoi21": 6, "oai21": 6, "aoi22": 8, "oai22": 8, "aoi222": 12, "oai222": 12,
    "transmission_gate": 2, "transmission_gate_own": 4, "tristate": 4, "tristate_own": 6,
    "mux2_pass": 2, "mux2_tg": 6, "mux2_tristate": 10, "mux2_gates": 14,
    "xor2_nand": 16, "xor2_aoi": 12, "xor2_nor": 10, "xor2_tg": 8, "xor2_compact": 6,
    "latch_dynamic": 4, "latch_static": 8, "latch_static_clock": 10, "latch_gates": 18,
    "ff_clocked": 8, "ff_switches": 16, "ff_nand": 26, "ram_6t": 6, "ram_8t": 8, "schmitt": 6,
    "precharged_nand2_unfooted": 3, "precharged_nand2": 4, "domino_and2": 6, "domino_and2_keeper": 7,
    "full_adder": 28, "full_adder_mirror": 28,
}  # fmt: skip

# A gate of k literals with a load has k + 1 transistors; super buffer 4, static latch 6 (Mead & Conway, from memory).
LOADED_COUNTS = {
    "inverter": 2, "nand2": 3, "nand3": 4, "nor2": 3, "nor3": 4, "aoi21": 4, "oai21": 4, "aoi22": 5, "oai22": 5,
    "super_buffer": 4, "latch_pass": 6,
}  # fmt: skip

PAIRS = [(name, process) for name in cell_names() for process in PROCESSES if load_cell(name).fits(process)]


@pytest.mark.parametrize(("name", "process"), PAIRS, ids=lambda v: v if isinstance(v, str) else v.name)
def test_drawings_are_proved(name, process):
    """Each seed, from tidy to crowded, gives a rule-clean drawing that is read back as the cell, fingers merged."""
    netlist = build(load_cell(name), process, load_cell)
    counts = COUNTS if style_of(process) is Style.COMPLEMENTARY else LOADED_COUNTS
    for seed in (0, 2, 4):
        found = proved(netlist, process, seed, difficulty=seed / 4, neighbours=True)
        assert check(found.layout, process) == ()
        merged = proof.merge_fingers(found.cell)
        assert len(merged.transistors) == counts.get(name, len(netlist.transistors))
        assert not found.strangers or seed > 1


def test_a_decoder_of_three_addresses_has_54_transistors():
    """Eight NAND columns and three inverters: 2n·2ⁿ + 2n (computed); a column alone brings its own inverters."""
    columns = [len(cell(f"decoder3_{k}", SILICON).transistors) - 2 * (3 - k.bit_count()) for k in range(8)]
    assert sum(columns) + 2 * 3 == 54


def test_neighbours_are_told_apart_from_the_cell():
    """Transistors beyond the frame are named as strangers, and share no net with the cell but the supplies."""
    process = SILICON
    met = 0
    for seed in range(12):
        found = proved(cell("inverter", process), process, seed, difficulty=1, neighbours=True)
        met += len(found.strangers)
        own = {net for t in found.cell.transistors for net in t.terminals}
        whole = found.extraction.netlist
        foreign = {net for t in whole.transistors if t.name in found.strangers for net in t.terminals}
        assert own & foreign <= {"VSS", "VDD"}
    assert met > 0


def test_what_cannot_be_proved_is_a_fault_of_ours(monkeypatch):
    """When no attempt passes, the error names cell, process and seed, and its exit code says that it is no user's."""
    monkeypatch.setattr(proof, "faults_of", lambda *_: ("a wire is missing",))
    with pytest.raises(FaultError, match=r"inverter in silicon-gate-cmos from seed 3 .*: a wire is missing") as caught:
        proved(cell("inverter", SILICON), SILICON, 3)
    assert caught.value.exit_code == 70


def test_a_failed_attempt_is_drawn_again_with_more_room(monkeypatch):
    """The second attempt is another drawing, and is counted."""
    real = proof.faults_of
    calls = []

    def first_fails(*arguments):
        calls.append(arguments[2])
        return ("once",) if len(calls) == 1 else real(*arguments)

    monkeypatch.setattr(proof, "faults_of", first_fails)
    found = proved(cell("nand2", SILICON), SILICON, 3)
    assert found.attempts == 2
    assert calls[0].shapes != calls[1].shapes


def test_a_function_of_the_author_is_drawn():
    """A gate that no library has is drawn from its function alone: two transistors a literal, or one and a load."""
    for process in PROCESSES:
        found = proved(gate("!(a*(b + c*d) + e)", process), process, 1)
        count = 10 if style_of(process) is Style.COMPLEMENTARY else 6
        assert len(proof.merge_fingers(found.cell).transistors) == count
