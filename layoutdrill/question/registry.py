"""The kinds of question there are."""

from random import Random

from layoutdrill.question.count import Count
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


def fitting_kinds(specimen: Specimen) -> tuple[str, ...]:
    """Return the names of the kinds that can ask something about the specimen."""
    return tuple(name for name, kind in kinds().items() if kind.ask(specimen, Random(0)) is not None)  # noqa: S311
