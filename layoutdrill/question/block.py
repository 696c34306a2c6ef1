"""Read the plan of a die: where its parts are, what its pads do, how wide it is, and where one cell ends."""

import re
from collections import Counter
from collections.abc import Callable, Sequence
from itertools import pairwise

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.materials import Material
from layoutdrill.face.unit import whereabouts
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.question.choices import LETTERS, blank, letter_of, nonempty, shuffled, unanswered
from layoutdrill.question.die_plan import EDGES, INPUT, OUTPUT, SUPPLY, Area, Bond, DiePlan, die_plan
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.letters import letters_of
from layoutdrill.question.model import Answer, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.places import places_on
from layoutdrill.recognise.model import Structure
from layoutdrill.value import value

LEAST = 200
"""A die of fewer transistors, fingers counted, has no plan to speak of."""
MARKS = "PQRS"
_PART = {
    "FIFO": "the FIFO",
    "register row": "the register row",
    "decoder": "the decoder",
    OUTPUT: "the driver of an output pad",
    INPUT: "the protection of an input pad",
}
_KNOWN_BY = {
    "FIFO": "It is the largest field: a row of latches again and again, each row with its marker logic at one end.",
    "register row": "One row of a like cell, each with two loops, all on the same two clock lines; every bit has "
    "an input and an output of its own.",
    "decoder": "Lines that each meet all address lines, at the true line or at the complement, and two alike nowhere.",
    OUTPUT: "Beside the pad stand combs: the widest transistors of the die, many gate fingers side by side.",
    INPUT: "Beside the pad stand a few fingers whose gates lie on a rail, and small inverters lead on inwards.",
}
_DOES = {
    INPUT: "an input: fingers with their gates on the rails, then small inverters",
    OUTPUT: "an output: the wide comb of a driver stands at it",
    SUPPLY: "a supply: the broadest metal of the die leads from it",
    "none": "nothing: it is joined to no circuit",
}
PITCH_WITHIN = 0.06
"""A pitch that is read as near as this is right: a cell's edge can be read to about a wire's width."""
TOLERANCE = 10
"""λ by which a place may miss a part."""


@value
class BlockKey(Key):
    """
    What is asked; the right letter, letters or number as text; the `areas` where a place is right, and those of other
    parts with their names; what decides, and where that is.
    """

    told = ("what", "choices", "known")
    what: str
    right: str
    decides: str
    choices: tuple[str, ...] = ()
    known: tuple[str, ...] = ()
    areas: tuple[Rect, ...] = ()
    others: dict[str, Rect] | None = None
    places: tuple[tuple[int, int], ...] = ()
    tolerance: int = 0


class Block(QuestionKind):
    """
    Find one's way on a whole die.

    A place earns all within its part or 10 λ of it; of pads the share of right letters less that of wrong ones counts;
    a pitch earns all within 6 %, half at twice or half of it (a mirrored pair read as one cell, or one cell as two).
    """

    name = "block"
    title = "Read the plan of a die"
    group = Group.SEE
    key_type = BlockKey
    whole_die = True

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        if len(specimen.netlist.transistors) < LEAST:
            return None
        plan = die_plan(specimen)
        if plan is None:
            return None
        for ask in dice.shuffled(_ASKS):
            question = ask(self.name, specimen, plan, dice)
            if question is not None:
                return question
        return None

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        glass = any(layer.role == "glass-opening" for layer in process.layers.values())
        return glass and len(netlist.transistors) >= LEAST

    def subject(self, question: Question) -> str:
        return "plan of a die"

    def needs(self, question: Question) -> frozenset[Fact]:
        what = BlockKey.of(question).what
        if what in ("select", "signal"):
            return frozenset({Fact.CONTACT, Fact.GATE, Fact.UNDER_METAL})
        return frozenset({Fact.CONTACT, Fact.GATE})

    def in_sight(self, question: Question) -> tuple[Rect, ...]:
        box = question.specimen.face.box
        return (box,) if box is not None else ()

    def accept(self, question: Question, text: str) -> Answer:
        key, words = BlockKey.of(question), nonempty(text)
        if key.what == "where":
            return Answer(words, question.specimen.face.unit.read(words))
        if key.what == "pitch":
            _number(words)
        elif key.what == "supplies":
            letters_of(words, key.known)
        elif letter_of(words, key.choices) is None and _marked(words, key.choices) is None:
            raise LayoutdrillError(f'"{words}" is none of the choices', todo="type a, b, c or d")
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        key, unit = BlockKey.of(question), question.specimen.face.unit
        if key.what == "where":
            x, y = max(key.areas, key=lambda r: (r.area, r)).centre
            return Answer(unit.at(x, y), (x, y))
        if key.choices:
            return Answer(LETTERS[key.choices.index(key.right)])
        return Answer(key.right)

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = BlockKey.of(question)
        if key.what == "where":
            return self._placed(question, answer, key)
        full = _full(key)
        credit, summary = _credit(key, answer.text, full)
        return Verdict(credit, summary, full, key.decides, places=key.places, areas=key.areas)

    def _placed(self, question: Question, answer: Answer, key: BlockKey) -> Verdict:
        face = question.specimen.face
        x, y = answer.point if answer.point is not None else face.unit.read(answer.text)
        middle = max(key.areas, key=lambda r: (r.area, r)).centre
        full = f"{key.right} lies {whereabouts(face.box, *middle)} ({face.unit.at(*middle)})"
        if any(_off(r, x, y) <= key.tolerance for r in key.areas):
            return Verdict(1.0, f"Right: {full}.", full, key.decides, places=(middle,), areas=key.areas)
        other = _part_at(key, x, y)
        said = f"That is {other}" if other else "Not there"
        return Verdict(0.0, f"{said}: {full}.", full, key.decides, places=(middle,), areas=key.areas)

    def instead(self, question: Question, answer: Answer) -> str:
        key = BlockKey.of(question)
        if key.what == "where":
            x, y = answer.point if answer.point is not None else question.specimen.face.unit.read(answer.text)
            other = _part_at(key, x, y)
            here = f"what lies here is {other}" if other else "only wires and single gates lie here"
            return f"Were it here, one would see: {key.decides} Instead, {here}."
        if key.what == "pitch":
            return f"Were the pitch so, the next like contact would lie there; it lies {key.right} on."
        said = answer.text
        at = letter_of(said, key.choices) if key.choices else None
        choice = key.choices[at] if at is not None else said
        return f"Were it “{choice}”, that is what one would see there; but: {key.decides}"


def _full(key: BlockKey) -> str:
    return f"{key.right} λ" if key.what == "pitch" else key.right


def _credit(key: BlockKey, text: str, full: str) -> tuple[float, str]:
    if key.what == "pitch":
        said, right = _number(text), float(key.right)
        for factor, credit, remark in ((1.0, 1.0, ""), (2.0, 0.5, "two cells"), (0.5, 0.5, "half a cell")):
            if abs(said - right * factor) <= PITCH_WITHIN * right * factor:
                return credit, f"Right: {full}." if credit == 1 else f"That is {remark}: the pitch is {full}."
        return 0.0, f"The pitch is {full}."
    if key.what == "supplies":
        said_letters, right_letters = letters_of(text, key.known), set(key.right.split())
        share = (len(said_letters & right_letters) - len(said_letters - right_letters)) / len(right_letters)
        return max(0.0, round(share, 3)), f"{'Right' if share >= 1 else 'The supplies are'}: {full}."
    at = letter_of(text, key.choices)
    said_choice = key.choices[at] if at is not None else _marked(text, key.choices)
    right_choice = said_choice == key.right
    return float(right_choice), f"{'Right' if right_choice else 'Not so'}: {full}."


def _marked(text: str, choices: Sequence[str]) -> str | None:
    """Read a choice by the letter of its mark, or by its first word."""
    word = text.strip().lower()
    return next((choice for choice in choices if choice.lower() == word or choice.lower().split()[0] == word), None)


def _number(text: str) -> float:
    match = re.search(r"\d+(\.\d+)?", text.replace(",", "."))
    if match is None:
        raise LayoutdrillError(f'"{text}" is no number', todo="type the pitch in λ, such as 85")
    return float(match[0])


def _off(r: Rect, x: int, y: int) -> int:
    return max(r.x0 - x, x - r.x1, r.y0 - y, y - r.y1, 0)


def _part_at(key: BlockKey, x: int, y: int) -> str:
    return next((name for name, r in (key.others or {}).items() if r.contains(x, y)), "")


_HINTS = hints((HintStep.RAILS, HintStep.DEVICES), {HintStep.RAILS: 0.1, HintStep.DEVICES: 0.1})


def _question(kind: str, specimen: Specimen, prompt: str, key: BlockKey, marks: tuple[Mark, ...] = (),
              facts: tuple[str, ...] = (), *, pointed: bool = False) -> Question:  # fmt: skip
    return Question(
        kind=kind,
        prompt=prompt,
        specimen=specimen,
        choices=key.choices,
        facts=facts,
        marks=marks,
        key=key,
        pointed=pointed,
        hints=_HINTS,
    )


def _where(kind: str, specimen: Specimen, plan: DiePlan, dice: Dice) -> Question | None:
    """Ask where a part lies."""
    unit = specimen.process.grid_per_lambda
    places: dict[str, tuple[Rect, ...]] = {area.family: (area.rect,) for area in plan.areas}
    for does, term in ((OUTPUT, "output pad"), (INPUT, "input protection")):
        own = [s for s in plan.recognition.all() if s.term == term]
        rects = tuple(r for s in own if (r := _extent(specimen, s)) is not None)
        if rects:
            places[does] = rects
    asked = [family for family in places if family in _PART]
    if len(asked) < 2:
        return None
    family = dice.pick(asked)
    others = {_PART[name]: places[name][0] for name in asked if name != family and len(places[name]) == 1}
    said = _PART[family]
    key = BlockKey("where", said, _KNOWN_BY[family], areas=places[family], others=others, tolerance=TOLERANCE * unit)
    sign = specimen.face.unit.sign
    return _question(kind, specimen, f"Put the crosshair on {said}: point, or type x, y in {sign}.", key, pointed=True)


def _supplies(kind: str, specimen: Specimen, plan: DiePlan, dice: Dice) -> Question | None:
    """Ask which pads carry the supplies."""
    rails = [bond for bond in plan.bonds if bond.does == SUPPLY]
    rest = [bond for bond in plan.bonds if bond.does != SUPPLY]
    if len(rails) != 2 or len(rest) < 3:
        return None
    chosen = dice.shuffled([*rails, *dice.sample(rest, 3)])
    letters = MARKS + "T"
    marks = tuple(Mark(letter, *bond.rect.centre) for letter, bond in zip(letters, chosen, strict=True))
    right = " ".join(letter for letter, bond in zip(letters, chosen, strict=True) if bond.does == SUPPLY)
    decides = "From a supply's pad the broadest metal leads straight on and along the edge; no transistor stands at it."
    places = tuple(bond.rect.centre for bond in rails)
    key = BlockKey("supplies", right, decides, known=tuple(letters), places=places)
    return _question(kind, specimen, "Which of the marked pads carry the supplies? Type their letters.", key, marks)


def _pad(kind: str, specimen: Specimen, plan: DiePlan, dice: Dice) -> Question | None:
    """Ask what one pad does."""
    if not plan.bonds:
        return None
    does = dice.pick(sorted({bond.does for bond in plan.bonds}))
    bond = dice.pick([bond for bond in plan.bonds if bond.does == does])
    choices = shuffled(_DOES[does], [said for name, said in _DOES.items() if name != does], dice)
    marks = (Mark("P", *bond.rect.centre),)
    key = BlockKey("pad", _DOES[does], _pad_decides(does), choices, places=(bond.rect.centre,))
    return _question(kind, specimen, f"What is the pad P ({specimen.face.unit.at(*bond.rect.centre)}) for?", key, marks)


def _pad_decides(does: str) -> str:
    if does == SUPPLY:
        return "Metal as broad as no signal's leads from it, and no transistor stands between."
    return _KNOWN_BY[does]


def _edge(kind: str, specimen: Specimen, plan: DiePlan, dice: Dice) -> Question | None:
    """Ask which edge the bus is on."""
    counts = Counter(bond.edge for bond in plan.bonds if bond.does == INPUT).most_common()
    if not counts or (len(counts) > 1 and counts[0][1] < 2 * counts[1][1]):
        return None
    right = counts[0][0]
    choices = shuffled(right, [edge for edge in EDGES if edge != right], dice)
    fact = "A bus gives this chip its words, addresses and clock on one edge; a host takes words from it on another."
    decides = (
        f"{counts[0][1]} pads of that edge have the protection of inputs; drivers stand at the pads across from it."
    )
    places = tuple(bond.rect.centre for bond in plan.bonds if bond.does == INPUT and bond.edge == right)
    key = BlockKey("edge", right, decides, choices, places=places)
    return _question(kind, specimen, "Which edge of the picture faces the bus?", key, facts=(fact,))


def _bits(kind: str, specimen: Specimen, plan: DiePlan, dice: Dice) -> Question | None:
    """Ask how many bits wide a part is."""
    area = plan.area("register row")
    if area is None:
        return None
    count = len(area.cells)
    numbers = dice.sample([n for n in (2, 3, 4, 5, 6, 8, 12, 16) if n != count], 3)
    said = {n: f"{n} bits: one cell stands {n} times side by side" for n in (count, *numbers)}
    choices = shuffled(said[count], [said[n] for n in numbers], dice)
    decides = f"In the register row one cell repeats {count} times, each with an input and an output of its own."
    key = BlockKey("bits", said[count], decides, choices, places=(area.rect.centre,), areas=area.cells)
    return _question(kind, specimen, "How many bits wide is the register row, and from which repeat is it known?", key)


def _pitch(kind: str, specimen: Specimen, plan: DiePlan, _: Dice) -> Question | None:
    """Ask for the pitch of the cells of a row."""
    area = plan.area("register row")
    if area is None or len(area.cells) < 3:
        return None
    apart = _apart(area)
    unit = specimen.process.grid_per_lambda
    if apart is None:
        return None
    right = f"{apart / unit:g}"
    decides = "The distance from a contact of one cell to the same contact of the next: the row is one cell repeated."
    key = BlockKey("pitch", right, decides, places=tuple(r.centre for r in area.cells), areas=area.cells)
    ends = (area.cells[0].centre, area.cells[-1].centre)
    marks = tuple(Mark(letter, *at) for letter, at in zip("PQ", ends, strict=True))
    prompt = (
        "P and Q stand in the outermost cells of the register row. What is the pitch of its cells, in λ? Type a number."
    )
    return _question(kind, specimen, prompt, key, marks)


def _apart(area: Area) -> int | None:
    """Return the distance of neighbouring cells where it is one and the same for all."""
    level = area.rect.width > area.rect.height
    starts = sorted(r.x0 if level else r.y0 for r in area.cells)
    steps = {b - a for a, b in pairwise(starts)}
    return steps.pop() if len(steps) == 1 else None


def _ends(kind: str, specimen: Specimen, plan: DiePlan, dice: Dice) -> Question | None:
    """Ask where one cell of a row ends and the next begins."""
    area = plan.area("register row")
    apart = _apart(area) if area is not None and len(area.cells) > 2 else None
    if area is None or apart is None:
        return None
    level = area.rect.width > area.rect.height
    cells = sorted(area.cells, key=lambda r: r.x0 if level else r.y0)
    at = dice.below(len(cells) - 1)
    first, then = cells[at], cells[at + 1]
    low, high = (first.x1, then.x0) if level else (first.y1, then.y0)
    if high <= low:
        return None
    border = (low + high) // 2
    across = area.rect.centre[1] if level else area.rect.centre[0]
    along = [border] + [border + sign * apart * share // 100 for sign, share in ((-1, 25), (1, 33), (-1, 50))]
    letters = dice.shuffled(list(MARKS))
    places = [(a, across) if level else (across, a) for a in along]
    marks = tuple(sorted((Mark(letter, *place) for letter, place in zip(letters, places, strict=True)), key=_letter))
    choices = tuple(f"{letter} stands between two cells" for letter in MARKS)
    right = f"{letters[0]} stands between two cells"
    decides = "What repeats begins there anew: the transistors beyond it are those of the cell before once more."
    key = BlockKey("ends", right, decides, choices, places=(places[0],), areas=(first, then))
    return _question(
        kind, specimen, "Which mark stands where one cell of the register row ends and the next begins?", key, marks
    )


def _letter(mark: Mark) -> str:
    return mark.letter


def _select(kind: str, specimen: Specimen, plan: DiePlan, dice: Dice) -> Question | None:
    """Ask which line of the decoder selects the register row."""
    decoder, row = plan.area("decoder"), plan.area("register row")
    if decoder is None or row is None:
        return None
    lines = list(decoder.structure.nets(Role.OUTPUT))
    clocks = set(row.structure.nets(Role.CLOCK, Role.ENABLE))
    leading = [net for net in lines if _reaches(plan, net, clocks)]
    if len(lines) != len(MARKS) or len(leading) != 1:
        return None
    marks, places = _on_nets(specimen, dice.shuffled(lines), dice)
    if marks is None:
        return None
    letter = next(letter for letter, net in places.items() if net == leading[0])
    choices = tuple(f"{letter} selects the register row" for letter in MARKS)
    decides = "From that line one gate, with the clock and the write line beside it, drives the clock lines of the row."
    key = BlockKey(
        "select", f"{letter} selects the register row", decides, choices,
        places=tuple((m.x, m.y) for m in marks if m.letter == letter),
    )  # fmt: skip
    return _question(
        kind, specimen, "Each mark is on a line of the decoder. Which line selects the register row?", key, marks
    )


def _reaches(plan: DiePlan, net: str, goal: set[str]) -> bool:
    """Tell whether a net leads by gates alone to one of some nets."""
    seen, edge = {net}, [net]
    gates = ("NAND", "NOR", "AND", "OR", "inverter", "buffer")
    while edge:
        here = edge.pop()
        for s in plan.recognition.structures:
            if any(s.term.startswith(gate) for gate in gates) and here in s.nets(Role.INPUT):
                new = [out for out in s.nets(Role.OUTPUT) if out not in seen]
                seen.update(new)
                edge += new
    return bool(seen & goal)


def _signal(kind: str, specimen: Specimen, plan: DiePlan, dice: Dice) -> Question | None:
    """Ask on which wire a pad's signal goes on behind its inverters."""
    inputs: list[tuple[Bond, str]] = []
    for s in plan.recognition.structures:
        own = [bond for bond in plan.bonds if s.term == "input pad" and bond.net in s.nets(Role.INPUT)]
        inputs += [(bond, s.nets(Role.OUTPUT)[0]) for bond in own if s.nets(Role.OUTPUT)]
    if len(inputs) < len(MARKS):
        return None
    chosen = dice.sample(inputs, len(MARKS))
    marks, nets = _on_nets(specimen, [net for _, net in chosen], dice)
    if marks is None:
        return None
    bond, net = chosen[0]
    letter = next(letter for letter, own in nets.items() if own == net)
    choices = tuple(f"{letter} carries it on" for letter in MARKS)
    decides = "From the pad through its two inverters, below the broad rail, up to the upright wire of the channel."
    key = BlockKey("signal", f"{letter} carries it on", decides, choices, places=(bond.rect.centre,))
    prompt = "Follow the pad A inwards through its two inverters. Which mark is on the wire that carries its signal on?"
    return _question(kind, specimen, prompt, key, (*marks, Mark("A", *bond.rect.centre)))


def _on_nets(specimen: Specimen, nets: Sequence[str], dice: Dice) -> tuple[tuple[Mark, ...] | None, dict[str, str]]:
    """Return a mark on the longest metal of each net, by its letter."""
    marks = []
    scene = specimen.face.scene
    for letter, net in zip(MARKS, nets, strict=True):
        wires = [w for w in scene.wires if w.net == net and w.material is Material.METAL]
        longest = sorted(wires, key=lambda w: (-max(w.rect.width, w.rect.height), w.rect))
        place = next((place for wire in longest for place in places_on(scene, [wire], dice)), None)
        if place is None:
            return None, {}
        marks.append(Mark(letter, *place))
    return tuple(marks), dict(zip(MARKS, nets, strict=True))


def _extent(specimen: Specimen, structure: Structure) -> Rect | None:
    rects = [r for name in structure.transistors for r in specimen.extraction.channel(name)]
    return (
        Rect(min(r.x0 for r in rects), min(r.y0 for r in rects), max(r.x1 for r in rects), max(r.y1 for r in rects))
        if rects
        else None
    )


_Ask = Callable[[str, Specimen, DiePlan, Dice], Question | None]
_ASKS: tuple[_Ask, ...] = (_where, _where, _supplies, _pad, _edge, _bits, _pitch, _ends, _select, _signal)
