"""Tell a deck's pages in plain text: what they say, and when asked for, their pictures as lettered grids."""

from collections.abc import Iterator
from dataclasses import replace
from textwrap import wrap

from layoutdrill.deck import Arrangement, Page, Picture
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.drill.plain_die import overview_lines
from layoutdrill.drill.plain_hints import hint_lines, net_lines
from layoutdrill.drill.visited import Visited, is_large
from layoutdrill.face import DrawnFace
from layoutdrill.face.lettered import WIDTH, Letters
from layoutdrill.picture.dirt_seen import seen_dirt
from layoutdrill.picture.looks import PHOTOGRAPHIC, load_look
from layoutdrill.picture.stages import Stage, taken_off
from layoutdrill.question import HintStep, Specimen

MOST_DIRT = 10
"""Pieces of dirt told of one picture."""
_DIRT = {"crumb": "a crumb", "hair": "a hair", "scratch": "a scratch", "crack": "a crack in the glass"}
MOST_LINES = 90
"""A layout told in more lines than this waits to be asked for."""


def page_lines(
    page: Page,
    number: int,
    total: int,
    maker: SpecimenMaker | None = None,
    letters: Letters | None = None,
    before: dict[Picture, str] | None = None,
) -> Iterator[str]:
    """Return a page's lines; with a maker, its pictures are drawn and told too, in the `letters` given before."""
    yield ""
    yield from wrap(f"Page {number} of {total}: {page.title}", WIDTH)
    for paragraph in page.text.split("\n\n"):
        yield ""
        yield from wrap(paragraph, WIDTH)
    yield from drawing_lines(page, maker, letters, before, number)


def drawing_lines(
    page: Page,
    maker: SpecimenMaker | None,
    letters: Letters | None = None,
    before: dict[Picture, str] | None = None,
    number: int = 0,
) -> Iterator[str]:
    """
    Return what a page's pictures are called, and with a maker what they show. Of one shown `before` only its place is
    told; what is shown now is added there, with the page's `number`.
    """
    step = "Step" if page.arrangement is Arrangement.BUILD_UP else "Picture"
    for place, picture in enumerate(page.pictures, 1):
        if picture.caption:
            yield ""
            yield from wrap(f"{step} {place}: {picture.caption}", WIDTH)
        if maker is None:
            continue
        plain = replace(picture, caption="", look="", closer=0)
        if before is not None and plain in before:
            yield f"The same drawing as {before[plain]}."
            continue
        if before is not None:
            before[plain] = f"{step.lower()} {place} of page {number}"
        yield from _picture_lines(picture, maker, letters)


def _picture_lines(picture: Picture, maker: SpecimenMaker, letters: Letters | None) -> Iterator[str]:
    specimen = maker.picture(picture)
    hidden = frozenset(specimen.process.layers) - set(picture.layers) if picture.layers else frozenset[str]()
    if picture.stage:
        hidden |= taken_off(specimen.process, Stage(picture.stage))
    face = specimen.face
    if isinstance(face, DrawnFace) and is_large(face.box, face.unit.per):
        yield from overview_lines(face, Visited())[:-2]
        return
    yield from face.grid_lines(hidden, letters)
    yield from _dirt_lines(specimen, picture, picture.look or maker.deck.look)
    if picture.outline is not None:
        yield from hint_lines(picture.outline, specimen)
    yield from _pointed_lines(specimen, picture)


def _pointed_lines(specimen: Specimen, picture: Picture) -> Iterator[str]:
    """Tell what a picture points out, letter by letter, and which nets it outlines."""
    unit, words = specimen.face.unit, dict(picture.pointed)
    if words:
        yield "Places that the text names; their letters are not those of the grid:"
    for letter in dict.fromkeys(mark.letter for mark in specimen.marks):
        at = [unit.axes(mark.x, mark.y) for mark in specimen.marks if mark.letter == letter]
        told = f"{letter} is {_article(words[letter])}{words[letter]}, at {' and '.join(at)}."
        yield from wrap(told, WIDTH, initial_indent="  ", subsequent_indent="    ")
    for net in picture.nets:
        yield from net_lines(specimen, net)


def _article(what: str) -> str:
    """Return the article of what is pointed out; transistors at a net have none."""
    return "" if what.startswith("transistors") else "the " if what.startswith(("defect", "load")) else "a "


def reading_lines(page: Page, maker: SpecimenMaker) -> Iterator[str]:
    """Tell what is to be read on a page's pictures: the transistors of each, as far as they make a circuit."""
    step = "Step" if page.arrangement is Arrangement.BUILD_UP else "Picture"
    for place, picture in enumerate(page.pictures, 1):
        specimen = maker.picture(picture)
        if specimen.netlist.transistors:
            words = " ".join(picture.caption.split())
            told = words if specimen.structure in words else f"{words}: {specimen.structure}".removeprefix(": ")
            yield f"{step} {place}: {told}"
            yield from hint_lines(HintStep.NETLIST, specimen)


def _dirt_lines(specimen: Specimen, picture: Picture, look: str) -> Iterator[str]:
    """Tell the dirt that can be seen on a picture: no layer of the grid is dirt, and no photograph leaves it out."""
    face = specimen.face
    if not isinstance(face, DrawnFace) or picture.wear <= 0 or (way := load_look(look)).style not in PHOTOGRAPHIC:
        return
    dirt = seen_dirt(face.layout, face.process, way, picture.seed, picture.wear)
    if not dirt:
        return
    told = [
        f"{_DIRT[d.what]}{f' of {d.width:.1f} by {d.height:.1f} λ' if d.what == 'crumb' else ''} "
        f"at {face.unit.at(d.x, d.y)}"
        for d in dirt[:MOST_DIRT]
    ]
    more = f"; and {len(dirt) - MOST_DIRT} more" if len(dirt) > MOST_DIRT else ""
    yield from wrap(f"On the photograph lies dirt, which is no layer: {'; '.join(told)}{more}.", WIDTH)
