"""The kinds of question there are."""

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from layoutdrill.dice import Dice
from layoutdrill.picture.looks import Look
from layoutdrill.question.address import Address
from layoutdrill.question.convention import Convention
from layoutdrill.question.count import Count
from layoutdrill.question.dirt import DirtOrContact
from layoutdrill.question.evidence_rule import ask_in_look
from layoutdrill.question.function import Function
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.measurement import Measurement
from layoutdrill.question.model import Specimen
from layoutdrill.question.name import Name
from layoutdrill.question.point import Point
from layoutdrill.question.polarity import Polarity
from layoutdrill.question.rails import Rails
from layoutdrill.question.ratio import Ratio
from layoutdrill.question.reading_check import ReadingCheck
from layoutdrill.question.same_net import SameNet
from layoutdrill.question.seam import AcrossSeam
from layoutdrill.question.sequence import Sequence
from layoutdrill.question.spot import Spot
from layoutdrill.question.table import Table
from layoutdrill.question.transcribe import Transcribe
from layoutdrill.question.turned import Turned
from layoutdrill.question.two_stages import TwoStages
from layoutdrill.question.undecided import Undecided
from layoutdrill.question.which_process import WhichProcess

TABLE: tuple[type[QuestionKind], ...] = (
    Name,
    Count,
    Spot,
    Point,
    Rails,
    SameNet,
    Polarity,
    Turned,
    DirtOrContact,
    AcrossSeam,
    TwoStages,
    Table,
    Function,
    Transcribe,
    Sequence,
    Address,
    Ratio,
    Measurement,
    Convention,
    ReadingCheck,
    WhichProcess,
    Undecided,
)
"""In the order in which a newcomer meets them."""


@cache
def kinds() -> Mapping[str, QuestionKind]:
    """Return every kind by name. A kind that leaves out one of its rules cannot be made, and raises TypeError."""
    return MappingProxyType({kind.name: kind() for kind in TABLE})


def fitting_kinds(specimen: Specimen, look: Look | None = None) -> tuple[str, ...]:
    """Return the names of the kinds that can ask something about the specimen, and that the look (if any) allows."""
    asked = ((name, ask_in_look(kind, specimen, Dice(0), look)) for name, kind in kinds().items())
    return tuple(name for name, question in asked if question is not None)
