"""Places on an author's photographs, as items and pages of a deck name them."""

from pathlib import Path

from layoutdrill.cells.entry import Port
from layoutdrill.deck.beside import beside
from layoutdrill.deck.model import Deck, Photographed
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.photo import PhotoFace
from layoutdrill.photo.looking import Pictures, frame_of
from layoutdrill.photo.model import Marks
from layoutdrill.photo.read import SUFFIX, load_marks, marks_name, read_file
from layoutdrill.photo.repeats import written_out
from layoutdrill.photo.tiles import Progress
from layoutdrill.process import load_process
from layoutdrill.question.model import Specimen
from layoutdrill.question.naming import canonical_structure
from layoutdrill.yamldoc import Node


def marks_file(node: Node, folder: Path) -> Path:
    """Read the name of a mark file, which must lie in the deck's folder or below it."""
    if not node.text().endswith(SUFFIX):
        todo = f"its name ends in {SUFFIX}; “layoutdrill mark PHOTO” writes it"
        node.fail(f"“{node.text()}” is no mark file", todo)
    return beside(node, folder, (SUFFIX,), "“layoutdrill mark PHOTO” writes it beside the photograph")


def read_marks_file(path: Path) -> tuple[dict[str, Photographed], list[LayoutdrillError]]:
    """
    Return the places of a mark file by the names that stand for them, and every error in it.

    A region is called FILE/REGION; a file without regions is one place, called FILE.
    """
    marks, errors = read_file(path)
    if errors:
        return {}, errors
    try:
        marks = written_out(marks)
    except LayoutdrillError as error:
        return {}, [error]
    name = marks_name(path)
    if not marks.regions:
        return {name: Photographed(path, "", marks.process, "")}, []
    return {
        f"{name}/{region.name}": Photographed(
            path, region.name, marks.process, canonical_structure(region.structure) if region.structure else ""
        )
        for region in marks.regions
    }, []


class Album:
    """The photographs of one deck, each read and opened once."""

    def __init__(self, deck: Deck) -> None:
        self.deck = deck
        self._open: dict[Path, tuple[Marks, Pictures]] = {}

    def ready(self, progress: Progress | None = None) -> None:
        """Open every photograph; large ones are cut into tiles, which may take a while the first time."""
        for path in dict.fromkeys(place.marks for place in self.deck.photographs.values()):
            self.pictures(path)[1].open_all(progress)

    def pictures(self, path: Path) -> tuple[Marks, Pictures]:
        """Return the marks of a file, repeats written out, and its pictures."""
        if path not in self._open:
            marks = written_out(load_marks(path))
            self._open[path] = marks, Pictures(marks, frame_of(marks))
        return self._open[path]

    def specimen(self, name: str, seed: int = 0) -> Specimen:
        """Return a place as a specimen. Raises LayoutdrillError where it is not there any more."""
        place = self.deck.photographs[name]
        marks, pictures = self.pictures(place.marks)
        region = marks.region(place.region) if place.region else None
        if place.region and region is None:
            raise LayoutdrillError(f'no region "{place.region}" in {place.marks.name}', todo="check the deck again")
        face = PhotoFace(marks, load_process(place.process), region, pictures)
        return Specimen(
            cell=name,
            structure=region.structure if region else "",
            aliases=region.aliases if region else (),
            face=face,
            netlist=face.netlist,
            boundary=region.boundary if region else "",
            about=region.about if region else "",
            seed=seed,
            ports=tuple(Port(p.net, p.role, p.complement_of or None) for p in face.marks.ports),
        )
