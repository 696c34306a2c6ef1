"""How a lesson's page lays out its pictures: how many rows a caption takes, and whether two have room abreast."""

from collections.abc import Sequence
from dataclasses import replace
from textwrap import wrap

from layoutdrill.deck.model import Page, Picture
from layoutdrill.drill.visited import is_large
from layoutdrill.picture.looks import PHOTOGRAPHIC, load_look
from layoutdrill.question.model import Specimen
from layoutdrill.screens.focus import BESIDE, focus_of_page
from layoutdrill.screens.lines import unwrapped
from layoutdrill.screens.outlines import MOST_NUMBERS, pointed_at
from layoutdrill.screens.sighting import Focus, starting, whole_first
from layoutdrill.screens.viewport import NEARLY, Viewport, snapped

AIDED = "Aid: deep metal is darker, as on no die."
CLOSER = "+ goes closer."
"""Told where one picture stands alone: it has the room."""
WIDE = 110
"""Columns of a window from which the words beside a picture have WIDE_WORDS of them, and else BESIDE."""
WIDE_WORDS = 46
SIDES = ("left", "right")


def rows_of(text: str, width: int) -> int:
    """Return the rows that a caption takes, whole, at a width."""
    return max(1, len(wrap(text, max(10, width), break_on_hyphens=False)))


def caption_of(picture: Picture, structure: str, *, aid: bool, abreast: bool) -> str:
    """Return what stands below a picture: what it is, and while the tracing aid is on, what that is."""
    words = unwrapped(picture.caption) or (structure if abreast else "")
    if not aid:
        return words
    note = AIDED if abreast else f"{AIDED} {CLOSER}"
    return f"{words}{'' if words.endswith('.') else '.'} {note}" if words else note


def title_of(picture: Picture, specimen: Specimen) -> str:
    """Return what a picture is once it may be told: its caption, and the structure where the caption leaves it out."""
    words = unwrapped(picture.caption)
    if not words or not specimen.structure or specimen.structure in words:
        return words or specimen.structure
    return f"{words}: {specimen.structure}"


def room_of(
    size: tuple[int, int], page: Page, pictures: Sequence[Picture], structures: Sequence[str], *, abreast: bool
) -> tuple[int, int]:
    """
    Return the columns and rows of each picture of a page in a window: words stand beside one, and below two abreast,
    where they take no more than their part; captions are told whole.
    """
    wide = size[0] >= WIDE
    columns = (size[0] - 1) // 2 if abreast else size[0] - (WIDE_WORDS if wide else BESIDE)
    told = [
        caption_of(
            picture, structure, aid=load_look(picture.look or "reflected-light").style in PHOTOGRAPHIC, abreast=abreast
        )
        for picture, structure in zip(pictures, structures, strict=True)
    ]
    told += [unwrapped(picture.caption) for picture in page.pictures]
    rows = size[1] - 2 - max(rows_of(text, columns) for text in told)
    if abreast:
        inside = size[0] - (4 if wide else 2)
        words = sum(rows_of(part, inside) + 1 for part in unwrapped(page.text).split("\n\n"))
        rows -= min(words, size[1] * (40 if wide else 45) // 100)
    return columns, rows


def focus_on(page: Page, picture: Picture, specimen: Specimen) -> Focus:
    """Return what a page's picture must show."""
    said = f"{page.text} {picture.caption}"
    return focus_of_page(said, specimen, picture.closer, pointed_at(picture, specimen))


def readable(specimen: Specimen) -> bool:
    """Tell whether there is a circuit to be read: not on a cut, nor on a die taken apart that shows none."""
    from layoutdrill.face.section import SectionFace  # noqa: PLC0415 - few pictures are sections

    return bool(specimen.netlist.transistors) and not isinstance(specimen.face, SectionFace)


def reading_focus(focus: Focus, specimen: Specimen) -> Focus:
    """Return a focus with the transistors that the table of what is to be read numbers, so that a key leads to each."""
    if not 0 < specimen.netlist.count() <= MOST_NUMBERS:
        return focus
    gates = [rect for t in specimen.netlist.transistors for rect in specimen.extraction.channel(t.name)[:1]]
    return replace(focus, places=tuple(dict.fromkeys((*focus.places, *gates))))


def first_view(room: tuple[int, int], page: Page, picture: Picture, specimen: Specimen) -> Viewport:
    """Return the view in which a page's picture opens, in so many columns and rows."""
    per = specimen.process.grid_per_lambda
    return starting(snapped(specimen.face.box, per), per, *room, focus_on(page, picture, specimen))


def one_at_a_time(
    size: tuple[int, int], page: Page, pictures: Sequence[Picture], specimens: Sequence[Specimen]
) -> bool:
    """
    Tell whether two pictures that are to be compared are seen one at a time, each in the place of the other: where
    abreast too little of either would be in sight. Large drawings, of which an overview comes first, stand abreast.
    """
    if len(pictures) < 2:
        return False
    structures = [specimen.structure for specimen in specimens]
    room, alone = (room_of(size, page, pictures, structures, abreast=abreast) for abreast in (True, False))
    short = False
    for picture, specimen in zip(pictures, specimens, strict=True):
        view, focus = first_view(room, page, picture, specimen), focus_on(page, picture, specimen)
        single = first_view(alone, page, picture, specimen)
        if whole_first(single, focus, specimen.face.box) or is_large(specimen.face.box, view.per_lambda):
            return False
        shown = bool(focus.wanted) and view.shows(focus.wanted[0])
        short = short or not (shown or view.share >= NEARLY)
    return short


def left_off(picture: Picture, specimen: Specimen) -> frozenset[str]:
    """Return the layers that a picture leaves off by itself."""
    return frozenset(specimen.process.layers) - set(picture.layers) if picture.layers else frozenset()


def drawing_of(picture: Picture) -> tuple[str, str, str, int, float]:
    """Return what tells a picture's drawing from others."""
    return picture.cell, picture.decoy, picture.process, picture.seed, picture.difficulty
