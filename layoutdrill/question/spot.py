"""What lies at the marked spot?"""

from collections.abc import Sequence

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.materials import Material, materials
from layoutdrill.face.scene import Scene
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.evidence import Fact
from layoutdrill.question.choices import blank, letter_of, likely, nonempty, shuffled, unanswered
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, Hint, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.naming import read_name
from layoutdrill.question.needed import below_upper, covered_gates, tracing
from layoutdrill.question.neighbours import border_told
from layoutdrill.question.sight import Sight, candidates, is_ring, sights_at, steady
from layoutdrill.question.sight_words import LOOK_ALIKES, WIDER, decides, lying, no_crossunder, under_glass, would_show
from layoutdrill.value import value

_STEPS = (HintStep.RAILS, HintStep.LIFT_METAL, HintStep.DEVICES)
_COSTS = {HintStep.LIFT_METAL: 0.4, HintStep.DEVICES: 0.4}
_NOT_THAT = 0.2
"""What it costs to have one wrong choice ruled out."""
_WEIGHTS = {
    Sight.TRANSISTOR: 4,
    Sight.CONTACT: 4,
    Sight.CROSSING: 5,
    Sight.CROSSUNDER: 3,
    Sight.TAP: 2,
    Sight.RING: 2,
    Sight.VIA: 3,
    Sight.DIFFUSION: 1,
    Sight.POLY: 1,
    Sight.METAL: 1,
    Sight.NOTHING: 1,
}
_MARKED = {Sight.TRANSISTOR, Sight.CONTACT, Sight.VIA, Sight.TAP, Sight.RING}
"""What is known where it is marked, though not every wire is."""
_CONFUSED = {Sight.CONTACT, Sight.CROSSING}
"""Metal that passes over a buried contact is both at once: not asked for."""
WIDE_CREDIT = 0.5
"""Typed: a true word that says too little, such as “diffusion” for a crossunder."""


SUBJECTS = ("contact", "crossing", "transistor", "via", "tap", "crossunder", "guard ring")
"""What can be practised by itself; the layers that one sees are one subject together."""


@value
class SpotKey(Key):
    """
    The spot (grid units), the thing it was chosen for, all that is true there, true words that say too little, and of a
    transistor its polarity or "".
    """

    shown = ("x", "y", "choices", "metal_gate")

    x: int
    y: int
    right: str
    truths: tuple[str, ...]
    partial: tuple[str, ...]
    polarity: str
    choices: tuple[str, ...]
    metal_gate: bool = False


class Spot(QuestionKind):
    """
    Tell what lies at a marked spot.

    Full credit for anything that is true there and says enough. Half, typed only, for a true word that says too
    little (one of the two layers of a crossing, “diffusion” for a tap) or for a transistor of the wrong polarity.
    """

    name = "spot"
    title = "Tell what lies at a spot"
    group = Group.SEE
    key_type = SpotKey
    tells_places = False
    partly = ((WIDE_CREDIT, "a part of it is right"),)

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        scene = specimen.face.scene
        left = {sight: weight for sight, weight in _WEIGHTS.items() if "wires" in scene.complete or sight in _MARKED}
        while left:
            target = dice.weighted(tuple(left.items()))
            del left[target]
            for x, y in candidates(scene, target, dice):
                truths = steady(scene, x, y)
                if truths and target in truths and not truths >= _CONFUSED and _clear(scene, target, x, y):
                    return self._question(specimen, scene, target, truths, (x, y), dice)
        return None

    def _question(
        self,
        specimen: Specimen,
        scene: Scene,
        target: Sight,
        truths: frozenset[Sight],
        at: tuple[int, int],
        dice: Dice,
    ) -> Question:
        partial = _partial(scene, truths, *at)
        shown = offered(scene)
        pool = [s for s in LOOK_ALIKES[target] if s in shown and s not in truths and s not in partial]
        if len(pool) < 3:  # a ring, say, has few look-alikes that are not under the spot too
            pool += [s for s in Sight if s in shown - truths - partial and s is not target and s not in pool]
        choices = shuffled(target.value, likely([s.value for s in pool], 3, dice), dice)
        transistor = scene.extraction.transistor_at(*at)
        kind = next((t.kind.value for t in scene.extraction.netlist.transistors if t.name == transistor), "")
        return Question(
            kind=self.name,
            prompt=f"What lies in the ring marked X ({specimen.face.unit.at(*at)})? Choose a letter, or type it.",
            specimen=specimen,
            choices=choices,
            facts=border_told(specimen),
            marks=(Mark("X", *at, ring=True),),
            key=SpotKey(
                *at,
                target.value,
                tuple(sorted(s.value for s in truths)),
                tuple(sorted(s.value for s in partial)),
                kind,
                choices,
                scene.metal_gate,
            ),
            hints=_hints(target, choices, metal_gate=scene.metal_gate),
        )

    def subject(self, question: Question) -> str:
        right = SpotKey.of(question).right
        return right if right in SUBJECTS else "layers"

    def needs(self, question: Question) -> frozenset[Fact]:
        """A thing that is there must show; to say that there is none of them, all must show where they are."""
        scene = question.specimen.face.scene
        key = SpotKey.of(question)
        return below_upper(scene, key.x, key.y).union(*(_needed(scene, truth) for truth in key.truths))

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        if letter_of(words, SpotKey.of(question).choices) is None:
            read_sight(words)
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        return Answer(SpotKey.of(question).right)

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = SpotKey.of(question)
        x, y, right, truths, choices = key.x, key.y, key.right, key.truths, key.choices
        place = letter_of(answer.text, choices)
        given, polarity = (choices[place], "") if place is not None else read_sight(answer.text)
        transistor = question.specimen.extraction.transistor_at(x, y)
        outlined = (transistor,) if transistor and Sight.TRANSISTOR.value in truths else ()
        nets = tuple(dict.fromkeys(net for _, net in question.specimen.extraction.nets_at(x, y)))
        ordered = sorted(truths, key=lambda t: t != right)
        full = _all_of(ordered)
        reason = decides(Sight(right), metal_gate=key.metal_gate)
        credit, summary = 0.0, f"Not {_a(given)}: {full}."
        if place is None and not answer.text.lower().strip(" .").endswith(given) and given != "nothing":
            summary = f"“{answer.text.strip()}” means {_a(given)} here; this is {full}."
        if given == "nothing":
            summary = f"There is something here: {full}."
        if right == "nothing":
            summary = f"Not {_a(given)}: nothing lies here."
        if given in truths:
            credit, summary = 1.0, f"Right: {full}."
            if polarity and polarity != key.polarity:
                credit, summary = WIDE_CREDIT, f"A transistor, yes, but of the other kind: {key.polarity}."
        elif place is None and given in key.partial:
            credit, summary = WIDE_CREDIT, f"True, but not all of it: {full}."
        return Verdict(
            credit,
            summary,
            full,
            reason,
            outlined,
            nets if credit < 1 else (),
            ((x, y),),
            confused_with="" if given in truths else given,
        )

    def under_glass(self, question: Question) -> str:
        key = SpotKey.of(question)
        return under_glass(Sight(key.right), metal_gate=key.metal_gate)

    def instead(self, question: Question, answer: Answer) -> str:
        key, scene = SpotKey.of(question), question.specimen.face.scene
        place = letter_of(answer.text, key.choices)
        given, polarity = (key.choices[place], "") if place is not None else read_sight(answer.text)
        here = lying(scene, key.x, key.y)
        if given == Sight.CROSSUNDER and (lacks := no_crossunder(scene, key.x, key.y)):
            here = f"{here}, and {lacks}"
        if given in key.truths:
            return f"Were it {polarity}, it would lie among the {polarity} transistors, which hang on the other rail."
        if given in key.partial:
            return f"Were it {given} alone, {would_show(Sight(given), metal_gate=key.metal_gate)}; here {here}."
        return f"Were it {_a(given)}, {would_show(Sight(given), metal_gate=key.metal_gate)}; here {here}."


def _all_of(truths: Sequence[str]) -> str:
    """Say all that is true of a place; a tap and the contact on it are one thing to see."""
    names = [_a(truth) for truth in truths]
    if {"tap", "contact"} <= {*truths}:
        names = ["a tap with its contact", *(name for name in names if name not in ("a tap", "a contact"))]
    return " and ".join(names)


def _hints(target: Sight, choices: Sequence[str], *, metal_gate: bool) -> tuple[Hint, ...]:
    """Return the steps of help: between the rails and what gives it away, what it is taken for first, and is not."""
    rails, *rest = hints(_STEPS, _COSTS)
    other = next((sight for sight in LOOK_ALIKES[target] if sight.value in choices), None)
    if other is None:
        return (rails, *rest)
    told = f"It is not {_a(other.value)}: {would_show(other, metal_gate=metal_gate)}."
    return (rails, Hint(HintStep.WORDS, told, _NOT_THAT), *rest)


def _needed(scene: Scene, truth: str) -> frozenset[Fact]:
    needed = {
        "transistor": {Fact.GATE, *covered_gates(scene)},
        "contact": {Fact.CONTACT},
        "via": {Fact.VIA},
        "crossing": {Fact.GATE, *tracing(scene)},
        "crossunder": {Fact.CONTACT, Fact.GATE, Fact.UNDER_METAL},
        "tap": {Fact.CONTACT, Fact.GATE, Fact.TAP},
        "guard ring": {Fact.GATE, Fact.UNDER_METAL},
    }
    under = {Fact.UNDER_METAL, Fact.POLY_UNDER_METAL} if truth == "metal" else set()
    return frozenset(needed.get(truth, {Fact.GATE, Fact.CONTACT, *under}))


_SPOKEN = {
    "gate": "transistor",
    "channel": "transistor",
    "overlap": "crossing",
    "wire": "metal",
    "field": "nothing",
    "none": "nothing",
    "bare field": "nothing",
    "well": "nothing",
}
"""What is said at a spot beside the trade's terms."""


def _a(sight: str) -> str:
    """Put the article where one is said."""
    return sight if sight in ("metal", "poly", "diffusion", "nothing") else f"a {sight}"


def read_sight(text: str) -> tuple[str, str]:
    """Return the sight that a typed word means, and the polarity it names or ""."""
    spoken = _SPOKEN.get(" ".join(text.lower().replace("-", " ").split()))
    reading = read_name(text)
    if spoken is None and reading.term in ("n transistor", "p transistor"):
        return Sight.TRANSISTOR.value, reading.term[0]
    term = spoken or reading.term
    if term in {s.value for s in Sight}:
        return term, ""
    known = ", ".join(s.value for s in Sight)
    raise LayoutdrillError(f'"{text}" is not a thing one sees at a spot', todo=f"type one of: {known}")


def offered(scene: Scene) -> set[Sight]:
    """Return what a spot can be in this process, so that no choice is out of place."""
    present = set(materials(scene.process).values())
    sights = {Sight.TRANSISTOR, Sight.CONTACT, Sight.CROSSING, Sight.CROSSUNDER, Sight.METAL, Sight.DIFFUSION}
    sights.add(Sight.NOTHING)
    if Material.POLY in present:
        sights.add(Sight.POLY)
    if Material.TAP in present:
        sights.add(Sight.TAP)
    if Material.RING in present or any(p.material is Material.TAP and is_ring(p) for p in scene.pieces):
        sights.add(Sight.RING)
    if sum(1 for m in materials(scene.process).values() if m is Material.METAL) > 1:
        sights.add(Sight.VIA)
    return sights


def _partial(scene: Scene, truths: frozenset[Sight], x: int, y: int) -> set[Sight]:
    partly = {wide for truth in truths for wide in WIDER.get(truth, ())}
    if truths & {Sight.CROSSING, Sight.CONTACT, Sight.VIA, Sight.TRANSISTOR}:
        here = {scene.materials[name] for name, _ in scene.extraction.nets_at(x, y)}
        words = {Material.METAL: Sight.METAL, Material.POLY: Sight.POLY, Material.DIFFUSION: Sight.DIFFUSION}
        partly |= {words[material] for material in here if material in words}
    return partly - truths


def _clear(scene: Scene, target: Sight, x: int, y: int) -> bool:
    """
    Tell whether the picture leaves no doubt about the spot.

    Metal over its own diffusion, beside the contact that joins them, looks like a crossing: neither layer is asked
    for there. Bare field must be bare for one and a half λ round the spot.
    """
    if target in (Sight.METAL, Sight.DIFFUSION, Sight.POLY):
        return len(sights_at(scene, x, y)) == 1
    if target is not Sight.NOTHING:
        return True
    reach = scene.unit + scene.unit // 2
    around = Rect(x - reach, y - reach, x + reach, y + reach)
    return not any(w.rect.overlaps(around) for w in scene.wires) and sights_at(scene, x, y) == {Sight.NOTHING}
