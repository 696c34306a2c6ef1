"""Layout to picture: the one door, whatever the look."""

from PIL import Image

from layoutdrill.layout.model import Layout
from layoutdrill.picture.looks import Look, Style
from layoutdrill.picture.microscope import photograph
from layoutdrill.picture.painted import paint
from layoutdrill.picture.view import View
from layoutdrill.process import Process


def render(
    layout: Layout,
    process: Process,
    look: Look,
    view: View,
    *,
    seed: int = 0,
    wear: float = 0.0,
    hidden: frozenset[str] = frozenset(),
) -> Image.Image:
    """
    Return the picture of a layout in RGB, of the view's size.

    `seed` chooses the lot (film thicknesses, grain, dust); `wear` goes from 0 (clean) to 1 (battered); `hidden` names
    mask layers that have been lifted off. The same arguments give the same pixels.
    """
    if look.style in (Style.FLAT, Style.HATCHED):
        return paint(layout, process, look, view, hidden)
    return photograph(layout, process, look, view, seed, wear, hidden)
