"""Layout to picture: the one door, whatever the look."""

from dataclasses import replace

from PIL import Image

from layoutdrill.layout.model import Layout
from layoutdrill.picture.aid import aided
from layoutdrill.picture.looks import Style
from layoutdrill.picture.microscope import photograph
from layoutdrill.picture.painted import paint
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.stages import taken_off
from layoutdrill.process import Process


def render(layout: Layout, process: Process, shot: Shot) -> Image.Image:
    """Return the picture of a layout in RGB, of the view's size. The same arguments give the same pixels."""
    gone = taken_off(process, shot.stage) if shot.stage is not None else frozenset()
    hidden = frozenset(shot.hidden) | gone
    if shot.look.style in (Style.FLAT, Style.HATCHED):
        return paint(layout, process, shot.look, shot.view, hidden)
    aid = aided(process, shot.view.pixels_per_lambda, wanted=shot.aid)
    return photograph(layout, process, replace(shot, hidden=hidden, aid=aid))
