"""The pictures of a survey's report: the die with what was found on it, and the part that was read in full."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import lru_cache
from io import BytesIO

from PIL import Image, ImageDraw, ImageFont

from layoutdrill.drill.survey import LINES, PLAN, SUPPLIES
from layoutdrill.drill.survey_findings import Finding, Survey
from layoutdrill.face import Face, Light, face_again
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from layoutdrill.question import kinds
from layoutdrill.question.block.key import BlockKey
from layoutdrill.value import value

WIDEST = 1000
"""Pixels that a picture of a whole die has at most, each way."""
_PART_SCALE = 6.0
_PART_WIDEST = 1400
_QUALITY = 85
_BRIGHT, _DARK, _WRONG = (255, 240, 150), (24, 16, 40), (255, 120, 90)
LOOK = "reflected-light"


@value
class ReportPicture:
    """A picture as JPEG, the name of its file, and what it shows."""

    name: str
    caption: str
    data: bytes
    size: tuple[int, int]


@value
class _Spot:
    """Something to be drawn on the die: a place or a field, what it is, and whether it was found there."""

    rect: Rect
    text: str
    holds: bool


def pictures_of(survey: Survey) -> dict[str, ReportPicture]:
    """Return a picture for each step that has something to be shown, by the step."""
    pictures: dict[str, ReportPicture] = {}
    for step, name, caption in (
        (
            SUPPLIES,
            "pads",
            "The pads asked about: framed and named where found, crossed where taken for something else.",
        ),
        (PLAN, "plan", "The plan as found: each part framed and named; a cross where it was looked for and is not."),
        (LINES, "lines", "Where the lines asked about lie; framed and named by the question's number."),
    ):
        whole = [finding for finding in survey.of_step(step) if finding.answer.kind == "block"]
        if whole:
            pictures[step] = _die(whole, name, caption)
    for step in dict.fromkeys(finding.step for finding in survey.findings):
        part = next((f for f in survey.of_step(step) if f.answer.kind not in ("block", "board log")), None)
        if part is not None and step not in pictures:
            pictures[step] = _part(part, f"part-{len(pictures) + 1}")
    return pictures


def _face(finding: Finding) -> Face:
    return _face_again(finding.answer.layout, finding.answer.process)


@lru_cache(maxsize=4)
def _face_again(text: str, process: str) -> Face:
    """Read a face anew, once for all pictures that show it."""
    return face_again(text, load_process(process))


def _light(finding: Finding) -> Light:
    answer = finding.answer
    return Light(load_look(answer.look or LOOK), answer.drawing_seed or 0, answer.wear)


def _die(findings: Sequence[Finding], name: str, caption: str) -> ReportPicture:
    """Draw the whole die with what was found on it."""
    face, light = _face(findings[0]), _light(findings[0])
    box = face.box.grown(10 * face.unit.per)
    scale = min(1.0, WIDEST * face.unit.per / max(box.width, box.height))
    view = View(box, scale)
    image = face.image(view, replace(light, scale=scale)).convert("RGB")
    draw = ImageDraw.Draw(image)
    for spot in (spot for finding in findings for spot in _spots(finding)):
        _frame(draw, face, view, spot)
    return ReportPicture(f"{name}.jpg", caption, _jpeg(image), image.size)


def _spots(finding: Finding) -> Iterable[_Spot]:
    key = kinds()["block"].read_key(_key(finding))
    assert isinstance(key, BlockKey)
    point = finding.answer.point
    text = f"{finding.number} {key.right.split(':')[0].removeprefix('the ')}" if key.what in ("where", "pad") else ""
    if key.what == "supplies":
        text = f"{finding.number} supply"
    rects = [*key.areas] if key.what == "where" else []
    if point is not None and finding.holds:  # of several that are right, the one that was found
        rects = sorted(rects, key=lambda rect: max(abs(point[0] - rect.centre[0]), abs(point[1] - rect.centre[1])))[:1]
    rects = rects or [
        Rect(x - 1, y - 1, x + 1, y + 1).grown(12) for x, y in key.places[: 2 if key.what == "supplies" else 1]
    ]
    yield from (_Spot(rect, text or str(finding.number), finding.holds) for rect in rects[:4])
    if point is not None and not finding.holds:
        yield _Spot(
            Rect(point[0], point[1], point[0] + 1, point[1] + 1), f"{finding.number} looked for here", holds=False
        )


def _key(finding: Finding) -> dict[str, object]:
    key = finding.answer.question["key"]
    assert isinstance(key, dict)
    return key


def _frame(draw: ImageDraw.ImageDraw, face: Face, view: View, spot: _Spot) -> None:
    """Frame a place, bright beside dark; cross it in its middle where it was not found."""
    x0, y1 = view.to_pixel(face.process, spot.rect.x0, spot.rect.y0)
    x1, y0 = view.to_pixel(face.process, spot.rect.x1, spot.rect.y1)
    x0, y0, x1, y1 = min(x0, x1 - 6), min(y0, y1 - 6), max(x1, x0 + 6), max(y1, y0 + 6)
    ink = _BRIGHT if spot.holds else _WRONG
    draw.rectangle((x0 - 2, y0 - 2, x1 + 2, y1 + 2), outline=_DARK, width=4)
    draw.rectangle((x0 - 1, y0 - 1, x1 + 1, y1 + 1), outline=ink, width=2)
    if not spot.holds:
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        for colour, width in ((_DARK, 5), (ink, 2)):
            draw.line((x - 9, y - 9, x + 9, y + 9), fill=colour, width=width)
            draw.line((x - 9, y + 9, x + 9, y - 9), fill=colour, width=width)
    font = ImageFont.load_default(15)
    wide = draw.textlength(spot.text, font)
    left = max(2.0, min(x0, draw.im.size[0] - wide - 8))
    top = y0 - 22 if y0 > 24 else y1 + 4
    draw.rectangle((left, top, left + wide + 6, top + 19), fill=_DARK)
    draw.text((left + 3, top + 1), spot.text, fill=ink, font=font)


def _part(finding: Finding, name: str) -> ReportPicture:
    """Draw the part that was read in full, its transistors numbered."""
    face, light = _face(finding), _light(finding)
    box = face.box.grown(2 * face.unit.per)
    scale = min(_PART_SCALE, _PART_WIDEST * face.unit.per / max(box.width, box.height))
    view, light = View(box, scale), replace(light, scale=scale)
    image = face.marked(face.image(view, light), view, light, devices_overlay(face.extraction)).convert("RGB")
    caption = "The part that was cut out of this die and read in full, its transistors numbered."
    return ReportPicture(f"{name}.jpg", caption, _jpeg(image), image.size)


def _jpeg(image: Image.Image) -> bytes:
    stream = BytesIO()
    image.save(stream, "JPEG", quality=_QUALITY)
    return stream.getvalue()
