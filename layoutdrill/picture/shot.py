"""How a picture is taken by a microscope, and how finely it is drawn for that."""

from collections.abc import Collection

from layoutdrill.picture.die import Die
from layoutdrill.picture.looks import Look
from layoutdrill.picture.objectives import Objective
from layoutdrill.picture.stages import Stage
from layoutdrill.picture.view import View
from layoutdrill.value import value


@value
class Shot:
    """
    How a picture is taken. `seed` chooses the lot and the dirt, `wear` goes from 0 to 1, `aid` puts the tracing aid on;
    `hidden` are the mask layers taken off, and `stage` how far the die has been; without an `objective` the one that
    suits the scale is used.
    """

    look: Look
    view: View
    seed: int
    wear: float
    hidden: Collection[str]
    die: Die
    aid: bool
    objective: Objective | None
    stage: Stage | None = None


def factor_for(pixels_per_lambda: float) -> int:
    """Return how much larger than the view a picture is drawn, to be averaged over."""
    return 3 if pixels_per_lambda < 3 else 2 if pixels_per_lambda < 8 else 1
