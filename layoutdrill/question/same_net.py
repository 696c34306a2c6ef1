"""Which lettered points lie on one net? Or: which of them does the net from P reach at its ends?"""

import re
from random import Random

from layoutdrill.errors import LayoutdrillError
from layoutdrill.picture.evidence import Fact
from layoutdrill.question.choices import nonempty
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import texts
from layoutdrill.question.model import Answer, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.places import LETTERS, apart, places_on, visible
from layoutdrill.question.scene import Scene, Wire, scene_of

_STEPS = (HintStep.LIFT_METAL, HintStep.DEVICES, HintStep.NETS)
_COSTS = {HintStep.NETS: 0.6, HintStep.LIFT_METAL: 0.2, HintStep.DEVICES: 0.1}
_NONE = ("none", "no", "-", "0", "nothing")
_POINTS = 5


class SameNet:
    """
    Tell which lettered points are on P's net.

    Credit: the share of the right letters found, less that share for each wrong letter, never below 0.
    """

    name = "same net"
    title = "Follow a net"
    cues: tuple[Fact, ...] = (Fact.CONTACT, Fact.VIA, Fact.UNDER_METAL, Fact.POLY_UNDER_METAL, Fact.BURIED_CONTACT)

    def ask(self, specimen: Specimen, rng: Random) -> Question | None:
        scene = scene_of(specimen)
        wires = [w for w in scene.wires if visible(w)]
        by: dict[str, list[Wire]] = {}
        for wire in wires:
            by.setdefault(wire.net, []).append(wire)
        supplies = specimen.process.supplies
        weights = {net: 1.0 if net in supplies else 1.0 + _length(own, scene.unit) for net, own in by.items()}
        if len(by) < 2:
            return None
        while weights:
            net = rng.choices(tuple(weights), tuple(weights.values()))[0]
            del weights[net]
            found = self._marks(scene, net, by, rng)
            if found is not None:
                return self._question(specimen, net, found)
        return None

    def _marks(
        self, scene: Scene, net: str, by: dict[str, list[Wire]], rng: Random
    ) -> list[tuple[tuple[int, int], str]] | None:
        """Return the places, P first, each with its net; None where too few fit."""
        gap = 3 * scene.unit
        start = next(places_on(scene, by[net], rng), None)
        if start is None:
            return None
        taken = [(start, net)]
        right = rng.choice((0, 1, 1, 2, 2, 3))
        far = sorted(by[net], key=lambda w: -_reach(w, start) * rng.uniform(0.4, 1))
        for own in far:
            if len(taken) > right:
                break
            _add(scene, [own], net, taken, gap, rng)
        near = sorted(
            (other for other in by if other != net),
            key=lambda other: min(_distance(a, b) for a in by[net] for b in by[other]) + rng.random(),
        )
        for other in (*near, *near):
            if len(taken) > _POINTS:
                break
            _add(scene, _mixed(by[other], rng), other, taken, gap, rng)
        return taken if len({n for _, n in taken}) > 1 and len(taken) >= 4 else None

    def _question(self, specimen: Specimen, net: str, found: list[tuple[tuple[int, int], str]]) -> Question:
        first, rest = found[0], sorted(found[1:])
        marks = tuple(Mark(LETTERS[i], *place) for i, (place, _) in enumerate((first, *rest)))
        nets = {LETTERS[i]: name for i, (_, name) in enumerate((first, *rest))}
        last = marks[-1].letter
        return Question(
            kind=self.name,
            prompt=f"Follow the net at P. Which of Q to {last} lie on it too? Type their letters, or “none”.",
            specimen=specimen,
            choices=(),
            facts=(),
            marks=marks,
            key={
                "right": [m.letter for m in marks[1:] if nets[m.letter] == net],
                "letters": [m.letter for m in marks[1:]],
                "places": {m.letter: [m.x, m.y] for m in marks},
            },
            hints=hints(_STEPS, _COSTS),
        )

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        _letters(words, texts(question.key, "letters"))
        return Answer(words)

    def grade(self, question: Question, answer: Answer) -> Verdict:
        key = question.key
        right = set(texts(key, "right"))
        given = _letters(answer.text, texts(key, "letters"))
        hits, wrong, missed = given & right, given - right, right - given
        share = round((len(hits) - len(wrong)) / max(1, len(right)), 3)
        credit = max(0.0, share if right else 1.0 - len(wrong))
        told = "P, " + ", ".join(sorted(right)) if right else "P alone"
        parts = []
        if hits and credit < 1:
            parts.append(f"right: {', '.join(sorted(hits))}")
        if wrong:
            parts.append(f"not on it: {', '.join(sorted(wrong))}")
        if missed:
            parts.append(f"missed: {', '.join(sorted(missed))}")
        summary = f"Right: one net, {told}." if credit == 1 else "Not quite: " + "; ".join(parts) + "."
        places = key.get("places")
        places = places if isinstance(places, dict) else {}
        spots = {letter: (int(at[0]), int(at[1])) for letter, at in places.items()}
        shown = ["P", *sorted(wrong)]
        nets = dict.fromkeys(net for letter in shown if letter in spots for net in _net_at(question, spots[letter]))
        return Verdict(
            credit,
            summary,
            told,
            "Nets join at contacts and where wires of one layer touch; metal over another wire alone does not join.",
            (),
            tuple(nets),
            tuple(spots[letter] for letter in ("P", *sorted(right | wrong)) if letter in spots),
        )


def _net_at(question: Question, at: tuple[int, int]) -> tuple[str, ...]:
    scene = scene_of(question.specimen)
    wells = {name for name, material in scene.materials.items() if material.value == "well"}
    return tuple(net for name, net in question.specimen.extraction.nets_at(*at) if name not in wells)[:1]


def _letters(text: str, known: tuple[str, ...]) -> set[str]:
    if text.strip().lower() in _NONE:
        return set()
    found = set(re.findall(r"[A-Z]", text.upper().replace("AND", " ")))
    stray = found - set(known) - {"P"}
    if stray or not found:
        shown = f"{known[0]} to {known[-1]}"
        raise LayoutdrillError(f'"{text}" is no list of the letters {shown}', todo='type them like "Q T", or "none"')
    return found - {"P"}


def _mixed(wires: list[Wire], rng: Random) -> list[Wire]:
    found = list(wires)
    rng.shuffle(found)
    return found


def _add(
    scene: Scene, wires: list[Wire], net: str, taken: list[tuple[tuple[int, int], str]], gap: int, rng: Random
) -> None:
    for at in places_on(scene, wires, rng):
        if apart(at, (place for place, _ in taken), gap):
            taken.append((at, net))
            return


def _reach(wire: Wire, at: tuple[int, int]) -> float:
    x, y = wire.rect.centre
    return abs(x - at[0]) + abs(y - at[1])


def _distance(a: Wire, b: Wire) -> int:
    p, q = a.rect, b.rect
    return max(p.x0 - q.x1, q.x0 - p.x1, p.y0 - q.y1, q.y0 - p.y1, 0)


def _length(wires: list[Wire], unit: int) -> float:
    """Weigh a net by how much there is to follow: its layers and its stretches."""
    return len({w.conductor for w in wires}) + sum(max(w.rect.width, w.rect.height) for w in wires) / (40 * unit)
