"""Put the crosshair on …: an n transistor, the output, a gate driven by an input, a contact, a rail."""

from collections.abc import Mapping
from random import Random

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.evidence import Fact
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.coordinates import in_lambda, read_point, whereabouts
from layoutdrill.question.foreign import told
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import number, plain, rects, texts
from layoutdrill.question.model import Answer, HintStep, Question, Specimen, Verdict
from layoutdrill.question.scene import scene_of
from layoutdrill.question.targets import Near, targets

_STEPS = (HintStep.RAILS, HintStep.LIFT_METAL, HintStep.DEVICES, HintStep.NETS)
_COSTS = {HintStep.DEVICES: 0.3, HintStep.NETS: 0.3}


class Point:
    """
    Point at a thing.

    Full credit on it or within 1 λ of it, unless the crosshair stands right on another device of its sort; of a net
    every place within 1 λ is right, whatever lies there. A near miss earns the part that its target states (the other
    kind of transistor a half, a contact for a crossing a quarter).
    """

    name = "point"
    title = "Point at it"
    cues: tuple[Fact, ...] = (Fact.GATE, Fact.KIND, Fact.RAILS, Fact.CONTACT, Fact.UNDER_METAL)

    def ask(self, specimen: Specimen, rng: Random) -> Question | None:
        scene = scene_of(specimen)
        found = targets(scene)
        if not found:
            return None
        target = rng.choice(found)
        taken = set(target.rects)
        near = [
            {
                "rects": plain(tuple(r for r in n.rects if r not in taken)),
                "credit": n.credit,
                "remark": n.remark,
                "soft": n.soft,
            }
            for n in target.near
        ]
        return Question(
            kind=self.name,
            prompt=f"Put the crosshair on {target.words}: point, or type x, y in λ. Within 1 λ counts.",
            specimen=specimen,
            choices=(),
            facts=told(specimen),
            marks=target.marks,
            key={
                "target": target.name,
                "words": target.words,
                "rects": plain(target.rects),
                "near": near,
                "decides": target.decides,
                "tolerance": scene.unit,
                "transistors": list(target.transistors),
                "nets": list(target.nets),
            },
            pointed=True,
            hints=hints(_STEPS, _COSTS),
        )

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        return Answer(words, read_point(words, question.specimen.process))

    def solution(self, question: Question) -> Answer:
        largest = max(rects(question.key, "rects"), key=lambda r: (min(r.width, r.height), r.area, r))
        x, y = largest.centre
        return Answer(in_lambda(question.specimen.process, x, y), (x, y))

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = question.key
        process = question.specimen.process
        x, y = answer.point if answer.point is not None else read_point(answer.text, process)
        right = rects(key, "rects")
        words = str(key["words"])
        nearest = min(right, key=lambda r: (gap(r, x, y), r))
        place = whereabouts(question.specimen.layout.box, *nearest.centre)
        where = f"One lies {place} ({in_lambda(process, *nearest.centre)})."
        outlined = (texts(key, "transistors"), texts(key, "nets"), (nearest.centre,))
        decides = str(key["decides"])
        if gap(nearest, x, y) == 0:
            return Verdict(1.0, f"Right: that is {words}.", words, decides, *outlined)
        close = gap(nearest, x, y) <= number(key, "tolerance")
        for near in _near(key):
            if any(gap(r, x, y) == 0 for r in near.rects) and not (near.soft and close):
                return Verdict(near.credit, f"{near.remark} {where}", words, decides, *outlined)
        if close:
            return Verdict(1.0, f"Right: that is {words}, within 1 λ.", words, decides, *outlined)
        return Verdict(0.0, f"Not there. {where}", words, decides, *outlined)


def gap(rect: Rect, x: int, y: int) -> int:
    """Return how far a point lies outside a rectangle, along the farther axis; 0 on it or on its edge."""
    return max(rect.x0 - x, x - rect.x1, rect.y0 - y, y - rect.y1, 0)


def _near(key: Mapping[str, object]) -> list[Near]:
    found = key.get("near")
    if not isinstance(found, list):
        raise LayoutdrillError('the question\'s key has no "near" places', todo="the record is damaged")
    return [Near(rects(n, "rects"), float(n["credit"]), str(n["remark"]), bool(n["soft"])) for n in found]
