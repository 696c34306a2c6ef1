"""Can this be told from this picture? And if not, what would decide it?"""

from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import DrawnFace, Face, Light
from layoutdrill.face.materials import Material
from layoutdrill.netlist.model import Kind
from layoutdrill.picture.evidence import TEXT, Fact, Sight, facts_of, shown, tinted
from layoutdrill.picture.looks import Style, load_look
from layoutdrill.picture.palette import LOTS
from layoutdrill.picture.stages import Stage
from layoutdrill.process import load_process
from layoutdrill.process.films import load_films
from layoutdrill.question.choices import LETTERS, blank, letter_of, nonempty, shuffled, unanswered
from layoutdrill.question.hints import author_hint, hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Answer, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.neighbours import border_told
from layoutdrill.value import value

NEEDLESS_CREDIT = 0.5
"""A means that would show it, where the picture shows it already."""
OTHER_MEANS_CREDIT = 0.25
"""Right that the picture does not tell, but the means chosen would not either."""
_SCALE = 3
_FURTHER, _CLOSER, _NEAREST = 2, 6, 8
"""Pixels per λ at which a picture must still tell, and must not tell yet: what is on the edge is not asked."""
_SHADES_KNOWN = (
    "Known is which of two shades would be n, and that p transistors hang on the high rail; what wells, loads or the "
    "circuit suggest is left out."
)
_CIRCUIT_KNOWN = (
    "Known is that p transistors hang on the high rail; what wells, loads or the circuit suggest is left out."
)
_AS_IT_IS = "reflected-light"
"""Stands for the light of a photograph, which is what it is."""
_STEPS = (HintStep.DEVICES,)
_ADVICE = (
    "Metal is opaque to light from below, and in dark field whatever is flat is black. What differs in this picture?"
)


class Means(StrEnum):
    """What may decide it; the values are the words of the choices."""

    PICTURE = "this picture tells it"
    NEARER = "a closer view of the same"
    CLEANER = "a cleaner die in the same light"
    REFLECTED = "the same place in reflected light"
    METAL_OFF = "taking the metal off"
    BELOW = "light from below"
    STAIN = "a junction stain on the bare silicon"
    PADS = "tracing the rails to their pads and pins"


_WORDS = {
    "picture": Means.PICTURE, "yes": Means.PICTURE, "closer": Means.NEARER, "nearer": Means.NEARER,
    "cleaner": Means.CLEANER,
    "reflected": Means.REFLECTED, "metal": Means.METAL_OFF, "removal": Means.METAL_OFF, "below": Means.BELOW,
    "transmitted": Means.BELOW, "stain": Means.STAIN, "pads": Means.PADS, "pad": Means.PADS, "pins": Means.PADS,
}  # fmt: skip
_LOOKS: Mapping[str, str] = {
    "reflected-light": "in reflected light",
    "dark-field": "in dark field",
    "transmitted-light": "in light from below",
}
_ASKED: Mapping[Fact, str] = {
    Fact.KIND: "whether the transistor at X is n or p",
    Fact.UNDER_METAL: "whether the diffusion runs on below the metal at X",
    Fact.POLY_UNDER_METAL: "whether the poly runs on below the metal at X",
    Fact.CONTACT: "whether the metal at X has a contact below it",
    Fact.RAILS: "which of the two rails is the high one",
}
_BY_WAY_OF = {Fact.RAILS: (Fact.KIND,)}
"""What tells a fact by way of another: p transistors hang on the high rail."""
_BEYOND_THE_PICTURE = frozenset({Fact.RAILS})
"""What a pad decides, and no picture of this place alone need show."""


@value
class UndecidedKey(Key):
    """What is asked, in which picture (look, lot, wear), and the means that are offered, in their words."""

    fact: str
    look: str
    lot: int
    wear: float
    right: str
    choices: tuple[str, ...]


class Undecided(QuestionKind):
    """
    Say whether a picture decides something, and what would.

    Graded by the evidence rule itself: each means is a picture (metal off, light from below, stained), and shows it or
    not. Half for a means that would show it where the picture does already, for what is removed does not come back; a
    quarter for knowing that the picture does not tell, with a means that would not either.
    """

    name = "undecided"
    title = "Say whether the picture decides it, and what would"
    key_type = UndecidedKey
    own_look = True
    partly = (
        (NEEDLESS_CREDIT, "it would show it, for more than it takes"),
        (OTHER_MEANS_CREDIT, "that this picture does not tell is right"),
    )

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        face = specimen.face
        if not face.follows_light:
            return self._of_photograph(specimen, dice)
        if type(face) is not DrawnFace:
            return None
        clear = load_films(face.process).base == "sapphire"
        looks = [name for name in _LOOKS if clear or name != "transmitted-light"]
        known = facts_of(face.process)
        options = [(look, fact) for look in looks for fact in _ASKED if fact in known]
        for wanted in dice.shuffled([True, False]):
            for look, fact in dice.shuffled(options):
                question = self._asked(specimen, look, fact, dice, told=wanted)
                if question is not None:
                    return question
        return None

    def _of_photograph(self, specimen: Specimen, dice: Dice) -> Question | None:
        """Ask what its author says that the pictures show, or what no picture of such a die shows by itself."""
        known = facts_of(specimen.process)
        for fact in dice.shuffled([fact for fact in (Fact.KIND, Fact.RAILS) if fact in known]):
            told = fact in specimen.face.shows(Light(load_look(_AS_IT_IS)), (fact,))
            question = self._asked(specimen, _AS_IT_IS, fact, dice, told=told)
            if question is not None:
                return question
        return None

    def _asked(self, specimen: Specimen, look: str, fact: Fact, dice: Dice, *, told: bool) -> Question | None:
        face, lot, wear = specimen.face, specimen.seed or 0, specimen.wear
        if face.follows_light and not _plainly(face, fact, look, lot, wear, told=told):
            return None
        decided = {means: decides(face, fact, means, look, lot, wear) for means in _offered(face, fact, look)}
        place = _place(specimen, fact, dice)
        if place is None:
            return None
        if told:
            right = Means.PICTURE
            wrong = dice.shuffled([means for means in decided if means is not right])[:3]
        else:
            showing = [means for means, shows in decided.items() if shows]
            not_showing = [means for means, shows in decided.items() if not shows and means is not Means.PICTURE]
            if not showing or len(not_showing) < 2:
                return None
            right = dice.pick(showing)
            wrong = [Means.PICTURE, *dice.shuffled(not_showing)[:2]]
        if len(wrong) < 3:
            return None
        choices = shuffled(right, wrong, dice)
        marks = tuple(Mark("X", x, y, ring=True) for x, y in place)
        if face.follows_light:
            taken = f"The picture is a photograph {_LOOKS[look]}, looked at from as near as you like."
            known = (_SHADES_KNOWN,) if fact in (Fact.KIND, Fact.RAILS) else ()
            picture = "this picture"
        else:
            taken = "What counts is what its author saw on the pictures; guesses do not."
            known = (_CIRCUIT_KNOWN,) if len({t.kind for t in specimen.netlist.transistors}) > 1 else ()
            picture = "this photograph, with those beside it," if face.layers else "this photograph"
        return Question(
            kind=self.name,
            prompt=f"Does {picture} tell {_ASKED[fact]}? If not, what would decide it?",
            specimen=specimen,
            choices=choices,
            facts=(taken, *known, *border_told(specimen)),
            marks=marks,
            key=UndecidedKey(fact, look, lot, wear, right, choices),
            hints=(author_hint(_ADVICE), *hints(_STEPS)),
            look=look,
            scale=_SCALE,
        )

    def subject(self, question: Question) -> str:
        return "evidence"

    def needs(self, question: Question) -> frozenset[Fact]:
        """What a reader must see to know what is asked about; what is asked itself need not show."""
        return frozenset({Fact.GATE})

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        _said(words, UndecidedKey.of(question).choices)
        return Answer(words)

    def instead(self, question: Question, answer: Answer) -> str:
        key = UndecidedKey.of(question)
        said, asked = _said(answer.text, key.choices), TEXT[Fact(key.fact)]
        if said is Means.PICTURE:
            return f"Did the picture tell {asked}, the two cases would differ in it; they look alike."
        if key.right == Means.PICTURE:
            return f"Were {said} needed, the two cases would look alike in this picture; they differ in it."
        return f"With {said}, the two cases would still look alike; with {key.right} they do not."

    def solution(self, question: Question) -> Answer:
        key = UndecidedKey.of(question)
        return Answer(LETTERS[key.choices.index(key.right)])

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key, face = UndecidedKey.of(question), question.specimen.face
        fact, said, right = Fact(key.fact), _said(answer.text, key.choices), Means(key.right)
        decided = decides(face, fact, Means.PICTURE, key.look, key.lot, key.wear)
        shows = decides(face, fact, said, key.look, key.lot, key.wear)
        text = _because(face, fact, right, key)
        places = tuple((mark.x, mark.y) for mark in question.marks)
        full = str(right)
        if said is Means.PICTURE:
            if decided:
                return Verdict(1.0, f"Right: {full}.", full, text, (), (), places)
            return Verdict(0.0, f"This picture does not show {TEXT[fact]}: {full}.", full, text, (), (), places)
        if decided:
            credit = NEEDLESS_CREDIT if shows else 0.0
            why = "it would show it, but what is removed does not come back, and" if shows else "it would not, and"
            return Verdict(credit, f"Needless: {why} this picture tells it.", full, text, (), (), places)
        if shows:
            return Verdict(1.0, f"Right: {said}.", full, text, (), (), places)
        summary = f"Right, the picture does not tell; but this would not either: {full}."
        return Verdict(OTHER_MEANS_CREDIT, summary, full, text, (), (), places)


def _plainly(face: Face, fact: Fact, look: str, lot: int, wear: float, *, told: bool) -> bool:
    """Tell whether a picture tells (or hides) a fact from far and from near, so that nobody need argue."""
    light = Light(load_look(look), lot, wear)
    bright = light.look.style is not Style.DARK_FIELD  # there areas are black, and rims say nothing of them
    asked = set() if told else {fact, *_BY_WAY_OF.get(fact, ())}
    asked -= set() if bright else {Fact.KIND, Fact.RAILS}
    if any(tinted(look, face.process, lot % LOTS, scale, part) for scale in (_SCALE, _CLOSER) for part in asked):
        return False
    scales = (_SCALE, _FURTHER) if told else (_SCALE, _CLOSER)
    return all((fact in face.shows(replace(light, scale=scale), (fact,))) is told for scale in scales)


def decides(face: Face, fact: Fact, means: Means, look: str, lot: int, wear: float) -> bool:
    """Tell by the evidence rule whether a means shows a fact of this face: each is a picture, or no picture at all."""
    if means is Means.PADS:
        return fact in _BEYOND_THE_PICTURE
    if not face.follows_light:
        return _decides_there(face, fact, means)
    light = {
        Means.PICTURE: Light(load_look(look), lot, wear, scale=_SCALE),
        Means.NEARER: Light(load_look(look), lot, wear, scale=_NEAREST),
        Means.CLEANER: Light(load_look(look), lot, 0.0, scale=_SCALE),
        Means.REFLECTED: Light(load_look("reflected-light"), lot, wear, scale=_SCALE),
        Means.METAL_OFF: Light(load_look("reflected-light"), lot, wear, stage=Stage.METAL_OFF, scale=_SCALE),
        Means.BELOW: Light(load_look("transmitted-light"), lot, wear, scale=_SCALE),
        Means.STAIN: Light(load_look("reflected-light"), lot, wear, stage=Stage.STAINED, scale=_SCALE),
    }[means]
    return fact in face.shows(light, (fact,))


def _decides_there(face: Face, fact: Fact, means: Means) -> bool:
    """
    Tell whether a means shows a fact of a place that was photographed: its own pictures what the author says; what else
    could be done to the die, by what such a die shows then.
    """
    if means in (Means.PICTURE, Means.NEARER, Means.CLEANER):
        return fact in face.shows(Light(load_look(_AS_IT_IS)), (fact,))
    stage = {Means.METAL_OFF: Stage.METAL_OFF, Means.STAIN: Stage.STAINED}.get(means)
    look = load_look("transmitted-light") if means is Means.BELOW else load_look(_AS_IT_IS)
    return fact in shown(Sight(look, load_process(face.process.name), scale=_SCALE, stage=stage), (fact,))


def _offered(face: Face, fact: Fact, look: str) -> tuple[Means, ...]:
    """Return the means to offer: not the light that it is in already, nor what is of another sort of evidence."""
    if not face.follows_light:
        return _offered_there(face, fact)
    same = {"transmitted-light": Means.BELOW, "reflected-light": Means.REFLECTED}
    left = {same[look]} if look in same else set()
    if load_films(face.process).base == "sapphire":
        left.add(Means.STAIN)  # nothing is bare silicon there, but who has seen it done may argue
    if fact is Fact.KIND:
        left.add(Means.PADS)  # the rails would tell it, by way of the rows that hang on them
    return tuple(means for means in Means if means not in left)


def _offered_there(face: Face, fact: Fact) -> tuple[Means, ...]:
    """Return what could still be done to a die that was photographed, or looked at besides."""
    left = {Means.REFLECTED}
    left |= {Means.METAL_OFF} if any(name.startswith(Stage.METAL_OFF) for name in face.layers) else set()
    left |= {Means.BELOW} if any(name.startswith("transmitted") for name in face.layers) else set()
    left |= {Means.STAIN} if load_films(load_process(face.process.name)).base == "sapphire" else set()
    left |= {Means.PADS} if fact is Fact.KIND else set()
    return tuple(means for means in Means if means not in left)


def _place(specimen: Specimen, fact: Fact, dice: Dice) -> tuple[tuple[int, int], ...] | None:
    """Return where X stands, () where the question is of no single place, None where it cannot be asked here."""
    scene = specimen.face.scene
    if fact is Fact.RAILS:
        known = set(specimen.netlist.nets)
        return () if all(rail in known for rail in specimen.process.supplies) else None
    if fact is Fact.KIND:
        kinds = {t.kind for t in specimen.netlist.transistors}
        places = [rects[0].centre for rects in scene.channels.values() if rects] if kinds == set(Kind) else []
    elif fact is Fact.CONTACT:
        places = [j.rect.centre for j in scene.joints if j.material is not Material.METAL]
    else:
        below = Material.POLY if fact is Fact.POLY_UNDER_METAL else Material.DIFFUSION
        places = [c.rects[0].centre for c in scene.crossings if c.clean and c.lower.material is below]
    return (dice.pick(places),) if places else None


_SHOWN_BY = {
    Means.PICTURE: "it shows in this picture, as a difference of brightness and not of hue alone",
    Means.NEARER: "it shows from nearer",
    Means.CLEANER: "dirt hides it here, and nothing else does",
    Means.REFLECTED: "in reflected light areas show by their own shade; in dark field edges alone shine",
    Means.METAL_OFF: "with the metal off, what lay below it is bare",
    Means.BELOW: "light from below comes through whatever is not metal or silicon, and shows their edges",
    Means.STAIN: "a stain darkens p-doped silicon and leaves n-doped bright",
    Means.PADS: "no picture of this place says which rail is which; the board does: pin, bond wire, pad, widest metal",
}


def _because(face: Face, fact: Fact, right: Means, key: UndecidedKey) -> str:
    showing = [
        means for means in _offered(face, fact, key.look)
        if means is not right and decides(face, fact, means, key.look, key.lot, key.wear)
    ]  # fmt: skip
    also = f" So would: {', '.join(showing)}." if showing and right is not Means.PICTURE else ""
    return f"As for {TEXT[fact]}: {_SHOWN_BY[right]}.{also}"


def _said(text: str, choices: tuple[str, ...]) -> Means:
    """Read a letter of a choice, or a means in words."""
    at = letter_of(text, choices)
    if at is not None:
        return Means(choices[at])
    lower = text.lower().strip(" .")
    if lower in set(Means):
        return Means(lower)
    for word in lower.replace(",", " ").split():
        if word in _WORDS:
            return _WORDS[word]
    todo = "choose a letter, or say picture, metal off, below, stain or pads"
    raise LayoutdrillError(f'"{text}" is none of the means', todo=todo)
