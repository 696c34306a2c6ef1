"""List the transistors: gate, source and drain of each, by the names on the picture and one's own."""

import re

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError, did_you_mean, plural
from layoutdrill.netlist.compare import Merge, Terms, alike, compare_by
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.netlist.models import channel
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.process import Process
from layoutdrill.question.choices import blank, nonempty, unanswered
from layoutdrill.question.circuit import facts_needed, marks_of
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Answer, HintStep, Listing, Question, Specimen, Verdict
from layoutdrill.question.needed import strips_told
from layoutdrill.value import value

MOST = 12
"""More transistors than this are drudgery."""
_LONGEST = 2_000
_MOST_LISTED = 4
_STEPS = (HintStep.RAILS, HintStep.DEVICES, HintStep.LIFT_METAL, HintStep.NETS)
_COSTS = {HintStep.DEVICES: 0.2, HintStep.NETS: 0.3}
_NET = re.compile(r"[A-Za-z_0-9][A-Za-z0-9_\[\].]*\Z")
_KINDS = {"n": Kind.N, "p": Kind.P, "nmos": Kind.N, "pmos": Kind.P}


@value
class TranscribeKey(Key):
    """The names that stand on the picture (ports and rails), how many transistors there are, and the kinds of them."""

    shown = ("names", "kinds", "rails")
    names: tuple[str, ...]
    rails: tuple[str, ...]
    kinds: tuple[str, ...]
    count: int


class Transcribe(QuestionKind):
    """
    Write the netlist.

    Graded by isomorphism: order, source against drain, fingers and the names of inner nets are free. Credit: the part
    of the transistors that have their counterpart with all its nets, less the part that is one too many.
    """

    name = "transcribe"
    title = "Write the netlist"
    key_type = TranscribeKey
    untold = frozenset({Fact.CONTACT, Fact.GATE})

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        netlist = merge_fingers(specimen.netlist)
        if not 1 <= netlist.count() <= MOST or specimen.frame is not None or len(netlist.ports) > MOST:
            return None
        rails = tuple(rail for rail in specimen.process.supplies if rail in netlist.nets)
        names = tuple(port for port in netlist.ports if port not in rails and port in netlist.nets)
        marks = marks_of(specimen, names)
        if marks is None or not names:
            return None
        kinds = tuple(sorted({t.kind.value for t in netlist.transistors}))
        kind_said = "" if len(kinds) > 1 else f" All are {kinds[0]}."
        return Question(
            kind=self.name,
            prompt="List each transistor: n or p, then gate, source, drain; a ; between. Parallel fingers count once.",
            specimen=specimen,
            choices=(),
            facts=(
                f"Rails: {' and '.join(rails)}. Name inner nets as you like; SPICE lines will do.{kind_said}",
                *strips_told(specimen),
            ),
            marks=marks,
            key=TranscribeKey(names, rails, kinds, netlist.count()),
            typed=True,
            hints=hints(_STEPS, _COSTS),
            listing=Listing(("kind", "gate", "source", "drain"), kinds, (*names, *rails)),
        )  # fmt: skip

    def needs(self, question: Question) -> frozenset[Fact]:
        return facts_needed(question)

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        merged = merge_fingers(netlist)
        return 1 <= merged.count() <= MOST and len(merged.ports) <= MOST

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text.replace("\n", " ; "))
        _read(words, TranscribeKey.of(question))
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        netlist = merge_fingers(question.specimen.netlist)
        return Answer("; ".join(f"{t.kind} {t.gate} {t.source} {t.drain}" for t in netlist.transistors))

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key, specimen = TranscribeKey.of(question), question.specimen
        right = _plain(merge_fingers(specimen.netlist), key)
        given = merge_fingers(_netlist(_read(answer.text, key), right.ports))
        written = _words(right, given)
        full = f"{plural(right.count(), 'transistor')}: {self.solution(question).text}"
        comparison = compare_by(given, right, Terms(merge=Merge.FINGERS, titles=("yours", "the picture")))
        numbers = dict(devices_overlay(specimen.extraction, specimen.netlist).transistors)
        if comparison.equal or alike(given, right, merge=Merge.STACKS):
            decides = "Each gate line over diffusion is a transistor; its gate, and the nets on its two sides, say all."
            names = tuple(t.name for t in specimen.netlist.transistors)
            return Verdict(1.0, f"Right: {plural(right.count(), 'transistor')}, and every net.", full, decides, names)
        fits = _fitting(given, right, comparison.net_map, comparison.device_map)
        extra = max(0, given.count() - right.count())
        credit = max(0.0, min(0.95, round((len(fits) - extra) / right.count(), 3)))
        missed = tuple(t.name for t in right.transistors if t.name not in fits.values())
        wrong = [t for t in given.transistors if t.name not in fits]
        parts = [f"{len(fits)} of {right.count()} right"]
        if missed and not wrong and (again := _twice(_read(answer.text, key))):
            parts.append(f"written twice: {', '.join(again[:_MOST_LISTED])}")
        if wrong:
            listed = [f"“{written[t.name]}”" for t in wrong[:_MOST_LISTED]]
            parts.append(f"not so: {', '.join(listed)}{' …' if len(wrong) > _MOST_LISTED else ''}")
        if missed:
            places = [_place(specimen, name, numbers) for name in missed[:_MOST_LISTED]]
            parts.append(f"see {', '.join(places)}{' …' if len(missed) > _MOST_LISTED else ''}")
        decides = _reason(comparison.differences[0]) if comparison.differences else "The nets do not agree."
        nets = tuple(net for net in right.nets if net in key.names) if not missed else ()
        return Verdict(credit, f"Not quite: {'; '.join(parts)}.", full, decides, missed, nets)

    def instead(self, question: Question, answer: Answer) -> str:
        key, specimen = TranscribeKey.of(question), question.specimen
        right = _plain(merge_fingers(specimen.netlist), key)
        given = merge_fingers(_netlist(_read(answer.text, key), right.ports))
        comparison = compare_by(given, right, Terms(merge=Merge.FINGERS, titles=("yours", "the picture")))
        fits = _fitting(given, right, comparison.net_map, comparison.device_map)
        wrong = next((t for t in given.transistors if t.name not in fits), None)
        if wrong is not None:
            return (
                f"Were “{_words(right, given)[wrong.name]}” there, a gate on {wrong.gate} would lie over {wrong.kind} "
                f"diffusion, with {wrong.source} on one side and {wrong.drain} on the other; no gate does."
            )
        if missed := [t for t in right.transistors if t.name not in fits.values()]:
            numbers = dict(devices_overlay(specimen.extraction, specimen.netlist).transistors)
            return f"Were that all, no gate would lie over diffusion for {_place(specimen, missed[0].name, numbers)}."
        return "Were that all, the nets would join as you wrote them; on the picture they do not."


def _twice(rows: list[tuple[Kind, str, str, str]]) -> list[str]:
    """Return the lines that say again what a line before them says: they are taken for fingers of one transistor."""
    seen: set[tuple[Kind, str, frozenset[str]]] = set()
    again = []
    for kind, gate, source, drain in rows:
        device = (kind, gate, frozenset((source, drain)))
        if device in seen:
            again.append(f"“{kind} {gate} {source} {drain}”")
        seen.add(device)
    return again


def _reason(difference: str) -> str:
    return difference[:1].upper() + difference[1:].rstrip(".") + "."


def _place(specimen: Specimen, name: str, numbers: dict[str, str]) -> str:
    x, y = specimen.extraction.channel(name)[0].centre
    number = numbers.get(name)
    return f"transistor {number} at {specimen.face.unit.at(x, y)}" if number else f"at {specimen.face.unit.at(x, y)}"


def _fitting(given: Netlist, right: Netlist, nets: dict[str, str], devices: dict[str, str]) -> dict[str, str]:
    """Return the transistors of the answer that agree with their counterpart in kind and in all their nets."""
    own = {t.name: t for t in right.transistors}
    fits = {}
    for t in given.transistors:
        other = own.get(devices.get(t.name, ""))
        if other is None or t.kind is not other.kind or nets.get(t.gate) != other.gate:
            continue
        if {nets.get(end) for end in t.ends} == set(other.ends):
            fits[t.name] = other.name
    return fits


def _words(right: Netlist, given: Netlist) -> dict[str, str]:
    return {t.name: f"{t.kind} {t.gate} {t.source} {t.drain}" for t in (*right.transistors, *given.transistors)}


def _plain(netlist: Netlist, key: TranscribeKey) -> Netlist:
    """Return a netlist without bodies, sizes and modes, which nobody lists, under ports that stand on the picture."""
    plain = tuple(Transistor(t.name, t.kind, t.gate, t.source, t.drain) for t in netlist.transistors)
    return Netlist("picture", (*key.names, *key.rails), plain)


def _netlist(rows: list[tuple[Kind, str, str, str]], ports: tuple[str, ...]) -> Netlist:
    return Netlist("answer", ports, tuple(Transistor(f"T{i}", *row) for i, row in enumerate(rows, 1)))


def _read(text: str, key: TranscribeKey) -> list[tuple[Kind, str, str, str]]:
    """Read “n a y VSS; p a y VDD”, or SPICE lines; names on the picture may be written in either case."""
    if len(text) > _LONGEST:
        raise LayoutdrillError(f"a list of {len(text)} characters", todo=f"keep to the drawing; at most {_LONGEST}")
    known = {name.lower(): name for name in (*key.names, *key.rails)}
    rows = []
    for number, line in enumerate((part for part in re.split(r"[;\n]", text) if part.strip()), 1):
        words = line.replace(",", " ").split()
        kind, nets = _row(words, number, key)
        for net in nets:
            if not _NET.match(net):
                raise LayoutdrillError(f'line {number}: "{net}" is no name of a net', todo="use letters and figures")
        gate, source, drain = (known.get(net.lower(), net) for net in nets)
        rows.append((kind, gate, source, drain))
    return rows


def _row(words: list[str], number: int, key: TranscribeKey) -> tuple[Kind, list[str]]:
    """Return the kind and the gate, source and drain of one line."""
    first = words[0].lower()
    if len(words) >= 6 and first.startswith("m"):  # M drain gate source bulk model …
        meant = channel(words[5])
        if meant is None:
            todo = "end the line with a model such as nmos or pmos"
            raise LayoutdrillError(f'line {number}: no kind of transistor "{words[5]}"', todo=todo)
        return meant.kind, [words[2], words[3], words[1]]
    if first in _KINDS:
        words = words[1:]
        kind = _KINDS[first]
    elif len(key.kinds) == 1 and len(words) == 3:
        kind = Kind(key.kinds[0])
    else:
        todo = did_you_mean(first, _KINDS) or "begin a line with n or p"
        raise LayoutdrillError(f'line {number} begins with "{words[0]}"', todo=todo)
    if len(words) != 3:
        todo = "write gate, source and drain, with spaces between"
        raise LayoutdrillError(f"line {number} has {plural(len(words), 'net')}", todo=todo)
    return kind, words
