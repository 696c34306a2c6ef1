"""How far a long piece of work is, told and heard. Our own rule, so no outside source."""

from layoutdrill.cells.chips import load_chip
from layoutdrill.drawing.chips import chip_drawing
from layoutdrill.drawing.chips import draw as chips_draw
from layoutdrill.headway import Headway, counted, heard_by, tell
from layoutdrill.process import load_process


def test_whoever_waits_hears_how_far_the_work_is():
    """Each part as it is taken up, with its number of how many; nobody hears what nobody listens to."""
    heard = []
    with heard_by(heard.append):
        assert list(counted(["a", "b"], str.upper, done=1, of=4)) == ["a", "b"]
        tell("done")
    tell("unheard")
    assert heard == [Headway("A", 2, 4), Headway("B", 3, 4), Headway("done")]
    assert [each.words() for each in heard] == ["part 2 of 4, A", "part 3 of 4, B", "done"]


def test_every_part_of_a_chip_is_told_once_as_it_is_drawn(monkeypatch):
    """Arrays first, then the rows of gates: from 1 to as many as the plan has inside its ring of pads."""
    chip, process = load_chip("message_buffer"), load_process("metal-gate-sapphire")
    parts = [slot.part.name for slot in chip.slots(process) if slot.pad is None]
    monkeypatch.setattr(chips_draw, "array_body", lambda slot, job: slot)
    monkeypatch.setattr(chips_draw, "_sides", lambda *_: ({}, frozenset()))
    monkeypatch.setattr(chips_draw, "gate_rows", lambda *_: [])
    monkeypatch.setattr(chips_draw, "_berths", lambda *_: None)
    heard = []
    with heard_by(heard.append):
        assert chip_drawing(chip, process, 1) is None
    assert sorted(each.what for each in heard) == sorted(parts)
    assert [(each.at, each.of) for each in heard] == [(at, len(parts)) for at in range(1, len(parts) + 1)]
