"""The face of what is shown: all that questions, screens, plain mode and records may know of it."""

from collections.abc import Collection
from typing import Protocol

from PIL import Image

from layoutdrill.extract.model import Extraction
from layoutdrill.face.lettered import Letters
from layoutdrill.face.scene import Scene
from layoutdrill.face.unit import Unit
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.evidence import PIXELS_PER_LAMBDA, Fact
from layoutdrill.picture.looks import Look
from layoutdrill.picture.overlay import Overlay
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class Light:
    """
    How a face is looked at: the look, the lot (`seed`) and its `wear` from 0 to 1, and the layers that are `lifted`
    off, of those that `Face.layers` names. `aid` puts the tracing aid on; `objective` is "" for the one that
    suits; `stage` how far the die has been taken apart, "" where it has not;
    `scale` (pixels per λ) counts in what is shown, the picture's own being that of its view.
    """

    look: Look
    seed: int = 0
    wear: float = 0.0
    lifted: frozenset[str] = frozenset()
    aid: bool = False
    objective: str = ""
    stage: str = ""
    scale: float = PIXELS_PER_LAMBDA


class Face(Protocol):
    """
    One thing to look at and to be asked about. Places are in grid units; `unit` says how they are told and typed.

    `process` is the one that the die was made in: its supplies, its kinds of transistor, its words. `extraction` is
    what can be read, and where it lies; `scene` the sights made of it. Nobody above this room asks how the face came
    to be. Two faces are equal only where they are one.
    """

    def __hash__(self) -> int: ...

    @property
    def name(self) -> str: ...

    @property
    def process(self) -> Process: ...

    @property
    def unit(self) -> Unit: ...

    @property
    def box(self) -> Rect:
        """Return the extent; of an empty face one unit of nothing."""
        ...

    @property
    def extraction(self) -> Extraction: ...

    @property
    def scene(self) -> Scene: ...

    @property
    def layers(self) -> tuple[str, ...]:
        """Return what can be lifted off, topmost first."""
        ...

    @property
    def metal(self) -> frozenset[str]:
        """Return those of the layers that go with the metal."""
        ...

    @property
    def follows_light(self) -> bool:
        """Tell whether look, wear and tracing aid change the picture; those of a file are what they are."""
        ...

    def image(self, view: View, light: Light) -> Image.Image:
        """Return the picture of a view in RGB, of the view's size."""
        ...

    def seen_at(self, light: Light, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:
        """Return where one sees what lies at a point: masks are a little out of line on every die."""
        ...

    def meant_at(self, light: Light, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:
        """Return the place that is meant by a point of the picture."""
        ...

    def stitched_at(self, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:
        """Return where a place lies on a picture that was stitched, whatever the light: else where it lies."""
        ...

    def shown_part(self, place: Rect) -> Rect | None:
        """Return the part of a place that the picture shows as it lies there; None where it shows nothing of it."""
        ...

    def followed(self, overlay: Overlay, light: Light) -> Overlay:
        """Return an overlay whose points lie where one sees what they mark."""
        ...

    def marked(self, image: Image.Image, view: View, light: Light, overlay: Overlay) -> Image.Image:
        """Return a picture of this face with an overlay on it that follows what is seen."""
        ...

    def shows(self, light: Light, wanted: Collection[Fact] | None = None) -> frozenset[Fact]:
        """Return the facts, of those that are wanted, that can be read from the picture in a light."""
        ...

    def is_clear(self, light: Light, x: GridUnits, y: GridUnits) -> bool:
        """Tell whether a place is clear of dust, so that a question may point at it."""
        ...

    def shades(self, light: Light) -> tuple[str, ...]:
        """Return what must be told of a picture where nothing but a shade tells n from p: which is the lighter."""
        ...

    def text(self) -> str:
        """Return the canonical text from which `face_again` makes the same face, years later and elsewhere."""
        ...

    def grid_lines(self, lifted: frozenset[str] = frozenset(), letters: Letters | None = None) -> list[str]:
        """Tell the face in plain text as a grid of letters, without what is lifted; `letters` given before hold."""
        ...

    def shape_lines(self) -> list[str]:
        """Tell the face in plain text as a list of shapes and where they lie."""
        ...

    def meeting_lines(self) -> list[str]:
        """Tell in plain text where shapes meet."""
        ...

    def at_point(self, x: GridUnits, y: GridUnits) -> str:
        """Tell what lies at a point, topmost first, in words that give no device away."""
        ...
