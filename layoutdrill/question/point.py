"""Put the crosshair on …: an n transistor, the output, a gate driven by an input, a contact, a rail."""

from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.face.materials import Material
from layoutdrill.face.scene import Scene
from layoutdrill.face.unit import whereabouts
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.evidence import Fact
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, HintStep, Question, Specimen, Verdict
from layoutdrill.question.needed import covered_gates, rows_on_rails, tracing
from layoutdrill.question.neighbours import border_told
from layoutdrill.question.sight_words import lying
from layoutdrill.question.targets import Near, subject_of, targets
from layoutdrill.units import GridUnits
from layoutdrill.value import value

_STEPS = (HintStep.RAILS, HintStep.LIFT_METAL, HintStep.DEVICES, HintStep.NETS)
SORTS = ("n transistor", "p transistor")
_COSTS = {HintStep.DEVICES: 0.3, HintStep.NETS: 0.3}


@value
class PointKey(Key):
    """
    What to point at: its name, the words that complete “Put the crosshair on …”, every right place, the near misses,
    and within how many grid units of a right place is right. `transistors` and `nets` are outlined with the verdict.
    """

    target: str
    words: str
    rects: tuple[Rect, ...]
    near: tuple[Near, ...]
    decides: str
    tolerance: int
    transistors: tuple[str, ...] = ()
    nets: tuple[str, ...] = ()


class Point(QuestionKind):
    """
    Point at a thing.

    Full credit on it or within 1 λ of it, unless the crosshair stands right on another device of its sort; of a net
    every place within 1 λ is right, whatever lies there. A near miss earns the part that its target states (the other
    kind of transistor a half, a contact for a crossing a quarter).
    """

    name = "point"
    title = "Point at it"
    group = Group.SEE
    key_type = PointKey

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        scene, unit = specimen.face.scene, specimen.face.unit
        near = f"{unit.number(scene.unit)} {unit.sign}"
        candidates = targets(scene)
        if not candidates:
            return None
        target = dice.pick(candidates)
        taken = set(target.rects)
        near_misses = tuple(replace(n, rects=tuple(r for r in n.rects if r not in taken)) for n in target.near)
        return Question(
            kind=self.name,
            prompt=f"Put the crosshair on {target.words}: point, or type x, y in {unit.sign}. Within {near} counts.",
            specimen=specimen,
            choices=(),
            facts=border_told(specimen),
            marks=target.marks,
            key=PointKey(
                target.name,
                target.words,
                target.rects,
                near_misses,
                target.decides,
                scene.unit,
                target.transistors,
                target.nets,
            ),
            pointed=True,
            hints=hints(_STEPS, _COSTS),
        )

    def subject(self, question: Question) -> str:
        return subject_of(PointKey.of(question).target)

    def needs(self, question: Question) -> frozenset[Fact]:
        scene, target = question.specimen.face.scene, PointKey.of(question).target
        gate = covered_gates(scene) | {Fact.GATE}
        if target in SORTS:
            return gate | {Fact.KIND}
        if target in scene.process.supplies:
            return frozenset({Fact.CONTACT, Fact.RAILS})
        if target.startswith("gate of ") or target in ("output", "load", "crossing"):
            return gate | tracing(scene)
        if target == "contact":
            return frozenset({Fact.CONTACT})
        if target == "tap":
            return frozenset({Fact.CONTACT, Fact.GATE, Fact.TAP})
        return frozenset({Fact.CONTACT, Fact.GATE})

    def tell(self, question: Question, hidden: frozenset[Fact]) -> tuple[str, ...] | None:
        """Tell the rails, unless one is asked for, or they do not tell the kind that is."""
        scene, target = question.specimen.face.scene, PointKey.of(question).target
        if target in scene.process.supplies or (target in SORTS and not rows_on_rails(scene)):
            return None
        return super().tell(question, hidden)

    def any_in_sight(self, question: Question) -> tuple[Rect, ...]:
        return PointKey.of(question).rects

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        return Answer(words, question.specimen.face.unit.read(words))

    def solution(self, question: Question) -> Answer:
        largest = max(PointKey.of(question).rects, key=lambda r: (min(r.width, r.height), r.area, r))
        x, y = largest.centre
        return Answer(question.specimen.face.unit.at(x, y), (x, y))

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key, face = PointKey.of(question), question.specimen.face
        x, y = answer.point if answer.point is not None else face.unit.read(answer.text)
        right, words, decides = key.rects, key.words, key.decides
        nearest = min(right, key=lambda r: (gap(r, x, y), r))
        place = whereabouts(face.box, *nearest.centre)
        where = f"One lies {place} ({face.unit.at(*nearest.centre)})."
        outlined = (key.transistors, key.nets, (nearest.centre,), "", right)
        if gap(nearest, x, y) == 0:
            return Verdict(1.0, f"Right: that is {words}.", words, decides, *outlined)
        close = gap(nearest, x, y) <= key.tolerance
        for near in key.near:
            if any(gap(r, x, y) == 0 for r in near.rects) and not (near.soft and close):
                return Verdict(near.credit, f"{near.remark} {where}", words, decides, *outlined)
        if close:
            return Verdict(1.0, f"Right: that is {words}, within 1 λ.", words, decides, *outlined)
        return Verdict(0.0, f"Not there. {where}", words, decides, *outlined)

    def instead(self, question: Question, answer: Answer) -> str:
        key, face = PointKey.of(question), question.specimen.face
        x, y = answer.point if answer.point is not None else face.unit.read(answer.text)
        would = _WOULD.get(key.target, "")
        if key.target in face.process.supplies:
            would = f"its metal would run along a row and lead to {key.target}"
        led = next((net for net in face.process.supplies if _on(face.scene, net, x, y)), "")
        here = f"the wire leads to {led}" if led and key.target in face.process.supplies else lying(face.scene, x, y)
        return f"Were this {key.words}, {would or 'what decides would be seen here'}; here {here}."


def _on(scene: Scene, net: str, x: int, y: int) -> bool:
    wells = {name for name, material in scene.materials.items() if material is Material.WELL}
    return any(net_there == net for name, net_there in scene.extraction.nets_at(x, y) if name not in wells)


_WOULD = {
    "contact": "a small square would join what lies one over the other",
    "via": "a small square would join metal and metal",
    "crossing": "two wires would pass here, one over the other, with no square between them",
    "tap": "a small diffusion with a contact and no gate would lie here",
    "n transistor": "a gate would lie here in the row that hangs on the low rail",
    "p transistor": "a gate would lie here in the row that hangs on the high rail",
    "load": "a gate tied to its own end, or to a supply, would lie here",
    "depletion load": "a gate tied to its own end would lie here",
    "output": "the wire here would lead to drains of the pull-up and of the pull-down",
}
"""What would be seen at a place, by target."""


def gap(rect: Rect, x: GridUnits, y: GridUnits) -> GridUnits:
    """Return how far a point lies outside a rectangle, along the farther axis; 0 on it or on its edge."""
    return max(rect.x0 - x, x - rect.x1, rect.y0 - y, y - rect.y1, 0)
