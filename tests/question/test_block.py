"""
Questions on whole dies: the right answer earns all, every wrong one less, and the key is true.

What is true is found without the kind's code and without recognition: from the labels on pads, by shifting the drawn
contacts by a pitch, and by what the pins do when a line is driven or a transistor is taken away.
"""

import json
from dataclasses import replace

import pytest
from PIL import Image

from layoutdrill.cells import load_cell
from layoutdrill.cells.chips import load_chip
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import DrawnFace
from layoutdrill.process import load_process
from layoutdrill.question import Answer, Specimen, kinds, regrade
from layoutdrill.question.block import LEAST
from layoutdrill.question.block.kind import ASKS
from layoutdrill.question.die_plan import die_plan
from layoutdrill.screens.focus import focus_of_verdict, shows_fields
from layoutdrill.screens.outlines import verdict_overlay
from layoutdrill.screens.painting import frames_on
from layoutdrill.screens.sighting import starting
from layoutdrill.screens.subject import Indexed
from layoutdrill.screens.viewport import snapped
from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.settle import settle
from tests.chips.message_buffer import PINS
from tests.chips.running import compared

PROCESS = "metal-gate-sapphire"


@pytest.fixture(scope="module")
def specimen(chip_of):
    die, cell, process = chip_of("message_buffer", PROCESS), load_cell("message_buffer"), load_process(PROCESS)
    face = DrawnFace(die.layout, process, die.extraction)
    return Specimen(cell.name, cell.structure, (), face, die.cell, cell.boundary, seed=1, ports=cell.ports)


@pytest.fixture(scope="module")
def questions(specimen):
    """One question of each sort, by what it asks; places of several parts."""
    plan = die_plan(specimen)
    made = [ask(specimen, plan, Dice(seed), "") for ask in ASKS.values() for seed in range(4)]
    assert None not in made
    found = {}
    for question in made:
        found.setdefault((question.key.what, question.key.right if question.key.what == "where" else ""), question)
    return found


def by_what(questions, what):
    return [question for (own, _), question in questions.items() if own == what]


def test_every_sort_is_asked(questions):
    """Each way of asking finds something on the die, and places of at least three parts are asked for."""
    assert {what for what, _ in questions} == {
        "where", "supplies", "pad", "edge", "bits", "pitch", "ends", "whole", "select", "clock", "driver",
        "signal", "gate",
    }  # fmt: skip
    assert len(by_what(questions, "where")) >= 3


def test_right_earns_all_and_wrong_less(questions):
    """The solution earns all, from the question and from its record; no other choice does; a blank earns nothing."""
    kind = kinds()["block"]
    for question in questions.values():
        right = kind.solution(question)
        assert kind.judge(question, right).correct
        record = json.loads(json.dumps(question.key.json()))
        again = kind.judge(replace(question, key=kind.read_key(record)), right)
        assert again.correct
        assert not kind.judge(question, Answer("")).credit
        assert len(question.choices) in (0, 4)
        full = [
            letter
            for letter, _ in zip("abcd", question.choices, strict=False)
            if kind.judge(question, Answer(letter)).correct
        ]
        assert len(full) == bool(question.choices)
        for verdict in (again, kind.judge(question, right)):
            assert verdict.right
            assert verdict.decides
    question = by_what(questions, "where")[0]
    right = kind.solution(question)
    face = question.specimen.face
    assert regrade("block", json.loads(json.dumps(question.key.json())), face.text(), face.process, right).correct


def test_wrong_answers_are_told_why(questions):
    """A wrong answer of each sort is told what one would see were it right."""
    kind = kinds()["block"]
    for question in questions.values():
        what = question.key.what
        if what == "where":
            box = question.specimen.face.box
            wrong = Answer("0, 0", (box.x0, box.y0))
        elif what == "supplies":
            wrong = Answer(next(letter for letter in "PQRST" if letter not in question.key.right))
        elif what in ("pitch", "whole"):
            wrong = Answer("7")
        else:
            wrong = Answer(next(c for c in "abcd" if not kind.judge(question, Answer(c)).correct))
        verdict = kind.judge(question, wrong)
        assert verdict.credit < 1
        assert verdict.instead
    with pytest.raises(LayoutdrillError):
        kind.accept(by_what(questions, "pad")[0], "e")
    with pytest.raises(LayoutdrillError):
        kind.accept(by_what(questions, "pitch")[0], "wide")


def test_no_two_wrong_choices_are_told_the_same(questions):
    """Each wrong choice of a question is told a sentence of its own."""
    kind, tried = kinds()["block"], 0
    for question in questions.values():
        verdicts = [kind.judge(question, Answer(letter)) for letter, _ in zip("abcd", question.choices, strict=False)]
        told = [verdict.instead for verdict in verdicts if not verdict.correct]
        assert all(told)
        assert len(set(told)) == len(told), (question.key.what, told)
        tried += len(told)
    assert tried > 10


def test_pads_are_what_their_labels_say(questions, specimen):
    """Supplies, inputs and outputs, and the edge of the bus, as the chip's own list of pads has them by name."""
    pads = {pad.name: pad for pad in load_chip("message_buffer").pads}
    labels = {(label.x, label.y): label.text for label in specimen.face.layout.labels}

    def named(x, y):
        return pads[min(labels.items(), key=lambda at: abs(at[0][0] - x) + abs(at[0][1] - y))[1]]

    (supplies,) = by_what(questions, "supplies")
    carrying = {m.letter for m in supplies.marks if named(m.x, m.y).sort == "supply"}
    assert carrying == set(supplies.key.right.split())
    (pad,) = by_what(questions, "pad")
    assert named(pad.marks[0].x, pad.marks[0].y).sort in pad.key.right.split(":")[0]
    (edge,) = by_what(questions, "edge")
    assert {named(*place).faces for place in edge.key.places} == {"bus side"}


def test_a_shift_by_the_pitch_gives_the_same_cell(questions, specimen):
    """The contacts of one cell of the row, moved by the pitch, are those of the next, and by no smaller step."""
    (question,) = by_what(questions, "pitch")
    unit = specimen.process.grid_per_lambda
    pitch = round(float(question.key.right) * unit)
    first, second = sorted(question.key.areas)[:2]
    level = second.x0 - first.x0 == pitch
    contacts = {r.centre for r in specimen.face.layout.shapes["contact"]}
    own = {c for c in contacts if first.contains(*c)}
    assert len(own) > 20

    def moved(by):
        return {(x + by, y) if level else (x, y + by) for x, y in own}

    assert moved(pitch) <= contacts
    assert all(len(moved(step) & contacts) < len(own) for step in range(2, pitch, 2))
    (ends,) = by_what(questions, "ends")
    (at,) = ends.key.places
    before, then = sorted(ends.key.areas)
    between = (before.x1, at[0], then.x0) if level else (before.y1, at[1], then.y0)
    assert list(between) == sorted(between)
    assert not any(r.contains(*at) for r in question.key.areas)


def test_the_marked_lines_do_what_is_said(questions, specimen):
    """Driven from the pins, the line at 1 for the register's address selects it; a pad's wire follows it."""
    netlist = specimen.netlist
    names = ("PH", *PINS)

    def net_of(mark):
        return next(net for name, net in specimen.extraction.nets_at(mark.x, mark.y) if name == "metal")

    (select,) = by_what(questions, "select")
    state = settle(Circuit(netlist, names), dict.fromkeys(names, 0) | {"RES": 1, "A0": 1})
    up = {m.letter for m in select.marks if state.level(net_of(m)).value == "1"}
    assert up == {select.key.right[0]}
    (signal,) = by_what(questions, "signal")
    pad = next(m for m in signal.marks if m.letter == "A")
    low, high = (settle(Circuit(netlist, names), dict.fromkeys(names, 0) | {"RES": 1, net_of(pad): v}) for v in (0, 1))
    follows = {
        m.letter for m in signal.marks
        if m is not pad and (low.level(net_of(m)).value, high.level(net_of(m)).value) == ("0", "1")
    }  # fmt: skip
    assert follows == {signal.key.right[0]}


def test_what_is_taken_away_shows_at_the_pins_of_that_part(questions, specimen):
    """A transistor lost inside the place called the register row, the FIFO or the decoder is missed at its own pins."""
    seen = {"the register row": {"C"}, "the FIFO": {"Q", "O", "I"}}
    for question in by_what(questions, "where"):
        shown = seen.get(question.key.right)
        if shown is None:
            continue
        (area,) = question.key.areas
        inside = [
            t for t in specimen.netlist.transistors
            if any(area.covers(r) for r in specimen.extraction.channel(t.name)) and t.kind.value == "n"
        ]  # fmt: skip
        missed = set()
        for t in inside[:: max(1, len(inside) // 12)]:
            rest = tuple(other for other in specimen.netlist.transistors if other is not t)
            _, _, wrong = compared(replace(specimen.netlist, transistors=rest), "message_buffer", 25)
            missed |= {net[0] for _, _, net, _, _ in wrong}
        assert missed
        assert missed <= shown


def test_a_followed_signal_ends_at_a_gate_that_follows_the_pad(questions, specimen):
    """Of the ringed gates the one that is said to hang on the pad, and it alone, changes when the pad is driven."""
    names = ("PH", *PINS)
    (question,) = by_what(questions, "gate")
    (pad,) = [m for m in question.marks if m.letter == "A"]
    driven = next(net for name, net in specimen.extraction.nets_at(pad.x, pad.y) if name == "metal")
    by_name = {t.name: t for t in specimen.netlist.transistors}
    low, high = (
        settle(Circuit(specimen.netlist, names), dict.fromkeys(names, 0) | {"RES": 1, driven: v}) for v in (0, 1)
    )  # fmt: skip
    follows = set()
    for mark in question.marks:
        if mark is not pad:
            gate = by_name[specimen.extraction.transistor_at(mark.x, mark.y)].gate
            if (low.level(gate).value, high.level(gate).value) == ("0", "1"):
                follows.add(mark.letter)
    assert follows == {question.key.right[0]}


def test_without_the_driver_of_a_clock_that_part_stands_still(questions, specimen):
    """
    With the ringed transistor gone the pins of the part are missed that its gate is said to clock, and none but words:
    switches that are half open may let its loops fight over a data line that the other part reads too.
    """
    for question in by_what(questions, "driver"):
        (mark,) = [m for m in question.marks if m.letter == question.key.right[0]]
        lost = specimen.extraction.transistor_at(mark.x, mark.y)
        rest = tuple(other for other in specimen.netlist.transistors if other.name != lost)
        _, _, wrong = compared(replace(specimen.netlist, transistors=rest), "message_buffer", 25)
        missed = {net[0] for _, _, net, _, _ in wrong}
        own, words = ({"C"}, {"C", "Q"}) if "register row" in question.prompt else ({"Q", "O", "I"},) * 2
        assert missed & own
        assert missed <= words


def test_what_is_counted_is_what_was_planned(questions, specimen):
    """The register row has as many transistors as its file plans."""
    (whole,) = by_what(questions, "whole")
    planned = {part.title: part for part in load_chip("message_buffer").parts}
    part = planned[next(title for title in planned if title in whole.prompt)]
    assert whole.key.right == str(part.cell.netlist(specimen.process).count())


def test_it_is_asked_of_dies_only(drawn):
    """A cell has no plan: nothing is asked of it, and none is promised."""
    small = drawn("nand2", PROCESS, 1)
    kind = kinds()["block"]
    assert kind.ask(small, Dice(1)) is None
    assert not kind.askable(small.netlist, small.process)
    assert len(small.netlist.transistors) < LEAST


def test_of_several_places_the_one_that_was_pointed_at_is_shown(questions):
    """Whichever driver of an output pad is pointed at, the verdict tells and rings that one."""
    kind = kinds()["block"]
    question = max(by_what(questions, "where"), key=lambda question: len(question.key.areas))
    assert len(question.key.areas) > 1
    for area in question.key.areas:
        verdict = kind.grade(question, Answer("", point=area.centre))
        assert verdict.correct
        assert verdict.areas == (area,)
        assert question.specimen.face.unit.at(*area.centre) in verdict.summary


def test_a_verdict_shows_the_field_and_every_cell_that_repeats_in_it(questions, specimen):
    """
    Of places of parts, of bits, pitch and sums: the cells of the field are outlined, each within its part; where they
    do not fit into the window they are framed on the overview, which comes in its stead.
    """
    plan, per = die_plan(specimen), specimen.process.grid_per_lambda
    shown = 0
    for question in questions.values():
        for name, cells in kinds()["block"].fields(question).items():
            area = next(area for area in plan.areas if area.words.said == name)
            assert cells == area.cells
            verdict = kinds()["block"].grade(question, kinds()["block"].solution(question))
            overlay = verdict_overlay(question, verdict)
            assert (name, cells) in {(part.name, part.rects) for part in overlay.parts}
            view = starting(snapped(specimen.face.box, per), per, 74, 38, focus_of_verdict(overlay, question))
            small = Indexed(Image.new("P", (70, 70), 0), ((9, 9, 9),))
            if not shows_fields(view, question):
                frames = frames_on(view, small, overlay)
                assert len(frames) == len(cells)
                assert all(0 <= x0 <= x1 < 70 and 0 <= y0 <= y1 < 70 for x0, y0, x1, y1 in frames)
            shown += 1
    assert shown >= 5
    assert {what for (what, _), q in questions.items() if kinds()["block"].measured(q)} == {"pitch"}
