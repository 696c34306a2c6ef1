"""Find the decks that ship and an author's own, and read them."""

from pathlib import Path

from layoutdrill.deck.model import Deck, usual_count
from layoutdrill.deck.read import read_deck
from layoutdrill.errors import LayoutdrillError, Where, did_you_mean
from layoutdrill.locations import data_folder, shipped
from layoutdrill.value import value
from layoutdrill.yamldoc import load


@value
class Cover:
    """What a list tells of a deck without reading its questions. `questions` is how many a sitting has."""

    name: str
    title: str
    about: str
    objective: str
    lesson: int | None
    kit: str
    questions: int
    kept: bool = False


def deck_names() -> tuple[str, ...]:
    """Return the names of the decks that ship, then of the lessons in their order."""
    decks = sorted(path.stem for path in shipped("decks").glob("*.yaml"))
    return (*decks, *lesson_names())


def lesson_names() -> tuple[str, ...]:
    """Return the lessons' names in the order of the syllabus."""
    return tuple(cover.name for cover in lesson_covers())


def lesson_covers() -> tuple[Cover, ...]:
    """Return what the syllabus tells of the lessons, in its order."""
    covers = [read_cover(path) for path in (shipped("decks") / "lessons").glob("*.yaml")]
    return tuple(sorted(covers, key=lambda cover: (cover.lesson or 0, cover.name)))


def deck_covers() -> tuple[Cover, ...]:
    """Return what a list tells of the decks that ship and are no lessons, and of those that were added."""
    return tuple(read_cover(path) for path in (*sorted(shipped("decks").glob("*.yaml")), *added_decks()))


def installed_decks() -> Path:
    """Return the folder of the decks that were added, each in a folder of its own name."""
    return data_folder() / "decks"


def added_decks() -> tuple[Path, ...]:
    """Return the files of the decks that were added: DECK/DECK.yaml."""
    folders = sorted(path for path in installed_decks().glob("*") if path.is_dir())
    files = (folder / f"{folder.name}.yaml" for folder in folders if not folder.name.startswith("."))
    return tuple(path for path in files if path.is_file())


def read_cover(path: Path) -> Cover:
    """Read a deck's cover; raises LayoutdrillError for what is wrong on it, and passes over what is wrong inside."""
    fields = load(path).root.mapping()
    title, about, objective, kit = (
        fields[name].text().strip() if name in fields else "" for name in ("title", "about", "objective", "kit")
    )
    items = [node.mapping() for node in fields["items"].items()] if "items" in fields else []
    counts = [item["count"].integer() if "count" in item else None for item in items]
    return Cover(
        name=path.stem,
        title=title,
        about=about,
        objective=objective,
        lesson=fields["lesson"].integer() if "lesson" in fields else None,
        kit=kit,
        kept="kept for checking" in fields and fields["kept for checking"].value is True,
        questions=fields["count"].integer() if "count" in fields else usual_count(counts),
    )


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
