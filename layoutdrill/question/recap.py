"""Tell an answer again, long after and without its picture."""

from layoutdrill.question.choices import letter_of
from layoutdrill.question.naming import with_article
from layoutdrill.value import value


@value
class Given:
    """
    An answer as a record keeps it: the structure that it was about, the choices, the right answer in words, what was
    typed, the place that was pointed at in words or "", and the credit.
    """

    structure: str
    choices: tuple[str, ...]
    right: str
    text: str
    place: str
    credit: float


@value
class Recap:
    """The right answer and the one given, in words that say something without the picture."""

    right: str
    said: str


def recapped(given: Given) -> Recap:
    """Return what most kinds say: the right answer; the choice, the place or the words that were given."""
    at = letter_of(given.text, given.choices)
    return Recap(given.right, given.choices[at] if at is not None else given.place or given.text.strip())


def lettered_recap(given: Given, what: str) -> Recap:
    """Return what is said where answers are letters on the picture, which mean nothing without it."""
    return Recap(
        f"{what} of {with_article(given.structure)}", f"{given.text.strip()}, for {given.credit:.0%} of the credit"
    )
