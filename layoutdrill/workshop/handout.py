"""Print a set: sheets with room for the answers, and apart from them a key with what decides."""

import re
from dataclasses import replace
from pathlib import Path

from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.face import Face, Light, layout_of, unit_again
from layoutdrill.face.again import is_photograph
from layoutdrill.face.shades import TOLD
from layoutdrill.face.split import WORD, SplitFace
from layoutdrill.layout.text import parse_layout
from layoutdrill.netlist.spice import write_spice
from layoutdrill.picture.looks import PHOTOGRAPHIC, Look, Style, load_look
from layoutdrill.picture.overlay import Overlay, Tag, devices_overlay
from layoutdrill.question import kinds
from layoutdrill.question.evidence_rule import tell_hidden_facts
from layoutdrill.question.model import Grid
from layoutdrill.workshop.asking import process_of, question_of, truth
from layoutdrill.workshop.model import Sheet, WorkshopSet
from layoutdrill.workshop.paper import GREY, MARGIN, Paper
from layoutdrill.workshop.paper_legend import write_legend
from layoutdrill.workshop.paper_picture import Drawn, draw_picture, place_picture
from layoutdrill.workshop.sights import face_of

LOOK = "ink"
_SMALL = 7.0
_TWO_PICTURES = "Two pictures in one: no netlist."
_HIGH = 330.0
"""The most height of a question's picture with what is written to it, in points."""
_LEAST_HIGH = 170.0
"""The least height of a picture."""

CAUTION = (
    "These sheets need no chemistry. Opening real parts has badly hurt people: fuming acids, splintering ceramics, "
    "beryllia in some white packages. Local rules and trained, authorised people come first; never alone, and never "
    "on the only working spare."
)


def write_handout(made: WorkshopSet, path: Path, *, size: str = "a4", look: str = LOOK) -> int:
    """
    Write the sheets as a PDF and return the number of pages. `size` is “a4” or “letter”; painted looks are drawn as
    vectors, photographic ones set as pictures of their dies.
    """
    paper = Paper(path, size, f"{made.title} · set {made.digest[:8]}")
    paper.write(made.title, 18, gap=6)
    time = f", {plural(made.minutes, 'minute')}" if made.minutes else ""
    paper.write(f"{plural(len(made.sheets), 'question')}{time}", 10, gap=10)
    _rule(paper, "Name")
    paper.write(CAUTION, 8, colour=GREY, gap=10)
    explained = ""  # the process whose legend was printed last
    for sheet in made.sheets:
        explained = _ask(paper, made, sheet, load_look(look), explained)
    paper.save()
    return paper.pages


def write_key(made: WorkshopSet, path: Path, *, size: str = "a4") -> int:
    """Write the key as a PDF: answer, what decides, the transistors numbered, the netlist. Returns the pages."""
    if not made.key:
        raise LayoutdrillError("the key of this set is kept apart", todo="add --key FILE.key")
    paper = Paper(path, size, f"Key · {made.title} · set {made.digest[:8]}")
    paper.write(f"Key: {made.title}", 18, gap=8)
    for sheet in made.sheets:
        question = question_of(made, sheet.number)
        verdict = truth(made, sheet.number)
        specimen = question.specimen
        netlist = _TWO_PICTURES if isinstance(specimen.face, SplitFace) else write_spice(specimen.netlist).strip()
        below = (netlist.count("\n") + 1) * _SMALL * 1.3 + 14
        room = max(_half(paper), min(_LEAST_HIGH + 70 + below, paper.height - 2 * MARGIN))
        paper.need(room)  # the netlist stays with its picture
        top = paper.y
        paper.write(f"{sheet.number}. {on_paper(sheet)}", 11)
        paper.write(f"Answer: {verdict.right}", 10, indent=14)
        paper.write(f"What decides: {verdict.decides}", 10, indent=14)
        two = isinstance(specimen.face, SplitFace)
        high = max(_LEAST_HIGH, min(_HIGH * 0.8, room - (top - paper.y) - below))
        overlay = Overlay(
            transistors=() if two else devices_overlay(specimen.extraction).transistors,
            marks=tuple(Tag(mark.letter, mark.x, mark.y, ring=mark.ring) for mark in question.marks),
            spots=verdict.places,
        )
        if _as_picture(sheet):
            place_picture(paper, specimen.face, _light(sheet, LOOK), overlay, width=paper.room, height=high)
        else:
            layout = layout_of(specimen.face)
            drawn = Drawn(layout, specimen.process, load_look(LOOK), overlay, specimen.extraction)
            draw_picture(paper, drawn, width=paper.room, height=high)
        paper.write(netlist, _SMALL, indent=14, gap=14)
    paper.save()
    return paper.pages


def _ask(paper: Paper, made: WorkshopSet, sheet: Sheet, look: Look, explained: str) -> str:
    """
    Set one question: prompt, facts, picture, and where to write the answer; kept on one page. A legend goes before it
    where its process is not the one `explained` last; returns which process has been explained now.
    """
    process = process_of(made, sheet.process)
    look, facts = _shown_on_paper(made, sheet, look)
    painted = look.style in (Style.FLAT, Style.HATCHED) and not _as_picture(sheet)
    light = _light(sheet, look.name)
    room = _half(paper)
    paper.need(room)
    top = paper.y
    if _has_legend(sheet) and not (painted and explained == sheet.process):
        write_legend(paper, process, light.look, sheet.lot)
        explained = sheet.process if painted else ""  # of pictures each has its own: lots differ in colour
    legend = top - paper.y
    paper.write(f"{sheet.number}. {on_paper(sheet)}", 11)
    for fact in facts:
        if not fact.startswith("Look: "):  # paper has a look of its own
            paper.write(fact, 9, indent=14, colour=GREY, gap=2)
    overlay = Overlay(marks=tuple(Tag(letter, x, y, ring=ring) for letter, x, y, ring in sheet.marks))
    high = max(_LEAST_HIGH, min(_HIGH - 70 - legend, room - (top - paper.y) - _answer_height(sheet)))
    if painted:
        layout = parse_layout(sheet.layout)  # nothing need be read from it to draw it
        draw_picture(paper, Drawn(layout, process, look, overlay), width=paper.room, height=high)
    else:
        _place(paper, sheet, face_of(sheet.layout, process, made.pictures), light, overlay, high)
    if kinds()[sheet.kind].names_process:
        paper.write(process.title, 7, colour=GREY, gap=2)
    if sheet.pointed:
        sign = unit_again(sheet.layout, process).sign
        paper.write(f"Put a cross on the picture, and write where, in {sign} by the ruler:", 9, gap=0)
        _rule(paper, "x, y")
    elif sheet.choices and not sheet.typed:
        _choices(paper, sheet.choices)
    elif sheet.grid is not None:
        _grid(paper, sheet.grid)
    else:
        if sheet.choices:
            _choices(paper, sheet.choices)
        _rule(paper, "Answer")
    return explained


def _half(paper: Paper) -> float:
    """Return the height of one of two questions on a page, in points."""
    return (paper.height - 2 * MARGIN) / 2 - 2


def on_paper(sheet: Sheet) -> str:
    """Return what is asked, with what one does on paper: tick and write, where a terminal has letters and typing."""
    prompt = sheet.prompt
    if sheet.choices and not sheet.typed:
        prompt = re.sub(r"Choose a letter, or type [^.]*\.", "Tick one.", prompt)
    prompt = prompt.replace("Choose a letter, or type", "Tick one, or write").replace("the crosshair", "a cross")
    return re.sub(r"\b([Tt])ype (?!of\b)", lambda word: f"{'W' if word[1] == 'T' else 'w'}rite ", prompt)


def _shown_on_paper(made: WorkshopSet, sheet: Sheet, look: Look) -> tuple[Look, tuple[str, ...]]:
    """
    Return the look in which a question is printed, and what is told with it: what the look hides. A question that the
    look cannot show is drawn.
    """
    if _as_picture(sheet):
        return look, sheet.facts
    facts = tuple(fact for fact in sheet.facts if fact not in TOLD.values())  # shades are those of the look it had
    if look.style not in PHOTOGRAPHIC:
        return look, facts
    question = replace(question_of(made, sheet.number), facts=facts)
    try:
        return look, tell_hidden_facts(kinds()[sheet.kind], question, look).facts
    except LayoutdrillError as error:
        return load_look(LOOK), (*facts, f"Drawn, for {error.what}.")


def _has_legend(sheet: Sheet) -> bool:
    """Tell whether a legend can be drawn, and tells nothing that is asked: photographs have no process of ours."""
    if is_photograph(sheet.layout) or not kinds()[sheet.kind].names_process:
        return False
    return not sheet.layout.startswith(f"{WORD} ")  # two pictures in one


def _place(paper: Paper, sheet: Sheet, face: Face, light: Light, overlay: Overlay, high: float) -> None:
    """Set the picture of a die; of a photograph also what was photographed of the same place at further stages."""
    stages = () if face.follows_light else face.layers
    high *= 1 if not stages else 0.8
    if stages:
        paper.need((high + 40) * (1 + len(stages)) + 60)
    place_picture(paper, face, light, overlay, width=paper.room, height=high)
    for at, name in enumerate(stages, 1):
        paper.write(f"{sheet.number}, {name}:", 9, indent=14, colour=GREY, gap=2)
        lifted = replace(light, lifted=frozenset(stages[:at]))
        place_picture(paper, face, lifted, overlay, width=paper.room, height=high)


def _grid(paper: Paper, grid: Grid) -> None:
    """Set a table to fill in, a row beside the other where there is room."""
    given = ["   ".join(row) for row in grid.rows]
    step = max(paper.wide(text, 10) for text in (*given, "   ".join(grid.heads))) + 64
    columns = max(1, int(paper.room // step))
    per = -(-len(given) // columns)
    paper.need(16 * (per + 2))
    paper.y -= 14
    for column in range(-(-len(given) // per)):
        paper.put(f"{'   '.join(grid.heads[:-1])}   {grid.heads[-1]}", MARGIN + 14 + column * step, paper.y, 10, GREY)
        for row, text in enumerate(given[column * per : (column + 1) * per], 1):
            at, y = MARGIN + 14 + column * step, paper.y - 16 * row
            paper.put(text, at, y, 10)
            paper.stroke(GREY, 0.5)
            after = at + paper.wide(text, 10) + 8
            paper.line(after, y - 2, after + 22, y - 2)
    paper.y -= 16 * per + 14


def _as_picture(sheet: Sheet) -> bool:
    """Tell whether a question is about what a microscope shows, so that no vectors can stand for its picture."""
    return is_photograph(sheet.layout) or kinds()[sheet.kind].own_look


def _light(sheet: Sheet, look: str) -> Light:
    """Return how a sheet's picture is taken: in the look on paper, or in the question's own."""
    own = load_look(sheet.look if kinds()[sheet.kind].own_look and sheet.look else look)
    return Light(own, seed=sheet.lot, wear=sheet.wear)


def _answer_height(sheet: Sheet) -> float:
    """Return about how many points the answer's lines below a picture take, with the process's name."""
    choices = 14 * len(sheet.choices) + 16 if sheet.choices else 0
    rows = 16 * (-(-len(sheet.grid.rows) // 3) + 2) if sheet.grid is not None else 0
    return 12 + (choices or rows or 34) + (34 if sheet.typed and sheet.choices else 0)


def _choices(paper: Paper, choices: tuple[str, ...]) -> None:
    for letter, choice in zip("abcdefgh", choices, strict=False):
        paper.need(16)
        paper.y -= 14
        paper.stroke(GREY, 0.7)
        paper.boxes([(MARGIN + 14, paper.y - 1, 8, 8)], stroke=True)
        first, *more = paper.wrapped(f"{letter}  {choice}", paper.room - 30, 10)
        paper.put(first, MARGIN + 30, paper.y, 10)
        for line in more:
            paper.y -= 13
            paper.put(line, MARGIN + 42, paper.y, 10)
    paper.y -= 16


def _rule(paper: Paper, name: str) -> None:
    paper.need(24)
    paper.y -= 18
    paper.put(name, MARGIN, paper.y, 9, GREY)
    paper.stroke(GREY, 0.5)
    left = MARGIN + paper.wide(name, 9) + 8
    paper.line(left, paper.y - 2, paper.width - MARGIN, paper.y - 2)
    paper.y -= 16
