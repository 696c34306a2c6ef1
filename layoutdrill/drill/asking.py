"""Make the question that a plan foresees: draw, choose a kind and a look that shows what it asks, and ask."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from layoutdrill.cells.entry import EVERYTHING
from layoutdrill.dice import Dice
from layoutdrill.drill.history import skill_key
from layoutdrill.drill.plan import Draw
from layoutdrill.errors import FaultError, LayoutdrillError
from layoutdrill.picture.looks import Look, Style, load_look
from layoutdrill.question import HintStep, Question, QuestionKind, Specimen, ask_in_look, author_hint, kinds
from layoutdrill.question.hints import hints

FALLBACK_LOOKS = ("stick-colours", "reflected-light")
"""The looks that a question is shown in when neither the chosen one nor the deck's shows what it asks."""
_REDRAWS = 3
_TURNS = 16
_DRAWINGS, _APART = 3, 10
"""So many drawings are tried for a skill, their seeds so far apart that those of failed proofs do not meet."""

Maker = Callable[[Draw], Specimen]


def asked(draw: Draw, specimen: Specimen, dice: Dice, chosen: str, deck_look: str) -> Question:
    """
    Ask about a specimen: one of the kinds wanted where one fits, in the `chosen` look where that shows it.

    `chosen` is "" where no look hides anything. Raises LayoutdrillError where nothing can be asked.
    """
    known = kinds()
    chosen = draw.look if chosen and draw.look else chosen
    others = [name for name in (draw.kinds or tuple(known)) if name != draw.kind]
    others = dice.shuffled(others)
    wanted = [name for name in (draw.kind, *others) if name in known]
    last_resort = [name for name in known if name not in wanted]
    looks = _looks(chosen, deck_look)
    # A question that the deck asks for, in another look, rather than one that it does not ask for.
    ways = (*((n, k) for k in looks for n in wanted), *((n, k) for k in looks for n in last_resort))
    # Whatever trains the skill, by another of its kinds or in another look, before what trains another one.
    exact = [(name, look, draw.skill) for look in looks for name in wanted] if draw.skill else []
    for name, look, skill in (*exact, *((name, look, "") for name, look in ways)):
        question = _training(skill, known[name], specimen, dice, look, draw.ask if name == draw.kind else "")
        if question is not None:
            meant = not draw.kinds or name in draw.kinds  # a hint of the deck's helps with what the deck asks
            own = tuple(author_hint(text) for text in draw.hints) if meant else ()
            lit = look is not None and look.style is Style.REFLECTED and specimen.face.follows_light
            aid = hints((HintStep.AID,)) if lit else ()
            # What else was photographed of a place is no help but the evidence: it is seen from the start.
            useless = set() if specimen.face.follows_light else {HintStep.LIFT_METAL}
            offered = tuple(hint for hint in (*aid, *question.hints) if hint.step not in {*draw.help, *useless})
            if draw.words:
                question = replace(question, prompt=f"{draw.words} {question.prompt}")
            question = replace(question, hints=(*own, *offered), facts=(*_stages(specimen), *question.facts))
            question = _other_kind_told(question, draw.kinds)
            return _shown(_to_the_point(known[name], question), look, chosen)
    tried = f" in the look “{chosen}”, nor in another" if chosen else ""
    what = f"nothing can be asked about {draw.cell} in {draw.process}{tried}"
    raise LayoutdrillError(what, todo="pass over it, or choose another cell")


def asked_of_some(draw: Draw, make: Maker, dice: Dice, chosen: str, deck_look: str, worn: float = 0.0) -> Question:
    """
    Draw and ask; where the drawing has nothing of the skill that is to be trained, ask about another drawing, twice at
    most: the question of the first one is better than none. Raises LayoutdrillError as `asked` does.
    """
    first: Question | None = None
    for more in range(_DRAWINGS if draw.skill else 1):
        specimen = drawn_again(make, replace(draw, seed=draw.seed + _APART * more), worn)
        question = asked(draw, specimen, dice, chosen, deck_look)
        if not draw.skill or skill_key(question) == draw.skill:
            return question
        first = first or question
    assert first is not None
    return first


def _other_kind_told(question: Question, wanted: Sequence[str]) -> Question:
    """Tell it where a question is of another kind than any that was wanted: none of those finds something to ask."""
    if not wanted or question.kind in wanted:
        return question
    remark = f"“{'” or “'.join(wanted)}” finds nothing to ask about this drawing: here is another kind of question."
    return replace(question, facts=(remark, *question.facts))


def _stages(specimen: Specimen) -> tuple[str, ...]:
    """Tell which further pictures there are of a place that was photographed."""
    face = specimen.face
    return () if face.follows_light or not face.layers else (f"Also photographed: {', '.join(face.layers)}.",)


def _training(
    skill: str, kind: QuestionKind, specimen: Specimen, dice: Dice, look: Look | None, what: str
) -> Question | None:
    """Ask a kind until it asks for the skill that is to be trained, a few times over; "" takes whatever it asks."""
    for _ in range(_TURNS if skill else 1):
        question = ask_in_look(kind, specimen, dice, look, what)
        if question is None or not skill or skill_key(question) == skill:
            return question
    return None


def drawn_again(make: Maker, draw: Draw, worn: float = 0.0) -> Specimen:
    """
    Draw; where a drawing fails its proof, draw from the next seed, for a learner is never shown the failure.

    The die is `worn` from 0 to 1 where the draw does not say how.
    """
    wear = worn if draw.wear is None else draw.wear
    for more in range(_REDRAWS):
        try:
            return replace(make(replace(draw, seed=draw.seed + more)), wear=wear, stage=draw.stage)
        except FaultError:
            continue
    return replace(make(replace(draw, seed=draw.seed + _REDRAWS)), wear=wear, stage=draw.stage)


def _looks(chosen: str, deck_look: str) -> tuple[Look | None, ...]:
    """Return the looks to ask in, the chosen one first, then those that stand in for it."""
    if not chosen:
        return (None,)
    names = dict.fromkeys(name for name in (chosen, deck_look, *FALLBACK_LOOKS) if name)
    return tuple(load_look(name) for name in names)


def _to_the_point(kind: QuestionKind, question: Question) -> Question:
    """Leave out of the specimen what says nothing of the question; what counts also where it is plain."""
    specimen = question.specimen
    about = specimen.about if kind.tells_structure else ""
    boundary = specimen.boundary if kind.tells_boundary and specimen.boundary != EVERYTHING else ""
    return replace(question, specimen=replace(specimen, about=about, boundary=boundary))


def _shown(question: Question, look: Look | None, chosen: str) -> Question:
    """Tell it where a question is shown in another look than the chosen one."""
    if look is None or look.name == chosen or question.look:
        return question
    remark = f"Look: “{look.title}” here, since “{load_look(chosen).title}” hides what is asked."
    return replace(question, look=look.name, facts=(remark, *question.facts))
