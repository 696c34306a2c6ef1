"""The kinds of question there are, each imported when it is first asked, graded or listed with its title."""

from collections.abc import Iterator, Mapping
from functools import cache
from importlib import import_module

from layoutdrill.dice import Dice
from layoutdrill.picture.looks import Look
from layoutdrill.question.evidence_rule import ask_in_look
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Specimen

TABLE: Mapping[str, str] = {
    "name": "name.Name",
    "count": "count.Count",
    "spot": "spot.Spot",
    "point": "point.Point",
    "rails": "rails.Rails",
    "same net": "same_net.SameNet",
    "polarity": "polarity.Polarity",
    "turned or not": "turned.Turned",
    "dust or contact": "dirt.DirtOrContact",
    "across a seam": "seam.AcrossSeam",
    "two stages": "two_stages.TwoStages",
    "table": "table.Table",
    "function": "function.Function",
    "transcribe": "transcribe.Transcribe",
    "sequence": "sequence.Sequence",
    "address": "address.Address",
    "ratio": "ratio.Ratio",
    "measurement": "measurement.Measurement",
    "other convention": "convention.Convention",
    "reading check": "reading_check.ReadingCheck",
    "process": "which_process.WhichProcess",
    "block": "block.Block",
    "board log": "board_log.BoardLog",
    "fault": "fault.Fault",
    "undecided": "undecided.Undecided",
}
"""Each kind's name, module and class, in the order in which a newcomer meets them."""


class _Kinds(Mapping[str, QuestionKind]):
    """The kinds by name, each made when first looked up."""

    def __init__(self) -> None:
        self._made: dict[str, QuestionKind] = {}

    def __getitem__(self, name: str) -> QuestionKind:
        if name not in self._made:
            module, _, kind = TABLE[name].partition(".")
            self._made[name] = getattr(import_module(f"layoutdrill.question.{module}"), kind)()
        return self._made[name]

    def __contains__(self, name: object) -> bool:
        return name in TABLE

    def __iter__(self) -> Iterator[str]:
        return iter(TABLE)

    def __len__(self) -> int:
        return len(TABLE)


@cache
def kinds() -> Mapping[str, QuestionKind]:
    """Return every kind by name. A kind that leaves out one of its rules cannot be made, and raises TypeError."""
    return _Kinds()


def fitting_kinds(specimen: Specimen, look: Look | None = None) -> tuple[str, ...]:
    """Return the names of the kinds that can ask something about the specimen, and that the look (if any) allows."""
    asked = ((name, ask_in_look(kind, specimen, Dice(0), look)) for name, kind in kinds().items())
    return tuple(name for name, question in asked if question is not None)
