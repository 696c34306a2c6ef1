"""Write a tally as CSV, as JSON, and as one HTML page to keep that loads nothing from anywhere."""

import csv
import io
import json
from base64 import b64encode
from dataclasses import asdict
from xml.sax.saxutils import escape

from layoutdrill.drill.kept_page import page, table
from layoutdrill.errors import plural
from layoutdrill.face import Light, layout_of
from layoutdrill.face.again import is_photograph
from layoutdrill.learning.shares import Share
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.overlay import Overlay, Tag, devices_overlay
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.svg import svg
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.question import Question, kinds
from layoutdrill.workshop.asking import question_of, truth
from layoutdrill.workshop.model import WorkshopSet
from layoutdrill.workshop.paper_legend import swatches
from layoutdrill.workshop.tally import Asked, Tally, who_was_there

_PICTURE_SCALE = 5
_LOOK = "reflected-light"
_DRAWN = "stick-colours"
_SWATCH_SCALE = 3


def tally_csv(room: Tally) -> str:
    """Return a row for each answer of each learner."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(
        ("name", "question", "kind", "credit", "said", "taken for", "skipped", "late", "seconds", "confidence")
    )
    kinds = {asked.number: asked.kind for asked in room.questions}
    for learner in room.learners:
        for each in (*learner.marked, *learner.late_answers):
            rows.writerow(
                (
                    _cell(learner.name),
                    each.number,
                    kinds[each.number],
                    f"{each.credit:g}",
                    _cell(each.said),
                    each.taken_for,
                    int(each.skipped),
                    int(each.late),
                    f"{each.seconds:g}",
                    "" if each.confidence is None else each.confidence,
                )
            )
    return text.getvalue()


def _cell(text: str) -> str:
    """Return text that no spreadsheet takes for a formula (OWASP, CSV injection)."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def tally_json(room: Tally) -> str:
    return json.dumps(asdict(room), ensure_ascii=False, indent=1) + "\n"


def tally_html(room: Tally, made: WorkshopSet) -> str:
    """Return the page: learners, skills, confusions, how sure, and the questions to discuss with their pictures."""
    parts = [f"<p>{who_was_there(room)}, {plural(room.total, 'question')}, set {made.digest[:8]}.</p>"]
    parts += table(
        "Learners",
        ("name", "right", "credit", "s an answer", "late"),
        [
            (learner.name + ("" if learner.finished else " (not finished)"), learner.right, f"{learner.credit:.1f}",
             f"{learner.seconds:.1f}", learner.late)
            for learner in room.learners
        ],
    )  # fmt: skip
    parts += _shares("By skill, the weakest first", room.skills)
    if room.confusions:
        parts += table("Taken for something else", ("was", "taken for", "times"), room.confusions)
    if room.calibration:
        parts += _shares("How sure, and how right", room.calibration)
    parts.append("<h2>To discuss</h2>")
    by_number = {asked.number: asked for asked in room.questions}
    for number in room.discuss:
        parts += _discussed(made, by_number[number])
    if not room.discuss:
        parts.append("<p>Nothing: every answer was right.</p>")
    if room.refused:
        parts.append("<h2>Not counted</h2><ul>")
        parts += [f"<li>{escape(file)}: {escape(why)}</li>" for file, why in room.refused]
        parts.append("</ul>")
    return page(f"{room.title}: the room", parts)


def _shares(title: str, shares: tuple[Share, ...]) -> list[str]:
    rows = []
    for share in shares:
        low, high = share.interval
        rows.append(
            (share.name, f"{share.right}/{share.asked}", f"{share.part:.0%}", f"{low:.0%} to {high:.0%}", share.part)
        )
    return table(title, ("", "right", "share", "95 % interval", ""), rows)


def _discussed(made: WorkshopSet, asked: Asked) -> list[str]:
    question, verdict = question_of(made, asked.number), truth(made, asked.number)
    specimen = question.specimen
    overlay = Overlay(
        transistors=devices_overlay(specimen.extraction).transistors,
        marks=tuple(Tag(mark.letter, mark.x, mark.y, ring=mark.ring) for mark in question.marks),
        spots=verdict.places,
        scale_bar=True,
    )
    sheet = made.sheets[asked.number - 1]
    legend = ""
    if is_photograph(sheet.layout) or kinds()[sheet.kind].own_look:
        picture = _photographed(question, overlay)
    else:
        view = View.whole(layout_of(specimen.face), specimen.process, _PICTURE_SCALE, margin=5)
        drawn = svg(
            layout_of(specimen.face), specimen.process, Shot(load_look(_DRAWN), view), specimen.extraction, overlay
        )
        picture = drawn[drawn.index("<svg") :]
        legend = _legend(specimen.process)
    count = f"by {asked.right} of {asked.answered}"
    said = "".join(f"<li>{escape(words)} ({times})</li>" for words, times in asked.said[:6])
    return [
        f"<h3>{asked.number}. {escape(asked.prompt)}</h3>",
        f"<p>Right: <b>{escape(asked.right_words)}</b>, {count}. {escape(asked.decides)}</p>",
        f"<ul>{said}</ul>" if said else "",
        f"<figure>{picture}</figure>",
        legend,
    ]


def _legend(process: Process) -> str:
    """Return what is what in drawn pictures of a process, in one paragraph."""
    look = load_look(_DRAWN)
    parts = []
    for swatch in swatches(process, look, 0):
        drawn = svg(swatch.layout, process, Shot(look, View(swatch.region, _SWATCH_SCALE)))
        parts.append(f"{drawn[drawn.index('<svg') :]} {escape(swatch.name)}")
    return f"<p>{' &#160; '.join(parts)}</p>"


def _photographed(question: Question, overlay: Overlay) -> str:
    """Return a picture of a die as an image within the page: what it shows cannot be told in vectors."""
    specimen = question.specimen
    face = specimen.face
    light = Light(load_look(question.look or _LOOK), specimen.seed or 0, specimen.wear)
    view = View(face.box.grown(2 * face.process.grid_per_lambda), _PICTURE_SCALE)
    data = io.BytesIO()
    face.marked(face.image(view, light), view, light, overlay).save(data, "PNG")
    text = escape(question.prompt, {'"': "&quot;"})
    return f'<img alt="{text}" src="data:image/png;base64,{b64encode(data.getvalue()).decode()}">'
