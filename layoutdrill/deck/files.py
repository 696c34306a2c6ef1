"""Find the decks that ship and an author's own, and read them."""

from pathlib import Path

from layoutdrill.covers import added_decks, lesson_names
from layoutdrill.deck.model import Deck
from layoutdrill.deck.read import read_deck
from layoutdrill.errors import LayoutdrillError, Where, did_you_mean
from layoutdrill.locations import shipped
from layoutdrill.yamldoc import load


def deck_names() -> tuple[str, ...]:
    """Return the names of the decks that ship, then of the lessons in their order."""
    decks = sorted(path.stem for path in shipped("decks").glob("*.yaml"))
    return (*decks, *lesson_names())


def deck_path(path_or_name: str | Path) -> Path:
    """Return the file of a deck: a path that exists or looks like one, else a name that ships or was added."""
    given = Path(path_or_name)
    if given.suffix in (".yaml", ".yml") or given.is_file():
        return given
    name = str(path_or_name)
    folder = shipped("decks")
    for path in (folder / f"{name}.yaml", folder / "lessons" / f"{name}.yaml"):
        if path.parent in (folder, folder / "lessons") and path.is_file():
            return path
    for path in added_decks():
        if path.stem == name:
            return path
    known = [path.stem for path in (*folder.glob("*.yaml"), *folder.glob("lessons/*.yaml"), *added_decks())]
    raise LayoutdrillError(f'no deck "{name}"', todo=f"{did_you_mean(name, known)} (a deck of your own ends in .yaml)")


def read_file(path: Path) -> tuple[Deck, list[LayoutdrillError]]:
    """Return a deck as far as it can be read, and every error in the file."""
    try:
        document = load(path)
    except LayoutdrillError as error:
        return Deck(path.stem, "", "", ()), [error]
    return read_deck(document, path.stem)


def load_deck(path_or_name: str | Path) -> Deck:
    """
    Return a deck by its name or path.

    Raises LayoutdrillError: the first thing wrong with it, and how many more there are.
    """
    path = deck_path(path_or_name)
    deck, errors = read_file(path)
    if errors:
        first = errors[0]
        more = f"; {len(errors) - 1} more: layoutdrill check {path}" if len(errors) > 1 else ""
        raise LayoutdrillError(first.what, where=first.where or Where(str(path)), todo=first.todo + more)
    return deck
