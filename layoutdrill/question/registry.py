"""The kinds of question there are."""

from random import Random

from layoutdrill.picture.looks import Look
from layoutdrill.question.count import Count
from layoutdrill.question.hidden import ask_in_look
from layoutdrill.question.model import QuestionKind, Specimen
from layoutdrill.question.name import Name
from layoutdrill.question.point import Point
from layoutdrill.question.polarity import Polarity
from layoutdrill.question.rails import Rails
from layoutdrill.question.same_net import SameNet
from layoutdrill.question.spot import Spot


def kinds() -> dict[str, QuestionKind]:
    """Return every kind by name, in the order in which a newcomer meets them."""
    found: tuple[QuestionKind, ...] = (Name(), Count(), Spot(), Point(), Rails(), SameNet(), Polarity())
    return {kind.name: kind for kind in found}


def fitting_kinds(specimen: Specimen, look: Look | None = None) -> tuple[str, ...]:
    """Return the names of the kinds that can ask something about the specimen, and that the look (if any) allows."""
    found = ((name, ask_in_look(kind, specimen, Random(0), look)) for name, kind in kinds().items())  # noqa: S311
    return tuple(name for name, question in found if question is not None)
