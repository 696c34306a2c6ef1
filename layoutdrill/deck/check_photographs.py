"""Check the photographs of a deck: the files are those that were marked, and the marks agree with all that is said."""

from collections.abc import Iterator
from pathlib import Path

from layoutdrill.deck.model import Deck
from layoutdrill.deck.own_cells import misnamed
from layoutdrill.deck.photographs import Album
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.extract.model import FindingKind
from layoutdrill.face.photo import PhotoFace
from layoutdrill.photo.files import digest_of, header
from layoutdrill.photo.joining import POOR, joined
from layoutdrill.photo.looking import frame_of
from layoutdrill.photo.model import Marks, Picture, Region
from layoutdrill.photo.netlist import differences, netlist_of, within
from layoutdrill.process import load_process
from layoutdrill.reading.photograph import difference_from_beside
from layoutdrill.reading.ports import with_ports


def check_photographs(deck: Deck, album: Album) -> Iterator[LayoutdrillError]:
    """Yield what is wrong with the photographs of a deck, at the places of their mark files."""
    for path in dict.fromkeys(place.marks for place in deck.photographs.values()):
        try:
            marks, _ = album.pictures(path)
        except LayoutdrillError as error:
            yield error
            continue
        yield from check_marks(marks)
        yield from _netlist_beside(path, marks)


def _netlist_beside(path: Path, marks: Marks) -> Iterator[LayoutdrillError]:
    """Yield how the marks differ from the netlist of the same name beside them, where no region names one."""
    if any(region.netlist for region in marks.regions):
        return
    beside = difference_from_beside(path, PhotoFace.of(marks, load_process(marks.process)))
    if beside is not None and beside[1]:
        where = marks.regions[0].where if marks.regions else Where(str(path))
        yield LayoutdrillError(" ".join(beside), where=where, todo="mend the marks or the netlist")


def check_marks(marks: Marks) -> Iterator[LayoutdrillError]:
    """Yield what is wrong with one photograph: its files, its joins, its regions."""
    for picture in marks.pictures:
        yield from _picture(marks, picture)
    process = load_process(marks.process)
    kinds = {(rule.kind, rule.mode) for rule in process.transistors}
    for t in marks.transistors:
        if (t.kind, t.mode) not in kinds:
            what = f"{marks.process} has no {t.kind} transistor of {t.mode} mode"
            yield LayoutdrillError(what, where=t.where, todo="mend the mark, or name another process")
    for region in marks.regions:
        yield from check_region(marks, region)


def _picture(marks: Marks, picture: Picture) -> Iterator[LayoutdrillError]:
    path = marks.folder / picture.file
    try:
        head = header(path)
        if picture.size not in ((0, 0), (head.width, head.height)):
            wide, high = picture.size
            what = f"{picture.file} is {head.width} × {head.height} pixels, and {wide} × {high} were marked"
            yield LayoutdrillError(what, where=picture.where, todo="bring back the picture that was marked")
        elif picture.sha256 and digest_of(path) != picture.sha256:
            what = f"{picture.file} is not the picture that was marked"
            yield LayoutdrillError(what, where=picture.where, todo="bring it back, or look all marks over")
        yield from _beside(marks, picture, (head.width, head.height))
        residual = joined(marks, picture).residual
        if residual > POOR:
            what = f"{picture.file} lies {residual:.1f} pixels off on the first picture (root mean square)"
            yield LayoutdrillError(what, where=picture.where, todo="mark its common points anew, far apart")
    except LayoutdrillError as error:
        yield error


def _beside(marks: Marks, picture: Picture, size: tuple[int, int]) -> Iterator[LayoutdrillError]:
    """Yield each point in common that lies beside this picture, of so many columns and rows, or beside the first."""
    first = frame_of(marks)
    for point in marks.joins:
        if point.picture != picture.file:
            continue
        for file, (x, y), (wide, high) in (
            (picture.file, point.at, size),
            (marks.pictures[0].file, point.on, (first.width, first.height)),
        ):
            if not (0 <= x <= wide and 0 <= y <= high):
                what = f"the point in common at ({x:.0f}, {y:.0f}) lies beside {file}"
                yield LayoutdrillError(what, where=point.where, todo="remove it, and mark one that both pictures show")


def check_region(marks: Marks, region: Region) -> Iterator[LayoutdrillError]:
    """Yield where a region's marks are not what its name or the netlist beside it says."""
    process = load_process(marks.process)
    inside = within(marks, region)
    if not inside.transistors:
        yield LayoutdrillError(f"{region.name} holds no transistor", where=region.where, todo="mark some, or drop it")
        return
    netlist = netlist_of(inside, process, region.name)
    if region.netlist:
        try:
            differing = differences(marks, process, region)
        except LayoutdrillError as error:
            yield error
            return
        for difference in differing:
            what = f"{region.name}: {difference}"
            yield LayoutdrillError(what, where=region.where, todo="mend the marks or the netlist")
    what = misnamed(region.structure, region.aliases, with_ports(netlist), process)
    if what:
        yield LayoutdrillError(f"{region.name}: {what}", where=region.where, todo="mend the name or the marks")


def warnings_of(marks: Marks) -> Iterator[LayoutdrillError]:
    """Yield what is odd about marks and may still be meant: nets in pieces, nets that hang, one spot on two nets."""
    from layoutdrill.photo.netlist import nearest_mark, oddities  # noqa: PLC0415 - only where warnings are told
    from layoutdrill.photo.shapes import Shapes  # noqa: PLC0415 - the same

    frame = frame_of(marks)
    process = load_process(marks.process)
    for finding in oddities(marks, Shapes(marks, process, frame), process):
        at = frame.at(*finding.place.centre)
        where = nearest_mark(marks, at, 50 * marks.per_lambda) or Where(str(Path(marks.file)))
        todo = "one of the two is wrong" if finding.kind is FindingKind.SHORT else "look, and mark what is missing"
        yield LayoutdrillError(f"{finding.text} (at {at[0]:.0f}, {at[1]:.0f})", where=where, todo=todo)
