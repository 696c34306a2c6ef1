"""Is the marked transistor n or p, enhancement or depletion, driver or load; and which feature tells?"""

from dataclasses import replace

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.materials import Material, well_ties
from layoutdrill.face.scene import Scene
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.process.model import SUBSTRATE
from layoutdrill.question.choices import LETTERS, blank, letter_of, nonempty, unanswered
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.needed import tracing
from layoutdrill.question.neighbours import border_told
from layoutdrill.question.rail_groups import rail_of
from layoutdrill.question.targets import is_load
from layoutdrill.value import value

_STEPS = (HintStep.LIFT_METAL, HintStep.RAILS, HintStep.NETS)
_COSTS = {HintStep.RAILS: 0.3}
HALF_CREDIT = 0.5
"""The right word with no cue, or with a cue that is not true of this transistor."""


@value
class Feature:
    """A feature to tell by: as it is here, and its opposite; `word` is how it may be typed in short."""

    name: str
    true: str
    false: str
    true_words: tuple[str, ...]
    false_words: tuple[str, ...]


@value
class PolarityKey(Key):
    """The place, the right and the wrong word, and the feature: its name, as it is here, as it is not, and in short."""

    shown = ("x", "y", "choices")

    x: int
    y: int
    right: str
    wrong: str
    feature: str
    true: str
    false: str
    true_words: tuple[str, ...]
    false_words: tuple[str, ...]
    choices: tuple[str, ...]

    def form(self) -> "PolarityKey":
        """Keep the two words that are offered, in an order that does not tell which is right."""
        first, second = sorted((self.right, self.wrong))
        return replace(Key.form(self), right=first, wrong=second)  # slots leave super() without its class


class Polarity(QuestionKind):
    """
    Tell what sort of transistor is marked, and by which feature.

    Full credit for the right word with a feature that is true here and decides. Half for the right word alone, or with
    a feature that is not so. None for the wrong word.
    """

    name = "polarity"
    title = "Tell n from p, driver from load"
    group = Group.SEE
    key_type = PolarityKey
    tells_places = False
    partly = ((HALF_CREDIT, "what it is is right, how one tells is not"),)

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        scene = specimen.face.scene
        options = []
        for t in specimen.netlist.transistors:
            place = _place(scene, t)
            if place is not None:
                options += [(t, place, pair, feature) for pair, feature in _sorts(scene, t)]
        if not options:
            return None
        t, place, pair, feature = dice.pick(options)
        right, wrong = pair
        choices = [
            f"{right}: {feature.true}",
            f"{wrong}: {feature.true}",
            f"{right}: {feature.false}",
            f"{wrong}: {feature.false}",
        ]
        choices = dice.shuffled(choices)
        words, where = " or ".join(sorted(pair)), specimen.face.unit.at(*place)
        return Question(
            kind=self.name,
            prompt=f"The transistor in the ring marked X ({where}): {words}, and how do you tell?",
            specimen=specimen,
            choices=tuple(choices),
            facts=border_told(specimen),
            marks=(Mark("X", *place, ring=True),),
            key=PolarityKey(
                *place,
                right,
                wrong,
                feature.name,
                feature.true,
                feature.false,
                feature.true_words,
                feature.false_words,
                tuple(choices),
            ),
            hints=hints(_STEPS, _COSTS),
        )

    def subject(self, question: Question) -> str:
        return "n and p" if PolarityKey.of(question).right in ("n", "p") else "loads"

    def needs(self, question: Question) -> frozenset[Fact]:
        feature = PolarityKey.of(question).feature
        if feature == "gate":
            return tracing(question.specimen.face.scene)
        return frozenset({Fact.WELL} if feature == "well" else {Fact.RAILS, Fact.CONTACT})

    def tell(self, question: Question, hidden: frozenset[Fact]) -> tuple[str, ...] | None:
        """Tell the rails; a well that is too faint is passed over for another cue."""
        return None if hidden == {Fact.WELL} else super().tell(question, hidden)

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        """Both kinds with a rail or a well to tell them by, or drivers and loads."""
        if {t.kind for t in netlist.transistors} == {Kind.N, Kind.P}:
            hung = any(rail in t.ends for t in netlist.transistors for rail in process.supplies)
            return hung or bool(well_ties(process))
        return len({is_load(t, process, netlist) for t in netlist.transistors}) > 1

    def accept(self, question: Question, text: str) -> Answer:
        words, key = nonempty(text), PolarityKey.of(question)
        if letter_of(words, key.choices) is None:
            _said(words, key.right, key.wrong)
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        key = PolarityKey.of(question)
        return Answer(LETTERS[key.choices.index(f"{key.right}: {key.true}")])

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = PolarityKey.of(question)
        right, wrong, true, choices, at = key.right, key.wrong, key.true, key.choices, (key.x, key.y)
        place = letter_of(answer.text, choices)
        if place is not None:
            word, _, said = choices[place].partition(": ")
            cue = 1 if said == true else -1
        else:
            word = _said(answer.text, right, wrong)
            cue = _cue(answer.text, key.true_words, key.false_words)
        transistor = question.specimen.extraction.transistor_at(*at)
        outlined = ((transistor,) if transistor else (), (), (at,))
        full = f"{right}: {true}"
        decides = f"{true[:1].upper()}{true[1:]}, so it is {_article(right)}{right}."
        if word != right:
            noted = " The feature is as you say, but look what follows from it." if cue > 0 else ""
            summary = f"Not {_article(word)}{word}: {right}.{noted}"
            return Verdict(0.0, summary, full, decides, *outlined, confused_with=word)
        if cue < 0:
            return Verdict(HALF_CREDIT, f"{right} is right, but not for that reason.", full, decides, *outlined)
        if cue == 0:
            return Verdict(HALF_CREDIT, f"{right} is right; say also how you tell.", full, decides, *outlined)
        return Verdict(1.0, f"Right: {right}.", full, decides, *outlined)

    def instead(self, question: Question, answer: Answer) -> str:
        key = PolarityKey.of(question)
        place = letter_of(answer.text, key.choices)
        word = key.choices[place].partition(": ")[0] if place is not None else _said(answer.text, key.right, key.wrong)
        if word != key.right:
            return f"Were it {_article(word)}{word}, one would see that {key.false}; here {key.true}."
        return f"A cue that would hold for {_article(key.wrong)}{key.wrong}: {key.false}; here {key.true}."


def _article(word: str) -> str:
    return {"driver": "a ", "load": "a "}.get(word, "")


def _place(scene: Scene, t: Transistor) -> tuple[int, int] | None:
    """Return a place on the channel for the mark."""
    rects: tuple[Rect, ...] = scene.channels[t.name]
    return max(rects, key=lambda r: (r.area, r)).centre if rects else None


def _sorts(scene: Scene, t: Transistor) -> list[tuple[tuple[str, str], Feature]]:
    """Return what can be asked of a transistor: the (right, wrong) words and the feature that decides."""
    devices = scene.extraction.netlist.transistors
    sorts: list[tuple[tuple[str, str], Feature]] = []
    if t.is_closed_by_implant(scene.process.rails, scene.process.supplies[1:]):
        return sorts  # no feature of its own tells it
    if {d.kind for d in devices} == {Kind.N, Kind.P}:
        pair = ("n", "p") if t.kind is Kind.N else ("p", "n")
        sorts += [(pair, feature) for feature in _kind_features(scene, t)]
    elif len({is_load(d, scene.process, scene.extraction.netlist) for d in devices}) == 2:
        load = is_load(t, scene.process, scene.extraction.netlist)
        pair = ("load", "driver") if load else ("driver", "load")
        sorts.append((pair, _load_feature(t, load=load)))
        if len({d.mode for d in devices}) == 2:
            depletion = t.mode is Mode.DEPLETION
            mode = ("depletion", "enhancement") if depletion else ("enhancement", "depletion")
            sorts.append((mode, _load_feature(t, load=depletion)))
    return sorts


def _kind_features(scene: Scene, t: Transistor) -> list[Feature]:
    low, high = scene.process.supplies
    features = []
    rule = next(r for r in scene.process.transistors if r.kind is t.kind and r.mode is t.mode)
    bodies = {r.body for r in scene.process.transistors}
    wells = [b for b in bodies if b not in (None, SUBSTRATE) and scene.materials.get(str(b)) is Material.WELL]
    if len(wells) == 1 and SUBSTRATE in bodies:
        layer = scene.process.layers.get(str(wells[0]))
        title = layer.title if layer else "well"
        inside, outside = f"it lies in the {title}", f"it lies outside the {title}"
        words = (("in the well", "inside", "in well", "well"), ("outside", "out of", "not in", "substrate"))
        if rule.body == wells[0]:
            features.append(Feature("well", inside, outside, words[0], words[1]))
        else:
            features.append(Feature("well", outside, inside, words[1], words[0]))
    rail = rail_of(scene, t.name)
    if rail is not None:
        other = high if rail == low else low
        features.append(
            Feature(
                "rail",
                f"its row of diffusion hangs on {rail}",
                f"its row of diffusion hangs on {other}",
                (rail.lower(),),
                (other.lower(),),
            )
        )
    return features


def _load_feature(t: Transistor, *, load: bool) -> Feature:
    tied = "its gate is tied to its own source" if t.mode is Mode.DEPLETION else "its gate is tied to a supply"
    if not load:
        tied = "its gate is tied to its own end or a supply"
    driven = "its gate is driven by a signal"
    words = (("tied", "source", "supply"), ("driven", "signal", "input"))
    if load:
        return Feature("gate", tied, driven, words[0], words[1])
    return Feature("gate", driven, tied, words[1], words[0])


_WORDS = {
    "n": ("n", "nmos", "n-channel", "n-type"),
    "p": ("p", "pmos", "p-channel", "p-type"),
    "load": ("load", "pull-up", "pullup"),
    "driver": ("driver", "pull-down", "pulldown"),
    "depletion": ("depletion", "dep"),
    "enhancement": ("enhancement", "enh"),
}


def _said(text: str, right: str, wrong: str) -> str:
    """Return which of the two words the text begins with or holds; raises when neither or both."""
    first, *rest = [word.strip(",.;:") for word in text.lower().split()] or [""]
    for candidates in ([first], rest):
        meant = {word for word in (right, wrong) for spoken in candidates if spoken in _WORDS.get(word, (word,))}
        if len(meant) == 1:
            return meant.pop()
    raise LayoutdrillError(f'"{text}" is neither {right} nor {wrong}'
                           if right < wrong else f'"{text}" is neither {wrong} nor {right}',
                           todo="type the word and how you tell, or a letter")  # fmt: skip


def _cue(text: str, true: tuple[str, ...], false: tuple[str, ...]) -> int:
    """Return 1 where the typed reason is the true one, −1 where it is its opposite, 0 where there is none."""
    lower = text.lower()
    hits = [max((len(w) for w in words if w in lower), default=0) for words in (true, false)]
    return (hits[0] > hits[1]) - (hits[1] > hits[0])
