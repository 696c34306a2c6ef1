"""A room is gathered from its files; bad files are told by name, and every answer is graded anew."""

import csv
import io
import json
from dataclasses import replace

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.learning.shares import wilson
from layoutdrill.workshop.asking import truth
from layoutdrill.workshop.documents import signed, write_result
from layoutdrill.workshop.tally import summary_lines, tally, worth_discussing
from layoutdrill.workshop.tally_page import tally_csv, tally_html, tally_json
from tests.workshop.conftest import answered


@pytest.fixture(name="room", scope="module")
def _room(made, tmp_path_factory):
    """Return a tally of 60 files, five of them bad: damaged, of another set, twice, changed, no JSON."""
    folder = tmp_path_factory.mktemp("room")
    for number in range(55):
        wrong = {1 + number % 3, 8} if number % 2 else {8}
        result = answered(made, f"learner {number:02}", wrong, confidence=1 + number % 3)
        write_result(folder / f"{number:02}.result", result)
    write_result(folder / "90-other.result", signed(replace(answered(made, "x"), set_digest="0" * 64)))
    write_result(folder / "91-twice.result", answered(made, "Learner  00"))
    (folder / "92-copy.result").write_bytes((folder / "05.result").read_bytes())
    changed = json.loads((folder / "06.result").read_text("utf-8"))
    changed["name"] = "learner 99"
    (folder / "93-changed.result").write_text(json.dumps(changed), "utf-8")
    (folder / "94-cut.result").write_bytes((folder / "07.result").read_bytes()[:500])
    return tally(made, folder.glob("*.result"))


def test_bad_files_are_told_by_name(room):
    """Five are refused, each with its reason; the other 55 count."""
    told = {file.rsplit("/", 1)[-1]: why for file, why in room.refused}
    assert len(room.learners) == 55
    assert "another set" in told["90-other.result"]
    assert "second result" in told["91-twice.result"]
    assert "same file" in told["92-copy.result"]
    assert "digest" in told["93-changed.result"]
    assert "no JSON" in told["94-cut.result"]
    assert len(told) == 5


def test_the_figures_are_those_of_the_answers(room):
    """28 missed one question, 27 missed two: counted by hand from how the room was made."""
    assert sum(learner.right for learner in room.learners) == 28 * 7 + 27 * 6
    assert room.learners[0].right == 7
    assert [learner.credit for learner in room.learners] == sorted((o.credit for o in room.learners), reverse=True)
    eighth = room.questions[7]
    assert (eighth.right, eighth.answered, eighth.said) == (0, 55, (("skipped", 55),))
    assert sum(share.asked for share in room.skills) == 55 * 8
    assert sum(share.asked for share in room.calibration) == 55 * 8
    assert room.skills[0].part == 0


def test_what_splits_the_room_is_discussed(room):
    """The three questions that a sixth of the room missed come with the one that all missed among them."""
    assert 8 in room.discuss
    assert set(room.discuss) <= {1, 2, 3, 8}
    assert len(room.discuss) == 3
    assert worth_discussing([q for q in room.questions if q.right == q.answered]) == ()


def test_late_answers_are_counted_apart(made, tmp_path):
    """What came after the ten minutes earns nothing and is told."""
    write_result(tmp_path / "a.result", answered(made, "Ann", at=100.0))  # the seventh at 700 s
    learner = tally(made, [tmp_path / "a.result"]).learners[0]
    assert (len(learner.marked), learner.late) == (6, 2)


def test_no_key_no_tally(made, tmp_path):
    """Without the key nothing is graded, and an empty room is said to be one."""
    write_result(tmp_path / "a.result", answered(made, "Ann"))
    with pytest.raises(LayoutdrillError, match="--key"):
        tally(replace(made, key=()), [tmp_path / "a.result"])
    with pytest.raises(LayoutdrillError, match="no result"):
        tally(made, [tmp_path / "none.result"])


def test_the_interval_is_wilsons():
    """0 of 10 gives 0 to z²/(10 + z²) = 0.2775; 5 of 10 lies evenly about a half: redone by hand from the formula."""
    assert wilson(0, 10) == pytest.approx((0.0, 0.2775), abs=1e-3)
    assert wilson(5, 10) == pytest.approx((0.2366, 0.7634), abs=1e-3)
    assert wilson(0, 0) == (0.0, 1.0)


def test_every_form_holds_the_same_room(room, made):
    """CSV has a row an answer, JSON reads back, HTML stands alone and escapes what learners wrote."""
    rows = list(csv.DictReader(io.StringIO(tally_csv(room))))
    assert len(rows) == 55 * 8
    assert sum(float(row["credit"]) >= 1 for row in rows) == 28 * 7 + 27 * 6
    assert len(json.loads(tally_json(room))["learners"]) == 55
    hostile = replace(room, learners=(replace(room.learners[0], name="<script>alert(1)</script>"),))
    page = tally_html(hostile, made)
    assert "<script" not in page
    assert page.count("<figure>") == 3
    assert "src=" not in page
    assert "=1+1" not in tally_csv(replace(room, learners=(replace(room.learners[0], name="=1+1"),))).replace(
        "'=1+1", ""
    )
    assert all(len(line) < 200 for line in summary_lines(room))


def test_the_heading_counts_who_finished_and_what_is_discussed_says_why(made, tmp_path):
    """Two finished and one only began; below each question to discuss stands what decides it."""
    for name, wrong in (("a", (1,)), ("b", ())):
        write_result(tmp_path / f"{name}.result", answered(made, name, wrong))
    begun = replace(answered(made, "c"), finished="", answers=())
    write_result(tmp_path / "c.result", signed(begun))
    counted = tally(made, sorted(tmp_path.glob("*.result")))
    lines = summary_lines(counted)
    assert lines[0] == f"{made.title}: 2 learners finished, 1 not finished, 8 questions"
    assert "2 learners finished, 1 not finished" in tally_html(counted, made)
    assert set(truth(made, 1).decides.split()) <= set(" ".join(lines).split())
