"""
A log of the board: its levels are those of the chip's plain program, which was written apart from its gates, and what
is said of faults is so of the netlist without that transistor.
"""

import json

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.chips import load_chip
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import DrawnFace
from layoutdrill.process import load_process
from layoutdrill.question import Answer, Specimen, kinds
from layoutdrill.question.board_log.run import UNKNOWN, log_of, without
from tests.chips.models import MODELS

PROCESS = "metal-gate-sapphire"
KIND = kinds()["board log"]


@pytest.fixture(scope="module")
def specimen(chip_of):
    die, cell, process = chip_of("message_buffer", PROCESS), load_cell("message_buffer"), load_process(PROCESS)
    face = DrawnFace(die.layout, process, die.extraction)
    return Specimen(cell.name, cell.structure, (), face, die.cell, cell.boundary, seed=1, ports=cell.ports)


@pytest.fixture(scope="module")
def questions(specimen):
    return {what: KIND.ask_for(what, specimen, Dice(7)) for what in ("column", "row", "cause")}


@pytest.mark.parametrize("name", MODELS)
def test_the_log_is_that_of_the_plain_program(name, specimen):
    """Row by row the netlist gives what the chip's plain program says, wherever that says anything."""
    made, chip = MODELS[name]
    pins = chip.PINS
    model, story = made(), load_chip(name).log
    if story is None:
        pytest.skip(f"not run: {name} has no log yet")
    outputs = tuple(model.outputs())
    process = load_process(PROCESS)
    if not load_chip(name).fits(process):
        process = load_process("silicon-gate-cmos")
    netlist = load_chip(name).netlist(process)
    levels = dict.fromkeys(pins, 0)
    counted = 0
    logged = log_of(netlist, process, story, (story.clock, *pins), outputs)
    for row, pulses, seen in zip(story.rows, story.pulses, logged, strict=True):
        levels |= row
        model.rest(levels)
        for _ in range(pulses):
            model.work(levels)
            model.rest(levels)
        for pin, level in model.outputs().items():
            if level is not None:
                counted += 1
                assert (pin, seen[pin]) == (pin, str(level))
    assert counted > 3 * len(story.rows)


def test_right_earns_all_and_wrong_is_told_why(questions):
    """The solution earns all, also from its record; every wrong choice is told what its log would show."""
    for question in questions.values():
        right = KIND.solution(question)
        assert KIND.judge(question, right).correct
        assert KIND.read_key(json.loads(json.dumps(question.key.json()))) == question.key
        assert not KIND.judge(question, Answer("")).credit
    cause = questions["cause"]
    verdicts = [KIND.judge(cause, Answer(letter)) for letter in "abcd"]
    assert sum(v.correct for v in verdicts) == 1
    assert len({v.instead for v in verdicts if not v.correct}) == 3


def test_part_of_an_answer_earns_part(questions):
    """The row alone is half; a row before or after it nothing; of a column the share of rows that are right."""
    key = questions["row"].key
    assert KIND.judge(questions["row"], Answer(f"row {key.row}")).credit == 0.5
    assert KIND.judge(questions["row"], Answer(f"{key.pins[0]} {key.row}")).correct
    for row in (key.row - 1, key.row + 1):
        verdict = KIND.judge(questions["row"], Answer(f"{row} {key.pins[0]}"))
        assert not verdict.credit
        assert str(row) in verdict.instead
    levels = questions["column"].key.levels
    at = next(n for n, level in enumerate(levels) if level != UNKNOWN)
    wrong = levels[:at] + ("1" if levels[at] == "0" else "0") + levels[at + 1 :]
    assert 0 < KIND.judge(questions["column"], Answer(wrong)).credit < 1
    with pytest.raises(LayoutdrillError):
        KIND.accept(questions["row"], "Q0")
    with pytest.raises(LayoutdrillError):
        KIND.accept(questions["column"], "01" * 20)


def test_each_dead_transistor_shows_as_is_said(questions, specimen):
    """Of the four ringed transistors, taken away one by one, the right one gives the log that is shown, no other."""
    cause, story = questions["cause"], load_chip("message_buffer").log
    pins = tuple(p.name for p in specimen.ports)
    outputs = cause.key.known
    inputs = tuple(p for p in pins if p not in outputs)
    by_name = {t.name: t for t in specimen.netlist.transistors}
    sound = log_of(specimen.netlist, specimen.process, story, inputs, outputs)
    firsts = {}
    for mark in cause.marks:
        dead = by_name[specimen.extraction.transistor_at(mark.x, mark.y)]
        like = [t.name for t in by_name.values() if (t.kind, t.gate, t.ends) == (dead.kind, dead.gate, dead.ends)]
        log = log_of(without(specimen.netlist, like), specimen.process, story, inputs, outputs)
        firsts[mark.letter] = next(
            (n, tuple(p for p in outputs if a[p] != b[p]))
            for n, (a, b) in enumerate(zip(sound, log, strict=True), 1)
            if a != b
        )
    assert [letter for letter, first in firsts.items() if first == (cause.key.row, cause.key.pins)] == [
        cause.key.right[0]
    ]
