"""Skills from lessons: each once, in the order of the lessons, at most eighty."""

from layoutdrill.learning.skills import MOST, Offer, look_alikes, ready, skills_of
from tests.learning.make import CONTACT, CROSSING, LAYERS, NAND, NOR, SKILLS

OFFERS = (
    Offer(2, {"NAND": ("nand2", "nand3"), "NOR": ("nor2",)}, {"name": ("name",), "see": ("rails",)}),
    Offer(1, {"NAND": ("nand2",)}, {"see": ("spot",)}),
    Offer(3, {"NAND": ("nand4",)}, {"name": ("name",), "work out": ("function",)}),
)


def test_a_skill_belongs_to_the_first_lesson_that_asks_it():
    """NAND is named from lesson 2 on; later cells join it; its function is a skill of its own."""
    skills = {skill.key: skill for skill in skills_of(OFFERS)}
    assert skills["name: NAND"].lesson == 2
    assert skills["name: NAND"].cells == ("nand2", "nand3", "nand4")
    assert skills["work out: NAND"].lesson == 3
    assert skills["see: contact"].lesson == 1
    assert skills["see: rails"].kinds == ("rails",)
    assert list(skills) == sorted(skills, key=lambda key: skills[key].lesson)


def test_a_kind_is_asked_once_a_lesson_that_brings_it_was_begun():
    """Lesson 1 rings contacts, lesson 4 counts them: who has begun 1 and 6 is not asked to count."""
    cells = {"NAND": ("nand2",)}
    offers = (Offer(1, cells, {"see": ("spot",)}), Offer(4, cells, {"see": ("count",)}))
    contact = next(skill for skill in skills_of(offers) if skill.key == "see: contact")
    assert (contact.kinds, contact.since) == (("spot", "count"), (1, 4))
    assert contact.asked_by({1, 6}) == ("spot",)
    assert contact.asked_by(()) == ("spot",)
    assert contact.asked_by({1, 4}) == ("spot", "count")


def test_there_are_never_more_than_eighty():
    """A learner can keep about eighty things in hand."""
    many = Offer(1, {f"thing {n}": ("x",) for n in range(200)}, {"name": ("name",)})
    assert len(skills_of([many])) == MOST


def test_what_comes_before_is_begun_first():
    """Most of the earlier lessons' skills, not each single one."""
    assert ready(LAYERS, SKILLS, frozenset())
    assert not ready(NAND, SKILLS, frozenset({LAYERS.key}))
    assert ready(NAND, SKILLS, frozenset({LAYERS.key, CONTACT.key, CROSSING.key}))


def test_look_alikes_are_of_the_same_group():
    """A contact's is a crossing; a NAND's is whatever the trade's table says."""
    assert look_alikes(CONTACT, SKILLS, ()) == (CROSSING,)
    assert look_alikes(NAND, SKILLS, [("NAND", "NOR")]) == (NOR,)
