"""Which lettered points lie on one net? Or: which of the lettered gates does the net at P drive?"""

from collections.abc import Mapping

from layoutdrill.dice import Dice
from layoutdrill.face.scene import Scene, Wire
from layoutdrill.picture.evidence import Fact
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.letters import lettered_credit, letters_of, letters_told
from layoutdrill.question.model import Answer, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.needed import strips_told, tracing
from layoutdrill.question.neighbours import border_told
from layoutdrill.question.places import LETTERS, apart, places_on, visible
from layoutdrill.question.recap import Given, Recap, lettered_recap
from layoutdrill.value import value

_STEPS = (HintStep.LIFT_METAL, HintStep.DEVICES, HintStep.NETS)
_COSTS = {HintStep.NETS: 0.6, HintStep.LIFT_METAL: 0.2, HintStep.DEVICES: 0.1}
_POINTS = 5
_GATES_SHARE = 35
"""In how many of a hundred the letters stand on gates instead of wires."""

Place = tuple[tuple[int, int], str]
"""A place and the net that it is on."""


@value
class SameNetKey(Key):
    """The letters on P's net, all letters but P, and the place of each; with `gates` they stand on channels."""

    shown = ("letters", "places", "gates")

    right: tuple[str, ...]
    letters: tuple[str, ...]
    places: Mapping[str, tuple[int, int]]
    gates: bool = False


class SameNet(QuestionKind):
    """
    Tell which lettered points are on P's net.

    Credit: the share of the right letters found, less that share for each wrong letter, never below 0.
    """

    name = "same net"
    tells_places = False
    title = "Follow a net"
    group = Group.SEE
    key_type = SameNetKey
    untold = frozenset({Fact.CONTACT})

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        scene = specimen.face.scene
        by: dict[str, list[Wire]] = {}
        for wire in scene.wires:
            if visible(wire):
                by.setdefault(wire.net, []).append(wire)
        gates = _gates(scene) if dice.chance(_GATES_SHARE) else {}
        driving = {t.gate for t in specimen.netlist.transistors} if len(gates) > 2 else set(by)
        supplies = specimen.process.supplies
        weights = {net: _length(own, scene.unit) for net, own in by.items() if net in driving}
        weights = {net: 12 * scene.unit if net in supplies else weight for net, weight in weights.items()}
        while weights and len(by) > 1:
            net = dice.weighted(tuple(weights.items()))
            del weights[net]
            places = _at_gates(scene, net, by, gates, dice) if len(gates) > 2 else _on_wires(scene, net, by, dice)
            if places is not None:
                return self._question(specimen, net, places, gates=len(gates) > 2)
        return None

    def _question(self, specimen: Specimen, net: str, places: list[Place], *, gates: bool) -> Question:
        first, rest = places[0], sorted(places[1:])
        marks = tuple(Mark(LETTERS[i], *place) for i, (place, _) in enumerate((first, *rest)))
        nets = {LETTERS[i]: name for i, (_, name) in enumerate((first, *rest))}
        last = marks[-1].letter
        asked = f"Which of the gates Q to {last} does it drive?" if gates else f"Which of Q to {last} lie on it too?"
        return Question(
            kind=self.name,
            prompt=f"Follow the net at P. {asked} Type their letters, or “none”.",
            specimen=specimen,
            choices=(),
            facts=(*border_told(specimen), *strips_told(specimen)),
            marks=marks,
            key=SameNetKey(
                tuple(m.letter for m in marks[1:] if nets[m.letter] == net),
                tuple(m.letter for m in marks[1:]),
                {m.letter: (m.x, m.y) for m in marks},
                gates,
            ),
            hints=hints(_STEPS, _COSTS),
        )

    def subject(self, question: Question) -> str:
        return "nets"

    def needs(self, question: Question) -> frozenset[Fact]:
        gates = SameNetKey.of(question).gates
        return tracing(question.specimen.face.scene) | (frozenset({Fact.GATE}) if gates else frozenset())

    def recap(self, given: Given) -> Recap:
        return lettered_recap(given, "the letters on one net")

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        letters_of(words, SameNetKey.of(question).letters, "P")
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        return Answer(" ".join(SameNetKey.of(question).right) or "none")

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = SameNetKey.of(question)
        right = set(key.right)
        given = letters_of(answer.text, key.letters, "P")
        wrong = given - right
        credit = lettered_credit(given, right)
        together = "P, " + ", ".join(sorted(right)) if right else "P alone"
        summary = (
            f"Right: one net, {together}." if credit == 1 else f"Not quite: {letters_told(given, right, 'not on it')}."
        )
        spots = key.places
        shown = ["P", *sorted(wrong)]
        nets = dict.fromkeys(net for letter in shown if letter in spots for net in _net_at(question, spots[letter]))
        return Verdict(
            credit,
            summary,
            f"{', '.join(sorted(right))}, on one net with P" if right else "none: P is alone on its net",
            _joins(question),
            (),
            tuple(nets),
            tuple(spots[letter] for letter in ("P", *sorted(right | wrong)) if letter in spots),
        )

    def instead(self, question: Question, answer: Answer) -> str:
        key = SameNetKey.of(question)
        given, right = letters_of(answer.text, key.letters, "P"), set(key.right)
        wrong, missed = sorted(given - right), sorted(right - given)
        parts = []
        if wrong:
            it = f"the gate at {wrong[0]}" if key.gates else wrong[0]
            apart = _parted(question, key.places["P"], key.places[wrong[0]])
            parts.append(f"Were {it} on the net of P, metal or a contact would join them; {apart}")
        if missed:
            it = f"the gate at {missed[0]}" if key.gates else missed[0]
            parts.append(f"Were {it} on another net, its wire would end before it meets that of P; it runs on to it")
        return ". ".join(parts) + "."


def _parted(question: Question, one: tuple[int, int], other: tuple[int, int]) -> str:
    """Say what keeps the nets at two places apart where they come nearest."""
    face = question.specimen.face
    first, second = (
        [wire for wire in face.scene.wires if visible(wire) and wire.net in _net_at(question, at)]
        for at in (one, other)
    )
    pairs = [(max(0, _distance(a, b)), a.material is not b.material, a, b) for a in first for b in second]
    if not pairs:
        return "nothing does"
    gap, _, a, b = min(pairs, key=lambda pair: (pair[0], not pair[1], pair[2].rect, pair[3].rect))
    meet = a.rect.common(b.rect)
    x, y = (meet or a.rect).centre
    if meet is not None or gap == 0:
        materials = f"{a.material} and {b.material}"
        return f"where they come nearest, at {face.unit.at(x, y)}, {materials} pass with no contact"
    apart_by = f"{face.unit.number(gap)} {face.unit.sign}"
    return f"where they come nearest, at {face.unit.at(x, y)}, a gap of {apart_by} lies between"


def _joins(question: Question) -> str:
    """Say where wires join, in the words of the process."""
    touch = "Nets join at contacts and where wires of one layer touch; metal over another wire alone does not join."
    if any(layer.role == "buried-contact" for layer in question.specimen.process.layers.values()):
        touch += " Poly that ends on diffusion joins it in a buried contact, without metal."
    return touch


def _net_at(question: Question, at: tuple[int, int]) -> tuple[str, ...]:
    scene = question.specimen.face.scene
    wells = {name for name, material in scene.materials.items() if material.value == "well"}
    return tuple(net for name, net in question.specimen.extraction.nets_at(*at) if name not in wells)[:1]


def _on_wires(scene: Scene, net: str, by: dict[str, list[Wire]], dice: Dice) -> list[Place] | None:
    """Place P and letters on wires, each with its net; P first; None where too few fit."""
    start = next(places_on(scene, by[net], dice), None)
    if start is None:
        return None
    taken: list[Place] = [(start, net)]
    right = dice.pick((0, 1, 1, 2, 2, 3))
    for own in sorted(by[net], key=lambda w: -_reach(w, start) * dice.between(40, 100)):
        if len(taken) > right:
            break
        _add(scene, [own], net, taken, 8 * scene.unit, dice)
    for other in (*_nearest(net, by, dice), *_nearest(net, by, dice)):
        if len(taken) > _POINTS:
            break
        _add(scene, dice.shuffled(by[other]), other, taken, 4 * scene.unit, dice)
    return taken if len({n for _, n in taken}) > 1 and len(taken) >= 4 else None


def _at_gates(
    scene: Scene, net: str, by: dict[str, list[Wire]], gates: dict[tuple[int, int], str], dice: Dice
) -> list[Place] | None:
    """Place P on a wire and letters on channels, each with the net of its gate; None where too few fit."""
    gap = 4 * scene.unit
    starts = list(places_on(scene, by[net], dice))
    start = next((at for at in starts if apart(at, gates, gap)), None)
    if start is None:
        return None
    places = list(gates)
    places = dice.shuffled(places)
    own = [at for at in places if gates[at] == net][: dice.between(1, 3)]
    others = [at for at in places if gates[at] != net]
    taken: list[Place] = [(start, net)]
    for at in (*own, *others):
        if len(taken) <= _POINTS and apart(at, (place for place, _ in taken), gap):
            taken.append((at, gates[at]))
    return taken if len({n for _, n in taken}) > 1 and len(taken) >= 4 else None


def _gates(scene: Scene) -> dict[tuple[int, int], str]:
    """Return a place on each channel over which no other net's wire lies, with the net of the gate."""
    gates = {}
    for t in scene.extraction.netlist.transistors:
        for rect in scene.channels[t.name]:
            at = rect.centre
            if {w.net for w in scene.wires if w.rect.contains(*at)} == {t.gate}:
                gates[at] = t.gate
                break
    return gates


def _nearest(net: str, by: dict[str, list[Wire]], dice: Dice) -> list[str]:
    """Return the other nets, those that come nearest to `net` first, equally near ones in any order."""
    others = dice.shuffled([other for other in by if other != net])
    return sorted(others, key=lambda other: min(_distance(a, b) for a in by[net] for b in by[other]))


def _add(scene: Scene, wires: list[Wire], net: str, taken: list[Place], gap: int, dice: Dice) -> None:
    for at in places_on(scene, wires, dice):
        if apart(at, (place for place, _ in taken), gap):
            taken.append((at, net))
            return


def _reach(wire: Wire, at: tuple[int, int]) -> int:
    x, y = wire.rect.centre
    return abs(x - at[0]) + abs(y - at[1])


def _distance(a: Wire, b: Wire) -> int:
    p, q = a.rect, b.rect
    return max(p.x0 - q.x1, q.x0 - p.x1, p.y0 - q.y1, q.y0 - p.y1, 0)


def _length(wires: list[Wire], unit: int) -> int:
    """Weigh a net by how much there is to follow, in grid units: its stretches, and 40 λ for each layer."""
    return 40 * unit * len({w.conductor for w in wires}) + sum(max(w.rect.width, w.rect.height) for w in wires)
