"""Between the records and what learning sees of them: the skills that the lessons bring, and one's answers to them."""

from collections.abc import Collection, Iterable
from dataclasses import replace
from functools import cache

from layoutdrill.cells import cell_names, load_cell
from layoutdrill.deck import Deck, deck_covers, lesson_names, load_deck
from layoutdrill.drill.answered import learning_rows
from layoutdrill.drill.record import LearningRow
from layoutdrill.drill.records import Records
from layoutdrill.learning.attempt import Attempt
from layoutdrill.learning.skills import BEYOND, Offer, Skill, skills_of
from layoutdrill.question import Question, kinds
from layoutdrill.question.kind import Group
from layoutdrill.recognise.terms import family

MOST_EACH = 24
"""So many of a skill's last answers decide how it stands: enough for memory and mastery, and soon read."""


def skill_key(question: Question) -> str:
    """Return the key of the skill that a question trains, "" where none is known."""
    kind = kinds()[question.kind]
    subject = kind.subject(question)
    return f"{kind.group.value}: {subject}" if subject else ""


@cache
def syllabus() -> tuple[Skill, ...]:
    """
    Return the skills of the lessons that ship, and after them those structures to be named that only decks bring. Slow
    at first: it reads every lesson and deck.
    """
    taught = [offer for name in lesson_names() for offer in offers_of(load_deck(name))]
    known = {(group, subject) for offer in taught for group in offer.kinds for subject in offer.cells}
    return skills_of([*taught, *(offer for deck in _practised() for offer in _beyond(deck, known))])


def _practised() -> Iterable[Deck]:
    """Yield the decks that ship, that anyone can draw, and that may be practised: switches first, borders last."""
    for cover in reversed(deck_covers()):
        if not (cover.kept or cover.kit):
            yield load_deck(cover.name)


def _beyond(deck: Deck, known: Collection[tuple[str, str]]) -> Iterable[Offer]:
    """Yield what a deck asks to be named of the library that no lesson asks."""
    for offer in offers_of(replace(deck, lesson=BEYOND), own=False):
        for group, kinds_ in offer.kinds.items():
            cells = {subject: cells for subject, cells in offer.cells.items() if (group, subject) not in known}
            if group == Group.NAME.value and cells:
                yield Offer(BEYOND, cells, {group: kinds_})


@cache
def lesson_titles() -> dict[int, str]:
    """Return the titles of lessons by number, and a title for what comes after them."""
    return {deck.lesson or 0: deck.title for deck in map(load_deck, lesson_names())} | {BEYOND: "Beyond the lessons"}


def offers_of(lesson: Deck, *, own: bool = True) -> Iterable[Offer]:
    """
    Yield what each item of a lesson asks; an item without kinds asks any, which brings no skill of its own. Without
    `own` only cells of the library are counted.
    """
    known = kinds()
    for item in lesson.items:
        cells: dict[str, tuple[str, ...]] = {}
        for name in item.cells:
            if not own and (name not in cell_names() or name in lesson.cells):
                continue
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
    return Attempt(
        skill=row.skill,
        at=row.at,
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
