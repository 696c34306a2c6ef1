"""How a picture is taken by a microscope, and how finely it is drawn for that."""

from collections.abc import Collection

from layoutdrill.picture.die import PERFECT, Die
from layoutdrill.picture.looks import Look
from layoutdrill.picture.objectives import Objective
from layoutdrill.picture.stages import Stage
from layoutdrill.picture.view import View
from layoutdrill.value import value


@value
class Shot:
    """
    How a picture is taken. `seed` chooses the lot (film thicknesses, grain, dust); `wear` goes from 0 (textbook) to 1
    (attic); `hidden` are the mask layers that have been taken off. `die` is how its masks lie (see `die_of`); `aid`
    puts the tracing aid on, which below 2 pixels per λ is always on and from 4 always off. Without an `objective` each
    scale has the one that suits it. `stage` is how far the die has been taken apart (see `stages`); without one it lies
    under a glass too thin to matter, which may be cracked.
    """

    look: Look
    view: View
    seed: int = 0
    wear: float = 0.0
    hidden: Collection[str] = frozenset()
    die: Die = PERFECT
    aid: bool = False
    objective: Objective | None = None
    stage: Stage | None = None


def factor_for(pixels_per_lambda: float) -> int:
    """Return how much larger than the view a picture is drawn, to be averaged over."""
    return 3 if pixels_per_lambda < 3 else 2 if pixels_per_lambda < 8 else 1
