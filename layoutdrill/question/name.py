"""Which structure is this? Lettered choices, or typed in the learner's own words."""

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.picture.evidence import Fact
from layoutdrill.question.choices import LETTERS, blank, letter_of, likely, nonempty, shuffled, unanswered
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import Group, QuestionKind
from layoutdrill.question.lookalikes import known_cell, look_alikes, look_for, taught_first, transistors_of, would_show
from layoutdrill.question.model import Answer, HintStep, Question, Specimen, Verdict
from layoutdrill.question.naming import canonical_structure, read_name, same_structure, sentence, widened, with_article
from layoutdrill.question.needed import tracing
from layoutdrill.question.neighbours import border_told
from layoutdrill.question.ratioed_words import levels_told
from layoutdrill.recognise.terms import family
from layoutdrill.value import value

_STEPS = (HintStep.RAILS, HintStep.DEVICES, HintStep.NETS, HintStep.LIFT_METAL, HintStep.NETLIST)

WIDE_CREDIT = 0.5
"""Typed: the right family without its number of inputs, or a wider word that is true."""
NUMBER_CREDIT = 0.25
"""Typed: the right family with a wrong number of inputs."""


@value
class NameKey(Key):
    """The canonical term, what else it is called, the choices, and the cell in the library or kit."""

    structure: str
    aliases: tuple[str, ...]
    choices: tuple[str, ...]
    cell: str = ""


class Name(QuestionKind):
    """
    Name the structure.

    Full credit: the canonical term or an alias, small slips forgiven. Typed answers only: half for a family without
    its number or a true but wider word, a quarter for a wrong number. Anything else, and a wrong letter: none.
    """

    name = "name"
    title = "Name the structure"
    group = Group.NAME
    key_type = NameKey
    untold = frozenset({Fact.CONTACT, Fact.GATE})
    tells_structure = True
    partly = (
        (WIDE_CREDIT, "it is true, and not all of it"),
        (NUMBER_CREDIT, "all but the number is right"),
    )

    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        if not specimen.structure:
            return None
        right = canonical_structure(specimen.structure)
        count = merge_fingers(specimen.netlist).count()
        pool = look_alikes(right, specimen.aliases, specimen.cell, specimen.process, count)
        pool = taught_first(pool, right, specimen)
        choices = shuffled(right, likely(pool[:7], 3, dice), dice)
        return Question(
            kind=self.name,
            prompt="Which structure is this? Choose a letter, or type its name (with its number of inputs, if any).",
            specimen=specimen,
            choices=choices,
            facts=(*border_told(specimen), *levels_told(specimen.process)),
            marks=(),
            key=NameKey(right, specimen.aliases, choices, specimen.cell),
            hints=hints(_STEPS),
        )

    def needs(self, question: Question) -> frozenset[Fact]:
        return tracing(question.specimen.face.scene) | {Fact.GATE, Fact.KIND}

    def accept(self, question: Question, text: str) -> Answer:
        words, key = nonempty(text), NameKey.of(question)
        choices = key.choices
        if letter_of(words, choices) is not None:
            return Answer(words)
        if len(words.rstrip(").:")) == 1:
            last = LETTERS[len(choices) - 1]
            raise LayoutdrillError(f'there is no choice "{words}"', todo=f"choose a to {last}, or type a name")
        reading = read_name(words, key.structure, key.aliases)
        if reading.near:
            raise LayoutdrillError(f'"{words}" could be {" or ".join(reading.near)}', todo="type it once more")
        if not reading.term:
            raise LayoutdrillError(f'no structure called "{words}" is known here', todo="use a trade name, or a letter")
        return Answer(words)

    def solution(self, question: Question) -> Answer:
        return Answer(NameKey.of(question).structure)

    def grade(self, question: Question, answer: Answer) -> Verdict:
        if blank(answer):
            return unanswered(self.grade(question, self.solution(question)))
        key = NameKey.of(question)
        right, cell, choices = key.structure, key.cell, key.choices
        place = letter_of(answer.text, choices)
        said = choices[place] if place is not None else answer.text
        reading = read_name(said, right, key.aliases)
        given = reading.term or said
        own = question.specimen.about if known_cell(cell) is None else ""
        decides = sentence(own or look_for(right, cell, question.specimen.process))
        outlined = tuple(t.name for t in question.specimen.netlist.transistors)
        if same_structure(given, right):
            spelt = f" (“{said}” read as {right})" if reading.corrected else ""
            return Verdict(1.0, f"Right: {right}{spelt}.", right, decides, outlined)
        credit, summary = 0.0, f"Not {with_article(given)}: this is {with_article(right)}."
        if place is None and not reading.corrected and said.strip().lower() != given.lower():
            summary = f"“{said.strip()}” means {with_article(given)} here; this is {with_article(right)}."
        if place is None and (given == family(right) or family(given) in widened(right)):
            credit, summary = WIDE_CREDIT, f"True, but not all of it: {right}."
        elif place is None and family(given) == family(right):
            credit, summary = NUMBER_CREDIT, f"The family is right; count again: {right}, not {given}."
        return Verdict(credit, summary, right, decides, outlined, confused_with=reading.term)

    def instead(self, question: Question, answer: Answer) -> str:
        key, process = NameKey.of(question), question.specimen.process
        place = letter_of(answer.text, key.choices)
        said = key.choices[place] if place is not None else answer.text
        given = read_name(said, key.structure, key.aliases).term or said
        if given == family(key.structure) or family(given) in widened(key.structure):
            return f"The name “{given}” goes for more than this; what makes it {with_article(key.structure)} is above."
        if seen := would_show(key.structure, key.cell, given, process):
            seen = seen[:1].lower() + seen[1:] if seen[1:2].islower() or seen[1:2] == " " else seen
            return f"Were it {with_article(given)}, there would be something else to see: {seen.rstrip('.')}."
        own, other = merge_fingers(question.specimen.netlist).count(), transistors_of(given, process)
        count = f"with {plural(other, 'transistor')} or more; here there are {own}" if other else "made otherwise"
        return f"Were it {with_article(given)}, it would be {count}."
