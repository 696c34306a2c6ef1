"""Find the lesson that follows a sitting."""

from typing import TYPE_CHECKING

from layoutdrill.deck import lesson_names

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting


def last_lesson(sitting: "OpenSitting") -> bool:
    """Tell whether a sitting was on the last lesson."""
    deck = getattr(sitting, "deck", None)
    names = lesson_names()
    return sitting.sort in ("lesson", "deck") and deck is not None and deck.name == next(iter(names[-1:]), None)


def lesson_after(sitting: "OpenSitting") -> str:
    """Return the name of the lesson after the one whose questions were asked, or "" where there is none."""
    deck = getattr(sitting, "deck", None)
    names = lesson_names()
    if sitting.sort not in ("lesson", "deck") or deck is None or deck.name not in names:
        return ""
    after = names.index(deck.name) + 1
    return names[after] if after < len(names) else ""
