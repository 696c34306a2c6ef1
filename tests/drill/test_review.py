"""Wrong answers once more, with their pictures; a confusion that comes again; how sure one was, in plain text."""

import io
import json
from datetime import UTC, datetime, timedelta

import pytest

from layoutdrill.drill.history import attempts, skill_key, syllabus
from layoutdrill.drill.plain import run_plain
from layoutdrill.drill.records import Records
from layoutdrill.drill.review import Review
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.today import Wish, plan_today
from layoutdrill.errors import LayoutdrillError
from layoutdrill.learning.mix import LATER
from layoutdrill.learning.sure import asked_of
from layoutdrill.question import Answer, kinds
from layoutdrill.recognise.terms import family
from tests.drill.forge import write

pytestmark = pytest.mark.usefixtures("home")


def wrong_choice(question):
    kind = kinds()[question.kind]
    return next(Answer(choice) for choice in question.choices if kind.grade(question, Answer(choice)).credit == 0)


def test_a_mistake_comes_back_with_its_picture_and_verdict(tmp_path):
    """The drawing, the question, the answer and the verdict are those of then; right answers are not shown."""
    path = tmp_path / "r"
    deck = tmp_path / "d.yaml"
    deck.write_text(
        "title: t\nabout: a\nprocesses: [silicon-gate-cmos]\nkinds: [name]\nitems: [{cells: [nand2, nor2]}]\n"
    )
    with Sitting.open_deck(deck, count=2, seed=5, records=path) as sitting:
        sitting.shown_in = "reflected-light"
        first, second = sitting.prepare(0), sitting.prepare(1)
        answer = wrong_choice(first)
        verdict = sitting.submit(first, answer, 2.0, confidence=3)
        sitting.submit(second, kinds()[second.kind].solution(second), 2.0)
    review = Review.of_skill(skill_key(first), path)
    assert review.total == 1
    again = review.prepare(0)
    assert (again.prompt, again.choices, again.look) == (first.prompt, first.choices, "reflected-light")
    assert again.specimen.face.text() == first.specimen.face.text()
    _, given, told = review.again(0)
    assert given.text == answer.text
    assert (told.credit, told.right, told.confused_with) == (0, verdict.right, verdict.confused_with)
    assert Review.of_sureness(3, "sure", path).total == 1
    with pytest.raises(LayoutdrillError, match="no wrong answer to look at"):
        Review.of_skill(skill_key(second) if skill_key(second) != skill_key(first) else "see: nothing", path)


def test_a_stage_of_removal_is_looked_back_at_as_it_was(tmp_path):
    """With the metal off in the sitting, in one that was left and taken up, and among the mistakes."""
    path, deck = tmp_path / "r", tmp_path / "d.yaml"
    deck.write_text(
        "title: t\nabout: a\nprocesses: [silicon-gate-cmos]\nkinds: [name]\nlook: reflected-light\nwear: used\n"
        "items: [{cells: [nand2, nor2], stage: metal off}]\n"
    )
    with Sitting.open_deck(deck, count=2, seed=5, records=path) as sitting:
        first = sitting.prepare(0)
        assert first.specimen.stage == "metal off"
        sitting.submit(first, wrong_choice(first), 2.0)
        seen = [sitting.again(0)[0]]
        number = sitting.id
    with Sitting.resume(number, records=path) as sitting:
        seen += [sitting.prepare(1), sitting.again(0)[0]]
    seen.append(Review.of_skill(skill_key(first), path).prepare(0))
    assert [question.specimen.stage for question in seen] == ["metal off"] * 4
    assert [question.specimen.wear for question in seen] == [first.specimen.wear] * 4


def test_what_was_confused_comes_again_a_few_questions_later(tmp_path):
    """Both sides of it, in this sitting and in the plan on disk; what was answered and prepared stays."""
    path, now = tmp_path / "r", datetime.now(UTC)
    begun = [{"skill": skill.key, "at": now - timedelta(days=3)} for skill in syllabus()[:28] for _ in range(3)]
    write(path, begun)
    with Sitting.open_today(Wish(count=16), seed=3, records=path) as sitting:
        for number in range(sitting.total - LATER[-1]):
            question = sitting.prepare(number)
            before = sitting.plan
            if question.kind == "name":
                for choice in question.choices:
                    said = kinds()[question.kind].grade(question, Answer(choice)).confused_with
                    if said and any(skill.key == f"name: {family(said)}" for skill in syllabus()):
                        break
                else:
                    continue
                sitting.submit(question, Answer(choice), 2.0)
                break
        else:
            pytest.fail("no question to confuse")
        pair = {skill_key(question), f"name: {family(said)}"}
        assert {sitting.plan[number + later].skill for later in LATER} == pair
        unchanged = [at for at in range(sitting.total) if at - number not in LATER]
        assert [sitting.plan[at] for at in unchanged] == [before[at] for at in unchanged]
        assert json.loads(Records(path).sitting(sitting.id).plan)[number + LATER[0]]["skill"] in pair


class Typed(io.StringIO):
    """Lines as somebody types them."""

    def isatty(self):
        return True


def test_plain_mode_asks_how_sure_one_is_before_the_verdict(tmp_path):
    """A number or its words; anything else is the next line; a file of answers is not asked."""
    seed = next(seed for seed in range(99) if asked_of(seed, 0) and asked_of(seed, 1))
    for stdin, wanted in ((Typed, [2, None]), (io.StringIO, [None, None])):
        path = tmp_path / stdin.__name__
        sitting = Sitting.open_deck("first-gates", count=2, seed=seed, records=path)
        sitting.sureness = True
        out = io.StringIO()
        kinds_asked = [sitting.prepare(number) for number in range(2)]
        lines = [kinds()[q.kind].solution(q).text or "0 0" for q in kinds_asked]
        typed = f"{lines[0]}\nfairly sure\n{lines[1]}\nhelp\n" if stdin is Typed else "\n".join(lines)
        run_plain(sitting, stdin(typed), out)
        said = out.getvalue()
        assert ("How sure are you of that?" in said) is (stdin is Typed)
        if stdin is Typed:
            assert said.index("How sure") < said.index("What decides")
        records = Records(path)
        assert [answer.confidence for answer in records.answers()] == wanted


@pytest.mark.parametrize("zone", ["+09:00", "-11:00"])
def test_another_time_zone_and_a_clock_that_went_back_lose_nothing(tmp_path, zone):
    """Answers are of moments, wherever they were given; those of tomorrow are kept, and the plan stands."""
    path, now = tmp_path / "r", datetime.now(UTC)
    skill = syllabus()[0].key
    write(path, [{"skill": skill, "at": now + timedelta(days=days)} for days in (-3, 2)])
    records = Records(path)
    file = records._file
    there = (now - timedelta(hours=30)).astimezone(datetime.fromisoformat(f"2026-01-01T00:00:00{zone}").tzinfo)
    file.execute("UPDATE answer SET at = ? WHERE number = 0", (there.isoformat(timespec="seconds"),))
    told = attempts(records)
    assert len(told) == 2
    assert abs((told[0].at - (now - timedelta(hours=30))).total_seconds()) < 2
    assert told[0].at.tzinfo is UTC
    assert len(plan_today(now, seed=1, records=path).trials) == 10
    assert len(records.answers()) == 2
