"""Lettered choices: drawing the wrong ones, placing the right one, reading a letter."""

from collections.abc import Sequence
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question.model import Answer, Verdict

LETTERS = "abcd"
_NEAREST = 5040
"""The weight of the nearest look-alike; the second has half of it, the third a third, and so on."""


def shuffled(right: str, wrong: Sequence[str], dice: Dice) -> tuple[str, ...]:
    """Put the right choice among the wrong ones, every place as likely."""
    choices = dice.shuffled(wrong)
    choices.insert(dice.below(len(choices) + 1), right)
    return tuple(choices)


def likely(pool: Sequence[str], count: int, dice: Dice) -> tuple[str, ...]:
    """Draw `count` of `pool` without repeats, the earlier ones (the nearer look-alikes) more often."""
    left = list(pool)
    drawn: list[str] = []
    while left and len(drawn) < count:
        drawn.append(left.pop(dice.weighted([(place, _NEAREST // (place + 1)) for place in range(len(left))])))
    return tuple(drawn)


def letter_of(text: str, choices: Sequence[str]) -> int | None:
    """Return which choice a typed letter stands for, or None where `text` is no letter of them."""
    word = text.strip().lower().rstrip(").:")
    if len(word) == 1 and word in LETTERS[: len(choices)]:
        return LETTERS.index(word)
    return None


def blank(answer: Answer) -> bool:
    """Tell whether nothing was answered."""
    return answer.point is None and not answer.text.strip()


def unanswered(full: Verdict) -> Verdict:
    """Turn the verdict on the right answer into the one on none: no credit, but all that is to be learned."""
    return replace(full, credit=0.0, summary=f"No answer: {full.right}.", confused_with="")


def nonempty(text: str) -> str:
    """Return the text trimmed; an empty one is not an answer."""
    words = " ".join(text.split())
    if not words:
        raise LayoutdrillError("there is no answer yet", todo="type one, or a letter where there are choices")
    return words
