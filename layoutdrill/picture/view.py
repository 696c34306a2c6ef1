"""A view: which part of a layout is looked at, and how large."""

from dataclasses import dataclass

from layoutdrill.geometry.rect import Rect


@dataclass(frozen=True, slots=True)
class View:
    """
    A region in grid units at `pixels_per_lambda`; an image has `region.width × scale` columns.

    In the terminal a pixel is a half-block: one column wide, half a row high.
    """

    region: Rect
    pixels_per_lambda: float
