"""A defect in a layout: find it, say what the circuit does now, how it shows at the pins, and which defect fits."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field, replace

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.extract.model import Extraction
from layoutdrill.face import DrawnFace
from layoutdrill.face.unit import whereabouts
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import Process
from layoutdrill.prove.faults import UNSEEN, Defect, DefectKind, defects
from layoutdrill.question.choices import LETTERS, blank, letter_of, nonempty, shuffled, unanswered
from layoutdrill.question.circuit import (
    MOST_READ,
    READ_HINTS,
    Pins,
    Undrawn,
    facts_needed,
    marks_of,
    pins_of,
    readable,
    row_text,
    rows_of,
    values_of,
    why,
)
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.ways import hard_to_call
from layoutdrill.simulate.settle import settle
from layoutdrill.value import value

MOST_INPUTS = 3
"""More inputs make columns that nobody reads at a glance."""
_TRIED = 3
"""Defects of each kind that are looked at for one question."""
_GAP = 10
"""λ between two dies side by side."""
TOLERANCE = 2
"""λ by which a place may miss a defect."""
NEAR_CREDIT = 0.5
"""The same place on the sound die."""
ALONE = (DefectKind.OPEN, DefectKind.CORROSION)
"""Kinds that show without a sound die beside: ends of wires that face one another across a gap."""
_SAID = {
    DefectKind.OPEN: "the metal is broken: its two ends face one another across a gap",
    DefectKind.CONTACT: "there is no contact: metal passes over, and nothing joins it to what lies below",
    DefectKind.BRIDGE: "metal lies between two wires and joins them",
    DefectKind.WINDOW: "the gate window is missing: thick oxide lies there, and the metal above opens no channel",
    DefectKind.SPIKE: "aluminium has spiked through the junction below the contact and touches what lies under it",
    DefectKind.PINHOLE: "the gate oxide has a pinhole: the gate touches the source or drain that it overlaps",
    DefectKind.CORROSION: "the metal is eaten away",
}
_LEVELS = {
    "0": "0",
    "1": "1",
    "Z": "floats",
    "X": "cannot be known, as a gate floats",
    "!": "lies between, as two ways fight",
}

_WOULD = {
    "0": "be 0",
    "1": "be 1",
    "Z": "float",
    "X": "hang on a gate that floats",
    "!": "lie between two ways that fight",
}


@value
class FaultKey(Key):
    """
    What is asked (find, does, symptom, fits), the right choice, the defect's kind and place, and what decides.

    Of two dies `place` lies on the faulty one and `twin` on the sound one. `column` are the levels of the output for
    the rows of the inputs, counting up, of the faulty die, or as they were measured; `would` says of each wrong choice
    what one would see were it right.
    """

    told = ("what", "choices")
    what: str
    right: str
    kind: str
    place: Rect
    decides: str
    choices: tuple[str, ...] = ()
    twin: Rect | None = None
    tolerance: int = 0
    transistors: tuple[str, ...] = ()
    inputs: tuple[str, ...] = ()
    output: str = ""
    column: str = ""
    would: dict[str, str] = field(default_factory=dict)


@value
class Tried:
    """A defect with what is read in its layout, and the output's level in each row of inputs."""

    defect: Defect
    extraction: Extraction
    column: str


class Fault(QuestionKind):
    """
    Find a defect, and what it does.

    The levels come from the faulty layout, extracted and simulated. A place earns all within 2 λ of the defect, half at
    the same place of the sound die; of the choices one is right.
    """

    name = "fault"
    title = "Find what is wrong"
    group = Group.WORK
    key_type = FaultKey

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        if not isinstance(specimen.face, DrawnFace) or not readable(specimen):
            return None
        pins = _pins(specimen)
        tried: list[Tried] = []
        for what in dice.shuffled(["find"] if pins is None else ["find", "does", "symptom", "fits"]):
            if what == "find":
                question = self._find(specimen, dice)
            else:
                assert pins is not None
                tried = tried or list(_tried(specimen, pins, list(DefectKind), dice))
                question = (self._fits if what == "fits" else self._of_one)(specimen, pins, tried, dice, what)
            if question is not None:
                return question
        return None

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        return 1 <= netlist.count() <= MOST_READ and bool(process.drawing)

    def subject(self, question: Question) -> str:
        return "faults"

    def needs(self, question: Question) -> frozenset[Fact]:
        if FaultKey.of(question).what == "find":
            return frozenset({Fact.CONTACT, Fact.GATE})
        return facts_needed(question)

    def kept_clear(self, question: Question) -> tuple[tuple[int, int], ...]:
        key = FaultKey.of(question)
        twin = (key.twin.centre,) if key.twin is not None else ()
        return (*super().kept_clear(question), key.place.centre, *twin)

    def in_sight(self, question: Question) -> tuple[Rect, ...]:
        key = FaultKey.of(question)
        return (key.place, *([key.twin] if key.twin is not None else []))

    def accept(self, question: Question, text: str) -> Answer:
        words, key = nonempty(text), FaultKey.of(question)
        if key.what == "find":
            return Answer(words, question.specimen.face.unit.read(words))
        _chosen(words, key.choices)
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        key = FaultKey.of(question)
        if key.what == "find":
            x, y = key.place.centre
            return Answer(question.specimen.face.unit.at(x, y), (x, y))
        return Answer(LETTERS[key.choices.index(key.right)])

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key, face = FaultKey.of(question), question.specimen.face
        middle = key.place.centre
        if key.what != "find":
            right = _chosen(answer.text, key.choices) == key.right
            said = f"{'Right' if right else 'Not so'}: {key.right}."
            return Verdict(float(right), said, key.right, key.decides, key.transistors, places=(middle,))
        x, y = answer.point if answer.point is not None else face.unit.read(answer.text)
        full = f"{key.kind} {whereabouts(face.box, *middle)} ({face.unit.at(*middle)})"
        areas = (key.place.grown(key.tolerance),)
        if areas[0].contains(x, y):
            return Verdict(1.0, f"Right: {full}.", full, key.decides, places=(middle,), areas=areas)
        if key.twin is not None and key.twin.grown(key.tolerance).contains(x, y):
            said = f"The place, but on the sound die: {full}."
            return Verdict(NEAR_CREDIT, said, full, key.decides, places=(middle,), areas=areas)
        return Verdict(0.0, f"Not there: {full}.", full, key.decides, places=(middle,), areas=areas)

    def instead(self, question: Question, answer: Answer) -> str:
        key = FaultKey.of(question)
        if key.what == "find":
            like = (
                "what lies there would differ from the same place on the sound die"
                if key.twin is not None
                else "a wire would end there and go on across a gap, or be eaten away"
            )
            return f"Were it there, {like}; nothing there does."
        chosen = _chosen(answer.text, key.choices)
        return key.would.get(
            chosen, f"Were it “{chosen}”, the output would have other levels than this defect gives it."
        )

    def _find(self, specimen: Specimen, dice: Dice) -> Question | None:
        """Show a faulty die beside a sound one, or alone, and ask where the defect is."""
        face = specimen.face
        assert isinstance(face, DrawnFace)
        sign = face.unit.sign
        seen = dice.shuffled([kind for kind in DefectKind if kind not in UNSEEN])
        for tried in _tried(specimen, None, seen, dice):
            defect = tried.defect
            decides = f"At the place {_SAID[defect.kind]}."
            tolerance = TOLERANCE * face.unit.per
            if defect.kind in ALONE and dice.chance(40):
                faulty = _faulty(specimen, tried)
                prompt = f"One defect makes this circuit another. Where is it? Point, or type x, y in {sign}."
                key = FaultKey("find", defect.kind, defect.kind, defect.place, decides, tolerance=tolerance)
                return self._question(faulty, prompt, key, pointed=True)
            sound, shift = face.layout.flattened(), face.box.width + _GAP * face.unit.per
            both = DrawnFace.of(_beside(sound, defect.layout, shift), face.process)
            two = replace(specimen, face=both, netlist=both.extraction.netlist, boundary="", about="", aliases=())
            moved = defect.place.moved(shift, 0)
            prompt = f"The left die is sound, the right one has one defect. Where? Point, or type x, y in {sign}."
            key = FaultKey(
                "find", defect.kind, defect.kind, moved, decides, twin=defect.place, tolerance=tolerance
            )  # fmt: skip
            return self._question(two, prompt, key, pointed=True)
        return None

    def _of_one(
        self, specimen: Specimen, pins: Pins, faults: Sequence[Tried], dice: Dice, what: str
    ) -> Question | None:
        """Show a defect and ask for the output's levels (does), or what one would notice at the pins (symptom)."""
        rows, sound = _rows(specimen, pins)
        wrong = [t for t in faults if t.column and t.column != sound]
        for tried in dice.shuffled(wrong):
            columns = dict.fromkeys((sound, *(t.column for t in wrong), _turned(sound)))
            others = [c for c in columns if c != tried.column]
            say = _column if what == "does" else _symptom_text
            words = {c: say(c, sound, rows, pins.outputs[0]) for c in (tried.column, *others)}
            apart = [w for c, w in words.items() if c != tried.column and w != words[tried.column]]
            faulty = _faulty(specimen, tried)
            named = marks_of(faulty, (*pins.inputs, pins.outputs[0]))
            if len(dict.fromkeys(apart)) < 3 or named is None:
                continue
            x, y = tried.defect.place.centre
            choices = shuffled(words[tried.column], dice.sample(list(dict.fromkeys(apart)), 3), dice)
            decides, names = _decides(faulty, pins, tried, sound, rows)
            would = {
                said: _were(column, tried.column, rows, pins.outputs[0])
                for column, said in reversed(words.items())
                if said in choices and said != words[tried.column]
            }
            key = FaultKey(
                what, words[tried.column], tried.defect.kind, tried.defect.place, decides, choices, transistors=names,
                inputs=pins.free, output=pins.outputs[0], column=tried.column, would=would,
            )  # fmt: skip
            asked = {
                "does": f"What levels has {pins.outputs[0]} now?",
                "symptom": f"What does one notice at {pins.outputs[0]}?",
            }[what]
            facts = (f"At X {_SAID[tried.defect.kind]}.",) if tried.defect.kind in UNSEEN else ()
            prompt = f"This die has one defect, at X ({faulty.face.unit.at(x, y)}). {asked}"
            return self._question(faulty, prompt, key, (*named, Mark("X", x, y, ring=True)), (*facts, *_tied(pins)))
        return None

    def _fits(self, specimen: Specimen, pins: Pins, faults: Sequence[Tried], dice: Dice, what: str) -> Question | None:
        """Show a sound die with two places, and ask which defect fits what was measured."""
        rows, sound = _rows(specimen, pins)
        named = marks_of(specimen, (*pins.inputs, pins.outputs[0]))
        wrong = dice.shuffled([t for t in faults if t.column and t.column != sound and "X" not in t.column])
        far = 4 * specimen.face.unit.per
        for tried in wrong:
            for other in wrong:
                (x, y), (a, b) = tried.defect.place.centre, other.defect.place.centre
                if named is None or tried.column == other.column or max(abs(x - a), abs(y - b)) < far:
                    continue
                first, second = dice.shuffled([tried, other])
                measured = dice.weighted(((tried.column, 3), (_turned(sound), 1)))
                fitting = [letter for letter, t in zip("PQ", (first, second), strict=True) if t.column == measured]
                choices = ("the one at P", "the one at Q", "either", "neither")
                right = f"the one at {fitting[0]}" if fitting else "neither"
                gives = {
                    letter: _column(t.column, sound, rows, pins.outputs[0])
                    for letter, t in zip("PQ", (first, second), strict=True)
                }
                seen = _column(measured, sound, rows, pins.outputs[0])
                both = "; ".join(f"at {letter} it gives {column}" for letter, column in gives.items())
                key = FaultKey(
                    what, right, tried.defect.kind, tried.defect.place, f"{_upper(both)}.", choices,
                    inputs=pins.free, output=pins.outputs[0], column=measured, would=_fitting(gives, fitting, seen),
                )  # fmt: skip
                marks = [
                    Mark(letter, *t.defect.place.centre, ring=True)
                    for letter, t in zip("PQ", (first, second), strict=True)
                ]
                facts = tuple(
                    f"Were there a defect at {letter}: {_SAID[t.defect.kind]}."
                    for letter, t in zip("PQ", (first, second), strict=True)
                )
                prompt = f"This is how the die was meant. On the board one measures {seen}. Which one defect fits?"
                return self._question(specimen, prompt, key, (*named, *marks), (*facts, *_tied(pins)))
        return None

    def _question(
        self, specimen: Specimen, prompt: str, key: FaultKey, marks: tuple[Mark, ...] = (),
        facts: tuple[str, ...] = (), *, pointed: bool = False,
    ) -> Question:  # fmt: skip
        return Question(
            kind=self.name,
            prompt=prompt,
            specimen=specimen,
            choices=key.choices,
            facts=facts,
            marks=marks,
            key=key,
            pointed=pointed,
            hints=hints((HintStep.DEVICES, HintStep.NETS)) if pointed else READ_HINTS,
        )


def _pins(specimen: Specimen) -> Pins | None:
    """Return the pins of a small circuit without clock or memory, whose levels are all known."""
    pins = pins_of(specimen)
    if pins is None or pins.clocks or not 1 <= len(pins.free) <= MOST_INPUTS or not pins.outputs:
        return None
    _, sound = _rows(specimen, pins)
    return pins if set(sound) <= {"0", "1"} and len(set(sound)) == 2 else None


def _rows(specimen: Specimen, pins: Pins) -> tuple[list[Mapping[str, int]], str]:
    rows = rows_of(specimen, pins, pins.outputs[0])
    return [row for row, _ in rows], "".join(str(level) for _, level in rows)


def _tried(specimen: Specimen, pins: Pins | None, among: Sequence[DefectKind], dice: Dice) -> Iterator[Tried]:
    """Yield defects of some kinds, in their order, that make another circuit of it; with `pins` what each does."""
    face = specimen.face
    assert isinstance(face, DrawnFace)
    for kind in among:
        for number, defect in enumerate(defects(face.layout, face.process, face.extraction, kind, dice)):
            if number >= _TRIED:
                break
            read = extract(defect.layout, face.process)
            column = column_of(read, specimen, pins) if pins is not None else ""
            if column is None:
                continue
            same = compare(specimen.netlist, read.netlist, ports=False, merge=Merge.FINGERS).equal
            if not same:
                yield Tried(defect, read, column)


def column_of(read: Extraction, specimen: Specimen, pins: Pins) -> str | None:
    """
    Return the levels of the output, row by row; None where an input pin is joined to another pin or a rail, or where
    a level hangs on which of two open ways is the stronger.
    """
    netlist, process = read.netlist, specimen.process
    nets = set(netlist.nets)
    output = pins.outputs[0]
    if any(name not in nets for name in pins.inputs):
        return None
    if output not in nets:
        label = next((t for t in specimen.face.scene.labels if t.text == output), None)
        here = [net for _, net in read.nets_at(label.x, label.y)] if label is not None else []
        levels = [process.rail_levels[net] for net in here if net in process.rail_levels]
        return str(levels[0]) * 2 ** len(pins.free) if len(set(levels)) == 1 else None
    circuit = Undrawn(netlist, process, specimen.ports)
    try:
        rows = rows_of(circuit, pins, output)
    except LayoutdrillError:
        return None
    if any(level.known and _contested(circuit, pins, row, output) for row, level in rows):
        return None
    return "".join(str(level) for _, level in rows)


def _contested(circuit: Undrawn, pins: Pins, row: Mapping[str, int], output: str) -> bool:
    """Tell whether the output, or a net on which it hangs, has its level because one of two ways is the stronger."""
    netlist, supplies = circuit.netlist, values_of(circuit.process, circuit.netlist)
    given = {**row, **{a: 1 - row[b] for a, b in pins.opposite.items()}}
    state = settle(netlist, given, supplies=supplies)
    levels = {net: state.stored(net) for net in netlist.nets}
    sources = {**supplies, **given}
    before = {output, *(t.gate for t in netlist.transistors)}
    return any(hard_to_call(netlist, circuit.process, levels, sources, net, state.level(net)) for net in sorted(before))


def _faulty(specimen: Specimen, tried: Tried) -> Specimen:
    """Return the faulty die; what no picture shows of it is not drawn."""
    layout = specimen.face.scene.layout if tried.defect.kind in UNSEEN else tried.defect.layout
    face = DrawnFace(layout, specimen.process, tried.extraction)
    return replace(specimen, face=face, netlist=tried.extraction.netlist, boundary="", about="", aliases=())


def _beside(left: Layout, right: Layout, shift: int) -> Layout:
    """Return two layouts in one; only the left one keeps its names, as one name on both would be one net in pieces."""
    names = dict.fromkeys((*left.shapes, *right.shapes))
    shapes = {
        name: (*left.shapes.get(name, ()), *(r.moved(shift, 0) for r in right.shapes.get(name, ()))) for name in names
    }
    return Layout(left.name, shapes, left.labels)


def _turned(column: str) -> str:
    return column.translate(str.maketrans("01", "10"))


def _tied(pins: Pins) -> tuple[str, ...]:
    levels = "1 is the high rail's level, 0 the low one's; z floats, x is a fight, ? cannot be known."
    return (levels, *(f"Input {a} gets the opposite of {b}." for a, b in pins.opposite.items()))


def _column(column: str, _: str, rows: Sequence[Mapping[str, int]], output: str) -> str:
    """Write a column of levels with its rows, such as “y = 1 1 z 0 for a b = 00 01 10 11”."""
    names = " ".join(rows[0])
    heads = " ".join("".join(str(bit) for bit in row.values()) for row in rows)
    levels = " ".join({"Z": "z", "X": "?", "!": "x"}.get(level, level) for level in column)
    return f"{output} = {levels} for {names} = {heads}"


def _symptom_text(column: str, sound: str, rows: Sequence[Mapping[str, int]], output: str) -> str:
    """Say in words how a column differs from the sound one."""
    if len(set(column)) == 1:
        level = column[0]
        return f"{output} stays at {level}" if level in "01" else f"{output} always {_LEVELS[level]}"
    wrong = [(row, level) for row, level, right in zip(rows, column, sound, strict=True) if level != right]
    if not wrong:
        return f"{output} is as it should be"
    if len(wrong) == len(rows):
        return f"{output} is the opposite of what it should be"
    parts = [f"with {row_text(row)} it {'is ' if level in '01' else ''}{_LEVELS[level]}" for row, level in wrong]
    return f"{output} is wrong only so: " + "; ".join(parts)


def _were(column: str, right: str, rows: Sequence[Mapping[str, int]], output: str) -> str:
    """Say in which rows the output would have another level, and which it has there."""
    odd = [each for each in zip(rows, column, right, strict=True) if each[1] != each[2]]
    levels: dict[str, list[str]] = {}
    for row, level, _ in odd:
        levels.setdefault(level, []).append(row_text(row))
    would = ", and ".join(f"{_WOULD[level]} with {' and '.join(where)}" for level, where in levels.items())
    has = dict.fromkeys(f"is {level}" if level in "01" else _LEVELS[level] for _, _, level in odd)
    return f"Were it so, {output} would {would}; there, on this die, it {' or '.join(has)}."


def _fitting(gives: Mapping[str, str], fitting: Sequence[str], seen: str) -> dict[str, str]:
    """Say why each wrong choice does not fit what was measured: what the defect at each letter `gives`."""
    would = {
        f"the one at {letter}": f"Were it the one at {letter}, one would measure {column}; measured was {seen}."
        for letter, column in gives.items()
        if letter not in fitting
    }
    of = "those of neither are" if not fitting else f"only those of the one at {fitting[0]} are"
    would["either"] = f"Were it either, both would give what was measured, {seen}; {of}."
    if fitting:
        only = f"the one at {fitting[0]} gives just that"
        would["neither"] = f"Were it neither, nothing at P or Q would give what was measured, {seen}; {only}."
    return would


def _decides(
    faulty: Specimen, pins: Pins, tried: Tried, sound: str, rows: Sequence[Mapping[str, int]]
) -> tuple[str, tuple[str, ...]]:
    """Say what the defect is and by which transistors the first level that is wrong comes about."""
    said = f"At X {_SAID[tried.defect.kind]}."
    for row, level, right in zip(rows, tried.column, sound, strict=True):
        if level == right or pins.outputs[0] not in faulty.netlist.nets:
            continue
        if level == "X":
            return f"{said} With {row_text(row)} the level hangs on a gate that nothing drives.", ()
        reason, names = why(faulty, row, pins.opposite, pins.outputs[0])
        return f"{said} {reason}", names
    return said, ()


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _chosen(text: str, choices: tuple[str, ...]) -> str:
    """Read a letter of a choice, the letter of a mark, or the choice in its own words."""
    at = letter_of(text, choices)
    if at is not None:
        return choices[at]
    word = text.strip().lower()
    for choice in choices:
        if word in (choice.lower(), choice.lower().removeprefix("the one at ")):
            return choice
    raise LayoutdrillError(f'"{text}" is none of the choices', todo="type a, b, c or d")
