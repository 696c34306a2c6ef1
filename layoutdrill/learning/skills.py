"""
The skills there are: a subject in a group of kinds, as the lessons bring them, each with what comes before it.

Process, look, light, wear, difficulty and help are variety within a skill. So a learner has about eighty things to
learn, not thousands of pictures.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence

from layoutdrill.value import value

MOST = 88
"""About eighty are what one can keep in hand: of what comes beyond the lessons the last are left to their decks."""
BEYOND = 99
"""Stands for the number of a lesson where a skill comes after all of them, from a deck."""
SEEN: Mapping[str, tuple[str, ...]] = {
    "layers": ("spot",),
    "contact": ("spot", "point", "count"),
    "crossing": ("spot", "point", "count"),
    "transistor": ("spot", "count"),
    "n and p": ("polarity", "point"),
    "rails": ("rails", "point"),
    "nets": ("same net", "point"),
    "via": ("spot", "point"),
    "tap": ("spot", "point"),
    "crossunder": ("spot",),
    "guard ring": ("spot",),
    "loads": ("polarity", "point"),
    "turned or mirrored": ("turned or not",),
    "dirt": ("dust or contact",),
    "seams": ("across a seam",),
    "stages": ("two stages",),
    "plan of a die": ("block",),
}
"""What can be seen on a layout, in the order of learning, and the kinds of question that ask for it."""
APART: Mapping[str, str] = {"process": "processes", "undecided": "evidence", "fault": "faults", "board log": "logs"}
"""Kinds of question that train one thing of their own, whatever structure they are asked about, and what it is."""
ALIKE: tuple[tuple[str, str], ...] = (
    ("contact", "crossing"),
    ("crossing", "transistor"),
    ("contact", "transistor"),
    ("contact", "via"),
    ("contact", "tap"),
    ("crossing", "crossunder"),
    ("rails", "nets"),
    ("contact", "dirt"),
)
"""What is mistaken for what among things seen (common practice)."""


@value
class Skill:
    """
    A skill. `group` is a group of kinds, `subject` what is seen or the family of structures; `lesson` the number of the
    lesson that brings it, from 1; `cells` and `kinds` what it is practised on and by; `since` by which lesson each of
    these kinds is first asked.
    """

    group: str
    subject: str
    lesson: int
    cells: tuple[str, ...]
    kinds: tuple[str, ...]
    since: tuple[int, ...] = ()

    @property
    def key(self) -> str:
        return f"{self.group}: {self.subject}"

    def asked_by(self, begun: Collection[int]) -> tuple[str, ...]:
        """Return the kinds that its own lesson, or another that was begun, has brought."""
        met = zip(self.kinds, self.since, strict=True) if self.since else ()
        return tuple(kind for kind, lesson in met if lesson == self.lesson or lesson in begun) or self.kinds


@value
class Offer:
    """
    What a lesson asks: its number (`BEYOND` of a deck that comes after all of them), and of one of its items the cells
    by family, and the kinds by group.
    """

    lesson: int
    cells: Mapping[str, tuple[str, ...]]
    kinds: Mapping[str, tuple[str, ...]]


def skills_of(offers: Iterable[Offer]) -> tuple[Skill, ...]:
    """
    Return the skills that lessons bring, in the order of the lessons; each belongs to the first lesson that asks it.

    Of the group `see`, the subjects are those of `SEEN` that a lesson's kinds can ask.
    """
    skills: dict[str, Skill] = {}
    for offer in sorted(offers, key=lambda each: each.lesson):
        for group, kinds in offer.kinds.items():
            subjects = _seen(kinds, offer) if group == "see" else _read(kinds, offer)
            for subject, (cells, asked_by) in subjects.items():
                key = f"{group}: {subject}"
                known = skills.get(key)
                if known is None:
                    since = (offer.lesson,) * len(asked_by)
                    skills[key] = Skill(group, subject, offer.lesson, cells, asked_by, since)
                else:
                    more = tuple(dict.fromkeys((*known.cells, *cells)))
                    new = tuple(kind for kind in asked_by if kind not in known.kinds)
                    since = (*known.since, *(offer.lesson for _ in new))
                    skills[key] = Skill(group, subject, known.lesson, more, (*known.kinds, *new), since)
    ordered = sorted(skills.values(), key=lambda skill: (skill.lesson, _rank(skill)))
    return tuple(ordered[:MOST])


def _seen(kinds: Sequence[str], offer: Offer) -> dict[str, tuple[tuple[str, ...], tuple[str, ...]]]:
    cells = tuple(name for names in offer.cells.values() for name in names)
    return {
        subject: (cells, tuple(kind for kind in ways if kind in kinds))
        for subject, ways in SEEN.items()
        if any(kind in kinds for kind in ways)
    }


def _read(kinds: Sequence[str], offer: Offer) -> dict[str, tuple[tuple[str, ...], tuple[str, ...]]]:
    """Return the families of structures that kinds ask, and what those kinds train that train one thing alone."""
    common = tuple(kind for kind in kinds if kind not in APART)
    subjects = {family: (cells, common) for family, cells in offer.cells.items()} if common else {}
    cells = tuple(name for names in offer.cells.values() for name in names)
    return subjects | {APART[kind]: (cells, (kind,)) for kind in kinds if kind in APART}


def _rank(skill: Skill) -> tuple[int, int]:
    groups = ("see", "name", "work out", "write")
    order = list(SEEN)
    return groups.index(skill.group) if skill.group in groups else len(groups), (
        order.index(skill.subject) if skill.subject in order else 0
    )


def ready(skill: Skill, skills: Sequence[Skill], begun: frozenset[str]) -> bool:
    """
    Tell whether a skill's turn has come: nothing comes before the first lesson; of a later one most of the skills of
    the lessons before have been begun.
    """
    before = [each for each in skills if each.lesson < skill.lesson]
    return not before or sum(each.key in begun for each in before) >= 0.75 * len(before)


def look_alikes(skill: Skill, skills: Sequence[Skill], pairs: Iterable[tuple[str, str]]) -> tuple[Skill, ...]:
    """Return the skills of the same group whose subject is mistaken for this one's; `pairs` are of structures."""
    partners = {b if a == skill.subject else a for a, b in (*pairs, *ALIKE) if skill.subject in (a, b)}
    return tuple(each for each in skills if each.group == skill.group and each.subject in partners)
