"""What a record must hold to come back: a sitting that was left, and an answer to be graded again."""

from dataclasses import asdict
from pathlib import Path

from layoutdrill.brought import keep
from layoutdrill.deck import Deck, lesson_names, load_deck
from layoutdrill.deck.read import read_deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.drill.record import OF_THE_DAY, AnswerRecord, SittingRecord
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.printable import in_one_line
from layoutdrill.process import load_process
from layoutdrill.question import Answer, Hint, Question, Verdict, regrade
from layoutdrill.value import value
from layoutdrill.yamldoc import loads

PLACEMENT = Deck("placement", "Placement test", "A few questions from every lesson.", ())
"""Stands for the deck of a placement test, whose questions come from the lessons."""
TODAY = Deck(OF_THE_DAY, "Today", "What helps most just now, by what you have answered.", ())
"""Stands for the deck of a day's questions, whose cells come from the library."""
GLANCES = Deck("glance", "At a glance", "What you have mastered, seen for a moment.", ())
"""Stands for the deck of a series, whose cells come from the library."""


def makers_again(record: SittingRecord) -> tuple[Deck, dict[str, SpecimenMaker]]:
    """Return the deck and makers of a sitting that was left: its deck as it was then, or the lessons."""
    if record.sort == TODAY.name:
        return TODAY, {"": SpecimenMaker(TODAY)}
    if record.sort == GLANCES.name:
        return GLANCES, {"": SpecimenMaker(GLANCES)}
    if record.sort == "survey":
        from layoutdrill.drill.survey import SURVEY, DieMaker  # noqa: PLC0415 - few sittings are of a whole die

        return SURVEY, {"": DieMaker()}
    if record.sort == "placement":
        return PLACEMENT, {name: SpecimenMaker(load_deck(name)) for name in lesson_names()}
    anywhere = Path(Path.cwd().anchor)  # the files that it names are told by their whole paths
    deck, errors = read_deck(loads(record.deck_text, f"records, sitting {record.id}"), record.deck, anywhere)
    if errors:
        raise errors[0]
    maker = SpecimenMaker(deck, Path(record.kit) if record.kit else None)
    return deck, {record.deck if record.sort == "lesson" else "": maker}


def keep_brought(deck: Deck) -> None:
    """Keep the processes and looks that a deck brings, so that its answers can be looked at without it."""
    for name, path in deck.brought.items():
        try:
            keep(name)
        except OSError as error:
            what = f"a copy cannot be kept with the records ({error.strerror})"
            raise LayoutdrillError(what, where=Where(str(path)), todo="free the disk") from None


@value
class Effort:
    """
    What an answer took: the time, the hints, the credit before they were paid for (None where the question was
    skipped), and how sure one was, from 1 to 3.
    """

    seconds: float
    hints: tuple[Hint, ...] = ()
    earned: float | None = None
    confidence: int | None = None


def answer_record(
    question: Question, answer: Answer, verdict: Verdict, effort: Effort, *, sitting: int, number: int
) -> AnswerRecord:
    """Put an answer with its question and face into a record that needs nothing else to be understood."""
    specimen = question.specimen
    return AnswerRecord(
        sitting=sitting,
        number=number,
        lesson="",
        kind=question.kind,
        cell=specimen.cell,
        process=specimen.process.name,
        structure=specimen.structure,
        drawing_seed=specimen.seed,
        layout=specimen.face.text(),
        question={
            "prompt": question.prompt,
            "choices": list(question.choices),
            "facts": list(question.facts),
            "marks": [[mark.letter, mark.x, mark.y, mark.ring, mark.words] for mark in question.marks],
            "pointed": question.pointed,
            "typed": question.typed,
            "key": question.key.json(),
            "boundary": specimen.boundary,
            "aliases": list(specimen.aliases),
            "about": specimen.about,
            "stage": specimen.stage,
            "place": "" if answer.point is None else specimen.face.unit.at(*answer.point),
        },
        given=in_one_line(answer.text),
        point=answer.point,
        skipped=effort.earned is None,
        hints=tuple(hint.step.value for hint in effort.hints),
        seconds=round(effort.seconds, 3),
        credit=verdict.credit,
        verdict=asdict(verdict),
        earned=effort.earned or 0.0,
        confidence=effort.confidence,
    )


def regraded(record: AnswerRecord) -> Verdict:
    """
    Grade an old answer again, from its own layout and key, before the cost of hints.

    Raises LayoutdrillError for a kind of question that is no more, and for a damaged record.
    """
    key = record.question["key"]
    assert isinstance(key, dict)
    answer = Answer(record.given, record.point)
    return regrade(record.kind, key, record.layout, load_process(record.process), answer)
