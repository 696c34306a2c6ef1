"""What “unfair” means, as code: the masks, and checks by kind, in none of which a kind judges itself."""

from tests.question.fairness import die, seen, worked
from tests.question.fairness.answers import choices, grade, right_answers
from tests.question.fairness.masks import WELLS, Oracle, oracle_for
from tests.question.fairness.worked import netlist_graph

__all__ = ["CHECKS", "WELLS", "Oracle", "grade", "netlist_graph", "right_answers", "unfair"]


def unfair(kind, question, oracle=None):
    """Return what is unfair about a question, an empty list where it is fair; an oracle of its specimen may be used."""
    found = []
    if len(question.prompt) > 160:
        found.append(f"prompt of {len(question.prompt)} letters")
    if len(set(question.choices)) != len(question.choices):
        found.append(f"a choice twice: {question.choices}")
    found += choices(kind, question)
    found += CHECKS[kind.name](kind, question, oracle_for(question.specimen, oracle))
    return found


CHECKS = {
    "fault": die.fault,
    "block": die.block,
    "board log": die.block,
    "dust or contact": die.dirt,
    "across a seam": die.seam,
    "two stages": die.stages,
    "measurement": worked.measurement,
    "other convention": worked.convention,
    "reading check": worked.reading_check,
    "process": die.process,
    "undecided": die.undecided,
    "ratio": worked.ratio,
    "address": worked.address,
    "sequence": worked.sequence,
    "transcribe": worked.transcribe,
    "table": worked.table,
    "function": worked.function,
    "turned or not": seen.turned,
    "name": seen.name,
    "count": seen.count,
    "spot": seen.spot,
    "point": seen.point,
    "rails": seen.rails,
    "same net": seen.same_net,
    "polarity": seen.polarity,
}
