"""Which structure is this? Lettered choices, or typed in the learner's own words."""

from collections.abc import Mapping
from random import Random

from layoutdrill.errors import LayoutdrillError
from layoutdrill.question.choices import letter_of, likely, nonempty, shuffled
from layoutdrill.question.features import contrast, feature
from layoutdrill.question.hints import hints
from layoutdrill.question.lookalikes import lookalikes
from layoutdrill.question.model import Answer, HintStep, Question, Specimen, Verdict
from layoutdrill.question.naming import read_name, same_name, split, vocabulary

_STEPS = (HintStep.RAILS, HintStep.DEVICES, HintStep.NETS, HintStep.LIFT_METAL, HintStep.NETLIST)
FAMILY_CREDIT = 0.5
"""Typed with the right family and no number of inputs."""
NUMBER_CREDIT = 0.25
"""Typed with the right family and a wrong number of inputs."""


class Name:
    """
    Name the structure.

    Full credit: the canonical term or an alias. Typed answers only: half for the right family without its number, a
    quarter with a wrong number. Anything else, and a wrong letter: none.
    """

    name = "name"
    title = "Name the structure"
    cues: tuple[str, ...] = ("transistors", "polarity", "contacts", "rails")

    def ask(self, specimen: Specimen, rng: Random) -> Question | None:
        if not specimen.structure:
            return None
        known = vocabulary({specimen.structure: specimen.aliases})
        pool = [term for term in lookalikes(specimen.structure) if not same_name(term, specimen.structure, known)]
        choices = shuffled(specimen.structure, likely(pool[:6], 3, rng), rng)
        return Question(
            kind=self.name,
            prompt="Which structure is this? Choose a letter, or type its name (with its number of inputs, if any).",
            specimen=specimen,
            choices=choices,
            facts=(),
            marks=(),
            key={"structure": specimen.structure, "aliases": list(specimen.aliases), "choices": list(choices)},
            hints=hints(_STEPS),
        )

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        choices = _texts(question.key, "choices")
        if letter_of(words, choices) is not None:
            return Answer(words)
        if len(words.rstrip(").:")) == 1:
            raise LayoutdrillError(f'there is no choice "{words}"', todo=f"a to {'abcd'[len(choices) - 1]}, or a name")
        reading = read_name(words, _known(question.key))
        if reading.near:
            raise LayoutdrillError(f'"{words}" could be {" or ".join(reading.near)}', todo="type it once more")
        if not reading.term and not reading.family:
            raise LayoutdrillError(f'no structure called "{words}" is known here', todo="use a trade name, or a letter")
        return Answer(words)

    def grade(self, question: Question, answer: Answer) -> Verdict:
        key = question.key
        right = str(key["structure"])
        choices = _texts(key, "choices")
        place = letter_of(answer.text, choices)
        reading = read_name(choices[place] if place is not None else answer.text, _known(key))
        outlined = tuple(t.name for t in question.specimen.netlist.transistors)
        decides = feature(right)
        if reading.term == right:
            spelt = f" (we read “{answer.text}” as {right})" if reading.corrected else ""
            return Verdict(1.0, f"Right: {right}{spelt}.", right, decides, outlined)
        family, digits = split(right)
        typed = place is None
        if typed and reading.family == family and digits:
            number = split(answer.text)[1]
            credit = NUMBER_CREDIT if number else FAMILY_CREDIT
            said = f"with {digits}, not {number}" if number else f"but say which: {right}"
            return Verdict(credit, f"The family is right, {said}.", right, decides, outlined)
        given = reading.term or answer.text
        if typed and digits and split(given)[0] == family:
            wrong = split(given)[1]
            summary = f"The family is right; count again: {right}, not {given}."
            return Verdict(
                NUMBER_CREDIT if wrong else FAMILY_CREDIT, summary, right, decides, outlined, confused_with=given
            )
        return Verdict(
            0.0, f"Not {given}: this is {right}.", right, contrast(right, given), outlined, confused_with=reading.term
        )


def _texts(key: Mapping[str, object], field: str) -> tuple[str, ...]:
    found = key.get(field, ())
    return tuple(str(text) for text in found) if isinstance(found, (list, tuple)) else ()


def _known(key: Mapping[str, object]) -> dict[tuple[str, str], str]:
    return vocabulary({str(key["structure"]): _texts(key, "aliases")})
