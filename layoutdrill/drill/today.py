"""What to practise today: from one's records to a few questions, in words and as draws. Nothing is written here."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from layoutdrill.cells import load_cell
from layoutdrill.dice import Dice
from layoutdrill.drill.history import attempts, look_alike_pairs, syllabus
from layoutdrill.drill.plan import Draw
from layoutdrill.drill.records import Records, kept_records
from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.face.materials import Material, materials, metal_gate
from layoutdrill.learning.attempt import Attempt
from layoutdrill.learning.mix import Trial, Why, contrast_after, minutes, sitting, trial_of
from layoutdrill.learning.skills import BEYOND, Skill
from layoutdrill.learning.standing import Standing, all_learned, standings
from layoutdrill.learning.wording import pair_name, skill_name
from layoutdrill.picture.looks import FROM_BELOW, load_look
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.process.films import load_films
from layoutdrill.question import HintStep
from layoutdrill.recognise.terms import family
from layoutdrill.value import value

COUNT = 10
MOST = 60
LOOKS = ("", "", "reflected-light", "both-lamps", "transmitted-light", "dark-field")
"""What varied trials are shown in: mostly the look that was chosen; else another of those that show the process."""
FIRST_PROCESSES = ("silicon-gate-cmos", "metal-gate-sapphire", "silicon-gate-nmos", "metal-gate-pmos")
"""Where a skill is met before it is varied: the first of these that its cell fits."""


@value
class Today:
    """
    A day's questions: the trials, about how many minutes they take, and the skills in words; `ended` tells that the
    lessons have been learned; `begun` says by a lesson's number how many of its skills were practised, of how many.
    """

    trials: tuple[Trial, ...]
    minutes: float
    words: str
    ended: bool
    begun: Mapping[int, tuple[int, int]]

    @property
    def survey(self) -> str:
        """Say why a whole die is to be surveyed next, "" while a lesson has not been begun."""
        lessons = [begun for lesson, (begun, _) in self.begun.items() if lesson != BEYOND]
        return (
            "every lesson has been begun: now a whole die, from its pads to its log" if lessons and all(lessons) else ""
        )

    @property
    def size(self) -> str:
        return f"{plural(len(self.trials), 'question')}, about {plural(max(1, round(self.minutes)), 'minute')}"

    @property
    def line(self) -> str:
        """The day in one line."""
        return f"today: {self.size}: {self.words}"


@value
class Wish:
    """
    What a learner wants of a day: `count` questions, or as many as fit into the minutes, ten if neither is said; in
    `plain` text a question takes longer. Without `timed` no answer ever counts as slow; of lessons `left_out` nothing
    is asked.
    """

    count: int | None = None
    minutes: float | None = None
    timed: bool = True
    plain: bool = False
    left_out: Collection[int] = ()


NO_WISH = Wish()


def plan_today(now: datetime, wish: Wish = NO_WISH, *, seed: int, records: Path | None = None) -> Today:
    """
    Return what to practise at `now` (UTC). Slow: it reads the lessons and the answers. Raises LayoutdrillError where
    the records cannot be read, and where everything is left out.
    """
    answers = answers_so_far(records)
    skills = tuple(skill for skill in syllabus() if skill.lesson not in wish.left_out)
    if wish.left_out and not skills:
        raise LayoutdrillError("every lesson is left out", todo="take one in again: Progress, a skill of it")
    stand = standings(skills, answers, now, timed=wish.timed)
    number = wish.count or COUNT
    if wish.minutes is not None:
        each = minutes(1, answers, plain=wish.plain)
        number = max(1, min(MOST, int(wish.minutes / each)))
    trials = sitting(stand, answers, now, Dice.from_text(f"today {seed}"), number, look_alike_pairs(skills))
    if not trials:
        raise LayoutdrillError("there is nothing to practise", todo="install layoutdrill again: no lesson was found")
    return Today(
        trials, minutes(len(trials), answers, plain=wish.plain), in_words(trials), all_learned(stand), _begun(stand)
    )


def _begun(stand: Iterable[Standing]) -> Mapping[int, tuple[int, int]]:
    counts: dict[int, tuple[int, int]] = {}
    for each in stand:
        begun, every = counts.get(each.skill.lesson, (0, 0))
        counts[each.skill.lesson] = begun + each.begun, every + 1
    return counts


def plan_skills(
    keys: Sequence[str], now: datetime, *, count: int = 8, records: Path | None = None
) -> tuple[Trial, ...]:
    """Return trials of a few skills in turn, asked as each stands. Raises LayoutdrillError for what is no skill."""
    stand = {each.skill.key: each for each in standings(syllabus(), answers_so_far(records), now)}
    for key in keys:
        if key not in stand:
            raise LayoutdrillError(f"no skill “{key}”", todo="choose one that the lessons bring")
    return tuple(trial_of(stand[keys[i % len(keys)]], Why.WEAK) for i in range(count))


def answers_so_far(records: Path | None = None) -> tuple[Attempt, ...]:
    """Return one's answers as learning sees them, none where there are no records yet."""
    with kept_records(records) as file:
        return () if file is None else attempts(file)


def in_words(trials: Iterable[Trial]) -> str:
    """Name the skills of a day, pairs that were confused first, then what is new: “NAND or NOR, contacts, …”."""
    names: dict[str, None] = {}
    done: set[str] = set()
    for trial in sorted(trials, key=lambda each: (each.why is not Why.CONFUSED, each.why is not Why.NEW)):
        if trial.skill.key in done:
            continue
        subject = trial.skill.subject
        if trial.why is Why.CONFUSED:
            names[pair_name(trial.skill.group, subject, trial.against)] = None
            done.add(f"{trial.skill.group}: {trial.against}")
        elif trial.skill.group == "name":
            names[subject] = None
        else:
            names[skill_name(trial.skill.group, subject)] = None
        done.add(trial.skill.key)
    return ", ".join(names)


def draws_of(
    trials: Sequence[Trial], dice: Dice, begun: Mapping[int, tuple[int, int]] | None = None
) -> tuple[Draw, ...]:
    """
    Return a draw for each trial: a cell and process of its skill, a kind of its group, and the help it has. Where it is
    said which lessons were `begun`, as in `Today`, no kind is asked that only another lesson brings.
    """
    met = None if begun is None else {lesson for lesson, (tried, _) in begun.items() if tried}
    return tuple(_draw(trial, dice, met) for trial in trials)


def contrast_draws(skill: str, said: str, now: datetime, records: Records, dice: Dice) -> tuple[Draw, ...]:
    """Return draws of a skill and of what it was just taken for, each against the other; none for what is no skill."""
    answers = attempts(records)
    wrong = next((each for each in reversed(answers) if each.skill == skill), None)
    if wrong is None or wrong.said != family(said):
        return ()
    return draws_of(contrast_after(wrong, standings(syllabus(), answers, now)), dice)


def _draw(trial: Trial, dice: Dice, begun: Collection[int] | None) -> Draw:
    skill = trial.skill
    kinds = skill.kinds if begun is None else skill.asked_by(begun)
    for name in dice.shuffled(skill.cells):
        cell = load_cell(name)
        fitting = [process for process in _showing(skill) if cell.fits(load_process(process))]
        if fitting:
            break
    first = [process for process in FIRST_PROCESSES if process in fitting] or fitting
    process = dice.pick(fitting) if trial.varied else first[0] if not dice.chance(30) else first[-1]
    looks = [look for look in LOOKS if not look or _shows(look, process)]
    return Draw(
        cell=name,
        process=process,
        look=dice.pick(looks) if trial.varied else "",
        structure=cell.structure,
        seed=1 + dice.below(2**31 - 1),
        difficulty=trial.difficulty,
        kind=dice.pick(kinds),
        kinds=kinds,
        help=help_of(trial),
        wear=trial.wear,
        skill=skill.key,
        why=reason(trial),
    )


def reason(trial: Trial) -> str:
    """Say why a trial is asked, without a word of what the answer may be."""
    match trial.why:
        case Why.NEW:
            beyond = trial.skill.lesson == BEYOND
            return (
                "Asked now: new, beyond the lessons." if beyond else f"Asked now: new, of lesson {trial.skill.lesson}."
            )
        case Why.CONFUSED:
            return "Asked now: of late you took one thing for another here."
        case Why.WEAK:
            return "Asked now: wrong more often than right of late."
        case Why.KEPT:
            return "Asked now: mastered, and to stay so."
        case _ if trial.aid >= 1:
            beyond = trial.skill.lesson == BEYOND
            return "Asked now: again, as it has not been right yet" + (
                "." if beyond else f"; lesson {trial.skill.lesson} explains it."
            )
        case _:
            return "Asked now: it is time to see whether it is kept."


def reasons(trials: Iterable[Trial]) -> tuple[str, ...]:
    """Return a line for each reason for which something is in a day's plan, with the skills that it holds for."""
    said = {
        Why.CONFUSED: "to be told apart",
        Why.NEW: "new",
        Why.WEAK: "wrong of late",
        Why.DUE: "again, to be kept",
        Why.KEPT: "mastered, to stay so",
    }
    names: dict[Why, dict[str, None]] = {why: {} for why in said}
    for trial in trials:
        skill = trial.skill
        name = (
            pair_name(skill.group, skill.subject, trial.against)
            if trial.against
            else skill_name(skill.group, skill.subject)
        )
        names[trial.why][name] = None
    return tuple(f"{said[why]}: {', '.join(shown)}" for why, shown in names.items() if shown)


def _showing(skill: Skill) -> tuple[str, ...]:
    """Return the processes in whose drawings a skill can be practised: not every one has vias, rings or loads."""
    drawn = tuple(name for name in process_names() if load_process(name).rules)
    needed = _NEEDED.get(skill.subject) if skill.group == "see" else None
    return tuple(name for name in drawn if needed is None or needed(load_process(name)))


def _has_taps(process: Process) -> bool:
    return Material.TAP in materials(process).values()


def _complementary(process: Process) -> bool:
    return len({rule.kind for rule in process.transistors}) > 1


_NEEDED: Mapping[str, Callable[[Process], bool]] = {
    "via": lambda process: any(layer.role == "via" for layer in process.layers.values()),
    "tap": _has_taps,
    "guard ring": lambda process: metal_gate(process) and _has_taps(process),
    "crossunder": lambda process: metal_gate(process) and _complementary(process),
    "n and p": _complementary,
    "loads": lambda process: not _complementary(process),
}
"""What a process must have where something of a layout is practised."""


def _shows(look: str, process: str) -> bool:
    """Tell whether a process can be seen in a look: light passes through sapphire alone."""
    return load_look(look).style not in FROM_BELOW or load_films(load_process(process)).base == "sapphire"


def help_of(trial: Trial) -> tuple[HintStep, ...]:
    """Return the help that is shown from the start: what lies where is never outlined where that is asked."""
    if not trial.aid:
        return ()
    if trial.skill.group == "see":
        return (HintStep.AID,)
    return (HintStep.RAILS, HintStep.DEVICES) if trial.aid > 0.5 else (HintStep.RAILS,)
