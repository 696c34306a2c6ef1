"""Two readers wrote down the netlist of one picture: which line is wrong, and whose?"""

import re
from dataclasses import replace

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.compare import Merge, alike
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.process import Process
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.circuit import facts_needed, marks_of
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.model import Answer, HintStep, Question, Specimen, Verdict
from layoutdrill.question.needed import strips_told
from layoutdrill.value import value

LEAST, MOST = 2, 8
"""Transistors of a netlist that two readers can have listed."""
LINE_CREDIT = 0.5
"""The right reader, another line."""
READER_CREDIT = 0.25
"""The line of the other reader that names the same transistor: the spot was found, but not who is right there."""
READERS = ("A", "B")
_TRIES = 30
_STEPS = (HintStep.RAILS, HintStep.DEVICES, HintStep.LIFT_METAL, HintStep.NETS)
_COSTS = {HintStep.DEVICES: 0.2, HintStep.NETS: 0.4}
_ANSWER = re.compile(r"(?:reader\s*)?([ab])\D{0,12}(\d{1,2})\Z|(\d{1,2})\D{0,8}([ab])\Z")

Row = tuple[Kind, str, str, str]


@value
class ReadingCheckKey(Key):
    """
    Which reader is wrong, the lines (from 1) of which one, put right, makes the netlist that of the picture; the other
    reader's line for the same transistor; how many lines there are; the transistor, and the line as it should be.
    """

    shown = ("count",)
    reader: str
    lines: tuple[int, ...]
    twin: int
    count: int
    transistor: str
    wrong: str
    should: str


class ReadingCheck(QuestionKind):
    """
    Find the slip in one of two netlists.

    The readers list in an order of their own, turn source and drain, and name inner nets as they like: only the slip is
    a difference. Full credit for reader and line, by isomorphism; half for the reader with another line, a quarter for
    the other reader's line of the same transistor.
    """

    name = "reading check"
    title = "Find the slip of one of two readers"
    group = Group.WRITE
    key_type = ReadingCheckKey
    untold = frozenset({Fact.CONTACT, Fact.GATE})
    partly = (
        (LINE_CREDIT, "the reader is right, the line is not"),
        (READER_CREDIT, "the transistor is right"),
    )

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        right = _bare(merge_fingers(specimen.netlist))
        if not LEAST <= right.count() <= MOST or specimen.frame is not None:
            return None
        rails = tuple(rail for rail in specimen.process.rails if rail in right.nets)
        names = tuple(port for port in right.ports if port not in rails and port in right.nets)
        marks = marks_of(specimen, names)
        if marks is None or not names:
            return None
        slipped = _slipped(right, dice)
        if slipped is None:
            return None
        wrong, at, lines = slipped
        count = right.count()
        orders = [dice.shuffled(range(count)) for _ in READERS]
        guilty = dice.below(2)
        lists = []
        for reader, order in enumerate(orders):
            shown = wrong if reader == guilty else right
            lists.append(_written([shown.transistors[i] for i in order], reader, (*names, *rails), dice))
        device = right.transistors[at]
        key = ReadingCheckKey(
            reader=READERS[guilty],
            lines=tuple(sorted(orders[guilty].index(i) + 1 for i in lines)),
            twin=orders[1 - guilty].index(at) + 1,
            count=count,
            transistor=device.name,
            wrong=lists[guilty][orders[guilty].index(at)],
            should=_row_text(device),
        )
        facts = [
            f"{reader}: {'; '.join(f'{i} {row}' for i, row in enumerate(rows, 1))}."
            for reader, rows in zip(READERS, lists, strict=True)
        ]
        return Question(
            kind=self.name,
            prompt="One line of one of the two readers is wrong: whose, and which? Type such as A 3.",
            specimen=specimen,
            choices=(),
            facts=(
                "Lines give kind, gate, source, drain; inner nets have each reader's own names.",
                *facts,
                *strips_told(specimen),
            ),
            marks=marks,
            key=key,
            typed=True,
            hints=hints(_STEPS, _COSTS),
        )

    def needs(self, question: Question) -> frozenset[Fact]:
        return facts_needed(question)

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        return LEAST <= merge_fingers(netlist).count() <= MOST

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        _said(words, ReadingCheckKey.of(question).count)
        return Answer(words)

    def instead(self, question: Question, answer: Answer) -> str:
        key = ReadingCheckKey.of(question)
        reader, line = _said(answer.text, key.count)
        return (
            f"Were {reader} {line} wrong, some gate would have no line of {reader}'s that fits it; "
            f"that gate is the one that {key.reader} has as “{key.wrong}”."
        )

    def solution(self, question: Question) -> Answer:
        key = ReadingCheckKey.of(question)
        return Answer(f"{key.reader} {key.lines[0]}")

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key, specimen = ReadingCheckKey.of(question), question.specimen
        reader, line = _said(answer.text, key.count)
        number = dict(devices_overlay(specimen.extraction, specimen.netlist).transistors).get(key.transistor, "?")
        full = f"{key.reader} {' or '.join(map(str, key.lines))}"
        decides = f"Transistor {number} on the picture is {key.should}; {key.reader} wrote {key.wrong}."
        outlined = (key.transistor,)
        if reader == key.reader and line in key.lines:
            return Verdict(1.0, f"Right: {full}.", full, decides, outlined)
        if reader == key.reader:
            return Verdict(LINE_CREDIT, f"The right reader, another line: {full}.", full, decides, outlined)
        if line == key.twin:
            summary = f"That is the transistor, but {reader} has it right: {full}."
            return Verdict(READER_CREDIT, summary, full, decides, outlined)
        return Verdict(0.0, f"{reader} {line} is as on the picture: {full}.", full, decides, outlined)


def _said(text: str, count: int) -> tuple[str, int]:
    """Read “A 3”, “b2”, “reader A, line 3” or “line 3 of B”."""
    match = _ANSWER.search(text.lower().strip(" ."))
    if match is None:
        raise LayoutdrillError(f'"{text}" names no reader and line', todo=f"type such as A 2, lines 1 to {count}")
    reader, line = (match[1], match[2]) if match[1] else (match[4], match[3])
    if not 1 <= int(line) <= count:
        raise LayoutdrillError(f"there is no line {line}", todo=f"lines go from 1 to {count}")
    return reader.upper(), int(line)


def _bare(netlist: Netlist) -> Netlist:
    """Return a netlist without sizes, modes and bodies, which these readers do not list."""
    plain = tuple(Transistor(t.name, t.kind, t.gate, t.source, t.drain) for t in netlist.transistors)
    return Netlist("picture", netlist.ports, plain)


def _slipped(right: Netlist, dice: Dice) -> tuple[Netlist, int, tuple[int, ...]] | None:
    """
    Return the netlist with one line misread, that line, and all lines of which one, put right, would mend it; None
    where every misreading is the same circuit.
    """
    gates = {t.gate for t in right.transistors}
    ends = {net for t in right.transistors for net in t.ends}
    kinds = {t.kind for t in right.transistors}
    for _ in range(_TRIES):
        at = dice.below(right.count())
        t = right.transistors[at]
        what = dice.pick(("gate", "source", "drain", "gate", "source", "drain", "kind"))
        if what == "kind":
            if len(kinds) < 2:
                continue
            other = replace(t, kind=Kind.P if t.kind is Kind.N else Kind.N)
        else:
            was = {"gate": t.gate, "source": t.source, "drain": t.drain}[what]
            usual = gates if what == "gate" else ends
            pool = [net for net in right.nets if net in usual and net != was]
            if not pool:
                continue
            net = dice.pick(pool)
            other = replace(t, gate=net) if what == "gate" else replace(t, source=net)
            if what == "drain":
                other = replace(t, drain=net)
        if other.source == other.drain:
            continue
        wrong = replace(right, transistors=(*right.transistors[:at], other, *right.transistors[at + 1 :]))
        if _same(wrong, right):
            continue
        lines = tuple(i for i in range(right.count()) if _mended(wrong, right, i))
        if lines == (at,):
            return wrong, at, lines
    return None


def _same(one: Netlist, other: Netlist) -> bool:
    return alike(one, other, merge=Merge.FINGERS) or (alike(one, other, merge=Merge.STACKS))


def _mended(wrong: Netlist, right: Netlist, at: int) -> bool:
    """Tell whether the netlist would be right if line `at` were another one: without it, it is right but for one."""
    less = replace(wrong, transistors=(*wrong.transistors[:at], *wrong.transistors[at + 1 :]))
    for i in range(right.count()):
        rest = replace(right, transistors=(*right.transistors[:i], *right.transistors[i + 1 :]))
        if _same(less, rest):
            return True
    return False


def _written(rows: list[Transistor], reader: int, known: tuple[str, ...], dice: Dice) -> list[str]:
    """Write the lines of a reader: ends either way round, inner nets by names of the reader's own."""
    own: dict[str, str] = {}

    def name(net: str) -> str:
        if net in known:
            return net
        return own.setdefault(net, f"{'mk'[reader]}{len(own) + 1}")

    lines = []
    for t in rows:
        ends = [t.source, t.drain]
        if dice.chance(50):
            ends.reverse()
        lines.append(" ".join((t.kind, name(t.gate), *map(name, ends))))
    return lines


def _row_text(t: Transistor) -> str:
    return f"{t.kind} {t.gate} {t.source} {t.drain}"
