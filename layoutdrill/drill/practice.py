"""Free practice: a deck made of one's own choice of cells, processes and kinds of question."""

import json

from layoutdrill.deck import Deck
from layoutdrill.deck.read import read_deck
from layoutdrill.errors import LayoutdrillError
from layoutdrill.yamldoc import loads


def practice_deck(
    cells: tuple[str, ...], processes: tuple[str, ...], kinds_: tuple[str, ...], difficulty: float
) -> Deck:
    """Return a deck for free practice. Raises LayoutdrillError for a name that is not known, or where nothing fits."""
    chosen = {"cells": cells, "processes": processes, "kinds": kinds_}
    lines = ["title: Free practice", "about: Cells, processes and kinds of question of your own choice.", "items:"]
    lines.append(f"  - difficulty: {difficulty}")
    lines.extend(f"    {key}: {json.dumps(list(words))}" for key, words in chosen.items() if words)
    if not cells:
        raise LayoutdrillError("no cell is chosen", todo="choose at least one")
    deck, errors = read_deck(loads("\n".join(lines) + "\n", "free practice"), "practice")
    if errors:
        raise LayoutdrillError(errors[0].what, todo=errors[0].todo)
    return deck
