"""Layout to picture: the one door, whatever the look."""

from PIL import Image

from layoutdrill.layout.model import Layout
from layoutdrill.picture.aid import aided
from layoutdrill.picture.die import PERFECT, Die
from layoutdrill.picture.looks import Look, Style
from layoutdrill.picture.microscope import photograph
from layoutdrill.picture.objectives import Objective
from layoutdrill.picture.painted import paint
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.stages import Stage, taken_off
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
    stage: Stage | None = None,
) -> Image.Image:
    """
    Return the picture of a layout in RGB, of the view's size.

    `seed` chooses the lot (film thicknesses, grain, dust); `wear` goes from 0 (textbook) to 1 (attic); `hidden` names
    mask layers that have been taken off. `die` is how its masks lie (see `die_of`); `aid` puts the tracing aid on,
    which below 2 pixels per λ is always on and from 4 always off. Without an `objective` each scale has the one that
    suits it. `stage` is how far the die has been taken apart (see `stages`); without one it
    lies under a glass too thin to matter, which may be cracked. The same arguments give the same pixels.
    """
    gone = taken_off(process, stage) if stage is not None else frozenset()
    if look.style in (Style.FLAT, Style.HATCHED):
        return paint(layout, process, look, view, hidden | gone)
    aid = aided(process, view.pixels_per_lambda, wanted=aid)
    return photograph(layout, process, Shot(look, view, seed, wear, hidden | gone, die, aid, objective, stage))
