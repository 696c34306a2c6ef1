"""What is marked on a photograph, to be explained: its face, where its parts are told to lie, a netlist beside it."""

from collections.abc import Iterator
from pathlib import Path

from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.photo import PhotoFace
from layoutdrill.netlist.spice import NETLIST_FILES
from layoutdrill.photo.netlist import differences_from
from layoutdrill.photo.read import SUFFIX, load_marks
from layoutdrill.process import load_process


def photograph_at(path: Path, region: str = "") -> PhotoFace:
    """Return the face of a mark file, or of one of its regions. Raises LayoutdrillError where that cannot be read."""
    marks = load_marks(path)
    return PhotoFace.of(marks, load_process(marks.process), region)


def told_at(face: PhotoFace, transistor: str) -> tuple[float, float]:
    """Return where a transistor lies, as its pixels are told."""
    x, y = face.extraction.channel(transistor)[0].centre
    return float(x), face.unit.y(y)


def compared(path: Path, face: PhotoFace) -> Iterator[str]:
    """Say whether the marks agree with the netlist that a region names, or that lies beside the file under its name."""
    beside = difference_from_beside(path, face)
    if beside is not None:
        name, difference = beside
        yield f"{name} {difference}" if difference else f"{name}: equal to the marks"


def netlist_beside(path: Path) -> Path | None:
    """Return the netlist that lies beside a mark file under its name, None where there is none."""
    stem = path.name.removesuffix(SUFFIX)
    files = (path.with_name(stem + ending) for ending in NETLIST_FILES)
    return next((file for file in files if file.is_file()), None)


def difference_from_beside(path: Path, face: PhotoFace) -> tuple[str, str] | None:
    """Return the netlist's file that the marks are held against, and how it differs ("" where equal); None for none."""
    named = face.region.netlist if face.region else ""
    file = path.with_name(named) if named else netlist_beside(path)
    if file is None:
        return None
    try:
        differences = differences_from(face.netlist, file)
    except LayoutdrillError as error:
        return file.name, f"cannot be compared: {error}"
    return file.name, f"differs: {'; '.join(differences)}" if differences else ""
