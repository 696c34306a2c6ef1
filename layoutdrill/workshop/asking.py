"""Between a question as it is asked and its two halves in a set: the sheet that all get, and the key entry."""

from dataclasses import replace
from functools import lru_cache
from hashlib import sha256

from layoutdrill.brought import is_brought
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.again import is_photograph
from layoutdrill.geometry.rect import Rect
from layoutdrill.locations import cache_folder
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.process.load import process_file
from layoutdrill.prove.proof import strangers_in
from layoutdrill.question import Answer, Question, Specimen, Verdict, kinds
from layoutdrill.question.model import Mark
from layoutdrill.workshop.model import Given, KeyEntry, Sheet, WorkshopSet
from layoutdrill.workshop.sights import face_of, keep_in_cache, neutral


def halves(number: int, question: Question) -> tuple[Sheet, KeyEntry, dict[str, bytes]]:
    """Return what everyone gets of a question, what only the key holds, and the files of its photographs."""
    specimen = question.specimen
    text, pictures = neutral(specimen.face)
    sheet = Sheet(
        number=number,
        kind=question.kind,
        process=specimen.process.name,
        layout=text,
        prompt=question.prompt,
        choices=question.choices,
        facts=question.facts,
        marks=tuple((mark.letter, mark.x, mark.y, mark.ring) for mark in question.marks),
        pointed=question.pointed,
        typed=question.typed,
        look=question.look,
        lot=specimen.seed or 0,
        wear=specimen.wear,
        frame=_plain(specimen.frame),
        form=question.key.form().json(),
        scale=question.scale,
        seen=tuple(mark.words for mark in question.marks) if any(mark.words for mark in question.marks) else (),
        grid=question.grid,
        listing=question.listing,
    )
    entry = KeyEntry(
        number=number,
        key=question.key.json(),
        cell=specimen.cell,
        structure=specimen.structure,
        aliases=specimen.aliases,
        boundary=specimen.boundary,
        about=specimen.about,
        skill=f"{specimen.structure}: {question.kind}",
    )
    return sheet, entry, pictures


def _plain(frame: Rect | None) -> tuple[int, int, int, int] | None:
    return None if frame is None else (frame.x0, frame.y0, frame.x1, frame.y1)


def question_of(made: WorkshopSet, number: int) -> Question:
    """
    Return question `number` (from 1) of a set: with its key where the set holds it, else as far as it can be asked.

    Raises LayoutdrillError where this version does not know its kind.
    """
    sheet = made.sheets[number - 1]
    if sheet.kind not in kinds():
        raise LayoutdrillError(f'this version knows no kind of question "{sheet.kind}"', todo="install a newer one")
    specimen = _specimen(made, number)
    if sheet.frame is not None:
        frame, netlist = Rect(*sheet.frame), specimen.netlist
        beyond = strangers_in(specimen.extraction, frame)
        own = tuple(t for t in netlist.transistors if t.name not in beyond)
        specimen = replace(specimen, frame=frame, netlist=replace(netlist, transistors=own))
    specimen = replace(specimen, seed=sheet.lot, wear=sheet.wear)
    key = sheet.form
    if made.key:
        entry = made.key[number - 1]
        key = entry.key
        specimen = replace(
            specimen,
            cell=entry.cell,
            structure=entry.structure,
            aliases=entry.aliases,
            boundary=entry.boundary,
            about=entry.about,
        )
    seen = sheet.seen or ("",) * len(sheet.marks)
    marks = tuple(Mark(letter, x, y, ring, said) for (letter, x, y, ring), said in zip(sheet.marks, seen, strict=True))
    return Question(
        kind=sheet.kind,
        prompt=sheet.prompt,
        specimen=specimen,
        choices=sheet.choices,
        facts=sheet.facts,
        marks=marks,
        key=kinds()[sheet.kind].read_key(key),
        pointed=sheet.pointed,
        typed=sheet.typed,
        look=sheet.look,
        scale=sheet.scale,
        grid=sheet.grid,
        listing=sheet.listing,
    )


def graded(made: WorkshopSet, given: Given) -> Verdict:
    """Grade an answer from the set's key; what cannot be read as an answer earns nothing."""
    question = question_of(made, given.number)
    kind = kinds()[question.kind]
    if given.skipped:
        return kind.grade(question, Answer())
    try:
        answer = Answer(given.text, given.point) if given.point is not None else kind.accept(question, given.text)
        return kind.judge(question, answer, question.look)
    except LayoutdrillError:
        return kind.grade(question, Answer())


def truth(made: WorkshopSet, number: int) -> Verdict:
    """Say what is right."""
    question = question_of(made, number)
    return kinds()[question.kind].grade(question, Answer())


def process_of(made: WorkshopSet, name: str) -> Process:
    """
    Return a process as it was when the set was made: the installed one where it is the same, else the set's own text,
    kept in the cache folder since films are read from the file too.
    """
    text = made.processes[name]
    if _at_hand(name) and process_text(name) == text:
        return load_process(name)
    path = cache_folder() / "sets" / made.digest[:16] / f"{sha256(text.encode()).hexdigest()[:16]}.yaml"
    keep_in_cache(path, text.encode())
    return load_process(str(path))


def process_text(name: str) -> str:
    return process_file(name).read_text("utf-8")


def _at_hand(name: str) -> bool:
    """Tell whether a process of that name ships, or came with a deck that was opened here."""
    if name in process_names():
        return True
    try:
        return is_brought(name) and process_file(name).is_file()
    except LayoutdrillError:
        return False


def _specimen(made: WorkshopSet, number: int) -> Specimen:
    """Return what is shown in question `number`: the face, and what can be read from it."""
    sheet = made.sheets[number - 1]
    process = process_of(made, sheet.process)
    return _photographed(made, sheet, process) if is_photograph(sheet.layout) else _drawn(process, sheet.layout)


def _photographed(made: WorkshopSet, sheet: Sheet, process: Process) -> Specimen:
    face = face_of(sheet.layout, process, made.pictures)
    return Specimen("", "", (), face, face.extraction.netlist, "")


@lru_cache(maxsize=128)
def _drawn(process: Process, layout: str) -> Specimen:
    face = face_of(layout, process, {})
    return Specimen("", "", (), face, face.extraction.netlist, "")
