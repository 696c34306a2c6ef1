"""What a proof says, and what it does where a drawing fails it."""

import pytest

from layoutdrill.cells.model import Style, style_of
from layoutdrill.errors import FaultError
from layoutdrill.process import load_process, process_names
from layoutdrill.prove import proof, proved
from tests.drawing.gates import cell, gate

SILICON = load_process("silicon-gate-cmos")
PROCESSES = [load_process(name) for name in process_names() if load_process(name).rules]


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
