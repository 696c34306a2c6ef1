"""
What a set shows, under a neutral name: the text of a face that tells nobody which cell it is, and faces again from it.

The pictures of photographs travel in the set; to be looked at they are put into the cache folder, each under its hash.
"""

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.face import DrawnFace, Face, face_again, layout_of
from layoutdrill.face.again import is_photograph
from layoutdrill.face.split import SplitFace
from layoutdrill.layout.text import layout_text
from layoutdrill.locations import cache_folder
from layoutdrill.outlet import write_whole
from layoutdrill.process import Process

if TYPE_CHECKING:
    from layoutdrill.face.photo import PhotoFace

NAMELESS = "question"
"""What a layout is called in a set: its own name is the name of the cell."""
MOST_OF_PICTURES = 40_000_000
"""Bytes of photographs in a set."""


def neutral(face: Face) -> tuple[str, dict[str, bytes]]:
    """
    Return a face's text without the names and words that tell what it is, and the files of its pictures by their hash.

    Raises LayoutdrillError for a face that cannot travel: a picture that is missing or too large.
    """
    if isinstance(face, SplitFace):
        layout = replace(face.layout, name=NAMELESS)
        return SplitFace(layout, face.process, face.extraction, face.at, face.rise, face.stage).text(), {}
    if isinstance(face, DrawnFace):
        return layout_text(replace(layout_of(face), name=NAMELESS)), {}
    from layoutdrill.face.photo import PhotoFace  # noqa: PLC0415 - few sets hold photographs

    if isinstance(face, PhotoFace):
        return _photograph(face)
    raise LayoutdrillError(f"{face.name} cannot travel in a set", todo="leave it out of the deck")


def _photograph(face: "PhotoFace") -> tuple[str, dict[str, bytes]]:
    """Return a photograph's marks with its region and files renamed, and the files."""
    from layoutdrill.photo.whereabouts import whereabouts  # noqa: PLC0415 - few sets hold photographs
    from layoutdrill.photo.write import marks_text  # noqa: PLC0415 - few sets hold photographs

    marks, files, named = face.marks, {}, {}
    pictures = []
    for at, picture in enumerate(marks.pictures):
        path = whereabouts(picture, marks.folder)
        data = _bytes_of(path)
        digest = sha256(data).hexdigest()
        files[digest] = data
        named[picture.file] = f"{digest}{path.suffix.lower()}"
        size = picture.size if at or picture.size != (0, 0) else (face.pictures.frame.width, face.pictures.frame.height)
        pictures.append(replace(picture, file=named[picture.file], sha256=digest, size=size))
    if sum(map(len, files.values())) > MOST_OF_PICTURES:
        what = f"{face.name}: its photographs take more than {MOST_OF_PICTURES // 1_000_000} MB"
        raise LayoutdrillError(what, todo="cut the place that is asked about out of the photograph, and mark that")
    regions = tuple(
        replace(region, name=NAMELESS, title="", structure="", aliases=(), boundary="", about="", netlist="")
        for region in marks.regions
    )
    joins = tuple(replace(join, picture=named.get(join.picture, join.picture)) for join in marks.joins)
    return marks_text(replace(marks, name=NAMELESS, pictures=tuple(pictures), regions=regions, joins=joins)), files


def _bytes_of(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_OF_PICTURES:
            what = f"a photograph of more than {MOST_OF_PICTURES // 1_000_000} MB"
            todo = "cut the place that is asked about out of it, and mark that"
            raise LayoutdrillError(what, where=Where(str(path)), todo=todo)
        return path.read_bytes()
    except OSError as error:
        raise LayoutdrillError(f"cannot be read ({error.strerror})", where=Where(str(path))) from None


def face_of(text: str, process: Process, pictures: Mapping[str, bytes]) -> Face:
    """Return the face that `neutral` told; the pictures of a photograph are put where they can be opened."""
    if not is_photograph(text):
        return face_again(text, process)
    return _photograph_again(text, process, _unpacked(text, pictures))


@lru_cache(maxsize=16)
def _photograph_again(text: str, process: Process, folder: Path) -> Face:
    from layoutdrill.face.photo import PhotoFace  # noqa: PLC0415 - few sets hold photographs
    from layoutdrill.photo.looking import Pictures, frame_of  # noqa: PLC0415 - few sets hold photographs
    from layoutdrill.photo.read import marks_of_text  # noqa: PLC0415 - few sets hold photographs

    marks = marks_of_text(text, str(folder / NAMELESS))
    return PhotoFace(marks, process, next(iter(marks.regions), None), Pictures(marks, frame_of(marks)))


def _unpacked(text: str, pictures: Mapping[str, bytes]) -> Path:
    """Put those pictures of a set that a text names into the cache folder, and return the folder."""
    from layoutdrill.photo.read import marks_of_text  # noqa: PLC0415 - few sets hold photographs

    folder = cache_folder() / "photographs"
    for picture in marks_of_text(text, NAMELESS).pictures:
        data, path = pictures.get(picture.sha256), folder / picture.file
        if data is not None and Path(picture.file).name == picture.file:
            keep_in_cache(path, data)
    return folder


def keep_in_cache(path: Path, data: bytes) -> None:
    """Write a file of the cache folder where it is not there yet, or not whole."""
    try:
        if not path.is_file() or path.stat().st_size != len(data):
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, data, again=True)
    except OSError as error:
        raise LayoutdrillError(
            f"what a set needs cannot be kept ({error.strerror})",
            where=Where(str(path)),
            todo="set LAYOUTDRILL_CACHE to a folder of yours",
        ) from None
