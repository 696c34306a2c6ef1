"""How many: transistors (n, p, in all), gate stripes, contacts, crossings; within a stated boundary."""

import re
from collections.abc import Hashable, Mapping

from layoutdrill.cells.entry import EVERYTHING
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.face.materials import Material
from layoutdrill.face.scene import Scene
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.merge import merge_fingers, merge_stacks
from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.hints import author_hint, hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, Hint, HintStep, Question, Specimen, Verdict
from layoutdrill.question.needed import covered_gates, rows_on_rails, tracing
from layoutdrill.question.neighbours import astride, border_told, inside
from layoutdrill.value import value

_COSTS = {HintStep.DEVICES: 0.5}
_HINTS: Mapping[str, tuple[Hint, ...]] = {
    "transistors": hints((HintStep.RAILS, HintStep.LIFT_METAL, HintStep.DEVICES), _COSTS),
    "stripes": hints((HintStep.LIFT_METAL, HintStep.DEVICES), _COSTS),
    "contacts": (
        author_hint("Go along each wire from end to end, the rails too: a contact lies within the metal, as a square."),
        *hints((HintStep.LIFT_METAL,)),
    ),
    "crossings": (
        author_hint("Go along each wire: where it comes upon another, either a contact joins them or it passes over."),
        *hints((HintStep.NETS,)),
    ),
}
"""The help with each of the things that are counted: a contact is not found by a rail, nor a crossing by a gate."""
_NUMBER = re.compile(r"(?<![A-Za-z\d])\d+")
"""A number that is no part of a name, as the 2 of NAND2 is."""
_BEFORE = re.compile(r"\b(n|p|all|total)\s*[=:]?\s*(\d+)")
_AFTER = re.compile(r"(\d+)\s*(n|p|all|total)\b")
NEAR_CREDIT = 0.5
"""Counting every finger where fingers count once; or off by one among six or more."""
MOST_LISTED = 4
"""More groups of fingers than this are not listed one by one."""
MOST = 14
"""More contacts or crossings than this are drudgery, not reading."""


@value
class TransistorsKey(Key):
    """
    Numbers of transistors, parallel fingers counted once; `also` other counts that are as right (n, p, all), `every`
    the counts with each finger. With `single` only one kind is there, and only the total is asked.
    """

    shown = ("what", "single")

    what: str
    n: int
    p: int
    all: int
    also: tuple[tuple[int, int, int], ...] = ()
    every: tuple[int, ...] = ()
    single: bool = False


@value
class PlacesKey(Key):
    """A number of things, and where they are."""

    shown = ("what",)

    what: str
    right: int
    places: tuple[tuple[int, int], ...] = ()


class Count(QuestionKind):
    """
    Count.

    Transistors: a third of the credit for each of n, p and the total; half where every finger was counted. Anything
    else: all for the exact number; half for one off when there are six or more.
    """

    name = "count"
    title = "Count"
    group = Group.SEE
    key_type = PlacesKey
    tells_boundary = True

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        netlist = specimen.netlist
        if not netlist.transistors:
            return None
        scene = specimen.face.scene
        whats = ["transistors"] * 4
        stripes = len(netlist.transistors)
        if stripes != merge_fingers(netlist).count():
            whats += ["stripes"] * 3
        contacts = [rect for rect in _contacts(scene) if inside(specimen, rect)]
        if (
            "contacts" in scene.complete
            and 2 <= len(contacts) <= MOST
            and not any(astride(specimen, rect) for rect in _contacts(scene))
        ):
            whats.append("contacts")
        areas = [rect for crossing in scene.crossings for rect in crossing.rects]
        crossings = [crossing for crossing in scene.crossings if inside(specimen, crossing.rects[0])]
        clear = "wires" in scene.complete and not any(astride(specimen, rect) for rect in areas)
        if 1 <= len(crossings) <= MOST and all(c.clean for c in crossings) and clear:
            whats.append("crossings")
        what = dice.pick(whats)
        facts = (*_counts(specimen), *border_told(specimen))
        if what == "transistors":
            return self._transistors(specimen, facts)
        prompts = {
            "stripes": "How many stripes of gate cross diffusion here? A transistor has one for each of its fingers.",
            "contacts": "How many contacts are there, down to diffusion or poly, at taps too? Type a number.",
            "crossings": "At how many places does a wire pass over another net without touching it? Leave gates out.",
        }
        places: dict[str, list[tuple[int, int]]] = {
            "stripes": [scene.channels[t.name][0].centre for t in netlist.transistors],
            "contacts": [rect.centre for rect in contacts],
            "crossings": [c.rects[0].centre for c in crossings],
        }
        return Question(
            kind=self.name,
            prompt=prompts[what],
            specimen=specimen,
            choices=(),
            facts=facts,
            marks=(),
            key=PlacesKey(what, len(places[what]), tuple(places[what])),
            hints=_HINTS[what],
        )

    def _transistors(self, specimen: Specimen, facts: tuple[str, ...]) -> Question:
        merged = _numbers_of(merge_fingers(specimen.netlist))
        stacked = _numbers_of(merge_stacks(specimen.netlist))
        every = _numbers_of(specimen.netlist)
        single = 0 in merged[:2]
        prompt = (
            "How many transistors are there in all? Parallel fingers count once."
            if single
            else "How many transistors: n, p, in all? Type the three numbers. Parallel fingers count once."
        )
        return Question(
            kind=self.name,
            prompt=prompt,
            specimen=specimen,
            choices=(),
            facts=facts,
            marks=(),
            key=TransistorsKey("transistors", *merged, (stacked,) if stacked != merged else (), every, single),
            hints=_HINTS["transistors"],
        )

    def read_key(self, given: Mapping[str, object]) -> Key:
        return (TransistorsKey if given.get("what") == "transistors" else PlacesKey).read(given)

    def subject(self, question: Question) -> str:
        return {"contacts": "contact", "crossings": "crossing"}.get(question.key.json()["what"], "transistor")

    def needs(self, question: Question) -> frozenset[Fact]:
        scene, key = question.specimen.face.scene, question.key
        if isinstance(key, TransistorsKey):
            return covered_gates(scene) | {Fact.GATE} | (frozenset() if key.single else {Fact.KIND})
        match PlacesKey.of(question).what:
            case "contacts":
                return frozenset({Fact.CONTACT})
            case "crossings":
                return tracing(scene) | {Fact.GATE}
            case _:
                return covered_gates(scene) | {Fact.GATE}

    def tell(self, question: Question, hidden: frozenset[Fact]) -> tuple[str, ...] | None:
        """Tell the rails where they tell the kind of every transistor."""
        return super().tell(question, hidden) if rows_on_rails(question.specimen.face.scene) else None

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        if isinstance(question.key, TransistorsKey):
            _three(words, question.key)
        else:
            _one(words)
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        key = question.key
        if not isinstance(key, TransistorsKey):
            return Answer(str(PlacesKey.of(question).right))
        return Answer(str(key.all) if key.single else f"{key.n} {key.p} {key.all}")

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        if isinstance(question.key, TransistorsKey):
            return self._grade_transistors(question, question.key, answer)
        key = PlacesKey.of(question)
        right, given, what, places = key.right, _one(answer.text), key.what, key.places
        words = {
            "stripes": "a stripe of gate over diffusion is one finger",
            "contacts": "a contact has metal over it, and silicon or poly below",
            "crossings": "metal over another net's wire, with no contact and no channel between",
        }
        total = plural(right, what.removesuffix("s"))
        if given == right:
            return Verdict(1.0, f"Right: {total}.", total, words[what], (), (), places)
        near = NEAR_CREDIT if right >= 6 and abs(given - right) == 1 else 0.0
        lead = "Close" if near else "Not quite"
        return Verdict(near, f"{lead}: {total}, not {given}.", total, words[what], (), (), places)

    def _grade_transistors(self, question: Question, key: TransistorsKey, answer: Answer) -> Verdict:
        right = key.n, key.p, key.all
        given = _three(answer.text, key)
        names = ("n", "p", "in all")
        alike = set(key.also)
        outlined = tuple(t.name for t in question.specimen.netlist.transistors)
        total = ", ".join(f"{r} {name}" for r, name in zip(right, names, strict=True))
        if key.single:
            total, given, right = f"{right[2]} in all", (given[2],) * 3, (right[2],) * 3
            alike = {(counts[2],) * 3 for counts in alike}
        decides = f"A transistor is wherever a gate lies over a channel between two diffusions.{_fingers(question)}"
        if given == right or given in alike:
            return Verdict(1.0, f"Right: {total}.", total, decides, outlined)
        every = key.every
        if key.single and every:
            every = (every[2],) * 3
        if given == every:
            summary = f"You counted every finger. As transistors: {total}."
            return Verdict(NEAR_CREDIT, summary, total, decides, outlined)
        hits = 0 if key.single else sum(g == r for g, r in zip(given, right, strict=True))
        wrong = [f"{name}: {r}, not {g}" for name, g, r in zip(names, given, right, strict=True) if g != r]
        summary = "Not quite: " + "; ".join(wrong[-1:] if key.single else wrong) + "."
        return Verdict(round(hits / 3, 3), summary, total, decides, outlined)

    def part_told(self, question: Question, answer: Answer, credit: float) -> str:
        if not isinstance(question.key, TransistorsKey):
            return "it is one off, among six or more" if credit == NEAR_CREDIT else ""
        if credit == NEAR_CREDIT:
            return "every finger is seen, and the fingers of one transistor count once"
        hits = {0.333: "one of the three numbers is right", 0.667: "two of the three numbers are right"}
        return hits.get(credit, "")

    def instead(self, question: Question, answer: Answer) -> str:
        key = question.key
        if isinstance(key, TransistorsKey):
            given, right, what = _three(answer.text, key)[2], key.all, "transistors"
            if given == right:
                return f"Were they so many of each kind, the rows would hold so; here {key.n} are n and {key.p} are p."
        else:
            places = PlacesKey.of(question)
            given, right, what = _one(answer.text), places.right, places.what
        apart = abs(given - right)
        thing = _THINGS[what][right > 1]
        compared = f"{_IN_WORDS.get(apart, apart)} {'more' if given > right else 'fewer'}"
        stand = f"{right} {thing} stand{'s' * (right == 1)} out on the picture"
        return f"You counted {given}, {compared} than there are: {stand}."


_THINGS = {
    "transistors": ("transistor", "transistors"),
    "stripes": ("stripe of gate over diffusion", "stripes of gate over diffusion"),
    "contacts": ("square where metal meets what lies below", "squares where metal meets what lies below"),
    "crossings": ("place where a wire passes over another", "places where a wire passes over another"),
}
"""What is counted, as one sees it: one, and several."""
_IN_WORDS = {1: "one", 2: "two", 3: "three", 4: "four"}


def _counts(specimen: Specimen) -> tuple[str, ...]:
    """
    Tell what counts where the cell says it: whether a complement's inverter belongs to it changes every count. Of a
    drawing that is all there is, and its parts by name would be the answer; so would words that tell of transistors.
    """
    boundary = specimen.boundary.strip().rstrip(".")
    plain = not boundary or boundary == EVERYTHING or "transistor" in boundary
    if plain:
        return ()
    return (
        ("Counts: all that is drawn, what makes complements too.",)
        if specimen.face.follows_light
        else (f"Counts: {boundary}.",)
    )


def _fingers(question: Question) -> str:
    """Say which stripes are the fingers of one transistor, by the numbers on the picture; "" where none are."""
    netlist = question.specimen.netlist
    numbers = dict(devices_overlay(question.specimen.extraction, netlist).transistors)
    groups: dict[Hashable, list[int]] = {}
    for t in netlist.transistors:
        group = groups.setdefault((t.kind, t.mode, t.gate, t.ends, t.body, t.length), [])
        group += [int(numbers[t.name])] if t.name in numbers else []
    several = sorted(sorted(group) for group in groups.values() if len(group) > 1)
    if not several:
        return ""
    listed = [f"{', '.join(map(str, group[:-1]))} and {group[-1]}" for group in several[:MOST_LISTED]]
    each = "are the fingers of one" if len(several) == 1 else "are each the fingers of one"
    more = f" (and {len(several) - MOST_LISTED} more)" if len(several) > MOST_LISTED else ""
    return (
        f" There are {plural(len(netlist.transistors), 'gate stripe')} for {plural(len(groups), 'transistor')}: "
        f"{'; '.join(listed)}{more} {each}."
    )


def _numbers_of(netlist: Netlist) -> tuple[int, int, int]:
    """Count each transistor of a merged netlist once."""
    n, p = netlist.count(Kind.N), netlist.count(Kind.P)
    return n, p, n + p


def _contacts(scene: Scene) -> list[Rect]:
    return [j.rect for j in scene.joints if j.material is not Material.METAL]


def _three(text: str, key: TransistorsKey) -> tuple[int, int, int]:
    """Read “2 2 4”, “n=2 p=2 all=4” or “2 n, 2 p” (the total is then their sum); one number where only one is asked."""
    lower = text.lower().replace("in all", "all")
    named = {("all" if name == "total" else name): int(value) for name, value in _BEFORE.findall(lower)}
    after = {("all" if name == "total" else name): int(value) for value, name in _AFTER.findall(lower)}
    for pairs in (after, named):
        if "n" in pairs and "p" in pairs:
            return pairs["n"], pairs["p"], pairs.get("all", pairs["n"] + pairs["p"])
    plain = [int(value) for value in _NUMBER.findall(lower)]
    if len(plain) == 3 and not named and not after:
        return plain[0], plain[1], plain[2]
    if key.single and len(plain) == 1:
        return 0, 0, plain[0]
    if key.single:
        raise LayoutdrillError("one number is wanted", todo="type it in figures")
    raise LayoutdrillError("three numbers are wanted: n, p, in all", todo="type them with spaces between")


def _one(text: str) -> int:
    plain = _NUMBER.findall(text)
    if len(plain) != 1:
        raise LayoutdrillError("one number is wanted", todo="type it in figures")
    return int(plain[0])
