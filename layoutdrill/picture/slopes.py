"""
How dark a step is: the light that its slope sends past the lens, as tables from a difference in height to a loss.

Bright field is coaxial: a step is dark on whichever side the light falls, and flat metal is as bright in a pit as on a
hill. A film laid conformally over a step of height h rounds it like a ball of the film's thickness t rolled over it,
so its top runs along an arc: from where the slope begins to lose light, t sin α from the upper edge, to where the arc
meets the lower level, √(2th − h²) from it (t where the step is higher than the film is thick). A step in the oxide is
as wet etching leaves it, near 50° (common practice).
"""

import math
from functools import lru_cache

from layoutdrill.picture.objectives import Objective

OXIDE_ANGLE = math.radians(50)
"""The slope of an etched edge of oxide (common practice: 45° and up for wet etching)."""

METAL_ANGLE = math.radians(55)
"""The flank of a wet-etched metal line: no dark line in metal is wider than its own edge's (common practice)."""

OWN_EDGE = 0.9
"""The part of its thickness from which a step in a film is taken for the film's own edge, all flank."""
OXIDE_SHARE = 0.55
"""The part of the slope's loss that counts where light comes back from below a clear film too: a guess."""


def line_of_film(step: float, thick: float, objective: Objective) -> float:
    """Return the width in µm of the dark line over a step, both in µm, below a film `thick` µm thick."""
    if step <= 0:
        return 0.0
    if step >= OWN_EDGE * thick:
        return thick / math.tan(METAL_ANGLE)
    reach = math.sqrt(2 * thick * step - step * step) if step < thick else thick
    rounded = reach - thick * math.sin(objective.steepest(0.5))
    return max(0.0, min(rounded, thick / math.tan(METAL_ANGLE)))


def line_of_edge(step: float) -> float:
    """Return the width in µm of the dark line at an etched step of bare oxide."""
    return max(0.0, step) / math.tan(OXIDE_ANGLE) * OXIDE_SHARE


@lru_cache(maxsize=256)
def loss_of_film(unit: float, pixel: float, away: int, thick: float, objective: Objective) -> list[int]:
    """
    Return the loss (0 to 255) of metal for each difference in height between the pixels on both sides of one.

    Heights come in `unit` nm, a pixel is `pixel` µm; `away` is 0 for the two pixels that see the step, 1 for the next
    one at either side, and so on; `thick` µm is the metal.
    """
    return [_loss(line_of_film(v * unit / 1000, thick, objective) / pixel, away) for v in range(256)]


@lru_cache(maxsize=64)
def loss_of_edge(unit: float, pixel: float, away: int) -> list[int]:
    """Return the same of bare oxide."""
    return [_loss(line_of_edge(v * unit / 1000) / pixel, away) for v in range(256)]


def _loss(width: float, away: int) -> int:
    """Fill the two pixels that see the step with a dark line (its width in pixels), then those beside them."""
    return round(255 * min(1.0, max(0.0, width - 2 * away) / 2))
