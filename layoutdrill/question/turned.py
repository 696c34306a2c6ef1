"""Two pictures: is the right one the same cell as the left, turned or mirrored, or only a look-alike?"""

import re
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import DrawnFace
from layoutdrill.face.materials import Material
from layoutdrill.geometry.cutting import union, without
from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.choices import blank, letter_of, nonempty, unanswered
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, HintStep, Question, Specimen, Verdict
from layoutdrill.value import value

_STEPS = (HintStep.LIFT_METAL, HintStep.DEVICES, HintStep.NETS)
_COSTS = {HintStep.LIFT_METAL: 0.2, HintStep.DEVICES: 0.2, HintStep.NETS: 0.5}
_WORDS = {
    (True, False): "the same cell, turned",
    (True, True): "the same cell, mirrored",
    (False, False): "a look-alike, turned",
    (False, True): "a look-alike, mirrored",
}
"""By (same, mirrored)."""
_SAME = re.compile(r"\b(same|equal|identical)\b")
_OTHER = re.compile(r"\b(look[- ]?alike|other|different|not the same)\b")
_TURNED = re.compile(r"\b(turned|rotated)\b")
_MIRRORED = re.compile(r"\b(mirrored|mirror|flipped|reflected)\b")
_GAP = 6
"""λ between the two pictures."""
_LOPSIDED = 0.04
"""The part of a cell's box by which it must differ from its mirror images, so that mirrored is not turned."""
MOST = 16
"""More transistors than this, twice over, are drudgery."""
HALF_CREDIT = 0.5
"""The right word on the cell, but not on how it lies."""


@value
class TurnedKey(Key):
    """
    Whether the two are the same cell, and whether the right one is a mirror image of the left; where each of the two
    lies; and of a look-alike the contact that one of them has (`odd`) and the place where the other lacks it.
    """

    same: bool
    mirrored: bool
    choices: tuple[str, ...]
    left: Rect
    right: Rect
    odd: tuple[int, int] | None = None
    lacking: tuple[int, int] | None = None


class Turned(QuestionKind):
    """
    Tell a cell from its look-alike, however it lies.

    The look-alike lacks one contact, and with it a connection. Full credit for both words (the same or not, turned or
    mirrored); half for the first alone; none where the first is wrong.
    """

    name = "turned or not"
    title = "Tell a turned cell from a look-alike"
    group = Group.SEE
    key_type = TurnedKey
    untold = frozenset({Fact.CONTACT})
    tells_circuit = False
    partly = ((HALF_CREDIT, "whether it is the same cell is told right, how it lies is not"),)

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        face = specimen.face
        few = 2 <= specimen.netlist.count() <= MOST
        if not isinstance(face, DrawnFace) or specimen.frame is not None or not few or not _lopsided(face):
            return None
        contact = _telling_contact(face, dice) if dice.chance(50) else None
        mirrored = dice.chance(50)
        turn = Transform(turns=dice.below(4) if mirrored else dice.between(1, 3), mirrored=mirrored)
        left_lacks = dice.chance(50)
        layout = face.layout.flattened()
        less = layout if contact is None else _less(layout, *contact)
        left = _placed(less if left_lacks else layout, Transform(), 0, face.box)
        far = left.box
        assert far is not None
        start = far.x1 + _GAP * face.unit.per
        right = _placed(layout if left_lacks else less, turn, start, face.box)
        beside = right.box
        assert beside is not None
        odd = lacking = None
        if contact is not None:
            twins = [_placed_rect(contact[1], of, x, face.box).centre for of, x in ((Transform(), 0), (turn, start))]
            odd, lacking = reversed(twins) if left_lacks else twins
        choices = list(_WORDS.values())
        choices = dice.shuffled(choices)
        both = DrawnFace.of(_joined(left, right), face.process)
        return Question(
            kind=self.name,
            prompt="Is the right one the same cell as the left, turned or mirrored, or a look-alike of it?",
            specimen=replace(specimen, face=both, netlist=both.extraction.netlist, boundary="", about="", aliases=()),
            choices=tuple(choices),
            facts=(),
            marks=(),
            key=TurnedKey(contact is None, mirrored, tuple(choices), far, beside, odd, lacking),
            hints=hints(_STEPS, _COSTS),
        )

    def subject(self, question: Question) -> str:
        return "turned or mirrored"

    def needs(self, question: Question) -> frozenset[Fact]:
        return frozenset({Fact.CONTACT, Fact.GATE})

    def pictures(self, question: Question) -> dict[str, Rect]:
        key = TurnedKey.of(question)
        return {"left": key.left, "right": key.right}

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        if letter_of(words, TurnedKey.of(question).choices) is None and _said(words)[0] is None:
            todo = "say the same or a look-alike, and turned or mirrored; or choose a letter"
            raise LayoutdrillError(f'"{words}" does not say whether it is the same cell', todo=todo)
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        key = TurnedKey.of(question)
        return Answer(_WORDS[key.same, key.mirrored])

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = TurnedKey.of(question)
        at = letter_of(answer.text, key.choices)
        same, mirrored = _said(answer.text if at is None else key.choices[at])
        full = _WORDS[key.same, key.mirrored]
        decides = _decides(question, key)
        places = tuple(place for place in (key.odd, key.lacking) if place is not None)
        if same is not key.same:
            what = "one contact is missing" if same else "every contact has its counterpart"
            return Verdict(0.0, f"Not so: {full}; {what}.", full, decides, (), (), places)
        if mirrored is not key.mirrored:
            said = "say also how it lies" if mirrored is None else "but look how it lies"
            return Verdict(HALF_CREDIT, f"So far right, {said}: {full}.", full, decides, (), (), places)
        return Verdict(1.0, f"Right: {full}.", full, decides, (), (), places)

    def instead(self, question: Question, answer: Answer) -> str:
        key, unit = TurnedKey.of(question), question.specimen.face.unit
        at = letter_of(answer.text, key.choices)
        same, mirrored = _said(answer.text if at is None else key.choices[at])
        parts = []
        if same is not key.same:
            if key.odd is None or key.lacking is None:
                parts.append(
                    "Were it a look-alike, one contact would lie on one side only; here none is without its twin"
                )
            else:
                parts.append(
                    f"Were it the same, the contact in one ring ({unit.at(*key.odd)}) would have its twin in the other "
                    f"({unit.at(*key.lacking)}); there metal only passes over"
                )
        if mirrored is not key.mirrored:
            way, turn = ("turned", "a turn") if key.mirrored else ("mirrored", "no turn")
            here = "here none does" if key.mirrored else "here one does"
            parts.append(f"Were it {way}, {turn} would lay it on the left one; {here}")
        return ". ".join(parts) + "."


def _said(text: str) -> tuple[bool | None, bool | None]:
    """Return what a text says: (the same or not, mirrored or not), None for what it leaves out."""
    words = text.lower()
    other, turned, mirrored = (pattern.search(words) is not None for pattern in (_OTHER, _TURNED, _MIRRORED))
    same = None if not other and not _SAME.search(words) else not other
    return same, mirrored if turned != mirrored else None


def _decides(question: Question, key: TurnedKey) -> str:
    how = (
        "three features met clockwise round one are met anticlockwise round the other, which no turning changes"
        if key.mirrored
        else "three features met clockwise round one are met clockwise round the other too, so it is turned only"
    )
    if key.odd is None or key.lacking is None:
        return f"Every gate, wire and contact of one has its counterpart in the other; {how}."
    face = question.specimen.face
    lower = next((j.lower for j in face.scene.joints if j.rect.contains(*key.odd)), "")
    below = face.scene.materials.get(lower, Material.DIFFUSION).value
    has, lacks = ("left", "right") if key.left.contains(*key.odd) else ("right", "left")
    return (
        f"In the ring on the {has} a contact joins metal and {below}; in the ring on the {lacks}, at its counterpart, "
        f"metal only passes over. Of the rest, {how}."
    )


def _less(layout: Layout, layer: str, hole: Rect) -> Layout:
    """Return a layout without one of its contacts."""
    left = tuple(rect for rect in union(layout.shapes[layer]) if rect != hole)
    return Layout(layout.name, {**layout.shapes, layer: left}, layout.labels)


def _placed(layout: Layout, turn: Transform, x: int, box: Rect) -> Layout:
    """Turn a layout, and set the lower left corner of its `box`, turned, at (x, 0)."""
    low = turn.rect(box)
    return layout.transformed(replace(turn, dx=x - low.x0, dy=-low.y0))


def _placed_rect(rect: Rect, turn: Transform, x: int, box: Rect) -> Rect:
    """Return where `_placed` puts a rectangle."""
    low = turn.rect(box)
    return replace(turn, dx=x - low.x0, dy=-low.y0).rect(rect)


def _joined(left: Layout, right: Layout) -> Layout:
    """Return both in one layout. Only the left one keeps its names: one name on both would be one net in pieces."""
    shapes = {name: (*rects, *right.shapes.get(name, ())) for name, rects in left.shapes.items()}
    return Layout(left.name, shapes, left.labels)


def _drawn_layers(process: Process) -> tuple[str, ...]:
    """Return the layers whose edges are seen: not wells, dopings and markers."""
    seen = ("active", "poly", "metal", "metal-2", "local-metal", "contact", "via", "thin-oxide")
    return tuple(name for name, layer in process.layers.items() if layer.role in seen)


def _lopsided(face: DrawnFace) -> bool:
    """Tell whether a cell differs plainly from its mirror images, so that turned and mirrored are two things."""
    layout = face.layout.flattened()
    kept = {name: layout.shapes[name] for name in _drawn_layers(face.process) if layout.shapes.get(name)}
    straight = _placed(Layout("", kept), Transform(), 0, face.box)
    box = bounding_box(rect for rects in straight.shapes.values() for rect in rects)
    if box is None:
        return False
    for turns in range(4):
        turn = Transform(turns=turns, mirrored=True)
        image = _placed(Layout("", kept), turn, 0, face.box)
        if turn.rect(box).width != box.width:
            continue  # lies the other way: upright against flat
        apart = 0
        for name, rects in straight.shapes.items():
            for a, b in ((rects, image.shapes[name]), (image.shapes[name], rects)):
                apart += sum(rect.area for rect in without(union(a), b))
        if apart < _LOPSIDED * box.area:
            return False
    return True


def _telling_contact(face: DrawnFace, dice: Dice) -> tuple[str, Rect] | None:
    """Choose a contact without which the circuit is another; None where there is none."""
    layout = face.layout.flattened()
    names = [name for name, layer in face.process.layers.items() if layer.role == "contact"]
    holes = [(name, rect) for name in names for rect in union(layout.shapes.get(name, ()))]
    holes = dice.shuffled(holes)
    whole = face.extraction.netlist
    for hole in holes:
        other = DrawnFace.of(_less(layout, *hole), face.process).extraction.netlist
        if not compare(whole, other, ports=False, merge=Merge.FINGERS).equal:
            return hole
    return None
