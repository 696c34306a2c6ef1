"""Read values of a JSON document as the sort that is wanted; TypeError or ValueError says which is not."""

from collections.abc import Mapping

Json = dict[str, object]

MOST_TEXT = 200
"""Letters in a title or name."""


def as_mapping(value: object) -> Json:
    if not isinstance(value, Mapping):
        raise TypeError("a table was expected where there is none")
    return {str(name): each for name, each in value.items()}


def as_items(value: object) -> list[object]:
    if not isinstance(value, list):
        raise TypeError("a list was expected where there is none")
    return value


def as_text(value: object, what: str, most: int | None = MOST_TEXT) -> str:
    if not isinstance(value, str):
        raise TypeError(f"the {what} is no text")
    if most is not None and len(value) > most:
        raise ValueError(f"the {what} is longer than {most} letters")
    return value


def as_texts(value: object) -> tuple[str, ...]:
    return tuple(as_text(each, "text", 2000) for each in as_items(value))


def as_integer(value: object, what: str, least: int | None = None) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or abs(value) > 2**62:
        raise TypeError(f"the {what} is no whole number")
    if least is not None and value < least:
        raise ValueError(f"the {what} is below {least}")
    return value


def as_number(value: object, what: str) -> float:
    if not isinstance(value, (int, float)) or isinstance(value, bool) or not abs(value) < 1e9:
        raise TypeError(f"the {what} is no number")
    return float(value)
