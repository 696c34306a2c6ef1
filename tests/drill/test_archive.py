"""Records go out and come back whole, twice over without doubling; and each stored answer is graded as it was."""

import csv
import io
import json
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from layoutdrill.drill.archive import bring_in, export_csv, export_json, prove
from layoutdrill.drill.records import Records
from layoutdrill.drill.replay import redraw, replayed
from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import kinds


@pytest.fixture(name="filled", scope="module")
def _filled(tmp_path_factory):
    """Return a records file with a sitting of five answers: right, wrong, given up, right with a hint, right."""
    path = tmp_path_factory.mktemp("records") / "records.sqlite"
    with Sitting.open_deck("first-gates", count=5, seed=3, records=path) as sitting:
        for number in range(5):
            question = sitting.prepare(number)
            right = kinds()[question.kind].solution(question)
            if number == 2:
                sitting.skip(question, 3.0)
            else:
                given = replace(right, text="=1 1 2") if number == 1 and question.kind == "count" else right
                sitting.submit(question, given, 2.5, question.hints[:1] if number == 3 else ())
    return path


def opened(path):
    return Records(path)


def test_an_export_comes_back_whole(filled, tmp_path):
    """All sittings and answers of one file are in the other; a second import adds nothing."""
    records, other = opened(filled), opened(tmp_path / "new.sqlite")
    try:
        path = tmp_path / "out.json"
        path.write_text(export_json(records), "utf-8")
        brought = bring_in(other, path)
        assert (brought.sittings, brought.answers, brought.known) == (1, 5, 0)
        again = bring_in(other, path)
        assert (again.sittings, again.answers, again.known) == (0, 0, 5)
        assert [replace(a, sitting=0) for a in other.answers()] == [replace(a, sitting=0) for a in records.answers()]
        assert other.sittings()[0].finished
        assert other.sittings()[0].started == records.sittings()[0].started
    finally:
        records.close()
        other.close()


def test_every_stored_answer_proves(filled):
    """Graded anew from layout and key alone, each earns what it earned."""
    records = opened(filled)
    try:
        proof = prove(records)
    finally:
        records.close()
    assert (proof.answers, proof.same, proof.faults) == (5, 5, ())


def test_a_changed_answer_is_told(filled, tmp_path):
    """An answer that was given more than it earned is named with its sitting, question and kind."""
    records, other = opened(filled), opened(tmp_path / "new.sqlite")
    try:
        told = json.loads(export_json(records))
        wrong = next(a for a in told["answers"] if not a["skipped"])
        wrong["earned"] = 0.123
        path = tmp_path / "out.json"
        path.write_text(json.dumps(told), "utf-8")
        bring_in(other, path)
        proof = prove(other)
    finally:
        records.close()
        other.close()
    assert proof.same == 4
    assert "0.123 then" in proof.faults[0]


def test_a_spreadsheet_gets_a_row_an_answer(filled):
    """The table has five rows, and nothing in it begins a formula."""
    records = opened(filled)
    try:
        rows = list(csv.DictReader(io.StringIO(export_csv(records))))
    finally:
        records.close()
    assert len(rows) == 5
    assert [row["skipped"] for row in rows] == ["0", "0", "1", "0", "0"]
    assert not [text for row in rows for text in row.values() if text.startswith("=")]


@pytest.mark.parametrize(
    ("content", "what"),
    [
        ("{", "no JSON"),
        ("[]", "no export"),
        ('{"form": "layoutdrill records", "version": 9}', "version 9"),
        ('{"form": "layoutdrill records", "version": 1, "sittings": []}', "damaged"),
        ('{"form": "layoutdrill records", "version": 1, "sittings": [], "answers": [{}]}', "damaged"),
        ('{"form": "layoutdrill records", "version": 1, "sittings": [{"id": 1}], "answers": []}', "damaged"),
    ],
)
def test_what_is_no_export_is_refused_and_changes_nothing(tmp_path, content, what):
    """One message with the file's name; the records stay empty."""
    path = tmp_path / "x.json"
    path.write_text(content, "utf-8")
    records = opened(tmp_path / "new.sqlite")
    try:
        with pytest.raises(LayoutdrillError, match=what) as refused:
            bring_in(records, path)
        assert str(path) in str(refused.value)
        assert records.sittings() == ()
    finally:
        records.close()


def test_every_drawing_comes_out_as_it_is_stored(filled, tmp_path):
    """From the plan and the seed alone; a changed one is told, one of another version passed over."""
    import sqlite3
    from shutil import copy

    path = tmp_path / "r"
    copy(filled, path)
    records = opened(path)
    told = redraw(records)
    assert (told.same, told.other_version, told.faults) == (5, 0, ())
    assert replayed(records, datetime.now(UTC)) is not None
    with sqlite3.connect(path) as file:
        file.execute("UPDATE layout SET text = text || 'x' WHERE digest = (SELECT layout FROM answer WHERE number = 1)")
    file.close()
    (fault,) = redraw(records).faults
    assert fault.startswith("sitting 1, question 2: ")
    assert fault.endswith("is drawn otherwise now")
    with sqlite3.connect(path) as file:
        file.execute("UPDATE sitting SET version = '0.0'")
    file.close()
    assert (redraw(records).same, redraw(records).other_version) == (0, 5)
    records.close()
