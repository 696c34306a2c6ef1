"""Which wires are the two supplies, and by which feature does one tell them apart?"""

import re
from collections.abc import Callable, Mapping

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.materials import Material, well_ties
from layoutdrill.face.scene import Scene, Wire
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.choices import LETTERS, blank, likely, nonempty, shuffled, unanswered
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.needed import row_told
from layoutdrill.question.neighbours import border_told
from layoutdrill.question.places import LETTERS as PLACES
from layoutdrill.question.places import apart, places_on
from layoutdrill.question.recap import Given, Recap, lettered_recap
from layoutdrill.question.targets import is_load, rail_words
from layoutdrill.value import value

_STEPS = (HintStep.LIFT_METAL, HintStep.DEVICES, HintStep.NETS)
_COSTS = {HintStep.DEVICES: 0.2, HintStep.NETS: 0.2}


def _metal(scene: Scene, net: str) -> list[Rect]:
    return [wire.rect for wire in scene.wires if wire.net == net and wire.material is Material.METAL]


def _mean_height(scene: Scene, net: str) -> float:
    """Return how high a net's metal lies on average over its area, in grid units."""
    metal = _metal(scene, net)
    return sum(rect.area * rect.centre[1] for rect in metal) / sum(rect.area for rect in metal)


_IDLE: dict[str, Callable[[Scene, str], float]] = {
    "{rail} is the upper one of the two": _mean_height,
    "{rail} is the wider one of the two": lambda scene, net: max(min(r.width, r.height) for r in _metal(scene, net)),
    "{rail} is the one with more contacts": lambda scene, net: sum(j.net == net for j in scene.joints),
    "{rail} is the longer one of the two": lambda scene, net: max(max(r.width, r.height) for r in _metal(scene, net)),
    "{rail} is the one that more gates touch": lambda scene, net: sum(
        t.gate == net for t in scene.extraction.netlist.transistors
    ),
}
"""
Said of rails, but deciding nothing: layouts are turned over, and widths and contacts follow the current. Each with what
it compares: it is said of the rail of which the picture does not show it, so that none is offered that is true there.
"""
_NO_MORE_SAID = ("{rail} is the one nearer the output",)
"""Offered once; records still hold it."""


@value
class RailsKey(Key):
    """
    The letters on the high and the low rail, their `names` (high first), all letters with their places, and the feature
    that tells: its sort, its choice's letter, how it is and how it is not.
    """

    shown = ("names", "letters", "places", "choices")

    high: str
    low: str
    names: tuple[str, ...]
    letters: tuple[str, ...]
    places: Mapping[str, tuple[int, int]]
    right: str
    true: str
    feature: str
    choices: tuple[str, ...]
    decides: str


class Rails(QuestionKind):
    """
    Find the two supplies and the feature that tells them apart.

    A third of the credit each for the letter on the high rail, the letter on the low rail, and the feature.
    """

    name = "rails"
    title = "Find the rails"
    group = Group.SEE
    tells_places = False
    key_type = RailsKey
    untold = frozenset({Fact.CONTACT})

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        scene = specimen.face.scene
        low, high = specimen.process.supplies
        by: dict[str, list[Wire]] = {}
        for wire in scene.wires:
            if wire.material is Material.METAL:
                by.setdefault(wire.net, []).append(wire)
        if low not in by or high not in by or len(by) < 3:
            return None
        features = _features(scene, low, high)
        if not features:
            return None
        others = [net for net in by if net not in (low, high)]
        others = dice.shuffled(others)
        placed: list[tuple[tuple[int, int], str]] = []
        for net in (high, low, *others):
            if len(placed) >= 5:
                break
            for at in places_on(scene, by[net], dice):
                if apart(at, (place for place, _ in placed), 3 * scene.unit):
                    placed.append((at, net))
                    break
        if {high, low} - {net for _, net in placed} or len(placed) < 3:
            return None
        placed = dice.shuffled(placed)
        marks = tuple(Mark(PLACES[i], *at) for i, (at, _) in enumerate(placed))
        letter = {net: PLACES[i] for i, (_, net) in enumerate(placed)}
        sort, true, false = dice.pick(features)
        idle = [
            text.format(rail=high if measure(scene, high) <= measure(scene, low) else low)
            for text, measure in _IDLE.items()
        ]
        choices = shuffled(true, (false, *likely(idle, 2, dice)), dice)
        return Question(
            kind=self.name,
            prompt=f"Which letter is on {high}, which on {low}, and how do you tell? Type all three, such as S P a.",
            specimen=specimen,
            choices=choices,
            facts=border_told(specimen),
            marks=marks,
            key=RailsKey(
                high=letter[high],
                low=letter[low],
                names=(high, low),
                letters=tuple(m.letter for m in marks),
                places={m.letter: (m.x, m.y) for m in marks},
                right=LETTERS[choices.index(true)],
                true=true,
                feature=sort,
                choices=choices,
                decides=f"{rail_words(scene, high)} {rail_words(scene, low)}",
            ),
            typed=True,
            hints=hints(_STEPS, _COSTS),
        )

    def subject(self, question: Question) -> str:
        return "rails"

    def needs(self, question: Question) -> frozenset[Fact]:
        told_by = {"kind": {Fact.GATE, Fact.KIND}, "taps": {Fact.TAP, Fact.WELL}, "load": {Fact.GATE}}
        return frozenset({Fact.CONTACT, *told_by[RailsKey.of(question).feature]})

    def tell(self, question: Question, hidden: frozenset[Fact]) -> tuple[str, ...] | None:
        """Tell the kind of one row; which rail is which would be the answer."""
        return super().tell(question, hidden) if hidden == {Fact.WELL} else row_told(question.specimen)

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        """Both rails must be there, and something that tells one from the other."""
        on = [{t.kind for t in netlist.transistors if rail in t.ends} for rail in process.supplies]
        loads = any(is_load(t, process, netlist) for t in netlist.transistors)
        return all(on) and (on == [{Kind.N}, {Kind.P}] or bool(well_ties(process)) or loads)

    def recap(self, given: Given) -> Recap:
        return lettered_recap(given, "the rails")

    def in_sight(self, question: Question) -> tuple[Rect, ...]:
        """The metal of both rails, so that their lines can be followed."""
        supplies = question.specimen.process.supplies
        wires = question.specimen.face.scene.wires
        return tuple(w.rect for w in wires if w.net in supplies and w.material is Material.METAL)

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        _read(question, words)
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        key = RailsKey.of(question)
        return Answer(f"{key.high} {key.low} {key.right}")

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = RailsKey.of(question)
        high, low, cue = _read(question, answer.text)
        names = key.names
        hits = [high == key.high, low == key.low, cue == key.right]
        right = f"{names[0]} at {key.high}, {names[1]} at {key.low}: {key.true}"
        spots = tuple(key.places[letter] for letter in (key.high, key.low) if letter in key.places)
        nets = tuple(n for n in names if n in question.specimen.netlist.nets)
        decides = key.decides
        if all(hits):
            return Verdict(1.0, f"Right: {right}.", right, decides, (), nets, spots)
        parts = []
        if high == key.low and low == key.high:
            parts.append("the rails are right, but the other way round")
        else:
            said = ((names[0], high, hits[0], key.high), (names[1], low, hits[1], key.low))
            for name, given, hit, letter in said:
                parts.append(f"{name} at {letter} is right" if hit else f"{name} is at {letter}, not at {given}")
        parts.append("the feature is right" if hits[2] else f"the feature that tells is {key.right}")
        return Verdict(round(sum(hits) / 3, 3), f"Not quite: {'; '.join(parts)}.", right, decides, (), nets, spots)

    def instead(self, question: Question, answer: Answer) -> str:
        key, scene = RailsKey.of(question), question.specimen.face.scene
        high, low, cue = _read(question, answer.text)
        at = {letter: net for letter, place in key.places.items() for net in _metal_at(scene, *place)}
        parts = []
        for name, given, right in ((key.names[0], high, key.high), (key.names[1], low, key.low)):
            if given == right:
                continue
            if at.get(given) in key.names:
                parts.append(_other_way(key))
            else:
                parts.append(
                    f"Were {given} {name}, its metal would run on along a row and feed it; it only joins parts"
                )
            break
        if cue != key.right:
            said = key.choices[LETTERS.index(cue)]
            if said in {text.format(rail=rail) for text in (*_IDLE, *_NO_MORE_SAID) for rail in key.names}:
                parts.append(f"{cue} would hold on one layout of this circuit and not on the next; on all, {key.true}")
            else:
                parts.append(f"Were it as {cue} says, the rails would change their names; here {key.true}")
        return ". ".join(parts) + "."


def _other_way(key: RailsKey) -> str:
    """Say what would be seen were the two rails exchanged."""
    verb = "hang" if " hang on " in key.true else "are"
    what = key.true.partition(f" {verb} on ")[0]
    right, other = (key.high, key.low) if key.true.endswith(key.names[0]) else (key.low, key.high)
    rail = key.names[0] if right == key.high else key.names[1]
    return f"Were {other} {rail}, {what} would {'be' if verb == 'are' else verb} on {other}; they {verb} on {right}"


def _metal_at(scene: Scene, x: int, y: int) -> list[str]:
    """Return the nets of metal at a point."""
    return [net for name, net in scene.extraction.nets_at(x, y) if scene.materials.get(name) is Material.METAL]


def _features(scene: Scene, low: str, high: str) -> list[tuple[str, str, str]]:
    """Return (sort, what is true of a rail and tells it from the other, its opposite)."""
    netlist = scene.extraction.netlist
    features: list[tuple[str, str, str]] = []
    hang = {rail: {t.kind for t in netlist.transistors if rail in t.ends} for rail in (low, high)}
    if hang[low] == {Kind.N} and hang[high] == {Kind.P}:
        features.append(("kind", f"the p transistors hang on {high}", f"the n transistors hang on {high}"))
    if len({t.kind for t in netlist.transistors}) == 1:
        loads = [t for t in netlist.transistors if is_load(t, scene.process, netlist)]
        on = {rail for rail in (low, high) for t in loads if rail in t.ends}
        if len(on) == 1:
            rail = on.pop()
            other = low if rail == high else high
            features.append(("load", f"the loads hang on {rail}", f"the loads hang on {other}"))
    for well, conductors in well_ties(scene.process).items():
        tied = {w.net for w in scene.wires if w.conductor in conductors}
        on = tied & {low, high}
        if len(on) == 1 and on == tied:
            rail = on.pop()
            other = low if rail == high else high
            features.append(("taps", f"the taps of the {well} are on {rail}", f"the taps of the {well} are on {other}"))
    return features


def _read(question: Question, text: str) -> tuple[str, str, str]:
    """Read “P Q a”, “VDD=P VSS=Q a” or “a, Q is VSS, P is VDD” into (letter on high, letter on low, choice)."""
    key = RailsKey.of(question)
    names, letters, choices = key.names, key.letters, key.choices
    high, low = (name.lower() for name in names)
    words = re.findall(r"[a-z][a-z0-9]*", text.lower())
    words = [w for w in words if w in (high, low) or (len(w) == 1 and (w.upper() in letters or w in LETTERS))]
    marks = [w.upper() for w in words if len(w) == 1 and w.upper() in letters]
    cues = [w for w in words if len(w) == 1 and w.upper() not in letters and w in LETTERS[: len(choices)]]
    if len(marks) == 2 and len(cues) == 1:
        order = [w for w in words if w in (high, low)]
        first, second = marks
        if order and order[0] == low:
            first, second = second, first
        return first, second, cues[0]
    shown = f"{letters[0]} to {letters[-1]}"
    raise LayoutdrillError(
        f"two letters of {shown} and one of a to {LETTERS[len(choices) - 1]} are wanted",
        todo=f"type the letter on {names[0]}, that on {names[1]}, and that of the feature, with spaces between",
    )
