"""Which process was this made in, and by which cue does one tell?"""

from functools import cache

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.materials import metal_gate
from layoutdrill.netlist.model import Kind, Mode, Netlist
from layoutdrill.picture.evidence import Fact, visible
from layoutdrill.picture.looks import load_look
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.process.model import SUBSTRATE
from layoutdrill.question.choices import LETTERS, blank, letter_of, nonempty, unanswered
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, HintStep, Question, Specimen, Verdict
from layoutdrill.question.needed import rails_told, tracing
from layoutdrill.question.targets import is_load
from layoutdrill.value import value

CUE_MISSED_CREDIT = 0.5
"""The right process, with no cue or one that does not tell it."""
CUE_SEEN_CREDIT = 0.25
"""The cue is there, but does not tell that process."""
_STEPS = (HintStep.RAILS, HintStep.DEVICES, HintStep.LIFT_METAL)
_LOOK = "reflected-light"
_LEAST, _MOST = 2, 40
"""Transistors of a drawing that shows what a process looks like."""


@value
class ProcessKey(Key):
    """
    The process, one that it may be taken for, the cue as it is here, what the other's would be, and a cue that both
    have.
    """

    shown = ("choices",)
    right: str
    wrong: str
    true: str
    false: str
    shared: str
    choices: tuple[str, ...]


class WhichProcess(QuestionKind):
    """
    Tell the process, and by which cue.

    Every choice is true of the process it names; one looks. Full credit for the process with the cue that tells it from
    its look-alike; half for the process with no cue, or one that both have; a quarter for the other process with the
    cue that both have. Neither process nor layers are named on the screen while it is asked, and it is always seen in
    reflected light, in which every die can be looked at.
    """

    name = "process"
    title = "Tell the process, and by which cue"
    group = Group.NAME
    key_type = ProcessKey
    untold = frozenset({Fact.GATE})
    own_look = True
    names_process = False
    partly = (
        (CUE_MISSED_CREDIT, "the process is right, a cue that tells it is not named"),
        (CUE_SEEN_CREDIT, "the cue is there, but the process is not this"),
    )

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        process, netlist = specimen.process, specimen.netlist
        if not self.askable(netlist, process) or specimen.frame is not None:
            return None
        own = traits(process)
        seen = _seen(specimen)
        others = []
        for other in _others(process):
            marks = {trait: mark for trait, mark in traits(other).items() if trait in seen and mark and own[trait]}
            shared = [trait for trait, mark in marks.items() if mark == own[trait]]
            differing = [trait for trait, mark in marks.items() if mark != own[trait]]
            telling = [trait for trait in differing if trait != "wells" or _wells_can_tell(process, other)]
            others += [(other, trait, dice.pick(shared), len(differing)) for trait in telling if shared]
        if not others:
            return None
        other, trait, common, _ = dice.weighted([(pair, 12 // pair[3]) for pair in others])
        true, false = _CUES[trait, own[trait]], _CUES[trait, traits(other)[trait]]
        both = _CUES[common, own[common]]
        names = (process.title, other.title)
        cues = ((names[0], true), (names[0], both), (names[1], false), (names[1], both))
        choices = tuple(dice.shuffled([f"{name}: {cue}" for name, cue in cues]))
        rails = rails_told(specimen) if "wells" in (trait, common) else ()
        if rails is None:
            return None
        return Question(
            kind=self.name,
            prompt="In which process was this made, and by which cue do you tell?",
            specimen=specimen,
            choices=choices,
            facts=rails,
            marks=(),
            key=ProcessKey(*names, true, false, both, choices),
            hints=hints(_STEPS),
            look=_LOOK,
        )

    def subject(self, question: Question) -> str:
        return "processes"

    def needs(self, question: Question) -> frozenset[Fact]:
        key, scene = ProcessKey.of(question), question.specimen.face.scene
        trait = next(trait for (trait, _), cue in _CUES.items() if cue == key.true)
        if trait == "wells":
            return frozenset({Fact.GATE, Fact.WELL} if question.specimen.face.scene.wells[1] else {Fact.GATE})
        if trait == "metals":
            return frozenset({Fact.VIA, Fact.CONTACT})
        return frozenset({Fact.GATE}) | (tracing(scene) if trait in ("loads", "sides") else frozenset())

    def tell(self, question: Question, hidden: frozenset[Fact]) -> tuple[str, ...] | None:
        """Tell nothing: where a cue is hidden, another is asked about."""
        return None

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        local = any(layer.role in ("local-metal", "upper-metal") for layer in process.layers.values())
        return not local and _LEAST <= netlist.count() <= _MOST

    def accept(self, question: Question, text: str) -> Answer:
        words, key = nonempty(text), ProcessKey.of(question)
        _said(words, key.choices)
        return Answer(words)

    def instead(self, question: Question, answer: Answer) -> str:
        key = ProcessKey.of(question)
        name, cue = _said(answer.text, key.choices)
        if name != key.right.lower() and cue == key.shared:
            return f"That cue holds in both. In {key.wrong}, {key.false}; here {key.true}."
        if name == key.right.lower():
            return f"That cue is seen in {key.wrong} too. There, {key.false}; here {key.true}."
        return f"In {key.wrong}, {key.false}; here {key.true}."

    def solution(self, question: Question) -> Answer:
        key = ProcessKey.of(question)
        return Answer(LETTERS[key.choices.index(f"{key.right}: {key.true}")])

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = ProcessKey.of(question)
        name, cue = _said(answer.text, key.choices)
        full = f"{key.right}: {key.true}"
        decides = f"Here {key.true}; in {key.wrong}, {key.false}."
        devices = tuple(t.name for t in question.specimen.netlist.transistors)
        if name == key.right.lower():
            if cue == key.true.lower():
                return Verdict(1.0, f"Right: {key.right}.", full, decides, devices)
            why = f"but that is so in {key.wrong} too" if cue else "say also by which cue"
            return Verdict(CUE_MISSED_CREDIT, f"{key.right} is right, {why}.", full, decides, devices)
        if cue == key.shared.lower():
            summary = f"The cue is there, but it is so in both: {key.right}."
            return Verdict(CUE_SEEN_CREDIT, summary, full, decides, devices)
        return Verdict(0.0, f"Not {name}: {key.right}.", full, decides, devices)


_CUES = {
    ("gates", "metal"): "at each gate wide metal bridges a gap between two diffusions",
    ("gates", "poly"): "at each gate a strip of poly crosses the diffusion and sticks out beyond it",
    ("wells", "p"): "the transistors on the low rail lie in a well",
    ("wells", "n"): "the transistors on the high rail lie in a well",
    ("wells", "none"): "no edge of a well is to be seen anywhere",
    ("sides", "both"): "an input drives transistors towards either rail",
    ("sides", "one"): "an input drives transistors towards one rail; a load pulls to the other",
    ("metals", "1"): "nowhere does one wire of metal cross another",
    ("metals", "2"): "a second layer of metal crosses the first, joined by vias",
    ("loads", "depletion"): "the gate of the load is tied to its own output",
    ("loads", "enhancement"): "the gate of the load is tied to a supply",
}
"""What one sees, by trait and mark."""


@cache
def traits(process: Process) -> dict[str, str]:
    """Return what one can tell a process by: each trait and its mark here; "" where it does not apply."""
    rules = process.transistors
    kinds = {rule.kind for rule in rules}
    in_wells = {rule.kind for rule in rules if rule.body not in (None, SUBSTRATE)}
    wells = "none" if not in_wells else "p" if in_wells == {Kind.N} else "n"
    metals = sum(layer.role in ("metal", "metal-2") for layer in process.layers.values())
    load = "depletion" if any(rule.mode is Mode.DEPLETION for rule in rules) else "enhancement"
    return {
        "gates": "metal" if metal_gate(process) else "poly",
        "wells": wells,
        "sides": "both" if len(kinds) == 2 else "one",
        "metals": str(metals),
        "loads": load if len(kinds) == 1 else "",
    }


def _others(process: Process) -> list[Process]:
    """Return the other processes that ship and are drawn here, in their order."""
    every = [load_process(name) for name in process_names()]
    drawn = [other for other in every if other.drawing is not None and other.title != process.title]
    return [other for other in drawn if traits(other) != traits(process)]


def _seen(specimen: Specimen) -> frozenset[str]:
    """Return the traits that this very drawing shows something of."""
    netlist, supplies = specimen.netlist, specimen.process.supplies
    own = traits(specimen.process)
    loads = [t for t in netlist.transistors if is_load(t, specimen.process, netlist)]
    traits_seen = {"gates"}
    if own["sides"] == "one":
        traits_seen |= {"sides", "loads"} if loads else set()
    elif any(
        {t.kind for t in netlist.transistors if t.gate == net} == {Kind.N, Kind.P}
        for net in {t.gate for t in netlist.transistors}
    ):
        traits_seen.add("sides")
    if {rail for rail in supplies if rail in netlist.nets} == set(supplies):
        traits_seen.add("wells")
    if own["metals"] == "1" or specimen.face.scene.has("via"):
        traits_seen.add("metals")
    return frozenset(traits_seen)


def _wells_can_tell(process: Process, other: Process) -> bool:
    """Tell whether an edge of a well would show, in this process or in the one that it may be taken for."""
    look = load_look(_LOOK)
    return all(Fact.WELL in visible(look, each) for each in (process, other) if traits(each)["wells"] != "none")


def _said(text: str, choices: tuple[str, ...]) -> tuple[str, str]:
    """Read a letter, a choice in words, or the name of a process: its title in small letters, and the cue or ""."""
    at = letter_of(text, choices)
    words = (choices[at] if at is not None else text).lower().strip(" .")
    name, _, cue = words.partition(": ")
    titles = {choice.lower().partition(": ")[0] for choice in choices}
    known = {load_process(process).title.lower(): process for process in process_names()}
    by_name = {process: title for title, process in known.items()}
    name = by_name.get(name.replace(" ", "-"), name)
    if name not in titles and name not in known:
        todo = "type a letter, or the name of one of the processes"
        raise LayoutdrillError(f'"{text}" is no process that is offered', todo=todo)
    return name, cue
