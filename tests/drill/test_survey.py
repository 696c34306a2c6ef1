"""A survey: the same die all the way, in order; left and gone on with; its report says what was found, and how."""

import io
import json
import re
from dataclasses import asdict
from functools import cache

import pytest

from layoutdrill.cli import main
from layoutdrill.drill.plain import run_plain
from layoutdrill.drill.plain_die import overview_lines
from layoutdrill.drill.plan import Draw
from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.survey import BOARD, SLICE, STEPS
from layoutdrill.drill.survey_findings import How, numbered_surveys, survey_read, survey_to_go_on
from layoutdrill.drill.survey_pictures import pictures_of
from layoutdrill.drill.survey_report import write_report
from layoutdrill.drill.today import Today
from layoutdrill.drill.visited import ACROSS, Visited
from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.question import Answer, kinds

PROCESS = "metal-gate-sapphire"


@pytest.fixture(scope="module")
def begun(tmp_path_factory, chip_of):
    """The records of one survey, begun on a die that was proved before, in which nothing has been answered."""
    die = chip_of("message_buffer", PROCESS)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("LAYOUTDRILL_HOME", str(tmp_path_factory.mktemp("survey")))
        patch.setattr("layoutdrill.prove.chips.proved_chip", lambda *_, **__: die)
        path = tmp_path_factory.mktemp("records") / "records.sqlite"
        Sitting.open_survey("message_buffer", PROCESS, seed=5, records=path).close()
        yield path


@pytest.fixture(scope="module")
def records(begun, tmp_path_factory):
    """The records that are answered."""
    return copied(begun, tmp_path_factory.mktemp("answered") / "records.sqlite")


def copied(source, target):
    target.write_bytes(source.read_bytes())
    return target


@pytest.fixture(scope="module")
def surveyed(records):
    """The same survey, answered: mostly right; one with a hint, one wrong, one given up, one guessed."""
    with Sitting.resume(survey_to_go_on(records=records), records=records) as sitting:
        questions = [sitting.prepare(number) for number in range(sitting.total)]
        for number, question in enumerate(questions):
            kind = kinds()[question.kind]
            if number == 0:
                sitting.submit(question, kind.solution(question), 1.0, question.hints[:1])
            elif number == 1:
                wrong = next(c for c in "abcd" if not kind.judge(question, Answer(c)).correct)
                sitting.submit(question, sitting.accept(question, wrong), 1.0)
            elif number == 2:
                sitting.skip(question, 1.0)
            else:
                sitting.submit(question, kind.solution(question), 1.0, confidence=1 if number == 3 else 3)
        draws = sitting.plan
    return draws, questions


def test_it_goes_from_the_pads_to_the_board_on_one_die(surveyed):
    """Its steps come in order, none is left out; the whole die is one face, the slice is cut out of it."""
    draws, questions = surveyed
    assert list(dict.fromkeys(draw.step for draw in draws)) == list(STEPS)
    whole = {id(q.specimen.face) for d, q in zip(draws, questions, strict=True) if not d.part}
    assert len(whole) == 1
    kinds_of = {step: {d.kind for d in draws if d.step == step} for step in STEPS}
    assert {"count", "name", "rails", "transcribe", "sequence"} <= kinds_of[SLICE]
    assert kinds_of[BOARD] == {"board log"}
    for draw, question in zip(draws, questions, strict=True):
        assert question.kind == draw.kind
        assert question.prompt.startswith(f"Step {STEPS.index(draw.step) + 1}, {draw.step}.")


def test_the_report_says_what_was_found_and_how(surveyed, records, tmp_path, monkeypatch):
    """Alone, with help, wrong with what is right, left open, guessed: each as it was, in both forms."""
    survey = survey_read(records=records)
    how = [finding.how for finding in survey.findings]
    assert how[:4] == [How.HELPED, How.WRONG, How.OPEN, How.ALONE]
    assert set(how[4:]) == {How.ALONE}
    assert [f.doubt for f in survey.findings[:5]] == [
        "right only with help", "not so, as answered", "left open", "right, but guessed", "",
    ]  # fmt: skip
    monkeypatch.setattr("layoutdrill.drill.survey_pictures.WIDEST", 250)  # their paths are those of large ones
    drawn = cache(lambda number: pictures_of(survey))  # the pictures of both forms are the same
    monkeypatch.setattr("layoutdrill.drill.survey_report.pictures_of", lambda read: drawn(read.number))
    files = write_report(survey, tmp_path / "report.md")
    text = files[0].read_text("utf-8")
    assert [line for line in text.splitlines() if re.match(r"## \d", line)] == [
        f"## {n}. {step.capitalize()}" for n, step in enumerate(STEPS, 1)
    ]
    for name in re.findall(r"\]\((.*?)\)", text):
        assert (tmp_path / name).read_bytes().startswith(b"\xff\xd8")
    assert len(files) > 3
    (page,) = write_report(survey, tmp_path / "report.html")
    html = page.read_text("utf-8")
    assert html.count("data:image/jpeg;base64,") == len(files) - 1
    assert not re.search(r'(?:src|href)="(?!data:)', html)
    for finding in survey.findings:
        assert finding.right.split(" (")[0][:20].lower() in text.replace("\\", "").lower()


def test_what_cannot_be_reported_is_told(records, tmp_path):
    """Another form, no survey, a number that is none: a sentence with what to do."""
    with pytest.raises(LayoutdrillError, match="report cannot be written"):
        write_report(survey_read(records=records), tmp_path / "report.txt")
    with pytest.raises(LayoutdrillError, match="no survey has been begun"):
        survey_read(records=tmp_path / "none.sqlite")
    with pytest.raises(LayoutdrillError, match="99 is no survey"):
        survey_read(99, records=records)


def test_ones_surveys_are_numbered_from_one(tmp_path, monkeypatch):
    """The first survey is 1, however many other sittings came before it; one goes on with a survey by that number."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))
    path = tmp_path / "records.sqlite"
    draw = Draw("message_buffer", PROCESS, "chip", 5, 0.3, "block", ("block",), step=STEPS[0])
    kept = {
        "deck_text": "",
        "seed": 5,
        "total": 1,
        "look": "",
        "kit": "",
        "version": "1",
        "plan": json.dumps([asdict(draw)]),
    }
    file = Records(path)
    ids = [
        file.add_sitting(sort=sort, deck=sort, title=title, **kept)
        for sort, title in (("deck", ""), ("deck", ""), ("survey", "Survey: a"), ("survey", "Survey: b"))
    ][2:]
    file.close()
    assert ids != [1, 2]
    assert {n: each.id for n, each in numbered_surveys(path).items()} == {2: ids[1], 1: ids[0]}
    assert survey_to_go_on(1, path) == ids[0]
    assert survey_to_go_on(records=path) == ids[1]
    assert survey_read(1, path).sitting.title == "Survey: a"
    assert survey_read(records=path).number == 2


def test_it_is_gone_on_with_where_it_was_left(begun, tmp_path):
    """Whoever is killed loses no answer; where one has been is kept with the answers."""
    path = copied(begun, tmp_path / "records.sqlite")
    sitting = Sitting.resume(records=path)
    question = sitting.prepare(0)
    box = question.specimen.face.box
    sitting.visited.note(box, Rect(box.x0, box.y0, box.centre[0], box.centre[1]))
    sitting.submit(question, kinds()["block"].solution(question), 1.0)
    # no close: as after a kill
    with Sitting.resume(records=path) as again:
        assert again.position == 1
        assert again.visited.fields == sitting.visited.fields != set()
        assert again.prepare(0).key == question.key
    assert survey_read(records=path).open_steps == STEPS
    sitting.close()


def test_in_plain_text_a_die_is_told_by_places(surveyed, records):
    """The overview fits a line, a place is told in letters, and the map shows where one has been."""
    _, questions = surveyed
    face = questions[0].specimen.face
    assert max(map(len, overview_lines(face, Visited())[:-3])) <= 79
    file = Records(records)
    number = file.add_sitting(**_fields(file))
    file.close()
    out = io.StringIO()
    said = "look P\nshapes\nlook 0, 0\nlook nowhere\nhint\nhint\nmap\nquit\n"
    run_plain(Sitting.resume(number, records=records), io.StringIO(said), out)
    told = out.getvalue()
    assert "what ends at the border goes on beyond it" in told
    assert "is no place" in told
    assert "supply 1:" in told
    assert re.search(r"^ *\d+ .*[@%*=:]", told, re.MULTILINE)
    with Sitting.resume(number, records=records) as again:
        assert again.visited.fields


def _fields(file):
    """Return the survey's record as that of a new sitting in which nothing has been answered."""
    (record,) = file.sittings_where("WHERE sort = 'survey'")
    names = ("sort", "deck", "title", "deck_text", "seed", "total", "look", "kit", "version", "plan")
    return {name: getattr(record, name) for name in names}


def test_where_one_has_been_is_kept_as_text():
    """What was written is read again; damage is nothing."""
    visited = Visited()
    box = Rect(0, 0, 1000, 1000)
    assert visited.note(box, Rect(100, 200, 400, 500))
    assert not visited.note(box, Rect(150, 250, 300, 400))
    assert Visited(visited.text()).fields == visited.fields
    assert (ACROSS - 1, ACROSS - 1) not in visited.fields
    for damaged in ("", "x", "ffffff " * (ACROSS - 1), "gggggg " * ACROSS):
        assert not Visited(damaged).fields


def test_a_day_leads_to_it_once_every_lesson_was_begun():
    """While a lesson has not been begun nothing is said of surveys; then the day says why."""
    assert not Today((), 0.0, "", ended=False, begun={1: (2, 3), 2: (0, 2)}).survey
    assert not Today((), 0.0, "", ended=False, begun={}).survey
    assert "every lesson" in Today((), 0.0, "", ended=False, begun={1: (2, 3), 2: (1, 2)}).survey


def test_the_shell_tells_what_is_no_chip(capsys, tmp_path, monkeypatch):
    """A wrong name is told with one that was meant; a report needs a survey."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))
    assert main(["survey", "begin", "mesage_buffer", "--plain"]) == 2
    assert "message_buffer" in capsys.readouterr().err
    assert main(["survey", "report", "-o", str(tmp_path / "r.html")]) == 2
    assert main(["survey", "go-on", "--plain"]) == 2
    assert main(["survey", "list"]) == 0
    assert "message_buffer" in capsys.readouterr().out
