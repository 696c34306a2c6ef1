"""Mark a photograph: every change is appended to the mark file before it counts, so that nothing made is lost."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.photo.entries import PICTURE_FILES
from layoutdrill.photo.files import digest_of, header
from layoutdrill.photo.model import SORTS, Lighting, Mark, MarkedTransistor, Marks, Picture, Stage
from layoutdrill.photo.read import SUFFIX, load_marks
from layoutdrill.photo.taking import called
from layoutdrill.photo.write import append, entry, setting, without_cut_line
from layoutdrill.yamldoc import MACHINE_WRITTEN, load


def marks_path(photo: Path) -> Path:
    """Return the mark file of a photograph: itself, or NAME.marks.yaml beside the picture."""
    if photo.name.endswith(SUFFIX):
        return photo
    if photo.suffix.lower() not in PICTURE_FILES:
        raise LayoutdrillError(
            f"“{photo.name}” is no picture", where=Where(str(photo)), todo=f"give one of {', '.join(PICTURE_FILES)}"
        )
    return photo.with_name(photo.stem + SUFFIX)


def begin(path: Path, photo: Path, process: str, per_lambda: int) -> None:
    """Begin a mark file for a photograph. Raises LayoutdrillError where the picture cannot be opened."""
    scale = {"pixels per lambda": per_lambda}
    picture = entry(picture_of(photo, path.parent))
    append(path, [setting("process", process), setting("scale", scale), picture])


def picture_of(photo: Path, folder: Path, stage: Stage = Stage.WHOLE, light: Lighting = Lighting.REFLECTED) -> Picture:
    """Return a picture file as marks name it; it must lie in the folder of the marks."""
    if photo.resolve().parent != folder.resolve():
        raise LayoutdrillError(
            "lies in another folder", where=Where(str(photo)), todo="put it beside the first picture"
        )
    head = header(photo)
    return Picture(photo.name, stage, light, (head.width, head.height), digest_of(photo))


class MarkSession:
    """The marks of one file while they are made. `remark` tells what happened when it was opened."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.remark = "a last mark that was cut off was dropped" if without_cut_line(path) else ""
        self.marks: Marks = load_marks(path)
        self._away: Mark | None = None
        """What was taken away by the last thing done, so that undoing it brings the mark back."""

    def add(self, mark: Mark) -> None:
        """Add a mark: on disk first. Raises LayoutdrillError where it cannot be written."""
        if isinstance(mark, MarkedTransistor) and not mark.name:
            taken = {t.name for t in self.marks.transistors}
            mark = replace(mark, name=next(f"T{i}" for i in range(1, len(taken) + 2) if f"T{i}" not in taken))
        append(self.path, [entry(mark)])
        self._away = None
        name = SORTS[type(mark)]
        grown: dict[str, Any] = {name: (*getattr(self.marks, name), mark), "entries": self.marks.entries + 1}
        self.marks = replace(self.marks, **grown)

    def set(self, word: str, said: object) -> None:
        """Say something of the whole: scale, process, how it is shown."""
        self._tell([setting(word, said)])

    def undo(self) -> str:
        """
        Take the last mark back, or bring back the one just taken away; return what was done. Raises LayoutdrillError
        where only what a mark file needs is left.
        """
        if self._away is not None:
            mark = self._away
            self.add(mark)
            return f"{called(mark)}: back again"
        self._tell([setting("undo", 1)])
        return "the last mark is taken back"

    def remove(self, mark: Mark) -> None:
        """Take one mark away, whenever it was made. Raises LayoutdrillError where another mark needs it."""
        field = SORTS[type(mark)]
        line = [each for each in getattr(load_marks(self.path), field) if each == mark][-1].where.line
        entries = load(self.path, bounds=MACHINE_WRITTEN).root.items()
        number = next(i for i, node in enumerate(entries, 1) if node.where.line == line)
        self._tell([setting("remove", number)])
        self._away = mark

    def rename(self, net: str, to: str) -> None:
        """Call a net otherwise wherever it is marked; an other net of that name becomes one with it."""
        if net not in self.marks.nets:
            raise LayoutdrillError(f"no net {net} is marked", todo="name one that is")
        self._tell([setting("rename", {"net": net, "to": to})])

    def _tell(self, lines: Sequence[str]) -> None:
        """Append lines that say something of earlier ones; what cannot be read again is taken out again."""
        size = self.path.stat().st_size
        append(self.path, lines)
        self._away = None
        try:
            self.marks = load_marks(self.path)
        except LayoutdrillError:
            with self.path.open("r+b") as file:
                file.truncate(size)
            todo = "the file would lack what it needs"
            raise LayoutdrillError("that cannot be done to these marks", todo=todo) from None
