"""Between the records and what learning sees of them: the skills that the lessons bring, and one's answers to them."""

from collections.abc import Iterable
from datetime import UTC, datetime
from functools import cache

from layoutdrill.cells import load_cell
from layoutdrill.deck import Deck, lesson_names, load_deck
from layoutdrill.drill.answered import learning_rows
from layoutdrill.drill.record import LearningRow
from layoutdrill.drill.records import Records
from layoutdrill.learning.attempt import Attempt
from layoutdrill.learning.skills import Offer, Skill, skills_of
from layoutdrill.question import Question, kinds
from layoutdrill.recognise.terms import family

MOST_EACH = 40
"""So many of a skill's last answers decide how it stands."""


def skill_key(question: Question) -> str:
    """Return the key of the skill that a question trains, "" where none is known."""
    kind = kinds()[question.kind]
    subject = kind.subject(question)
    return f"{kind.group.value}: {subject}" if subject else ""


@cache
def syllabus() -> tuple[Skill, ...]:
    """Return the skills of the lessons that ship. Slow at first: it reads every lesson."""
    return skills_of(offer for name in lesson_names() for offer in offers_of(load_deck(name)))


@cache
def lesson_titles() -> dict[int, str]:
    return {deck.lesson or 0: deck.title for deck in map(load_deck, lesson_names())}


def offers_of(lesson: Deck) -> Iterable[Offer]:
    """Yield what each item of a lesson asks; an item without kinds asks any, which brings no skill of its own."""
    known = kinds()
    for item in lesson.items:
        cells: dict[str, tuple[str, ...]] = {}
        for name in item.cells:
            key = family(lesson.cell(name).structure)
            cells[key] = (*cells.get(key, ()), name)
        groups: dict[str, tuple[str, ...]] = {}
        for kind in item.kinds:
            group = known[kind].group.value
            groups[group] = (*groups.get(group, ()), kind)
        if groups:
            yield Offer(lesson.lesson or 0, cells, groups)


def attempts(records: Records, most: int = MOST_EACH) -> tuple[Attempt, ...]:
    """Return one's answers as learning sees them, the last `most` of each skill, in the order they were given."""
    return tuple(_attempt(row) for row in learning_rows(records, most))


def _attempt(row: LearningRow) -> Attempt:
    at = datetime.fromisoformat(row.at)
    return Attempt(
        skill=row.skill,
        at=at.astimezone(UTC) if at.tzinfo else at.replace(tzinfo=UTC),
        right=row.earned >= 1,
        seconds=row.seconds,
        kind=row.kind,
        aided=row.aided and not row.hints,
        hints=row.hints,
        skipped=row.skipped,
        unseen=row.unseen,
        said=family(row.said) if row.said else "",
        variety=f"{row.process} {row.look} {round(4 * row.wear)}",
        confidence=row.confidence,
    )


def look_alike_pairs(skills: Iterable[Skill]) -> tuple[tuple[str, str], ...]:
    """Return the families of structures that the library says are mistaken for each other."""
    pairs: dict[tuple[str, str], None] = {}
    for skill in skills:
        if skill.group == "see":
            continue
        for name in skill.cells[:2]:
            for other in load_cell(name).mistaken_for:
                partner = family(load_cell(other.cell).structure)
                if partner != skill.subject:
                    pairs[skill.subject, partner] = None
    return tuple(pairs)
