"""
Read a mark file: a list of marks in the order in which they were made, some of which take earlier ones back.

Every error is told with its place. The tool writes these files by appending, one mark a line.
"""

from dataclasses import replace
from pathlib import Path
from typing import Any

from layoutdrill.errors import LayoutdrillError, Where, did_you_mean
from layoutdrill.photo.entries import FIRST_WORD, FORMAT, READERS, Setting, net_of
from layoutdrill.photo.model import (
    SORTS,
    Contact,
    Mark,
    MarkedTransistor,
    Marks,
    Point,
    Port,
    Repeat,
    Wire,
)
from layoutdrill.yamldoc import MACHINE_WRITTEN, Document, Node, load, loads
from layoutdrill.yamldoc.collect import Collector

SUFFIX = ".marks.yaml"
MOST_PICTURES = 12
MOST_REPEATED = 20_000
"""Marks that repeats may make of those that stand in the file."""


def marks_name(path: Path) -> str:
    """Return the name by which a mark file is known: its file's, without the ending."""
    return path.name.removesuffix(SUFFIX)


def load_marks(path: Path) -> Marks:
    """Read a mark file. Raises LayoutdrillError: the first thing wrong, and how many more there are."""
    marks, errors = read_file(path)
    if errors:
        first, more = errors[0], len(errors) - 1
        also = f"; {more} more" if more else ""
        raise LayoutdrillError(first.what, where=first.where or Where(str(path)), todo=first.todo + also)
    return marks


def read_file(path: Path) -> tuple[Marks, list[LayoutdrillError]]:
    """Return what a mark file says as far as it can be read, and every error in it."""
    try:
        document = load(path, bounds=MACHINE_WRITTEN)
    except LayoutdrillError as error:
        return _nothing(marks_name(path), str(path)), [error]
    return read_marks(document, marks_name(path))


def marks_of_text(text: str, file: str) -> Marks:
    """Read what `marks_text` wrote; raises LayoutdrillError for the first thing wrong."""
    marks, errors = read_marks(loads(text, file, bounds=MACHINE_WRITTEN), "")
    if errors:
        raise errors[0]
    return marks


def read_marks(document: Document, name: str) -> tuple[Marks, list[LayoutdrillError]]:
    """Return the marks of a document as far as they can be read, and every error, in the order of the lines."""
    reader = _Reader()
    marks = reader.marks(document, name)
    errors = sorted(
        reader.take.errors, key=lambda e: ((e.where or Where("")).line or 0, (e.where or Where("")).column or 0)
    )
    return marks, errors


def _nothing(name: str, file: str) -> Marks:
    return Marks(name, file, "", 1, 0.0, ())


class _Reader:
    def __init__(self) -> None:
        self.take = Collector()
        self.unread: set[str] = set()
        """The words of entries that say something wrong: what they say is not told to be missing too."""

    def marks(self, document: Document, name: str) -> Marks:
        live: list[tuple[int, Mark | Setting]] = []
        root = document.root
        if not isinstance(root.value, tuple):
            self._error("a list of marks is expected", root.where, "let the tool write this file")
            return _nothing(name, document.file)
        for number, node in enumerate(root.items(), 1):
            try:
                self._entry(number, node, live)
            except LayoutdrillError as error:
                self.take.errors.append(error)
                self.unread |= {word for word, _ in node.key_places}
        return self._whole(document, name, [mark for _, mark in live], len(root.items()))

    def _entry(self, number: int, node: Node, live: list[tuple[int, Mark | Setting]]) -> None:
        fields = node.mapping()
        if len(fields) != 1:
            node.fail("one mark is expected", "write one mark an entry, such as “- point: {…}”")
        ((word, where),) = node.key_places
        inner = fields[word]
        if number == 1 and word != FIRST_WORD:
            node.fail(f"a mark file begins with “- {FIRST_WORD}: {FORMAT}”", "let the tool write this file")
        if word == "undo":
            count = inner.integer(1, max(1, len(live) - 1))
            del live[len(live) - count :]
        elif word == "remove":
            at = inner.integer(2, max(2, number - 1))
            kept = [mark_made for mark_made in live if mark_made[0] != at]
            if len(kept) == len(live):
                inner.fail(f"mark {at} has been taken back already", "name a mark that is there")
            live[:] = kept
        elif word == "rename":
            given = inner.fields(("net", "to"))
            old, new = net_of(given["net"]), net_of(given["to"])
            live[:] = [(at, _renamed(mark, old, new)) for at, mark in live]
        elif word in READERS:
            live.append((number, READERS[word](inner)))
        else:
            known = (*READERS, "undo", "remove", "rename")
            raise LayoutdrillError(f'no mark "{word}"', where=where, todo=lambda: did_you_mean(word, known))

    def _whole(self, document: Document, name: str, live: list[Mark | Setting], entries: int) -> Marks:
        settings: dict[str, Any] = {}
        for mark in live:
            if isinstance(mark, Setting):
                settings.update(mark.fields)

        marked: dict[str, Any] = {
            field: tuple(mark for mark in live if isinstance(mark, sort)) for sort, field in SORTS.items()
        }
        marked["transistors"] = _named(marked["transistors"])
        marks = Marks(
            name=settings.get("name", name),
            file=document.file,
            process=settings.get("process", ""),
            per_lambda=settings.get("per_lambda", 0),
            nm=settings.get("nm", 0.0),
            **marked,
            turn=settings.get("turn", 0),
            mirror=settings.get("mirror", False),
            shows=settings.get("shows", ()),
            entries=entries,
        )
        self._consistent(marks, document)
        return marks

    def _consistent(self, marks: Marks, document: Document) -> None:
        """Tell what one mark cannot know: names twice, references to what is not there."""
        start = document.root.where
        if not marks.pictures and "picture" not in self.unread:
            self._error("no picture is named", start, "add “- picture: {file: …}”")
        if not marks.process and "process" not in self.unread:
            self._error("no process is named", start, "add “- process: NAME”")
        if not marks.per_lambda and "scale" not in self.unread:
            self._error("no scale is given", start, "add “- scale: {pixels per lambda: N}”")
        if len(marks.pictures) > MOST_PICTURES:
            self._error(f"more than {MOST_PICTURES} pictures", marks.pictures[MOST_PICTURES].where, "split the file")
        for what, named in (
            ("picture", [(p.file, p.where) for p in marks.pictures]),
            ("transistor", [(t.name, t.where) for t in marks.transistors]),
            ("region", [(r.name, r.where) for r in marks.regions]),
        ):
            seen: set[str] = set()
            for name, where in named:
                if name in seen:
                    self._error(f'there are two {what}s "{name}"', where, "give one of them another name")
                seen.add(name)
        later = [picture.file for picture in marks.pictures[1:]]
        for join in marks.joins:
            if join.picture not in later:
                self._error(f'no picture "{join.picture}" to join', join.where, did_you_mean(join.picture, later))
        names = [region.name for region in marks.regions]
        made = 0
        for repeat in marks.repeats:
            if repeat.region not in names:
                self._error(f'no region "{repeat.region}"', repeat.where, did_you_mean(repeat.region, names))
                continue
            made += repeat.columns * repeat.rows * max(1, len(marks.transistors) + len(marks.wires))
        if made > MOST_REPEATED * 20:
            self._error("too many marks would be made by repeats", marks.repeats[0].where, "repeat a smaller region")
        nets = marks.nets
        for port in marks.ports:
            if port.complement_of and port.complement_of not in {p.net for p in marks.ports}:
                self._error(f'no port "{port.complement_of}"', port.where, did_you_mean(port.complement_of, nets))

    def _error(self, what: str, where: Where, todo: str) -> None:
        self.take.errors.append(LayoutdrillError(what, where=where, todo=todo))


def _named(transistors: tuple[MarkedTransistor, ...]) -> tuple[MarkedTransistor, ...]:
    """Give transistors without a name the next free one: T1, T2, …"""
    taken = {t.name for t in transistors}
    number, named = 0, []
    for t in transistors:
        name = t.name
        while not name:
            number += 1
            name = f"T{number}" if f"T{number}" not in taken else ""
        named.append(replace(t, name=name))
    return tuple(named)


def _renamed(mark: Mark | Setting, old: str, new: str) -> Mark | Setting:
    if isinstance(mark, MarkedTransistor):
        gate, a, b = (new if net == old else net for net in (mark.gate, *mark.ends))
        return replace(mark, gate=gate, ends=(a, b))
    if isinstance(mark, Port):
        other = new if mark.complement_of == old else mark.complement_of
        return replace(mark, net=new if mark.net == old else mark.net, complement_of=other)
    if isinstance(mark, (Wire, Point, Contact)) and mark.net == old:
        return replace(mark, net=new)
    if isinstance(mark, Repeat):
        shared, rows, columns = (
            tuple(new if net == old else net for net in nets) for nets in (mark.shared, mark.by_row, mark.by_column)
        )
        return replace(mark, shared=shared, by_row=rows, by_column=columns)
    return mark
