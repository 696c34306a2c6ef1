"""Layout to picture: the one door, whatever the look."""

from PIL import Image

from layoutdrill.layout.model import Layout
from layoutdrill.picture.aid import aided
from layoutdrill.picture.die import PERFECT, Die
from layoutdrill.picture.looks import Look, Style
from layoutdrill.picture.microscope import Shot, photograph
from layoutdrill.picture.objectives import Objective
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
    die: Die = PERFECT,
    aid: bool = False,
    objective: Objective | None = None,
) -> Image.Image:
    """
    Return the picture of a layout in RGB, of the view's size.

    `seed` chooses the lot (film thicknesses, grain, dust); `wear` goes from 0 (textbook) to 1 (attic); `hidden` names
    mask layers that have been taken off. `die` is how its masks lie (see `die_of`); `aid` puts the tracing aid on,
    which below 2 pixels per λ is always on and from 4 always off. Without an `objective` each scale has the one that
    suits it. The same arguments give the same pixels.
    """
    if look.style in (Style.FLAT, Style.HATCHED):
        return paint(layout, process, look, view, hidden)
    aid = aided(process, view.pixels_per_lambda, wanted=aid)
    return photograph(layout, process, Shot(look, view, seed, wear, hidden, die, aid, objective))
