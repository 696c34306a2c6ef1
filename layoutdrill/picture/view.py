"""A view: which part of a layout is drawn, and how large. Looking about (pan, zoom) is the business of the screens."""

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.process import Process
from layoutdrill.value import value

EMPTY = Rect(0, 0, 1, 1)


@value
class View:
    """
    A region in grid units at `pixels_per_lambda`, its upper left corner at the image's upper left.

    In the terminal a pixel is a half-block: one column wide, half a row high.
    """

    region: Rect
    pixels_per_lambda: float

    @staticmethod
    def whole(layout: Layout, process: Process, pixels_per_lambda: float, margin: float = 2) -> "View":
        """Return a view of all that is drawn, with `margin` λ of ground round it."""
        box = (layout.box or EMPTY).grown(round(margin * process.grid_per_lambda))
        return View(box, pixels_per_lambda)

    def size(self, process: Process) -> tuple[int, int]:
        """Return the image's columns and rows."""
        scale = self.scale(process)
        return max(1, round(self.region.width * scale)), max(1, round(self.region.height * scale))

    def scale(self, process: Process) -> float:
        """Return the pixels in one grid unit."""
        return self.pixels_per_lambda / process.grid_per_lambda

    def to_pixel(self, process: Process, x: float, y: float) -> tuple[float, float]:
        """Return column and row (fractions) of a point in grid units."""
        scale = self.scale(process)
        return (x - self.region.x0) * scale, (self.region.y1 - y) * scale
