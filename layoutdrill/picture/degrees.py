"""The degrees of wear by name, from a die as a textbook has it to one that lay in an attic."""

from layoutdrill.errors import LayoutdrillError, did_you_mean

DEGREES = {"textbook": 0.0, "tidy": 0.25, "used": 0.5, "worn": 0.75, "attic": 1.0}


def wear_named(text: str) -> float:
    """Return a wear given by name or as a number from 0 to 1; raises LayoutdrillError for another."""
    if text in DEGREES:
        return DEGREES[text]
    try:
        number = float(text)
    except ValueError:
        raise LayoutdrillError(f'no wear "{text}"', todo=did_you_mean(text, DEGREES)) from None
    if not 0 <= number <= 1:
        raise LayoutdrillError(f"wear {text} is out of range", todo="give 0 (textbook) to 1 (attic)")
    return number
