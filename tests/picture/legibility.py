"""Measure how well a look tells apart what looks alike; for tests, benchmarks, and authors of looks."""

from collections.abc import Callable

from PIL import Image, ImageStat

from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.colour import RGB
from layoutdrill.picture.looks import Look
from layoutdrill.picture.perception import as_seen, lightness
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.value import value
from tests.picture.lookalikes import look_alikes


@value
class Legibility:
    """Differences in L*: a transistor from a crossing, a contact from a crossing, two contacts from their gap."""

    transistor: float
    contact: float
    pair: float

    @property
    def enough(self) -> bool:
        """Tell whether a reader can work with it: 20, 26 and 24."""
        return self.transistor >= 20 and self.contact >= 26 and self.pair >= 24


def legibility(
    look: Look,
    process: Process,
    pixels_per_lambda: float,
    sight: str,
    *,
    kind: str = "",
    seed: int = 0,
    wear: float = 0.0,
    shown: Callable[[Image.Image], Image.Image] | None = None,
) -> Legibility:
    """
    Return what one of SIGHTS sees of the look-alikes (of one kind, n or p) at a zoom; `shown` says what a terminal
    makes of a picture.
    """
    drawn = look_alikes(process, kind)
    view = View.whole(drawn.layout, process, pixels_per_lambda)
    image = render(drawn.layout, process, Shot(look, view, seed=seed, wear=wear))
    image = image if shown is None else shown(image)

    def tone(rect: Rect) -> float:
        left, top = view.to_pixel(process, rect.x0, rect.y1)
        right, low = view.to_pixel(process, rect.x1, rect.y0)
        return lightness(as_seen(mean_colour(image, (left, top, right, low)), sight))

    crossing = tone(drawn.crossing)
    return Legibility(
        transistor=abs(tone(drawn.transistor) - crossing),
        contact=abs(tone(drawn.contact) - crossing),
        pair=abs(tone(drawn.pair[0]) - tone(drawn.between)),
    )


def mean_colour(image: Image.Image, box: tuple[float, float, float, float]) -> RGB:
    """Return the mean colour of a box of pixels, at least one pixel wide."""
    left, top, right, low = (round(v) for v in box)
    r, g, b = ImageStat.Stat(image.crop((left, top, max(right, left + 1), max(low, top + 1)))).mean
    return round(r), round(g), round(b)
