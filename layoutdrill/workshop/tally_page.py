"""Write a tally as CSV, as JSON, and as one HTML page to keep that loads nothing from anywhere."""

import csv
import io
import json
from dataclasses import asdict
from xml.sax.saxutils import escape

from layoutdrill.face import layout_of
from layoutdrill.learning.shares import Share
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.overlay import Overlay, Tag, devices_overlay
from layoutdrill.picture.svg import svg
from layoutdrill.picture.view import View
from layoutdrill.workshop.asking import question_of, truth
from layoutdrill.workshop.model import WorkshopSet
from layoutdrill.workshop.tally import Asked, Tally

_PICTURE_SCALE = 5
_STYLE = """
body { font: 16px/1.45 system-ui, sans-serif; max-width: 60rem; margin: 2rem auto; padding: 0 1rem; color: #1a1a1a; }
table { border-collapse: collapse; margin: .5rem 0 1.5rem; } th, td { padding: .2rem .8rem .2rem 0; text-align: left; }
td.n, th.n { text-align: right; font-variant-numeric: tabular-nums; } tr + tr td { border-top: 1px solid #ddd; }
.bar { display: inline-block; height: .6rem; background: #555; } .range { color: #666; } figure { margin: .5rem 0; }
figure svg { max-width: 100%; height: auto; border: 1px solid #ccc; } @media print { figure { break-inside: avoid; } }
"""


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
    parts = [
        '<!doctype html><html lang="en"><head><meta charset="utf-8">',
        f"<title>{escape(room.title)}: the room</title><style>{_STYLE}</style></head><body>",
        f"<h1>{escape(room.title)}</h1>",
        f"<p>{len(room.learners)} learners, {room.total} questions, set {made.digest[:8]}.</p>",
        "<h2>Learners</h2><table><tr>",
        "<th>name</th><th class=n>right</th><th class=n>credit</th><th class=n>s an answer</th><th class=n>late</th>",
        "</tr>",
    ]
    parts += [
        f"<tr><td>{escape(one.name)}{'' if one.finished else ' (not finished)'}</td><td class=n>{one.right}</td>"
        f"<td class=n>{one.credit:.1f}</td><td class=n>{one.seconds:.1f}</td><td class=n>{one.late}</td></tr>"
        for one in room.learners
    ]
    parts.append("</table>")
    parts += _shares("By skill, the weakest first", room.skills)
    if room.confusions:
        parts.append("<h2>Taken for something else</h2><table><tr><th>was</th><th>taken for</th><th class=n>times</th>")
        parts += [
            f"<tr><td>{escape(true)}</td><td>{escape(said)}</td><td class=n>{count}</td></tr>"
            for true, said, count in room.confusions
        ]
        parts.append("</table>")
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
    return "\n".join([*parts, "</body></html>", ""])


def _shares(title: str, shares: tuple[Share, ...]) -> list[str]:
    rows = []
    for share in shares:
        low, high = share.interval
        figures = f"<td class=n>{share.right}/{share.asked}</td><td class=n>{share.part:.0%}</td>"
        bar = f'<td><span class=bar style="width:{8 * share.part:.2f}rem"></span></td>'
        rows.append(f"<tr><td>{escape(share.name)}</td>{figures}<td class=range>{low:.0%} to {high:.0%}</td>{bar}</tr>")
    head = "<tr><th></th><th class=n>right</th><th class=n>share</th><th>95 % interval</th><th></th></tr>"
    return [f"<h2>{escape(title)}</h2><table>{head}", *rows, "</table>"]


def _discussed(made: WorkshopSet, asked: Asked) -> list[str]:
    question, verdict = question_of(made, asked.number), truth(made, asked.number)
    specimen = question.specimen
    overlay = Overlay(
        transistors=devices_overlay(specimen.extraction).transistors,
        marks=tuple(Tag(mark.letter, mark.x, mark.y, ring=mark.ring) for mark in question.marks),
        spots=verdict.places,
        scale_bar=True,
    )
    view = View.whole(layout_of(specimen.face), specimen.process, _PICTURE_SCALE, margin=5)
    look = load_look("stick-colours")
    picture = svg(layout_of(specimen.face), specimen.process, look, view, specimen.extraction, overlay)
    count = f"by {asked.right} of {asked.answered}"
    said = "".join(f"<li>{escape(words)} ({times})</li>" for words, times in asked.said[:6])
    return [
        f"<h3>{asked.number}. {escape(asked.prompt)}</h3>",
        f"<p>Right: <b>{escape(asked.right_words)}</b>, {count}. {escape(asked.decides)}</p>",
        f"<ul>{said}</ul>" if said else "",
        f"<figure>{picture[picture.index('<svg') :]}</figure>",
    ]
