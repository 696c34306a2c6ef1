"""Two stages of one place: which of these, with the metal off, is the place on the left?"""

from dataclasses import replace

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import DrawnFace
from layoutdrill.face.drawn import layout_of
from layoutdrill.face.split import SplitFace
from layoutdrill.geometry.cutting import union, without
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.stages import Stage
from layoutdrill.process import Process
from layoutdrill.question.choices import LETTERS, blank, letter_of, nonempty, unanswered
from layoutdrill.question.hints import author_hint
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, Question, Specimen, Verdict
from layoutdrill.value import value

MOST = 10
"""More transistors than this, five times over, are drudgery."""
CONTACT_CREDIT = 0.5
"""The look-alike that differs by one contact."""
MIRRORED_CREDIT = 0.25
"""A mirror image: the shapes were matched, not how they lie."""
_LOOK = "reflected-light"
_GAP = 8
"""λ between the pictures."""
_DIFFERENT = 0.03
"""The part of its area by which a look-alike must differ in what is left when the metal is off."""
_HINT = "Contacts are in both: a dimple in the metal on the left, a hole on the right. Match them one by one."
_SECOND_HINTS = (
    "None of the four is a mirror image; three lack a contact each that the left one has.",
    "One of the four is a mirror image; two lack a contact each that the left one has.",
    "Two of the four are mirror images; one lacks a contact that the left one has.",
)
"""By how many are mirror images."""
_CORNERS = ("upper left", "upper right", "lower left", "lower right")
_ROW = ("the first from the left", "the second", "the third", "the fourth")
_MIRRORED = {"left for right": Transform(turns=2, mirrored=True), "top for bottom": Transform(mirrored=True)}
_SAME, _LESS = "the same place", "one contact is missing"


@value
class StagesKey(Key):
    """Which choice (from 0) is the place, the choices, what each is and where, and where contacts are lacking."""

    shown = ("choices", "boxes")
    right: int
    choices: tuple[str, ...]
    what: tuple[str, ...]
    boxes: tuple[Rect, ...]
    lacking: tuple[int, int] | None = None
    also_lacking: tuple[tuple[int, int], ...] = ()


class TwoStages(QuestionKind):
    """
    Match two stages of one place among look-alikes.

    On the left the place with its metal; on the right four with the metal off: the place itself, mirror images, and one
    that lacks a contact; where a mirror image would be the place itself, more of those. Half for one that lacks a
    contact, a quarter for a mirror image.
    """

    name = "two stages"
    title = "Match a place with its metal off"
    group = Group.SEE
    key_type = StagesKey
    own_look = True
    partly = (
        (CONTACT_CREDIT, "it lies as the left one does, and all but that contact is there"),
        (MIRRORED_CREDIT, "its shapes are those of the left one, but not how they lie"),
    )

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        face = specimen.face
        if type(face) is not DrawnFace or specimen.frame is not None or not 1 <= specimen.netlist.count() <= MOST:
            return None
        layout = face.layout.flattened()
        plain = _moved(layout, Transform(), face.box)
        alike = _look_alikes(face, plain, dice)
        if len(alike) != 3:
            return None
        order = dice.shuffled([(_SAME, plain, None), *alike])
        width, height = face.box.width, face.box.height
        gap = _GAP * face.unit.per
        square = width >= height
        start = width + gap
        where = [
            (start + (i % 2) * (width + gap), (1 - i // 2) * (height + gap))
            if square
            else (start + i * (width + gap), 0)
            for i in range(4)
        ]
        left = _at(plain, 0, (height + gap) // 2 // face.unit.per * face.unit.per if square else 0)
        parts = [_at(part, *corner) for (_, part, _), corner in zip(order, where, strict=True)]
        both = _joined(left, parts)
        drawn = DrawnFace.of(both, face.process)
        split = SplitFace(drawn.layout, drawn.process, drawn.extraction, width + gap // 2, 0, Stage.METAL_OFF)
        at = next(i for i, (what, _, _) in enumerate(order) if what == _SAME)
        lacking = [
            (hole[0] + corner[0], hole[1] + corner[1])
            for (_, _, hole), corner in zip(order, where, strict=True)
            if hole
        ]
        mirrored = len(alike) - len(lacking)
        choices = _CORNERS if square else _ROW
        empty = Netlist(specimen.netlist.name, (), ())
        return Question(
            kind=self.name,
            prompt="On the left a place with its metal, on the right four with the metal off: which is the same place?",
            specimen=replace(specimen, face=split, netlist=empty, boundary="", about="", aliases=()),
            choices=choices,
            facts=("Nothing is turned: only the metal is gone.",),
            marks=(),
            key=StagesKey(
                at,
                choices,
                tuple(what for what, _, _ in order),
                tuple(Rect(x, y, x + width, y + height) for x, y in where),
                lacking[0],
                tuple(lacking[1:]),
            ),
            hints=(author_hint(_HINT), author_hint(_SECOND_HINTS[mirrored], 0.3)),
            look=_LOOK,
        )

    def subject(self, question: Question) -> str:
        return "stages"

    def needs(self, question: Question) -> frozenset[Fact]:
        return frozenset({Fact.CONTACT, Fact.GATE})

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        return 1 <= netlist.count() <= MOST

    def pictures(self, question: Question) -> dict[str, Rect]:
        boxes, per = StagesKey.of(question).boxes, question.specimen.process.grid_per_lambda
        low, high = min(box.y0 for box in boxes), max(box.y1 for box in boxes)
        first = boxes[0]
        lift = low + (high - low - first.height) // 2 // per * per
        return {"left": Rect(0, lift, first.width, lift + first.height), **dict(zip(LETTERS, boxes, strict=False))}

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        _said(words, StagesKey.of(question).choices)
        return Answer(words)

    def instead(self, question: Question, answer: Answer) -> str:
        key = StagesKey.of(question)
        what = key.what[_said(answer.text, key.choices)]
        if what == _LESS:
            return "Were it that one, a dimple of the left picture would have no hole below it; every one has."
        return f"Were it that one, the left picture would be {what}: what the rings show would lie on the other side."

    def solution(self, question: Question) -> Answer:
        return Answer(LETTERS[StagesKey.of(question).right])

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = StagesKey.of(question)
        said = _said(answer.text, key.choices)
        full = key.choices[key.right]
        wrong = [i for i in range(len(key.choices)) if i != key.right]
        telling = {i: _telling(question, key, i) for i in wrong}
        decides = f"{_HINT} {' '.join(_difference(question, key, i, telling[i]) for i in wrong)}"
        if said == key.right:
            rings = tuple(dict.fromkeys(place for place, _ in telling.values()))
            return Verdict(1.0, f"Right: {full}.", full, decides, (), (), rings)
        what = key.what[said]
        credit = CONTACT_CREDIT if what == _LESS else MIRRORED_CREDIT
        decides = f"{_difference(question, key, said, telling[said])} {_HINT}"
        summary = f"Not that one: {what} there. It is {full}."
        return Verdict(credit, summary, full, decides, (), (), telling[said])


def _telling(question: Question, key: StagesKey, choice: int) -> tuple[tuple[int, int], tuple[int, int]]:
    """
    Return a place of a wrong choice where it differs from the right one, and that place of the right one: where its
    contact is lacking, or of a mirror image where one of them has a hole and the other none, or else other shapes.
    """
    here, there = key.boxes[choice], key.boxes[key.right]
    aside = there.x0 - here.x0, there.y0 - here.y0
    lacking = [at for at in (*(() if key.lacking is None else (key.lacking,)), *key.also_lacking) if here.contains(*at)]
    at = (
        lacking[0]
        if lacking
        else _difference_at(layout_of(question.specimen.face), question.specimen.process, here, aside)
    )
    return at, (at[0] + aside[0], at[1] + aside[1])


def _difference_at(layout: Layout, process: Process, here: Rect, aside: tuple[int, int]) -> tuple[int, int]:
    """Return the middle of the largest shape in a box that what lies `aside` has not, or has alone: a hole if any."""
    for roles in (("contact",), ("poly", "active", "n-doping", "p-doping", "thin-oxide")):
        apart: list[Rect] = []
        for name in (name for name, layer in process.layers.items() if layer.role in roles):
            shapes = layout.shapes.get(name, ())
            own = [part for rect in shapes if (part := rect.common(here)) is not None]
            other = [part for rect in shapes if (part := rect.moved(-aside[0], -aside[1]).common(here)) is not None]
            apart += [*without(union(own), other), *without(union(other), own)]
        if apart:
            return max(apart, key=lambda rect: (min(rect.width, rect.height), rect.area, rect)).centre
    return here.centre


def _difference(question: Question, key: StagesKey, choice: int, telling: tuple[tuple[int, int], ...]) -> str:
    """Say how a wrong choice differs, and where one sees it, in it and in the right one."""
    unit = question.specimen.face.unit
    here, there = (unit.at(*at) for at in telling)
    name = key.choices[choice]
    where = f"{name[0].upper()}{name[1:]}"
    if key.what[choice] == _LESS:
        return f"{where} has no hole in the ring at {here}; {key.choices[key.right]} has one there, at {there}."
    return f"{where} is {key.what[choice]}: see the ring at {here} and, in {key.choices[key.right]}, that at {there}."


def _said(text: str, choices: tuple[str, ...]) -> int:
    """Read a letter of a choice, or a choice in words."""
    at = letter_of(text, choices)
    if at is not None:
        return at
    words = text.lower().strip(" .")
    for i, choice in enumerate(choices):
        if words and words in (choice, choice.removeprefix("the ").removesuffix(" from the left")):
            return i
    raise LayoutdrillError(f'"{text}" is none of the four', todo=f"choose a letter, or say {choices[0]}")


def _moved(layout: Layout, turn: Transform, box: Rect) -> Layout:
    """Turn a layout, and set the lower left corner of its `box`, turned, at 0, 0."""
    low = turn.rect(box)
    return layout.transformed(replace(turn, dx=-low.x0, dy=-low.y0))


def _at(layout: Layout, x: int, y: int) -> Layout:
    return layout.transformed(Transform(dx=x, dy=y))


def _joined(left: Layout, parts: list[Layout]) -> Layout:
    """Return all in one layout. Only the left one keeps its names."""
    shapes: dict[str, tuple[Rect, ...]] = dict(left.shapes)
    for part in parts:
        for name, rects in part.shapes.items():
            shapes[name] = (*shapes.get(name, ()), *rects)
    return Layout(left.name, shapes, left.labels)


def _look_alikes(face: DrawnFace, plain: Layout, dice: Dice) -> list[tuple[str, Layout, tuple[int, int] | None]]:
    """
    Return three that are not the place, each with what it is: the mirror images that can be told from it and from each
    other, then the place less one contact, another in each. None where it has too few contacts.
    """
    box = Rect(0, 0, face.box.width, face.box.height)
    alike: list[tuple[str, Layout, tuple[int, int] | None]] = []
    for way, turn in _MIRRORED.items():
        other = _moved(plain, turn, box)
        if all(_differ(face.process, known, other) for known in (plain, *(layout for _, layout, _ in alike))):
            alike.append((f"a mirror image, {way}", other, None))
    holes = [
        (name, rect) for name, layer in face.process.layers.items() if layer.role == "contact"
        for rect in union(plain.shapes.get(name, ()))
    ]  # fmt: skip
    wanted = 3 - len(alike)
    if len(holes) < wanted:
        return []
    for layer, hole in dice.shuffled(holes)[:wanted]:
        less = tuple(rect for rect in union(plain.shapes[layer]) if rect != hole)
        alike.append((_LESS, Layout(plain.name, {**plain.shapes, layer: less}, plain.labels), hole.centre))
    return alike


def _differ(process: Process, one: Layout, other: Layout) -> bool:
    """Tell whether two layouts differ plainly in what is left when the metal is off."""
    left = [name for name, layer in process.layers.items() if layer.role in ("active", "poly", "contact", "thin-oxide")]
    left += [name for name, layer in process.layers.items() if layer.role in ("n-doping", "p-doping")]
    box = one.box
    apart = 0
    for name in left:
        a, b = one.shapes.get(name, ()), other.shapes.get(name, ())
        apart += sum(r.area for r in without(union(a), b)) + sum(r.area for r in without(union(b), a))
    return box is not None and apart >= _DIFFERENT * box.area
