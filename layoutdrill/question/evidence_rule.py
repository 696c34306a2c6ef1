"""
The evidence rule for questions: what a look does not show is told with the question, or the question is refused.

Each question needs certain facts, as its kind says. A hidden one is told where that leaves something to read (which
rail is which, of which kind one row is); where telling it would be the answer, or it cannot be told in a line, the
question is refused.
"""

from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import Light
from layoutdrill.picture.evidence import TEXT, Fact, facts_of
from layoutdrill.picture.looks import Look, load_look
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Question, Specimen

TELLABLE = frozenset({Fact.KIND, Fact.RAILS, Fact.KINDS_APART, Fact.WELL})
"""Facts that can be told in a line: everything else must be seen."""
TRIES = 8
"""How often a kind is asked anew for a question that the look allows."""


class HiddenFactError(LayoutdrillError):
    """The look does not show what the question asks for, and telling it would be the answer."""


def tell_hidden_facts(kind: QuestionKind, question: Question, look: Look) -> Question:
    """
    Return the question with whatever the look hides told in `facts`; raises HiddenFactError where it must be refused.

    Asked of a question that has been told its facts already, it returns it as it is. A question that has a look of its
    own is judged in that one.
    """
    specimen = question.specimen
    look = load_look(question.look) if kind.own_look else look
    needed = kind.needs(question) & facts_of(specimen.process)
    light = Light(look, specimen.seed or 0, specimen.wear, stage=specimen.stage)
    scale, hidden = _closest(question, light, needed)
    question = replace(question, scale=max(scale, question.scale))
    if not hidden:
        return _with_facts(question, specimen.face.shades(light) if needed & TELLABLE else ())
    if hidden - TELLABLE:
        named = ", ".join(sorted(TEXT[fact] for fact in hidden - TELLABLE))
        raise HiddenFactError(f"the look “{look.name}” does not show {named}", todo="choose another look")
    telling = kind.tell(question, hidden)
    if telling is None:
        named = ", ".join(sorted(TEXT[fact] for fact in hidden))
        what = f"the look “{look.name}” does not show {named}, and to tell it would be the answer"
        raise HiddenFactError(what, todo="choose another look")
    return _with_facts(question, telling)


def _closest(question: Question, light: Light, needed: frozenset[Fact]) -> tuple[int, frozenset[Fact]]:
    """
    Return the least scale at which the picture shows all of what is needed that cannot be told, and what it then still
    hides; 0 where any scale does, and where none does.
    """
    face = question.specimen.face
    usual = needed - face.shows(light, needed)
    if not usual - TELLABLE:
        if not light.wear or not needed - face.shows(replace(light, scale=2), needed) - TELLABLE:
            return 0, usual
        return USUAL_SCALE, usual
    for scale in CLOSER:
        hidden = needed - face.shows(replace(light, scale=scale), needed)
        if not hidden - TELLABLE:
            return scale, hidden
    return 0, usual


USUAL_SCALE, CLOSER = 3, (4, 6, 8)
"""Pixels per λ at which questions are judged, and those at which one opens where that is not enough."""


def _with_facts(question: Question, telling: tuple[str, ...]) -> Question:
    new = tuple(fact for fact in telling if fact not in question.facts)
    return replace(question, facts=(*question.facts, *new)) if new else question


def ask_in_look(
    kind: QuestionKind, specimen: Specimen, dice: Dice, look: Look | None, what: str = ""
) -> Question | None:
    """
    Ask for a question that the look allows, with what it hides told; of the sort `what`, where that is given. None
    where none was found.
    """
    if look is not None and not kind.own_look:
        light = Light(look, specimen.seed or 0, specimen.wear, stage=specimen.stage)
        if kind.untold - specimen.face.shows(light, kind.untold):
            return None
    for _ in range(TRIES if look is not None else 1):
        question = kind.ask_for(what, specimen, dice) if what else kind.ask(specimen, dice)
        if question is None or look is None:
            return question
        if not kind.on_dirt and not _clear(kind, question, look):
            continue
        try:
            return tell_hidden_facts(kind, question, look)
        except HiddenFactError:
            continue
    return None


def _clear(kind: QuestionKind, question: Question, look: Look) -> bool:
    """Tell whether no mark, and nothing else that must be seen, lies under dust in the look of the question."""
    specimen = question.specimen
    light = Light(
        load_look(question.look) if question.look else look, specimen.seed or 0, specimen.wear, stage=specimen.stage
    )
    return all(specimen.face.is_clear(light, x, y) for x, y in kind.kept_clear(question))
