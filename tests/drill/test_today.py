"""From the records to today's questions, and back: the answer to each is one of its skill."""

import json
from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from layoutdrill.deck import lesson_names, load_deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.dice import Dice
from layoutdrill.drill.again import TODAY
from layoutdrill.drill.asking import asked_of_some
from layoutdrill.drill.history import attempts, offers_of, skill_key, syllabus
from layoutdrill.drill.opening import maker_of
from layoutdrill.drill.plan import draw_of
from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.today import Wish, draws_of, help_of, plan_today, reasons
from layoutdrill.learning.mix import Trial, Why
from layoutdrill.learning.skills import APART, BEYOND, MOST, SEEN, Skill
from layoutdrill.learning.wording import named
from layoutdrill.question import HintStep, kinds
from layoutdrill.question.kind import QuestionKind
from tests.sampling import spread

TAUGHT = [skill for skill in syllabus() if skill.lesson != BEYOND]


def test_the_lessons_bring_skills_of_kinds_that_there_are():
    """At most about eighty, each asked by kinds of its own group, on cells of the library."""
    skills = syllabus()
    assert 20 <= len(skills) <= MOST
    assert len({skill.key for skill in skills}) == len(skills)
    for skill in skills:
        assert skill.cells
        assert {kinds()[name].group.value for name in skill.kinds} == {skill.group}
    lessons = [skill.lesson for skill in skills]
    assert lessons == sorted(lessons)


@pytest.mark.parametrize("lesson", lesson_names())
def test_whatever_a_lesson_asks_trains_a_skill(lesson):
    """Each kind of question of each item, on each of its cells, belongs to a skill that can be asked again by it."""
    skills = syllabus()
    for offer in offers_of(load_deck(lesson)):
        for group, ways in offer.kinds.items():
            for kind in ways:
                mine = [skill for skill in skills if skill.group == group and kind in skill.kinds]
                assert mine, f"{kind} trains nothing"
                if group != "see" and kind not in APART:
                    assert set(offer.cells) <= {skill.subject for skill in mine}, kind


def test_every_kind_of_question_and_what_only_decks_bring_are_among_the_skills():
    """
    Each kind of the table has a skill that it trains, once something asks it; gates and stores that no lesson asks come
    after the lessons, to be named.
    """
    asked = {kind for skill in syllabus() for kind in skill.kinds}
    lessons = [load_deck(name) for name in lesson_names()]
    wanted = {kind for lesson in lessons for item in lesson.items for kind in item.kinds}
    assert wanted <= asked
    homes = {kind for ways in SEEN.values() for kind in ways} | set(APART)
    assert all(name in homes or not overrides_subject(kind) for name, kind in kinds().items())
    beyond = {skill.key for skill in syllabus() if skill.lesson == BEYOND}
    assert {"name: XOR", "name: SR latch", "name: ripple counter", "name: static RAM cell"} <= beyond
    assert not any(skill.group != "name" for skill in syllabus() if skill.lesson == BEYOND)


def overrides_subject(kind):
    """Tell whether a kind trains something else than the structure that it is asked about."""
    return type(kind).subject is not QuestionKind.subject


def test_skills_have_names_that_can_be_read_aloud():
    """No two alike, none longer than its column, and no key shown."""
    names = [named(skill.key) for skill in syllabus()]
    assert len(set(names)) == len(names)
    assert all(": " not in name and len(name) <= 38 for name in names), max(names, key=len)


@pytest.fixture(name="first_day", scope="module")
def _first_day(tmp_path_factory):
    """Return the records of somebody who took the first day's questions, all right but the second."""
    path = tmp_path_factory.mktemp("today") / "records.sqlite"
    with Sitting.open_today(Wish(count=4), seed=5, records=path) as sitting:
        for number in range(4):
            question = sitting.prepare(number)
            if number == 1:
                sitting.skip(question, 2.0)
            else:
                sitting.submit(question, kinds()[question.kind].solution(question), 2.0)
        assert sitting.position is None
    return path


def test_answers_come_back_as_attempts_of_their_skills(first_day):
    """Four answers, each with a skill of the syllabus, in order, aided as planned."""
    records = Records(first_day)
    try:
        told = attempts(records)
        plan = [draw_of(given) for given in json.loads(records.sittings()[0].plan)]
    finally:
        records.close()
    known = {skill.key for skill in syllabus()}
    assert len(told) == 4
    assert {each.skill for each in told} <= known
    assert [each.aided for each in told] == [bool(draw.help) for draw in plan]
    assert [each.right for each in told] == [True, False, True, True]
    assert told[1].skipped


def test_the_next_plan_follows_from_the_answers(first_day):
    """What was begun is asked again; the line names it; the same seed gives the same plan."""
    now = datetime.now(UTC)
    day = plan_today(now, seed=1, records=first_day)
    assert len(day.trials) == 10
    assert day.line.startswith("today: 10 questions, about ")
    assert plan_today(now, seed=1, records=first_day) == day
    assert len(plan_today(now, Wish(minutes=3), seed=1, records=first_day).trials) < 10
    assert len(plan_today(now, Wish(minutes=3, plain=True), seed=1, records=first_day).trials) == 2
    without = plan_today(now, Wish(left_out={1, 2, 3}), seed=1, records=first_day)
    assert len(without.trials) == 10
    assert all(trial.skill.lesson > 3 for trial in without.trials)
    counts = Counter(trial.why for trial in day.trials)
    assert counts[Why.NEW] >= 2


def test_a_sitting_of_today_goes_on_after_it_was_left(first_day):
    """Opened, one question answered, left; gone on with, it stands at the second."""
    with Sitting.open_today(Wish(count=3), seed=8, records=first_day) as sitting:
        question = sitting.prepare(0)
        sitting.submit(question, kinds()[question.kind].solution(question), 2.0)
    with Sitting.resume(records=first_day) as again:
        assert again.sort == "today"
        assert again.position == 1
        assert again.prepare(1).prompt


def test_help_never_shows_what_is_asked():
    """Of what is to be seen no device is outlined; of a structure's name rails and devices are at first."""
    see = Trial(Skill("see", "contact", 1, ("nand2",), ("spot",)), Why.NEW, 1.0, 0.0, 0.0, varied=False)
    name = Trial(Skill("name", "NAND", 1, ("nand2",), ("name",)), Why.NEW, 1.0, 0.0, 0.0, varied=False)
    assert help_of(see) == (HintStep.AID,)
    assert help_of(name) == (HintStep.RAILS, HintStep.DEVICES)


def test_a_draw_is_of_a_cell_that_its_process_can_draw():
    """Forty trials over the syllabus: each has a kind of its skill and a process that fits."""
    from layoutdrill.cells import load_cell
    from layoutdrill.process import load_process

    trials = [Trial(skill, Why.DUE, 0.0, 0.4, 0.2, varied=True) for skill in syllabus()]
    for trial, draw in zip(trials, draws_of(trials, Dice(4)), strict=True):
        assert draw.kind in trial.skill.kinds
        assert load_cell(draw.cell).fits(load_process(draw.process))
        assert draw.skill == trial.skill.key


def test_nothing_is_asked_that_no_lesson_begun_has_taught():
    """
    Thirty trials of transistors, which lesson 2 rings, for whoever has begun lessons 2 and 20: none counts them; and a
    thing that was never right is not called kept.
    """
    skill = next(skill for skill in syllabus() if skill.key == "see: transistor")
    trial = Trial(skill, Why.DUE, 1.0, 0.2, 0.0, varied=True)
    assert "count" in skill.kinds
    draws = draws_of([trial] * 30, Dice(5), {2: (3, 9), 20: (1, 1)})
    assert {kind for draw in draws for kind in draw.kinds} == {"spot"}
    assert "count" in {draw.kind for draw in draws_of([trial] * 30, Dice(5))}
    assert draws[0].why == "Asked now: again, as it has not been right yet; lesson 2 explains it."
    assert "kept" in draws_of([replace(trial, aid=0.5)], Dice(5))[0].why


def test_an_item_without_kinds_brings_no_skill():
    """A deck that asks anything teaches nothing in particular."""
    from layoutdrill.deck import Deck, Item

    assert list(offers_of(Deck("d", "D", "", (Item(("nand2",), ("silicon-gate-cmos",)),), lesson=1))) == []


@pytest.mark.parametrize(
    "skill", spread([skill for skill in syllabus() if skill.lesson != BEYOND], 7), ids=lambda s: s.key
)
def test_a_planned_skill_is_what_is_asked(skill):
    """Not another thing of the same drawing: else its help and its rating would go to that."""
    trial = Trial(skill, Why.DUE, 0.0, 0.2, 0.0, varied=False)
    (draw,) = draws_of([trial], Dice(3))
    question = asked_of_some(draw, maker_of({"": SpecimenMaker(TODAY)}), Dice(1), "reflected-light", "reflected-light")
    assert skill_key(question) == skill.key


@pytest.mark.parametrize("subject", ["via", "guard ring", "tap", "loads", "n and p"])
def test_what_is_practised_is_in_its_processes(subject):
    """Vias only where there are two metals, rings only where metal gates need them, loads where one kind does all."""
    skill = next(skill for skill in syllabus() if skill.key == f"see: {subject}")
    processes = {draw.process for draw in draws_of([Trial(skill, Why.DUE, 0, 0, 0, varied=True)] * 30, Dice(2))}
    wanted = {
        "via": {"silicon-gate-cmos-2m"},
        "guard ring": {"metal-gate-cmos"},
        "tap": {"silicon-gate-cmos", "silicon-gate-cmos-2m", "silicon-gate-cmos-pwell", "metal-gate-cmos"},
        "loads": {
            "metal-gate-pmos",
            "metal-gate-pmos-vgg",
            "silicon-gate-nmos",
            "silicon-gate-nmos-enhancement",
        },
        "n and p": {
            "silicon-gate-cmos",
            "silicon-gate-cmos-2m",
            "silicon-gate-cmos-pwell",
            "metal-gate-cmos",
            "metal-gate-sapphire",
        },
    }
    assert processes <= wanted[subject]


def test_a_question_says_why_it_is_asked_and_the_plan_says_it_of_all(first_day):
    """A reason stands with the question, never what it may be about; the shell names the skills by reason."""
    day = plan_today(datetime.now(UTC), seed=1, records=first_day)
    lines = reasons(day.trials)
    assert any(line.startswith("new: ") for line in lines)
    names = [name for line in lines for name in line.partition(": ")[2].split(", ")]
    assert len(names) == len({(trial.why, trial.skill.key) for trial in day.trials})
    for trial, draw in zip(day.trials, draws_of(day.trials, Dice(1)), strict=True):
        assert draw.why.startswith("Asked now: ")
        assert trial.skill.subject not in draw.why
    with Sitting.open_today(Wish(count=2), seed=4, records=first_day) as sitting:
        assert sitting.prepare(0).facts[-1] == sitting.plan[0].why
