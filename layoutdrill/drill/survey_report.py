"""Write the report of a survey from one's own answers: as Markdown with its pictures beside it, or as one page."""

import re
from base64 import b64encode
from collections import Counter
from collections.abc import Mapping
from html import escape
from pathlib import Path

from layoutdrill.cells import load_cell
from layoutdrill.drill.kept_page import page
from layoutdrill.drill.survey import ABOUT, STEPS
from layoutdrill.drill.survey_findings import Finding, How, Survey
from layoutdrill.drill.survey_pictures import ReportPicture, pictures_of
from layoutdrill.errors import LayoutdrillError, Where, plural
from layoutdrill.outlet import write_whole
from layoutdrill.process import load_process
from layoutdrill.question.naming import sentence

FORMS = (".md", ".html")
_CROSSHAIR = "Put the crosshair on "
_NOTHING = "Nothing of this step has been answered yet."


def write_report(survey: Survey, output: Path, pictures: Mapping[str, ReportPicture] | None = None) -> tuple[Path, ...]:
    """
    Write the report of a survey, and return the files written: a page that stands alone (.html), or Markdown (.md)
    with its pictures in a folder beside it. What was there is replaced; `pictures` are made where none are given.
    Raises LayoutdrillError for another form, for a survey without an answer, and where nothing can be written.
    """
    if output.suffix.lower() not in FORMS:
        raise LayoutdrillError(f"a report cannot be written as “{output.name}”", todo="name it .md or .html")
    if not survey.findings:
        raise LayoutdrillError("nothing has been answered in this survey yet", todo="answer its first question")
    pictures = pictures_of(survey) if pictures is None else pictures
    if output.suffix.lower() == ".html":
        _write(output, report_html(survey, pictures).encode())
        return (output,)
    folder = output.with_suffix(".pictures")
    for picture in pictures.values():
        _write(folder / picture.name, picture.data)
    _write(output, report_markdown(survey, pictures, folder.name).encode())
    return (output, *(folder / picture.name for picture in pictures.values()))


def report_title(survey: Survey) -> str:
    return f"{load_cell(survey.cell).title.capitalize()}: what was found on one die"


def report_lines(survey: Survey) -> list[str]:
    """Return the report's words alone, for a screen: no pictures, no tables."""
    lines = [*_facts(survey), "", "What holds"]
    lines += [f"  {_line(finding)}" for finding in survey.findings if finding.holds] or ["  Nothing yet."]
    wrong = [finding for finding in survey.findings if not finding.holds]
    lines += (
        ["", "What was not so", *(f"  {f.number}. {_line(f)} Answered: {f.said or '–'}." for f in wrong)]
        if wrong
        else []
    )
    doubts = [f"  {f.number}. {f.doubt}: {_short(f.asked)}" for f in _doubts(survey)]
    return [*lines, "", "Doubts", *(doubts or ["  None."])]


def _facts(survey: Survey) -> list[str]:
    """Return the lines that say which die it was, how far one got, and how."""
    counts = Counter(finding.how for finding in survey.findings)
    sitting = survey.sitting
    how = ", ".join(f"{counts[how]} {how}" for how in How if counts[how])
    die = f"{load_cell(survey.cell).title}, {load_process(survey.process).title}, drawing {survey.draws[0].seed}"
    lines = [
        f"Die: {die}. Survey {survey.number}, begun {sitting.started[:10]}.",
        f"{len(survey.findings)} of {plural(len(survey.draws), 'question')} answered: {how}.",
    ]
    if not survey.done:
        lines.append(f"Still open: {'; '.join(survey.open_steps)}.")
    return lines


def _line(finding: Finding) -> str:
    """Say a finding in a line: what was asked, and what holds."""
    return f"{_short(finding.asked)} {sentence(finding.right)}"


def _short(asked: str) -> str:
    """Return a question without how to type its answer."""
    text = re.split(r" (?:Type|Choose) |: point, or type", asked)[0]
    if text.startswith(_CROSSHAIR):
        return f"Where is {text.removeprefix(_CROSSHAIR)}?"
    return text if text.endswith(("?", ":", ".")) else f"{text}:"


def _how(finding: Finding) -> str:
    parts = [finding.how.value]
    if finding.hints:
        parts.append(f"{plural(len(finding.hints), 'hint')}: {', '.join(finding.hints)}")
    if finding.sure:
        parts.append(finding.sure)
    return "; ".join(parts)


def _doubts(survey: Survey) -> list[Finding]:
    return [finding for finding in survey.findings if finding.doubt]


# Markdown


def report_markdown(survey: Survey, pictures: Mapping[str, ReportPicture], folder: str) -> str:
    """Return the report as Markdown; its pictures are looked for in `folder`."""
    lines = [f"# {_plain(report_title(survey))}", "", *(f"{_plain(line)}  " for line in _facts(survey)), ""]
    lines += ["## What holds", ""]
    holding = [finding for finding in survey.findings if finding.holds]
    lines += [f"- {_plain(_line(finding))}" for finding in holding] or ["Nothing yet."]
    for number, step in enumerate(STEPS, 1):
        lines += ["", f"## {number}. {step.capitalize()}", "", f"_{sentence(ABOUT[step].capitalize())}_", ""]
        if step in pictures:
            picture = pictures[step]
            lines += [f"![{picture.caption}]({folder}/{picture.name})", "", f"_{picture.caption}_", ""]
        lines += _markdown_step(survey.of_step(step)) or [_NOTHING]
    lines += ["", "## Doubts", ""]
    lines += [f"- Question {f.number}: {f.doubt}. {_plain(_line(f))}" for f in _doubts(survey)] or ["None."]
    return "\n".join([*lines, ""])


def _markdown_step(findings: tuple[Finding, ...]) -> list[str]:
    if not findings:
        return []
    rows = ["| | asked | answered | what holds | how |", "|---|---|---|---|---|"]
    for f in findings:
        right = f.right if not f.holds else "as answered"
        rows.append(
            f"| {f.number} | {_cell(_short(f.asked))} | {_cell(f.said or '–')} | {_cell(right)} | {_cell(_how(f))} |"
        )
    told = [f for f in findings if not f.holds]
    rows += [""] if told else []
    for f in told:
        rows.append(f"- {f.number}: {_plain(f'{sentence(f.decides)} {f.why_not}')}")
    return rows


def _plain(text: str) -> str:
    """Return text in which nothing is taken for a sign of Markdown's own."""
    return "".join(f"\\{sign}" if sign in "\\`*_{}[]<>#|" else sign for sign in " ".join(text.split()))


def _cell(text: str) -> str:
    return _plain(text)


# HTML


def report_html(survey: Survey, pictures: Mapping[str, ReportPicture]) -> str:
    """Return the report as one page that loads nothing."""
    parts = [f"<p>{'<br>'.join(escape(line) for line in _facts(survey))}</p>", "<h2>What holds</h2><ul>"]
    parts += [f"<li>{escape(_line(finding))}</li>" for finding in survey.findings if finding.holds]
    parts.append("</ul>")
    for number, step in enumerate(STEPS, 1):
        parts += [
            f"<h2>{number}. {escape(step.capitalize())}</h2>",
            f"<p><i>{escape(sentence(ABOUT[step].capitalize()))}</i></p>",
        ]
        if step in pictures:
            parts.append(_figure(pictures[step]))
        findings = survey.of_step(step)
        parts += _html_step(findings) if findings else [f"<p>{_NOTHING}</p>"]
    doubts = [f"<li>Question {f.number}: {escape(f.doubt)}. {escape(_line(f))}</li>" for f in _doubts(survey)]
    parts += ["<h2>Doubts</h2>", *(["<ul>", *doubts, "</ul>"] if doubts else ["<p>None.</p>"])]
    return page(report_title(survey), parts)


def _figure(picture: ReportPicture) -> str:
    data = b64encode(picture.data).decode()
    wide, high = picture.size
    image = f'<img src="data:image/jpeg;base64,{data}" width="{wide}" height="{high}" alt="{escape(picture.caption)}">'
    return f"<figure>{image}<figcaption>{escape(picture.caption)}</figcaption></figure>"


def _html_step(findings: tuple[Finding, ...]) -> list[str]:
    heads = "".join(f"<th>{head}</th>" for head in ("", "asked", "answered", "what holds", "how"))
    rows = [f"<table><tr>{heads}</tr>"]
    for f in findings:
        right = "as answered" if f.holds else f.right
        cells = (str(f.number), _short(f.asked), f.said or "–", right, _how(f))
        rows.append(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in cells)}</tr>")
    rows.append("</table>")
    told = [f for f in findings if not f.holds]
    if told:
        items = (f"<li>{f.number}: {escape(sentence(f.decides))} {escape(f.why_not)}</li>" for f in told)
        rows += ["<ul>", *items, "</ul>"]
    return rows


def _write(path: Path, data: bytes) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, data, again=True)
    except OSError as error:
        raise LayoutdrillError(
            f"cannot be written ({error.strerror})", where=Where(str(path)), todo="choose another place"
        ) from None
