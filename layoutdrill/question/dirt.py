"""Which of the ringed spots are design, and which are dirt?"""

from dataclasses import replace
from functools import lru_cache
from math import hypot

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.face import DrawnFace
from layoutdrill.face.materials import Material
from layoutdrill.geometry.cutting import without
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.die import die_of
from layoutdrill.picture.dirt_seen import SeenDirt, dirt_on, seen_dirt
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.looks import load_look
from layoutdrill.process import Process
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.letters import lettered_credit, letters_of, letters_told
from layoutdrill.question.model import Answer, Hint, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.neighbours import border_told
from layoutdrill.question.places import LETTERS, apart
from layoutdrill.question.recap import Given, Recap, lettered_recap
from layoutdrill.value import Itself, value

WORN = 0.6
"""The wear of the die where the specimen is less worn."""
_LOOK = "reflected-light"
_SCALE = 4
_MOST = 6
_GAP = 4
_ON_METAL = 75
"""In how many of a hundred questions dirt that lies on metal is asked about first."""
COARSE = 1.4
"""λ across from which a crumb is as large as a contact."""
_WORSE = (0.7, 0.8, 0.9, 1.0)
_NEAR = 0.35
"""λ from a spot's side within which an edge of metal runs along it."""
_FAR = 6
"""λ from a spot beyond which the edge of the metal does not matter."""
_CLEAR = "A contact is square, as wide as its neighbours, has a rim on every side and lies in the middle of a wire."


@value
class DirtKey(Key):
    """The letters of dirt, all letters, the place of each and what it is."""

    shown = ("letters", "places")
    right: tuple[str, ...]
    letters: tuple[str, ...]
    places: dict[str, tuple[int, int]]
    what: dict[str, str]


class DirtOrContact(QuestionKind):
    """
    Tell dirt from design.

    Credit: the share of the spots of dirt that were named, less that share for each contact or via that was taken for
    dirt, never below 0. Every spot stands out in the very picture; a die is worn for the purpose.
    """

    name = "dust or contact"
    title = "Tell dirt from design"
    group = Group.SEE
    key_type = DirtKey
    own_look = True
    on_dirt = True

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        face = specimen.face
        if type(face) is not DrawnFace:
            return None
        number = specimen.seed or 0
        wear = _worn_to(face, number, max(specimen.wear, WORN), dice)
        die = die_of(face.layout, face.process, number, wear)
        dirt = [
            place for place in _standing_out(Itself(face.layout), face.process, number, wear) if place.what != "crack"
        ]
        joints = [
            (j.rect.centre, "a via" if j.material is Material.METAL else "a contact", die.moved(j.layer, j.rect))
            for j in face.scene.joints
        ]
        gap = _GAP * face.unit.per
        crumbs = {(d.x, d.y): d for d in dirt}
        spots: list[tuple[tuple[int, int], str, str]] = []
        wanted = dice.between(1, 4)
        metal = [w.rect for w in face.scene.wires if w.material is Material.METAL]
        on_metal = {at for at in crumbs if any(r.contains(*at) for r in metal)}
        strewn = dice.shuffled(list(crumbs.items()))
        if dice.chance(_ON_METAL):
            strewn.sort(key=lambda spot: spot[0] not in on_metal)  # there it could be taken for a contact
        strewn.sort(key=lambda spot: not _coarse(spot[1]))
        for at, d in strewn:
            if (
                len(spots) < wanted
                and apart(at, [s[0] for s in spots], gap)
                and apart(at, [j[0] for j in joints], gap // 2)
            ):
                spots.append((at, _ARTICLES[d.what], _told(d, at, metal, face.unit.per)))
        if not spots:
            return None
        count = len(spots)
        for at, what, seen in dice.shuffled(joints):
            clear = apart(at, crumbs, gap // 2) and apart(at, [s[0] for s in spots], gap)
            if len(spots) < _MOST and clear:
                spots.append((at, what, _measured(seen, 4, metal, face.unit.per)))
        if len(spots) - count < 2:
            return None
        spots.sort()
        letters = LETTERS[: len(spots)]
        worn = replace(specimen, wear=wear)
        return Question(
            kind=self.name,
            prompt="Which of the ringed spots are dirt, and no part of the design? Type their letters.",
            specimen=worn,
            choices=(),
            facts=border_told(specimen),
            marks=tuple(Mark(a, *at, ring=True, words=words) for a, (at, _, words) in zip(letters, spots, strict=True)),
            key=DirtKey(
                tuple(a for a, (_, what, _) in zip(letters, spots, strict=True) if what in _ARTICLES.values()),
                tuple(letters),
                {a: at for a, (at, _, _) in zip(letters, spots, strict=True)},
                {a: what for a, (_, what, _) in zip(letters, spots, strict=True)},
            ),
            hints=(Hint(HintStep.WORDS, _CLEAR, 0.2), Hint(HintStep.WORDS, _number_told(count), 0.3)),
            look=_LOOK,
            scale=_SCALE,
        )

    def subject(self, question: Question) -> str:
        return "dirt"

    def needs(self, question: Question) -> frozenset[Fact]:
        whats = set(DirtKey.of(question).what.values())
        return frozenset({Fact.CONTACT} | ({Fact.VIA} if "a via" in whats else set()))

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        return any(layer.role == "contact" for layer in process.layers.values())

    def recap(self, given: Given) -> Recap:
        return lettered_recap(given, "the dirt on the picture")

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        letters_of(words, DirtKey.of(question).letters)
        return Answer(words)

    def instead(self, question: Question, answer: Answer) -> str:
        key = DirtKey.of(question)
        given, right = letters_of(answer.text, key.letters), set(key.right)
        parts = [f"Were {a} dirt, its outline would be uneven and no rim round it; it is {key.what[a]}"
                 for a in sorted(given - right)[:1]]  # fmt: skip
        parts += [f"Were {a} design, it would be square, rimmed and in the middle of a wire; it is {key.what[a]}"
                  for a in sorted(right - given)[:1]]  # fmt: skip
        return ". ".join(parts) + "."

    def solution(self, question: Question) -> Answer:
        return Answer(" ".join(DirtKey.of(question).right))

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = DirtKey.of(question)
        given, right = letters_of(answer.text, key.letters), set(key.right)
        credit = lettered_credit(given, right)
        full = ", ".join(key.right)
        if credit == 1:
            summary = f"Right: {full}."
        elif given == set(key.letters) - right:
            summary = "Those are the parts of the design: the others are the dirt."
        else:
            summary = f"Not quite: {letters_told(given, right, 'part of the design')}."
        shown = sorted(right | given)
        decides = f"{'; '.join(f'{a} is {key.what[a]}' for a in key.letters)}. {_CLEAR}"
        return Verdict(credit, summary, full, decides, (), (), tuple(key.places[a] for a in shown))


@lru_cache(maxsize=16)
def _standing_out(layout: Itself[Layout], process: Process, number: int, wear: float) -> tuple[SeenDirt, ...]:
    """Return the dirt that stands out on a die, kept for the last few: each piece is looked at in a picture."""
    return seen_dirt(layout.thing, process, load_look(_LOOK), number, wear)


_ARTICLES = {"crumb": "a crumb of dust", "hair": "a hair", "scratch": "a scratch"}


def _worn_to(face: DrawnFace, number: int, least: float, dice: Dice) -> float:
    """Return a wear at which dust as large as a contact lies on the die, if there is one, else the least."""
    degrees = [round(w, 1) for w in (least, *_WORSE) if w >= least]
    for wear in dice.shuffled(degrees):
        if any(_coarse(d) for d in dirt_on(face.layout, face.process, number, wear)):
            return wear
    return least


def _coarse(dirt: SeenDirt) -> bool:
    """Tell whether dirt is a crumb as large as contacts are."""
    return max(dirt.width, dirt.height) >= COARSE and dirt.what == "crumb"


def _told(dirt: SeenDirt, at: tuple[int, int], metal: list[Rect], per: int) -> str:
    """Say in plain text how large a piece of dirt is, and what lies along its sides; a line runs on."""
    if dirt.what != "crumb":
        return f"{dirt.width:.1f} λ wide and many λ long, {_middle(at, metal, per)}"
    wide, high = per * dirt.width / 2, per * dirt.height / 2
    box = at[0] - wide, at[1] - high, at[0] + wide, at[1] + high
    return _measured(box, _edges_along(box, metal, per), metal, per)


def _measured(box: tuple[float, ...], lines: int, metal: list[Rect], per: int) -> str:
    """
    Say in plain text how large a spot is on this die, in λ to a tenth, along how many of its four sides a line runs,
    and how its middle lies in the metal: in the same words for dirt and design, so that the learner concludes.

    A contact or via has a slope on each side; along dust a line runs only where metal happens to end there.
    """
    x0, y0, x1, y1 = box
    middle = round((x0 + x1) / 2), round((y0 + y1) / 2)
    along = {0: "no line along a side", 4: "a line along each side"}.get(lines, f"a line along {lines} of 4 sides")
    return f"{(x1 - x0) / per:.1f} by {(y1 - y0) / per:.1f} λ, {along}, {_middle(middle, metal, per)}"


def _edges_along(box: tuple[float, ...], metal: list[Rect], per: int) -> int:
    """Count the sides of a box along which an edge of metal runs, over at least half of the side."""
    x0, y0, x1, y1 = box
    near = _NEAR * per

    def runs(side: float, low: float, high: float, edges: list[tuple[int, int, int]]) -> bool:
        return any(abs(at - side) <= near and min(b, high) - max(a, low) >= (high - low) / 2 for at, a, b in edges)

    upright = [(x, bare.y0, bare.y1) for r in metal for x, aside in ((r.x0, r.x0 - 1), (r.x1, r.x1))
               if min(abs(x - x0), abs(x - x1)) <= near
               for bare in without([Rect(aside, r.y0, aside + 1, r.y1)], metal)]  # fmt: skip
    level = [(y, bare.x0, bare.x1) for r in metal for y, aside in ((r.y0, r.y0 - 1), (r.y1, r.y1))
             if min(abs(y - y0), abs(y - y1)) <= near
             for bare in without([Rect(r.x0, aside, r.x1, aside + 1)], metal)]  # fmt: skip
    return sum(runs(x, y0, y1, upright) for x in (x0, x1)) + sum(runs(y, x0, x1, level) for y in (y0, y1))


def _middle(at: tuple[int, int], metal: list[Rect], per: int) -> str:
    """Say how far inside the metal's outline a point lies; where two rectangles of it meet is no edge."""
    x, y = at
    if not any(r.contains(x, y) for r in metal):
        return "its middle on no metal"
    bare = without([Rect(x, y, x, y).grown(_FAR * per)], metal)
    edge = min((hypot(max(r.x0 - x, 0, x - r.x1), max(r.y0 - y, 0, y - r.y1)) for r in bare), default=None)
    if edge is None or edge > _FAR * per:
        return f"its middle more than {_FAR} λ inside the metal's edge"
    return f"its middle {edge / per:.1f} λ inside the metal's edge"


def _number_told(count: int) -> str:
    return "One of them is dirt." if count == 1 else f"{count} of them are dirt."
