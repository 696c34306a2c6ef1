"""A sitting's mix: shares, order, contrasts, blocks of the new."""

from collections import Counter
from itertools import pairwise

from layoutdrill.dice import Dice
from layoutdrill.learning.mix import BLOCK, TRIALS, Why, contrast_after, minutes, sitting
from layoutdrill.learning.skills import Skill
from layoutdrill.learning.standing import standings
from tests.learning.make import CONTACT, CROSSING, LAYERS, NAND, NOR, SKILLS, at, attempt

MANY = tuple(Skill("name", f"thing {n}", 1, ("x",), ("name",)) for n in range(30))


def mixed(skills, told, day, count=TRIALS, seed=1):
    return sitting(standings(skills, told, at(day)), told, at(day), Dice(seed), count)


def test_the_first_sitting_ever_is_new_things_with_help():
    """Nothing is due on the first day: what the first two lessons bring, one worked, one with half the help."""
    trials = mixed(SKILLS, [], 0, 6)
    assert [trial.skill for trial in trials] == [LAYERS, LAYERS, CONTACT, CONTACT, CROSSING, CROSSING]
    assert [trial.aid for trial in trials] == [1.0, 0.5] * 3
    assert len(mixed(SKILLS, [], 0, 10)) == 10


def test_what_comes_later_waits_for_what_comes_before():
    """Latches are not asked of somebody who has not begun gates."""
    told = [attempt(LAYERS, day=0.01 * n) for n in range(5)]
    asked = {trial.skill.lesson for trial in mixed(SKILLS, told, 1, 12)}
    assert max(asked) <= 5


def test_the_shares_are_those_of_the_rule():
    """With fifteen open skills, eight mastered and new ones ready: about 60 % due, a quarter new, the rest kept."""
    told = []
    for n, skill in enumerate(MANY[:23]):
        days = (0, 0.1, 1, 9) if n < 8 else (0, 0.1, 0.2, 0.3)
        told += [attempt(skill, day=day, right=n < 8 or day > 0) for day in days]
    trials = mixed(MANY, told, 20)
    why = Counter(trial.why for trial in trials)
    assert len(trials) == TRIALS
    assert why[Why.NEW] == 7
    assert 3 <= why[Why.KEPT] <= 6
    assert 12 <= why[Why.DUE] + why[Why.WEAK] <= 18
    assert len({trial.skill.key for trial in trials if trial.why is Why.NEW}) == 7


def test_no_skill_comes_twice_within_two_trials_but_in_a_block():
    """Where there are others, two more come between."""
    told = [attempt(skill, day=day, right=False) for skill in MANY[:15] for day in (0, 1)]
    trials = [trial for trial in mixed(MANY, told, 20) if trial.why is not Why.NEW]
    for first, second in pairwise(trials):
        assert first.skill.key != second.skill.key


def test_nothing_is_asked_twice_a_day_while_something_waits():
    """Of thirty skills begun on several days each comes at most once, those first that have waited longest."""
    told = [attempt(skill, day=n // 5, right=n % 3 > 0) for n, skill in enumerate(MANY[:25])]
    trials = [trial for trial in mixed(MANY, told, 6, 10) if trial.why is Why.DUE]
    asked = [trial.skill for trial in trials]
    assert len(set(asked)) == len(asked) == 7
    assert set(asked) <= set(MANY[:10])


def test_what_is_mastered_is_let_alone_for_a_while():
    """Asked yesterday and not due, it leaves its place to what is due; asked a week ago it is looked at again."""
    mastered = [attempt(MANY[0], day=day) for day in (0, 0.1, 1, 9)]
    told = [*mastered, *(attempt(skill, day=0) for skill in MANY[1:25])]
    kept = [[t.skill for t in mixed(MANY, told, day) if t.why is Why.KEPT] for day in (10, 16)]
    assert kept == [[], [MANY[0]]]


def test_two_right_answers_suffice_on_the_first_day():
    """What was right twice this morning, its first day, is asked after what was right once."""
    told = [attempt(NAND, day=d) for d in (0, 0.01)] + [attempt(NOR, day=0.02)]
    stand = {each.skill: each for each in standings((NAND, NOR), told, at(0.1))}
    assert stand[NAND].enough_today
    assert not stand[NOR].enough_today
    asked = [trial.skill for trial in mixed((NAND, NOR), told, 0.1, 1)]
    assert asked == [NOR]


def test_a_confusion_brings_a_pair():
    """NAND taken for NOR yesterday: both stand beside each other today, each to be told from the other."""
    told = [attempt(s, day=0.01 * n) for s in SKILLS[:5] for n in range(4)]
    told += [attempt(NAND, day=1, right=False, said="NOR")]
    trials = mixed(SKILLS, told, 2)
    pair = [(trial.skill.subject, trial.against) for trial in trials if trial.why is Why.CONFUSED]
    assert pair[:2] == [("NAND", "NOR"), ("NOR", "NAND")]
    told += [attempt(s, day=2 + d) for s in (NAND, NOR) for d in (0.1, 0.2)]
    assert not [trial for trial in mixed(SKILLS, told, 3) if trial.why is Why.CONFUSED]


def test_a_confused_pair_comes_when_the_turn_of_one_has_come():
    """Told apart in part today, it is not asked again today: what is not due takes no one's place."""
    told = [attempt(s, day=0.01 * n) for s in SKILLS[:5] for n in range(4)]
    told += [attempt(NAND, day=1, right=False, said="NOR"), attempt(NAND, day=1.1), attempt(NOR, day=1.1)]
    told += [attempt(NOR, day=1.2, right=False, said="NAND"), attempt(NOR, day=2), attempt(NAND, day=2)]
    assert not [trial for trial in mixed(SKILLS, told, 2.1) if trial.why is Why.CONFUSED]


def test_after_a_confusion_its_pair_comes_again():
    """Both sides, each against the other; nothing after a right answer, or where the other thing is no skill."""
    told = [attempt(s, day=0.01 * n) for s in SKILLS[:5] for n in range(4)]
    stand = standings(SKILLS, told, at(1))
    pair = contrast_after(attempt(NAND, day=1, right=False, said="NOR"), stand)
    assert [(trial.skill, trial.against, trial.why) for trial in pair] == [
        (NAND, "NOR", Why.CONFUSED),
        (NOR, "NAND", Why.CONFUSED),
    ]
    assert contrast_after(attempt(NAND, day=1), stand) == ()
    assert contrast_after(attempt(NAND, day=1, right=False, said="flux capacitor"), stand) == ()


def test_practice_grows_harder_and_more_worn_with_skill():
    """From the third right answer on looks vary; difficulty and wear only rise."""
    levels = []
    for rights in range(0, 12, 2):
        told = [attempt(NAND, day=0.01 * n) for n in range(rights)] or [attempt(NAND, day=0, right=False)]
        trial = next(t for t in mixed((NAND,), told, 1, 6) if t.skill == NAND and t.why is not Why.NEW)
        levels.append((trial.difficulty, trial.wear, trial.varied))
    assert levels == sorted(levels)
    assert not levels[0][2]
    assert levels[-1][2]


def test_the_same_dice_give_the_same_sitting():
    """A seed says all."""
    told = [attempt(skill, day=0) for skill in MANY[:6]]
    assert mixed(MANY, told, 3, seed=5) == mixed(MANY, told, 3, seed=5)
    assert mixed(MANY, told, 3, seed=5) != mixed(MANY, told, 3, seed=6)


def test_the_time_is_told_from_ones_own_answers():
    """25 questions are ten minutes for a stranger; for somebody who takes 6 s each, five; guesses take no time."""
    trials = mixed(MANY, [], 0)
    assert minutes(len(trials), []) == len(trials) * 24 / 60
    told = [attempt(day=n, seconds=6.0) for n in range(30)]
    assert minutes(len(trials), told) == len(trials) * 12 / 60
    assert minutes(len(trials), told, plain=True) == len(trials) * 90 / 60
    guessed = [attempt(day=n, seconds=1.0, right=False) for n in range(40)]
    assert minutes(len(trials), [*told, *guessed]) == len(trials) * 12 / 60
    assert BLOCK == 2
