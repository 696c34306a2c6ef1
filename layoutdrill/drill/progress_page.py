"""Show what has been learned: as lines for a terminal, as JSON, and as one HTML page to keep that loads nothing."""

import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from html import escape

from layoutdrill.drill.kept_page import page, table
from layoutdrill.errors import plural
from layoutdrill.learning.progress import LessonRow, Progress, SkillRow
from layoutdrill.learning.shares import Share
from layoutdrill.learning.wording import confusion_name, named

_BAR = 10
_TITLE, _SKILL = 28, 38
"""Characters for a lesson's title, and for a skill's name."""
NO_SKILL = "no skill of its own: more of those before it"
STATES = (
    "mastered: 3 of the last 4 right and in time, on 3 days, and after a week;",
    "held: right unaided on the last 2 days it was asked; due: asked again today;",
    "weak: under 6 in 10 of late; coming on: the others",
)
"""What the states of skills mean."""


def progress_lines(progress: Progress, titles: Mapping[int, str]) -> list[str]:
    """Return lines 79 wide at most; `titles` are the lessons' by number."""
    if not progress.answers:
        return ["Nothing has been answered yet. Begin with the first lesson; then there is “layoutdrill today”."]
    lines = [f"{plural(progress.answers, 'answer')} on {plural(progress.days, 'day')}", "", "along the syllabus"]
    rows = {lesson.lesson: f"{lesson_bar(lesson)} {come(lesson)}, {lesson.begun} begun" for lesson in progress.lessons}
    for number in sorted({*titles, *rows}):
        title = titles.get(number, f"lesson {number}")
        lines.append(f"  {column(title, _TITLE)} {rows.get(number, NO_SKILL)}")
    begun = [row for row in progress.skills if row.state != "not begun"]
    lines += ["", "by skill: right unaided on new pictures (95 % range), median time"]
    for row in sorted(begun, key=lambda row: (not row.share.asked, row.share.part, row.key)):
        lines.append(f"  {column(named(row.key), _SKILL)} {figures(row.share):22} {_time(row):>4} {row.state}")
    lines += [f"  {words}" for words in STATES]
    if progress.confusions:
        lines += ["", "taken for something else"]
        lines += [
            f"  {confusion_name(each.group, each.true, each.said)}: {each.count}" for each in progress.confusions[:10]
        ]
    if progress.calibration:
        lines += ["", "how sure, and how right"]
        lines += [f"  {share.name:12} {figures(share)}" for share in progress.calibration]
    if progress.carried:
        lines += ["", "what carries over to the decks kept for checking (practice in the two weeks before)"]
        lines += [
            f"  {each.at:%Y-%m-%d} {column(each.title, 24)} {figures(each.share):24} practice {figures(each.practice)}"
            for each in progress.carried
        ]
    if progress.weakest:
        lines += ["", "what to do next"]
        lines += [f"  {named(advice.key)}: {advice.words}" for advice in progress.weakest]
    return lines


def column(text: str, width: int) -> str:
    """Return a text as wide as its column, with … where it goes on."""
    return (text if len(text) <= width else f"{text[: width - 1].rstrip()}…").ljust(width)


def lesson_bar(lesson: LessonRow) -> str:
    """Return a bar of ten characters: full for the mastered, half full for the held."""
    full = round(lesson.mastered / lesson.skills * _BAR)
    half = round((lesson.mastered + lesson.held) / lesson.skills * _BAR) - full
    return "█" * full + "▒" * half + "░" * (_BAR - full - half)


def come(lesson: LessonRow) -> str:
    """Say how many of a lesson's skills are mastered, and how many held besides."""
    return f"{lesson.mastered} of {lesson.skills} mastered" + (f", {lesson.held} held" if lesson.held else "")


def figures(share: Share) -> str:
    """Return a share in words, with its range."""
    low, high = share.interval
    return f"{share.right} of {share.asked} ({low:.0%} to {high:.0%})" if share.asked else "not yet unaided"


def _time(row: SkillRow) -> str:
    return f"{row.seconds:.0f} s" if row.seconds else ""


def progress_json(progress: Progress) -> str:
    def plain(value: object) -> str:
        if isinstance(value, datetime):
            return value.isoformat()
        raise TypeError(type(value).__name__)

    return json.dumps(asdict(progress), ensure_ascii=False, indent=1, default=plain) + "\n"


def progress_html(progress: Progress, titles: Mapping[int, str]) -> str:
    """Return one page that stands alone."""
    parts = [f"<p>{plural(progress.answers, 'answer')} on {plural(progress.days, 'day')}.</p>"]
    parts += table(
        "Along the syllabus",
        ("lesson", "mastered", "held", "begun", "skills", ""),
        [
            (titles.get(row.lesson, str(row.lesson)), str(row.mastered), str(row.held), str(row.begun), str(row.skills),
             row.mastered / row.skills)
            for row in progress.lessons
        ],
    )  # fmt: skip
    begun = [row for row in progress.skills if row.state != "not begun"]
    parts += table(
        "By skill",
        ("skill", "right unaided, on new pictures", "median time", "state", ""),
        [(named(row.key), figures(row.share), _time(row), row.state, row.share.part) for row in begun],
    )
    if progress.confusions:
        confused = [(confusion_name(each.group, each.true, each.said), str(each.count)) for each in progress.confusions]
        parts += table("Taken for something else", ("", "times"), confused)
    if progress.calibration:
        sure = [(share.name, figures(share), share.part) for share in progress.calibration]
        parts += table("How sure, and how right", ("", "right", ""), sure)
    if progress.carried:
        over = [
            (f"{each.at:%Y-%m-%d}", each.title, figures(each.share), figures(each.practice), each.share.part)
            for each in progress.carried
        ]
        parts += table("What carries over", ("", "kept for checking", "right", "practice before", ""), over)
    if progress.weakest:
        parts.append("<h2>What to do next</h2><ul>")
        parts += [f"<li><b>{escape(named(each.key))}</b>: {escape(each.words)}</li>" for each in progress.weakest]
        parts.append("</ul>")
    return page("Progress", parts)
