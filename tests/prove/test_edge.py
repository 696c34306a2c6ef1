"""What lies at the edge of a die and is no circuit: marks, numbers, a transistor with pads for probes, the seal."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import drawn
from layoutdrill.dice import Dice
from layoutdrill.process import load_process, process_names
from layoutdrill.prove import proved
from layoutdrill.question.registry import kinds
from tests.sampling import some

FITTING = [p for p in map(load_process, process_names()) if p.rules and p.drawing]


@pytest.mark.parametrize("process", some(FITTING, 3), ids=lambda p: p.name)
def test_the_cell_at_the_edge_is_proved_and_the_rest_is_passed_over(process):
    """Tidy and crowded: one transistor more than the inverter's is read, it is a stranger, and nothing is odd."""
    netlist = load_cell("at_the_edge").netlist(process)
    for seed, difficulty in ((1, 0.0), (2, 1.0)):
        found = proved(netlist, process, seed, difficulty=difficulty)
        assert len(found.strangers) == 1
        assert found.extraction.findings == ()
        (lone,) = (t for t in found.extraction.netlist.transistors if t.name in found.strangers)
        assert not {*lone.ends, lone.gate} & {*netlist.ports, *(net for t in found.cell.transistors for net in t.ends)}


# Source: common practice: marks are laid by each mask over those before it, so they show in more than one layer.
def test_the_marks_lie_outside_the_frame_in_more_layers_than_one():
    """Metal and poly lie left of the frame without a contact between them, but for the lone transistor's three."""
    process = load_process("silicon-gate-cmos")
    found = proved(load_cell("at_the_edge").netlist(process), process, 3)
    beyond = {mask: [r for r in rects if not r.overlaps(found.frame)] for mask, rects in found.layout.shapes.items()}
    assert len(beyond["metal"]) > 10
    assert len(beyond["poly"]) >= 5
    assert len(beyond["contact"]) == 3
    assert len(beyond["glass"]) == 3


def test_a_question_counts_what_lies_inside_the_frame():
    """The frame is told, and the count of transistors is the inverter's own."""
    specimen = drawn(load_cell("at_the_edge"), "silicon-gate-cmos", 3, 0.1)
    assert specimen.frame is not None
    kind = kinds()["count"]
    for turn in range(12):
        question = kind.ask(specimen, Dice.from_text(f"edge {turn}"))
        assert any("inside the frame" in fact for fact in question.facts)
        if "in all" in question.prompt:
            assert kind.solution(question).text.split()[-1] == "2"
            return
    pytest.fail("transistors were never asked for")
