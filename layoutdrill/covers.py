"""What lists tell of decks and lessons: their covers, read without their questions."""

from collections.abc import Sequence
from pathlib import Path

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


def usual_count(counts: Sequence[int | None]) -> int:
    """
    Return how many questions a sitting has where a deck does not say: what its items say, one for each that says
    nothing beside those; where none says anything, 12 or as many as there are items.
    """
    return sum(count or 1 for count in counts) if any(counts) else max(12, len(counts))
