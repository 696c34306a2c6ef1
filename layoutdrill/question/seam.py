"""Follow one net over the seam of two frames that were stitched with a jump."""

from dataclasses import replace

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.face import DrawnFace, Face
from layoutdrill.face.materials import Material
from layoutdrill.face.scene import Scene, Wire
from layoutdrill.face.split import SplitFace
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.letters import lettered_credit, letters_of, letters_told
from layoutdrill.question.model import Answer, Hint, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.needed import strips_told, tracing
from layoutdrill.question.places import LETTERS, apart, on_top, places_on, visible
from layoutdrill.question.recap import Given, Recap, lettered_recap
from layoutdrill.value import value

LEAST_JUMP, MOST_JUMP = 3, 7
"""λ by which the right frame sits too high or too low."""
STRAIGHT_CREDIT = 0.25
"""The nets that lie straight across the seam, were there no jump."""
_LOOK = "reflected-light"
_POINTS = 5
_GAP = 4
_MARGIN = 2
"""λ from the seam within which no letter stands."""


@value
class SeamKey(Key):
    """
    The letters on P's net, all letters but P, the place of each; where the seam lies (x), by how much the right frame
    sits too high, and the letters of nets that meet P's straight across the seam.
    """

    shown = ("letters", "places", "at")
    right: tuple[str, ...]
    letters: tuple[str, ...]
    places: dict[str, tuple[int, int]]
    at: int
    rise: int
    straight: tuple[str, ...] = ()


class AcrossSeam(QuestionKind):
    """
    Follow a net over a jump of stitching.

    A rail crosses the seam, so that the jump can be read from the picture. Credit as for following a net: the share
    of the right letters, less that share for each wrong one; a quarter for what lies straight across the seam.
    """

    name = "across a seam"
    title = "Follow a net across a seam"
    group = Group.SEE
    tells_places = False
    key_type = SeamKey
    own_look = True

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        face = specimen.face
        if type(face) is not DrawnFace or specimen.frame is not None:
            return None
        unit, box = face.unit.per, face.box
        border = max(1, box.width // _BORDER)
        for tried in range(_TRIES):
            at = (box.x0 + dice.between(border, box.width - border)) // unit * unit
            rise = dice.between(LEAST_JUMP, MOST_JUMP) * unit * dice.pick((-1, 1))
            if not set(face.process.supplies) & {w.net for w in _crossing(face.scene, at, Material.METAL)}:
                continue
            if tried < _TRIES // 2 and not _clean(face.scene, at):
                continue
            question = self._asked(specimen, face, at, rise, dice)
            if question is not None:
                return question
        return None

    def _asked(self, specimen: Specimen, face: DrawnFace, at: int, rise: int, dice: Dice) -> Question | None:
        scene = face.scene
        crossing = _crossing(scene, at)
        nets = list(dict.fromkeys(w.net for w in crossing if w.net not in face.process.supplies))
        if not nets:
            return None
        net = dice.pick(nets)
        margin = _MARGIN * scene.unit
        left, right = _sides(scene, at, margin)
        start = next(places_on(scene, left.get(net, ()), dice), None)
        if start is None:
            return None
        taken: list[tuple[tuple[int, int], str]] = []
        for name in (net, *dice.shuffled([other for other in right if other != net]), net):
            for place in places_on(scene, right.get(name, ()), dice):
                if len(taken) < _POINTS and apart(place, [p for p, _ in taken], _GAP * scene.unit):
                    taken.append((place, name))
                    break
        if len({name for _, name in taken}) < 2 or len(taken) < 3:
            return None
        taken.sort()
        letters = LETTERS[1 : 1 + len(taken)]
        across = _straight(crossing, net, rise)
        split = SplitFace(face.layout, face.process, face.extraction, at, rise)
        empty = Netlist(specimen.netlist.name, (), ())
        marks = (Mark("P", *start), *(Mark(a, *place) for a, (place, _) in zip(letters, taken, strict=True)))
        share = round(100 * (at - face.box.x0) / face.box.width)
        telling = (
            f"Two frames are stitched at x = {face.unit.number(at)} λ, {share} % of the way from the left end to the "
            "right: all of the right one sits too high, or too low."
        )
        return Question(
            kind=self.name,
            prompt=f"Follow the net at P across the seam. Which of Q to {letters[-1]} lie on it? Or “none”.",
            specimen=replace(specimen, face=split, netlist=empty, boundary="", about=""),
            choices=(),
            facts=(telling, *strips_told(specimen)),
            marks=marks,
            key=SeamKey(
                tuple(a for a, (_, name) in zip(letters, taken, strict=True) if name == net),
                tuple(letters),
                {mark.letter: (mark.x, mark.y) for mark in marks},
                at,
                rise,
                tuple(a for a, (_, name) in zip(letters, taken, strict=True) if name in across),
            ),
            hints=(Hint(HintStep.WORDS, _ADVICE, 0.1), Hint(HintStep.WORDS, _jump_told(face, rise), 0.3)),
            look=_LOOK,
        )

    def subject(self, question: Question) -> str:
        return "seams"

    def needs(self, question: Question) -> frozenset[Fact]:
        return tracing(question.specimen.face.scene)

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        return any(rail in netlist.nets for rail in process.supplies)

    def recap(self, given: Given) -> Recap:
        return lettered_recap(given, "the letters on one net across the seam")

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        letters_of(words, SeamKey.of(question).letters, "P")
        return Answer(words)

    def part_told(self, question: Question, answer: Answer, credit: float) -> str:
        key = SeamKey.of(question)
        if not 0 < credit < 1:
            return ""
        given, right = letters_of(answer.text, key.letters, "P"), set(key.right)
        if lettered_credit(given, right) < credit:
            return "what lies straight across the seam is seen, the jump is not reckoned with"
        wrong = len(given - right)
        off = f", less {wrong} that {'is' if wrong == 1 else 'are'} not on it" if wrong else ""
        return f"{len(given & right)} of the {len(right)} letters on the net{off}"

    def instead(self, question: Question, answer: Answer) -> str:
        key, face = SeamKey.of(question), question.specimen.face
        given, right = letters_of(answer.text, key.letters, "P"), set(key.right)
        odd = min(given - right or right - given)
        jump = f"{face.unit.number(abs(key.rise))} λ too {'high' if key.rise > 0 else 'low'}"
        back = f"once the right frame, which sits {jump}, is put back"
        if odd in right:
            return f"Were {odd} off the net of P, its wires would miss P's {back}; put back, they are one net."
        if odd in key.straight:
            return (
                f"Were {odd} on the net of P, there would be no jump: it meets P's wire straight across the seam. The "
                f"rails show that the right frame sits {jump}; put back, it misses P's."
            )
        would = f"Were {odd} on the net of P, its wires would run on into P's {back}."
        return f"{would} Put back, {_kept_apart(face, key.places['P'], key.places[odd])}."

    def solution(self, question: Question) -> Answer:
        return Answer(" ".join(SeamKey.of(question).right) or "none")

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key, face = SeamKey.of(question), question.specimen.face
        given, right = letters_of(answer.text, key.letters, "P"), set(key.right)
        credit = lettered_credit(given, right)
        together = "P, " + ", ".join(sorted(right)) if right else "P alone"
        if credit == 1:
            summary = f"Right: one net, {together}."
        elif key.straight and given == set(key.straight) and given != right:
            credit = max(credit, STRAIGHT_CREDIT)
            more = letters_told(given, right, "not on it")
            summary = f"That lies straight across the seam, as if there were no jump: {more}."
        else:
            summary = f"Not quite: {letters_told(given, right, 'not on it')}."
        full = f"{', '.join(sorted(right))}, on one net with P" if right else "none: P is alone on its net"
        places = tuple(key.places[a] for a in ("P", *sorted(right | given)) if a in key.places)
        return Verdict(credit, summary, full, f"{_jump_told(face, key.rise)} {_ADVICE}", (), (), places)


_BORDER = 6
"""The seam keeps this part of the width from either end."""
_TRIES = 24
_ADVICE = (
    "A rail that crosses the seam tells the jump: it is the widest wire. What makes it run on makes every wire run on."
)


def _jump_told(face: Face, rise: int) -> str:
    return f"The right frame sits {face.unit.number(abs(rise))} λ too {'high' if rise > 0 else 'low'}."


def _kept_apart(face: Face, one: tuple[int, int], other: tuple[int, int]) -> str:
    """Say what keeps the nets of two places apart on the die: a gate where they meet at one, else distance or oxide."""
    wires = [on_top(face.scene, *place) for place in (one, other)]
    nets = {wire.net for wire in wires if wire is not None}
    for transistor in face.extraction.netlist.transistors if len(nets) == 2 else ():
        ends = {transistor.source, transistor.drain}
        if ends == nets:
            return "a gate lies across the diffusion between them and parts it: two nets"
        if transistor.gate in nets and nets - {transistor.gate} <= ends:
            return "one is a gate that lies across the diffusion of the other: it touches nothing there"
    return "they miss it, or pass it without a contact"


def _crossing(scene: Scene, at: int, material: Material | None = None) -> list[Wire]:
    """Return the wires that run across a line, well on to both sides of it."""
    margin = _MARGIN * scene.unit
    return [
        w for w in scene.wires
        if visible(w) and w.rect.x0 <= at - margin and w.rect.x1 >= at + margin and material in (None, w.material)
    ]  # fmt: skip


def _clean(scene: Scene, at: int) -> bool:
    """Tell whether a line cuts wires across and none along, and no contact or gate."""
    margin = _MARGIN * scene.unit
    cut = [w.rect for w in scene.wires if visible(w) and w.rect.x0 < at + margin and w.rect.x1 > at - margin]
    return all(r.x0 <= at - margin and r.x1 >= at + margin for r in cut)


def _sides(scene: Scene, at: int, margin: int) -> tuple[dict[str, list[Wire]], dict[str, list[Wire]]]:
    """Return the wires that lie wholly on the left and on the right of a line, each less what is near it, by net."""
    left: dict[str, list[Wire]] = {}
    right: dict[str, list[Wire]] = {}
    for wire in scene.wires:
        r = wire.rect
        if not visible(wire):
            continue
        if r.x0 < at - margin:
            part = replace(wire, rect=_narrowed(r, r.x0, min(r.x1, at - margin)))
            left.setdefault(wire.net, []).append(part)
        if r.x1 > at + margin:
            part = replace(wire, rect=_narrowed(r, max(r.x0, at + margin), r.x1))
            right.setdefault(wire.net, []).append(part)
    return left, right


def _narrowed(rect: Rect, x0: int, x1: int) -> Rect:
    """Return a rectangle with other ends from left to right."""
    return Rect(x0, rect.y0, x1, rect.y1)


def _straight(crossing: list[Wire], net: str, rise: int) -> set[str]:
    """Return the nets whose wires, shifted as the frame is, meet a wire of the net at the seam."""
    own = [w for w in crossing if w.net == net]
    return {
        w.net for w in crossing for mine in own
        if w.net != net and w.conductor == mine.conductor
        and w.rect.y0 + rise < mine.rect.y1 and mine.rect.y0 < w.rect.y1 + rise
    }  # fmt: skip
