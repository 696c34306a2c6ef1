"""Attempts for tests, told by day."""

from datetime import UTC, datetime, timedelta

from layoutdrill.learning.attempt import Attempt
from layoutdrill.learning.skills import Skill

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
NAND = Skill("name", "NAND", 5, ("nand2",), ("name",))
NOR = Skill("name", "NOR", 5, ("nor2",), ("name",))
CONTACT = Skill("see", "contact", 2, ("nand2",), ("spot",))
CROSSING = Skill("see", "crossing", 2, ("nand2",), ("spot",))
LAYERS = Skill("see", "layers", 1, ("nand2",), ("spot",))
LATCH = Skill("name", "latch", 8, ("latch",), ("name",))
SKILLS = (LAYERS, CONTACT, CROSSING, NAND, NOR, LATCH)


def attempt(skill=NAND, day=0.0, right=True, **more):
    """Return an answer on a day (with its fraction) from the start."""
    fields = {"seconds": 4.0, "kind": "name", "variety": f"look {day}"} | more
    return Attempt(skill.key, START + timedelta(days=day), right, **fields)


def at(day):
    return START + timedelta(days=day)
