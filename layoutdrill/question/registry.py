"""The kinds of question there are."""

from layoutdrill.question.count import Count
from layoutdrill.question.model import QuestionKind, Specimen
from layoutdrill.question.name import Name


def kinds() -> dict[str, QuestionKind]:
    """Return every kind by name, in the order in which a newcomer meets them."""
    found: tuple[QuestionKind, ...] = (Name(), Count())
    return {kind.name: kind for kind in found}


def fitting_kinds(specimen: Specimen) -> tuple[str, ...]:
    """Return the names of the kinds that can ask something about the specimen."""
    from random import Random  # noqa: PLC0415

    return tuple(name for name, kind in kinds().items() if kind.ask(specimen, Random(0)) is not None)  # noqa: S311
