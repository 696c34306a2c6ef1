"""
Gather what a room answered: who, how well and how fast, by skill, and what was taken for what.

Every answer is graded here from the set's key, never believed from a file. Answers that came after the time was up are
counted apart. The intervals are Wilson's for a share (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927).
"""

import statistics
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from pathlib import Path
from textwrap import wrap

from layoutdrill.errors import LayoutdrillError, Where, plural
from layoutdrill.learning.shares import Share
from layoutdrill.learning.sure import STEPS
from layoutdrill.question import recap
from layoutdrill.question.model import Verdict
from layoutdrill.value import value
from layoutdrill.workshop.asking import graded, truth
from layoutdrill.workshop.documents import read_result
from layoutdrill.workshop.model import Given, KeyEntry, Result, WorkshopSet

GRACE = 5.0
"""Seconds after the time is up within which an answer still counts: the one that was being given."""
DISCUSSED = 3


@value
class Marked:
    """One graded answer. `said` is it in words, "" where skipped; `taken_for` the structure that it was taken for."""

    number: int
    credit: float
    said: str
    taken_for: str
    skipped: bool
    late: bool
    seconds: float
    confidence: int | None


@value
class Learner:
    """One learner's answers: those that counted, and those that came after the time was up."""

    name: str
    file: str
    marked: tuple[Marked, ...]
    late_answers: tuple[Marked, ...]
    finished: bool

    @property
    def credit(self) -> float:
        return sum(each.credit for each in self.marked)

    @property
    def right(self) -> int:
        return sum(each.credit >= 1 for each in self.marked)

    @property
    def late(self) -> int:
        return len(self.late_answers)

    @property
    def seconds(self) -> float:
        """The median time of an answer, 0 where there is none."""
        return statistics.median(each.seconds for each in self.marked) if self.marked else 0.0


@value
class Asked:
    """How the room answered one question; `said` are the wrong answers with their counts, the most frequent first."""

    number: int
    kind: str
    prompt: str
    right_words: str
    decides: str
    right: int
    answered: int
    credit: float
    seconds: float
    said: tuple[tuple[str, int], ...]


@value
class Tally:
    """A room: learners best first, what was refused and why, questions, skills, confusions, and what to discuss."""

    title: str
    total: int
    learners: tuple[Learner, ...]
    refused: tuple[tuple[str, str], ...]
    questions: tuple[Asked, ...]
    skills: tuple[Share, ...]
    confusions: tuple[tuple[str, str, int], ...]
    calibration: tuple[Share, ...]
    discuss: tuple[int, ...]


def tally(made: WorkshopSet, files: Iterable[Path]) -> Tally:
    """
    Gather results. A file that is damaged, of another set, or a second one of the same name is refused and told.

    Raises LayoutdrillError where the set has no key, or no file is left to count.
    """
    if not made.key:
        raise LayoutdrillError(
            "the key of this set is kept apart, and it takes the key to grade", todo="add --key FILE.key"
        )
    results, refused = _gathered(made, files)
    if not results:
        reasons = "; ".join(f"{file}: {why}" for file, why in refused[:3])
        raise LayoutdrillError("no result to count" + (f" ({reasons})" if reasons else ""), todo="name result files")
    learners = tuple(_learner(made, file, result) for file, result in results.items())
    learners = tuple(sorted(learners, key=lambda learner: (-learner.credit, learner.seconds, learner.name)))
    questions = tuple(_asked(made, entry, truth(made, entry.number), learners) for entry in made.key)
    skill_of = {entry.number: entry.skill for entry in made.key}
    structure_of = {entry.number: entry.structure for entry in made.key}
    by_skill: dict[str, list[Marked]] = defaultdict(list)
    sure: dict[int, list[Marked]] = defaultdict(list)
    confusions: Counter[tuple[str, str]] = Counter()
    for learner in learners:
        for each in learner.marked:
            by_skill[skill_of[each.number]].append(each)
            if each.confidence is not None:
                sure[each.confidence].append(each)
            if each.taken_for:
                confusions[structure_of[each.number], each.taken_for] += 1
    return Tally(
        title=made.title,
        total=len(made.sheets),
        learners=learners,
        refused=tuple(refused),
        questions=questions,
        skills=tuple(sorted((_share(name, them) for name, them in by_skill.items()), key=lambda s: (s.part, s.name))),
        confusions=tuple((true, said, n) for (true, said), n in sorted(confusions.items(), key=lambda c: (-c[1], c))),
        calibration=tuple(_share(STEPS.get(step, str(step)), sure[step]) for step in sorted(sure)),
        discuss=worth_discussing(questions),
    )


def worth_discussing(questions: Sequence[Asked]) -> tuple[int, ...]:
    """
    Return the numbers of the questions to talk about: those that split the room most, and among equals the hardest.

    How much a question splits the room is the variance p(1 − p) of its right answers; one that all got wrong comes
    before one that all but a few got right, since somebody has to explain it.
    """

    def worth(asked: Asked) -> tuple[float, float, int]:
        part = asked.right / asked.answered if asked.answered else 1.0
        return (-max(part * (1 - part), (1 - part) * 0.2), part, asked.number)

    missed = [asked for asked in questions if asked.answered and asked.right < asked.answered]
    return tuple(asked.number for asked in sorted(missed, key=worth)[:DISCUSSED])


def _gathered(made: WorkshopSet, files: Iterable[Path]) -> tuple[dict[str, Result], list[tuple[str, str]]]:
    """Read the files in order of their names; the first result of a name counts."""
    results: dict[str, Result] = {}
    refused: list[tuple[str, str]] = []
    names: dict[str, str] = {}
    digests: dict[str, str] = {}
    for path in sorted(files):
        shown = str(path)
        try:
            result = read_result(path)
            _fits(made, result, path)
        except LayoutdrillError as error:
            refused.append((shown, error.what))
            continue
        if result.digest in digests:
            refused.append((shown, f"the same file as {digests[result.digest]}"))
        elif _folded(result.name) in names:
            refused.append((shown, f"a second result of {result.name}; {names[_folded(result.name)]} counts"))
        else:
            results[shown] = result
            names[_folded(result.name)] = digests[result.digest] = shown
    return results, refused


def _fits(made: WorkshopSet, result: Result, path: Path) -> None:
    if result.set_digest != made.digest:
        raise LayoutdrillError(f"a result of another set (“{result.title}”)", where=Where(str(path)))
    numbers = [given.number for given in result.answers]
    known = {sheet.number for sheet in made.sheets}
    if len(set(numbers)) != len(numbers) or not set(numbers) <= known:
        raise LayoutdrillError("damaged: its questions are not those of the set", where=Where(str(path)))


def _folded(name: str) -> str:
    return " ".join(name.split()).casefold()


def _learner(made: WorkshopSet, file: str, result: Result) -> Learner:
    marked = [_marked(made, given) for given in result.answers]
    return Learner(
        name=result.name,
        file=file,
        marked=tuple(each for each in marked if not each.late),
        late_answers=tuple(each for each in marked if each.late),
        finished=bool(result.finished),
    )


def _marked(made: WorkshopSet, given: Given) -> Marked:
    verdict = graded(made, given)
    said = "" if given.skipped else _in_words(made, given)
    return Marked(
        number=given.number,
        credit=0.0 if given.skipped else verdict.credit,
        said=said,
        taken_for="" if given.skipped else verdict.confused_with,
        skipped=given.skipped,
        late=made.minutes > 0 and given.at > made.minutes * 60 + GRACE,
        seconds=given.seconds,
        confidence=given.confidence,
    )


def _in_words(made: WorkshopSet, given: Given) -> str:
    """Return an answer as it reads: a letter's choice in words; all that pointed beside count as one."""
    if given.point is not None:
        return "pointed elsewhere"
    answer = recap.Given("", made.sheets[given.number - 1].choices, "", given.text, "", 0.0)
    return " ".join(recap.recapped(answer).said.split())[:80]


def _asked(made: WorkshopSet, entry: KeyEntry, blank: Verdict, learners: Sequence[Learner]) -> Asked:
    answers = [each for learner in learners for each in learner.marked if each.number == entry.number]
    wrong = Counter(each.said or "skipped" for each in answers if each.credit < 1)
    sheet = made.sheets[entry.number - 1]
    return Asked(
        number=entry.number,
        kind=sheet.kind,
        prompt=sheet.prompt,
        right_words=blank.right,
        decides=blank.decides,
        right=sum(each.credit >= 1 for each in answers),
        answered=len(answers),
        credit=sum(each.credit for each in answers),
        seconds=statistics.median(each.seconds for each in answers) if answers else 0.0,
        said=tuple(sorted(wrong.items(), key=lambda item: (-item[1], item[0]))),
    )


def _share(name: str, answers: Sequence[Marked]) -> Share:
    return Share(name, sum(each.credit >= 1 for each in answers), len(answers))


def who_was_there(room: Tally) -> str:
    """Say how many have finished, and how many have only begun."""
    done = sum(bool(learner.finished) for learner in room.learners)
    begun = len(room.learners) - done
    return f"{plural(done, 'learner')} finished" + (f", {begun} not finished" if begun else "")


def summary_lines(room: Tally) -> list[str]:
    """Return the tally as lines for a terminal 79 wide."""
    lines = [f"{room.title}: {who_was_there(room)}, {plural(room.total, 'question')}", ""]
    wide = max((len(who.name) for who in room.learners), default=4)
    wide = min(30, max(4, wide))
    lines.append(f"{'name':{wide}}  right  credit  s/answer  late")
    for who in room.learners:
        name = who.name if len(who.name) <= wide else who.name[: wide - 1] + "…"
        open_ = "" if who.finished else "  not finished"
        lines.append(f"{name:{wide}}  {who.right:5}  {who.credit:6.1f}  {who.seconds:8.1f}  {who.late:4}{open_}")
    lines += ["", "by skill, the weakest first"]
    for share in room.skills:
        low, high = share.interval
        figure = f"{share.right}/{share.asked}"
        lines.append(f"  {share.name[:44]:44} {figure:>7}  {share.part:4.0%}  ({low:.0%} to {high:.0%})")
    if room.confusions:
        lines += ["", "taken for something else"]
        lines += [f"  {true} for {said}: {count}" for true, said, count in room.confusions[:12]]
    if room.calibration:
        lines += ["", "how sure, and how right"]
        lines += [f"  {s.name:12} {s.right}/{s.asked}  {s.part:.0%}" for s in room.calibration]
    lines += ["", "to discuss"]
    by_number = {asked.number: asked for asked in room.questions}
    for number in room.discuss:
        asked = by_number[number]
        lines.append(f"  {number}. {asked.prompt}")
        lines.append(f"     right: {asked.right_words} ({asked.right} of {asked.answered})")
        lines += wrap(asked.decides, 79, initial_indent=" " * 5, subsequent_indent=" " * 5)
        lines += [f"     said: {said} ({count})" for said, count in asked.said[:3]]
    if not room.discuss:
        lines.append("  nothing: every answer was right")
    if room.refused:
        lines += ["", "not counted"]
        lines += [f"  {file}: {why}" for file, why in room.refused]
    return lines
