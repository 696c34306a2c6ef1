"""A set is sat once, in its time; each answer is on disk, and a broken-off sitting goes on."""

from dataclasses import replace

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.workshop.documents import read_result, sealed
from layoutdrill.workshop.model import Feedback
from layoutdrill.workshop.sit import KEPT, SetSitting, checked_name, result_file
from tests.workshop.conftest import solution


def sit(made, tmp_path, clock, name="Ann"):
    return SetSitting.open(made, tmp_path / "a.result", name, clock)


def answer(sitting, number):
    question = sitting.prepare(number)
    return sitting.submit(question, solution(sitting.made, number + 1), 2.0)


def test_each_answer_is_on_disk_before_the_next(made, tmp_path, clock):
    """The file is whole after every answer, and closed by the last one."""
    sitting = sit(made, tmp_path, clock)
    for number in range(sitting.total):
        clock.goes_on(10)
        assert answer(sitting, number).correct
        kept = read_result(tmp_path / "a.result")
        assert [given.number for given in kept.answers] == list(range(1, number + 2))
    assert kept.finished
    assert kept.answers[0].at == 10
    assert sitting.position is None
    assert sitting.summary().right == sitting.total


def test_it_goes_on_where_it_stood(made, tmp_path, clock):
    """A second start under the same name has the answers of the first, and the clock has run on."""
    answer(sit(made, tmp_path, clock), 0)
    clock.goes_on(60)
    again = sit(made, tmp_path, clock)
    assert again.done == {0}
    assert again.position == 1
    assert again.left == 9 * 60


def test_the_time_runs_out(made, tmp_path, clock):
    """After the last minute no answer is taken, and the result is closed with what there is."""
    sitting = sit(made, tmp_path, clock)
    answer(sitting, 0)
    sitting.prepare(1)
    clock.goes_on(10 * 60 + 1)
    assert sitting.left == 0
    assert sitting.position is None
    with pytest.raises(LayoutdrillError, match="time is up"):
        answer(sitting, 1)
    kept = read_result(tmp_path / "a.result")
    assert kept.finished
    assert len(kept.answers) == 1


def test_a_finished_result_and_a_foreign_one_are_not_touched(made, tmp_path, clock):
    """Nobody sits a set twice under one name, on another's file, or on another set's."""
    sitting = sit(made, tmp_path, clock)
    with pytest.raises(LayoutdrillError, match="of Ann"):
        sit(made, tmp_path, clock, "Bo")
    with pytest.raises(LayoutdrillError, match="another set"):
        sit(sealed(replace(made, seed=99)), tmp_path, clock)
    sitting.finish()
    with pytest.raises(LayoutdrillError, match="finished"):
        sit(made, tmp_path, clock)


def test_at_the_end_means_nothing_is_told_before(made, tmp_path, clock):
    """Where the leader tells at the end, no verdict says what was right, and there is no summary."""
    blind = replace(sealed(replace(made, feedback=Feedback.END)), key=())
    sitting = SetSitting.open(blind, tmp_path / "a.result", "Ann", clock)
    question = sitting.prepare(0)
    assert sitting.submit(question, solution(made, 1), 1.0) == KEPT
    told = sitting.skip(sitting.prepare(1), 1.0)
    assert (told.right, told.decides) == ("", "")
    assert sitting.summary() is None
    assert not sitting.tells


@pytest.mark.parametrize("name", ["", "  ", "x" * 61, "a\x1b[2J", "a\u202eb"])
def test_names_that_cannot_be_shown_are_refused(name):
    """Control and direction characters never reach a file name or the leader's terminal."""
    with pytest.raises(LayoutdrillError):
        checked_name(name)


def test_a_result_is_named_for_set_and_learner(tmp_path):
    """No name of a learner leads out of the folder."""
    assert result_file(tmp_path / "room.set", "Ann B").name == "room.Ann-B.result"
    assert result_file(tmp_path / "room.set", "../../x").parent == tmp_path


def test_half_an_answer_survives_leaving(made, tmp_path, clock):
    """What stood in the line is there again under the same name; it goes with the answer and with the end."""
    path = tmp_path / "a.result"
    with SetSitting.open(made, path, "Ada", clock) as sitting:
        sitting.note_draft(1, "n A y VSS; p A")
        sitting.note_draft(2, "")
    assert read_result(path).drafts == {2: "n A y VSS; p A"}
    with SetSitting.open(made, path, "Ada", clock) as sitting:
        assert sitting.draft(1) == "n A y VSS; p A"
        assert sitting.draft(2) == ""
        for number in (1, 0):
            sitting.skip(sitting.prepare(number), 1.0)
        sitting.note_draft(3, "half")
        sitting.finish()
    assert read_result(path).drafts == {}
