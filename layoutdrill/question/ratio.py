"""How wide for its length is the marked transistor, and how much longer is a load than the way it works against?"""

import re

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.netlist.model import Mode, Netlist, Transistor
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.circuit import facts_needed
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Answer, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.needed import covered_gates, tracing
from layoutdrill.question.neighbours import border_told
from layoutdrill.question.targets import is_load
from layoutdrill.value import value

TOLERANCE = 15
"""Percent by which an answer may be off: a stripe of 2 λ is measured to a third of a λ."""
INVERSE_CREDIT = 0.25
"""Length for width, or driver for load."""
HALF_CREDIT = 0.5
"""Typed as W/L: one of the two is right."""
RESTORED, PASSED = 4, 8
"""
What a depletion load needs against drivers whose inputs are restored, or come through pass transistors (Mead & Conway
1980; from memory).
"""
SATURATED = 10
"""What a load whose gate is on a supply needs, or more (common practice)."""
_STEPS = (HintStep.DEVICES, HintStep.LIFT_METAL, HintStep.RAILS)
_NUMBER = r"(\d+(?:\.\d+)?)"
_PAIR = re.compile(rf"{_NUMBER}\s*(?:/|:|over|by|x)\s*{_NUMBER}\Z")


@value
class RatioKey(Key):
    """
    What is asked (`size`: W/L of one transistor; `ratio`: L/W of a load over that of the way against it), the value,
    and what it is made of, in λ or as ratios; `against` are the transistors of that way, `depletion` tells the load.
    """

    shown = ("what",)
    what: str
    right: float
    above: float
    below: float
    transistor: str
    against: tuple[str, ...] = ()
    depletion: bool = False


class Ratio(QuestionKind):
    """
    Measure a ratio.

    Full credit within 15 %. A quarter for the inverse; half where W and L are typed and one of them is right.
    """

    name = "ratio"
    title = "Measure a ratio"
    key_type = RatioKey
    partly = (
        (HALF_CREDIT, "one of the two is right"),
        (INVERSE_CREDIT, "both are right, the other way round"),
    )

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        loads = _loads(specimen)
        if loads and dice.chance(60):
            return _against(specimen, dice.pick(loads))
        straight = [t for t in specimen.netlist.transistors if _size(specimen, t) is not None]
        if not straight:
            return None
        t = dice.pick(straight)
        size = _size(specimen, t)
        assert size is not None
        width, length = size
        key = RatioKey("size", round(width / length, 4), width, length, t.name)
        at = specimen.extraction.channel(t.name)[0].centre
        where = specimen.face.unit.at(*at)
        prompt = f"The transistor in the ring marked X ({where}): what is its W/L? Within {TOLERANCE} % counts."
        return _question(specimen, key, prompt, at)

    def needs(self, question: Question) -> frozenset[Fact]:
        scene = question.specimen.face.scene
        seen = covered_gates(scene) | {Fact.GATE}
        return seen | tracing(scene) | facts_needed(question) if RatioKey.of(question).what == "ratio" else seen

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        return bool(netlist.transistors)

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        _read(words)
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        return Answer(f"{RatioKey.of(question).right:.3g}")

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = RatioKey.of(question)
        above, below = _read(answer.text)
        given = above / below
        full, decides = _told(key)
        outlined = (key.transistor, *key.against)
        if _near(given, key.right):
            return Verdict(1.0, f"Right: {full}.", full, decides, outlined)
        if _near(given, 1 / key.right):
            what = "That is L/W" if key.what == "size" else "That is the driver's part over the load's"
            return Verdict(INVERSE_CREDIT, f"{what}: {full}.", full, decides, outlined)
        if below != 1 and (_near(above, key.above) or _near(below, key.below)):
            return Verdict(HALF_CREDIT, f"One of the two is right: {full}.", full, decides, outlined)
        return Verdict(0.0, f"Not {given:.3g}: {full}.", full, decides, outlined)

    def instead(self, question: Question, answer: Answer) -> str:
        key = RatioKey.of(question)
        above, below = _read(answer.text)
        given = above / below
        if key.what == "size":
            width = given * key.below
            return f"Were it {given:.3g}, W would be {width:.3g} λ over L = {key.below:g} λ; here W is {key.above:g} λ."
        return (
            f"Were it {given:.3g}, L/W of the load would be {given * key.below:.3g} over {key.below:.3g} of the way "
            f"against it; here it is {key.above:.3g}."
        )


def _question(specimen: Specimen, key: RatioKey, prompt: str, at: tuple[int, int]) -> Question:
    return Question(
        kind=Ratio.name,
        prompt=prompt,
        specimen=specimen,
        choices=(),
        facts=("Type one number, or two with a stroke between.", *_lengths_told(specimen, key), *border_told(specimen)),
        marks=(Mark("X", *at, ring=True),),
        key=key,
        typed=True,
        hints=hints(_STEPS),
    )


def _lengths_told(specimen: Specimen, key: RatioKey) -> tuple[str, ...]:
    """
    Tell how L is counted where nothing on a picture says it: source and drain reach below a metal gate, so that the
    window one sees is longer than the channel; and a bent channel is measured by its area.
    """
    names = (key.transistor, *key.against)
    telling = []
    longer = {more for name in names if (more := _window_beyond(specimen, name))}
    if longer:
        unit = specimen.face.unit
        most = " or ".join(unit.number(more) for more in sorted(longer))
        ends = " or ".join(unit.number(more / 2) for more in sorted(longer))
        telling.append(
            f"The window of thin oxide reaches {ends} λ over source and drain at each end, out of sight: L is {most} λ "
            "less than the window's length."
        )
    if any(len(specimen.extraction.channel(name)) > 1 for name in names):
        telling.append("L of a bent channel is its area over its width.")
    return tuple(telling)


def _window_beyond(specimen: Specimen, name: str) -> int:
    """Return by how much the window of a metal gate is longer than its channel (grid units), 0 where there is none."""
    if not specimen.face.scene.metal_gate:
        return 0
    windows = [layer for layer, of in specimen.process.layers.items() if of.role == "thin-oxide"]
    rects = [rect for layer in windows for rect in specimen.face.scene.layout.flattened().shapes.get(layer, ())]
    t = next(t for t in specimen.netlist.transistors if t.name == name)
    channels = specimen.extraction.channel(name)
    if len(channels) != 1:
        return 0
    (channel,), grid = channels, specimen.process.grid_nm
    across = abs(round(channel.width * grid) - t.length) <= abs(round(channel.height * grid) - t.length)
    return max(
        (
            rect.width - channel.width if across else rect.height - channel.height
            for rect in rects
            if rect.overlaps(channel)
        ),
        default=0,
    )


def _told(key: RatioKey) -> tuple[str, str]:
    """Return the right answer in words, and what decides."""
    if key.what == "size":
        full = f"W/L = {key.above:g}/{key.below:g} = {key.right:.3g}"
        return full, (
            f"L runs from source to drain, across the gate line: {key.below:g} λ. W runs along the gate line, over the "
            f"diffusion: {key.above:g} λ."
        )
    full = f"L/W of the load is {key.above:.3g}, of the way against it {key.below:.3g}: {key.right:.3g} to 1"
    reach = key.right / (1 - TOLERANCE / 100)
    if not key.depletion:
        enough = "this is enough" if reach >= SATURATED else "this is too little"
        return full, (
            f"Series transistors add their L/W. A load whose gate is on the supply needs {SATURATED} to 1: {enough}."
        )
    enough = "inputs through pass transistors too" if reach >= PASSED else "restored inputs"
    return full, (
        f"Series transistors add their L/W. {RESTORED} to 1 is the rule for restored inputs, {PASSED} to 1 for inputs "
        f"through pass transistors; this is enough for {enough if reach >= RESTORED else 'neither'}."
    )


def _against(specimen: Specimen, load: Transistor) -> Question | None:
    """Ask how much longer a load is than the longest way of drivers from its output to the other rail."""
    netlist, supplies = merge_fingers(specimen.netlist), specimen.process.supplies
    rail = next((end for end in load.ends if end in supplies), "")
    output = next((end for end in load.ends if end not in supplies), "")
    other = next((name for name in supplies if name != rail), "")
    ways = [way for way in _ways(netlist, output, other, specimen.process) if not any(t.name == load.name for t in way)]
    if not rail or not ways or not load.width or not load.length:
        return None
    longest = max(ways, key=lambda way: (_squares(way), [t.name for t in way]))
    above, below = load.length / load.width, _squares(longest)
    key = RatioKey("ratio", round(above / below, 4), round(above, 4), round(below, 4), load.name,
                   tuple(t.name for t in longest), load.mode is Mode.DEPLETION)  # fmt: skip
    at = specimen.extraction.channel(load.name)[0].centre
    where = specimen.face.unit.at(*at)
    prompt = f"X ({where}) is a load. How many times the L/W of the longest way against it is its own? ±{TOLERANCE} %."
    return _question(specimen, key, prompt, at)


def _squares(way: tuple[Transistor, ...]) -> float:
    return sum(t.length / t.width for t in way)


def _ways(
    netlist: Netlist, start: str, end: str, process: Process, passed: tuple[Transistor, ...] = ()
) -> list[tuple[Transistor, ...]]:
    """Return every way through channels from a net to a rail that meets no net twice and no load."""
    ways: list[tuple[Transistor, ...]] = []
    seen = {start} | {net for t in passed for net in t.ends}
    for t in netlist.transistors:
        if start not in t.ends or t in passed or is_load(t, process, netlist) or not t.width:
            continue
        beyond = t.drain if t.source == start else t.source
        if beyond == end:
            ways.append((*passed, t))
        elif beyond not in seen and beyond not in process.supplies:
            ways += _ways(netlist, beyond, end, process, (*passed, t))
    return ways


def _loads(specimen: Specimen) -> list[Transistor]:
    """Return the loads that stand on a rail, undivided."""
    netlist, supplies = specimen.netlist, specimen.process.supplies
    if len({t.kind for t in netlist.transistors}) != 1 or specimen.frame is not None:
        return []
    loads = [t for t in merge_fingers(netlist).transistors if is_load(t, specimen.process, netlist) and t.fingers == 1]
    return [t for t in loads if len(set(t.ends) & set(supplies)) == 1]


def _size(specimen: Specimen, t: Transistor) -> tuple[float, float] | None:
    """Return W and L in λ of a transistor whose channel is one rectangle, else None."""
    rects = specimen.extraction.channel(t.name)
    grid, unit = specimen.process.grid_nm, specimen.process.lambda_nm
    if len(rects) != 1 or sorted((round(rects[0].width * grid), round(rects[0].height * grid))) != sorted(
        (t.width, t.length)
    ):
        return None
    return t.width / unit, t.length / unit


def _near(given: float, right: float) -> bool:
    return abs(given - right) * 100 <= TOLERANCE * right


def _read(text: str) -> tuple[float, float]:
    """Read “4”, “8/2”, “8:2” or “W=8 L=2” into two numbers, the second 1 where only one is given."""
    lower = text.lower().replace("λ", " ").replace("µm", " ").strip()
    named = dict(re.findall(rf"\b([wl])\s*=\s*{_NUMBER}", lower))
    if set(named) == {"w", "l"}:
        above, below = float(named["w"]), float(named["l"])
    elif match := _PAIR.match(lower):
        above, below = float(match[1]), float(match[2])
    elif re.fullmatch(_NUMBER, lower):
        above, below = float(lower), 1.0
    else:
        raise LayoutdrillError(f'"{text}" is no ratio', todo="type a number, or two with a stroke between")
    if not above or not below:
        raise LayoutdrillError("a ratio with nothing in it", todo="type numbers above 0")
    return above, below
