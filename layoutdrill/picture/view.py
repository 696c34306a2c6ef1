"""A view: which part of a layout is looked at, and how large."""

from dataclasses import dataclass, replace

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.process import Process

ZOOMS = (1, 2, 3, 4, 6, 8, 12, 16, 24)
"""Pixels per λ that the zoom keys step through: whole numbers, so that every λ has the same width."""

EMPTY = Rect(0, 0, 1, 1)


@dataclass(frozen=True, slots=True)
class View:
    """
    A region in grid units at `pixels_per_lambda`, its upper left corner at the image's upper left.

    `columns` and `rows` give the image's size in pixels; where they are 0 it follows from the region. In the
    terminal a pixel is a half-block: one column wide, half a row high.
    """

    region: Rect
    pixels_per_lambda: float
    columns: int = 0
    rows: int = 0

    @staticmethod
    def whole(layout: Layout, process: Process, pixels_per_lambda: float, margin: float = 2) -> "View":
        """Return a view of all that is drawn, with `margin` λ of ground round it."""
        box = (layout.box or EMPTY).grown(round(margin * process.grid_per_lambda))
        return View(box, pixels_per_lambda)

    @staticmethod
    def opening(layout: Layout, process: Process, columns: int, rows: int, margin: float = 2) -> "View":
        """
        Return the first view of a layout on `columns` × `rows` pixels (`rows` counts half-blocks).

        The largest whole number of pixels per λ at which all is seen, never below 1: there contacts vanish, so a
        larger drawing opens on its middle.
        """
        if columns < 1 or rows < 1:
            raise LayoutdrillError("the picture has no room", todo="make the window larger")
        unit = process.grid_per_lambda
        box = (layout.box or EMPTY).grown(round(margin * unit))
        fitting = [z for z in ZOOMS if box.width * z <= columns * unit and box.height * z <= rows * unit]
        return View(EMPTY, max(fitting, default=1), columns, rows).centred(process, *box.centre)

    def size(self, process: Process) -> tuple[int, int]:
        """Return the image's columns and rows."""
        scale = self.scale(process)
        return (
            self.columns or max(1, round(self.region.width * scale)),
            self.rows or max(1, round(self.region.height * scale)),
        )

    def scale(self, process: Process) -> float:
        """Return the pixels in one grid unit."""
        return self.pixels_per_lambda / process.grid_per_lambda

    def centred(self, process: Process, x: int, y: int) -> "View":
        """Move the middle to a point, snapped so that layout and pixels stay aligned."""
        columns, rows = self.size(process)
        unit = process.grid_per_lambda / self.pixels_per_lambda
        x0 = _snapped(x - columns * unit / 2, process.grid_per_lambda)
        y1 = _snapped(y + rows * unit / 2, process.grid_per_lambda)
        region = Rect(x0, y1 - max(1, round(rows * unit)), x0 + max(1, round(columns * unit)), y1)
        return View(region, self.pixels_per_lambda, columns, rows)

    def panned(self, process: Process, right: int, up: int) -> "View":
        """Move by whole λ."""
        unit = process.grid_per_lambda
        return replace(self, region=self.region.moved(right * unit, up * unit))

    def zoomed(self, process: Process, steps: int, about: tuple[int, int] | None = None) -> "View":
        """Step through ZOOMS, keeping the size in pixels and the point `about` (else the middle) in its place."""
        nearest = min(range(len(ZOOMS)), key=lambda i: abs(ZOOMS[i] - self.pixels_per_lambda))
        zoom = ZOOMS[max(0, min(len(ZOOMS) - 1, nearest + steps))]
        columns, rows = self.size(process)
        cx, cy = self.region.centre
        if about is not None:
            ratio = self.pixels_per_lambda / zoom
            cx = round(about[0] + (cx - about[0]) * ratio)
            cy = round(about[1] + (cy - about[1]) * ratio)
        return View(self.region, zoom, columns, rows).centred(process, cx, cy)

    def to_pixel(self, process: Process, x: float, y: float) -> tuple[float, float]:
        """Return column and row (fractions) of a point in grid units."""
        scale = self.scale(process)
        return (x - self.region.x0) * scale, (self.region.y1 - y) * scale

    def to_grid(self, process: Process, column: float, row: float) -> tuple[int, int]:
        """Return the grid point nearest to a place on the image."""
        scale = self.scale(process)
        return round(self.region.x0 + column / scale), round(self.region.y1 - row / scale)

    def tolerance(self, process: Process) -> int:
        """Return how far (grid units) a pointed place may be off: one pixel, and at least half a λ."""
        return max(1, round(process.grid_per_lambda * max(0.5, 1 / self.pixels_per_lambda)))


def _snapped(value: float, unit: int) -> int:
    return round(value / unit) * unit
