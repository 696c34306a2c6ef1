"""The face of a section: a drawing cut along a line (grid units), looked at from the side."""

from collections.abc import Collection
from functools import cached_property
from textwrap import wrap

from PIL import Image

from layoutdrill.face.drawn import DrawnFace
from layoutdrill.face.lettered import WIDTH, Letters
from layoutdrill.face.model import Light
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.overlay import Overlay
from layoutdrill.picture.section import Section, section_line, section_table
from layoutdrill.picture.view import View
from layoutdrill.units import GridUnits

AUTO = "auto"
REACH = 9
"""λ to both sides of a place that is cut through."""
MARGIN = 3
"""λ of ground at both ends of the line."""


class SectionFace(DrawnFace):
    """A drawing cut along `y` (grid units). What can be read is the drawing's; what is seen is the cut."""

    def __init__(
        self,
        drawn: DrawnFace,
        y: int,
        between: tuple[int, int] | None = None,
        place: tuple[str, int] | None = None,
    ) -> None:
        super().__init__(drawn.layout, drawn.process, drawn.extraction)
        self.y = y
        self.between = between
        self.place = place
        """What was asked about, by its name, and its x."""

    @staticmethod
    def about(drawn: DrawnFace, name: str, x: GridUnits, y: GridUnits, reach: GridUnits = REACH) -> "SectionFace":
        """Cut level through a place that has a name, `reach` λ to both sides of it."""
        aside = reach * drawn.process.grid_per_lambda
        return SectionFace(drawn, y, (x - aside, x + aside), (name, x))

    @staticmethod
    def of_line(drawn: DrawnFace, line: str) -> "SectionFace":
        """Cut along a line given in λ, or where most gates and contacts lie (AUTO)."""
        if line == AUTO:
            return SectionFace(drawn, section_line(drawn.layout, drawn.process, drawn.extraction))
        return SectionFace(drawn, round(float(line) * drawn.process.grid_per_lambda))

    @cached_property
    def _ends(self) -> tuple[int, int]:
        if self.between is not None:
            return self.between
        box = self.layout.box or Rect(0, 0, 1, 1)
        margin = MARGIN * self.process.grid_per_lambda
        return box.x0 - margin, box.x1 + margin

    @cached_property
    def section(self) -> Section:
        return Section(self.layout, self.process, self.y, *self._ends)

    @cached_property
    def box(self) -> Rect:
        return self.section.box

    @cached_property
    def layers(self) -> tuple[str, ...]:
        """Nothing is lifted off a section."""
        return ()

    def image(self, view: View, light: Light) -> Image.Image:  # noqa: ARG002 - a figure has no light
        image = self.section.image(view.region, view.scale(self.process))
        if self.place is not None:
            self.section.point_at(image, view.region, view.scale(self.process), self.place[1])
        return image if image.size == view.size(self.process) else image.resize(view.size(self.process))

    def marked(self, image: Image.Image, view: View, light: Light, overlay: Overlay) -> Image.Image:  # noqa: ARG002
        return image

    def shown_part(self, place: Rect) -> Rect | None:  # noqa: ARG002 - it shows a cut, and no place from above
        return None

    def followed(self, overlay: Overlay, light: Light) -> Overlay:  # noqa: ARG002
        return Overlay()

    def shows(self, light: Light, wanted: Collection[Fact] | None = None) -> frozenset[Fact]:  # noqa: ARG002
        return frozenset()

    def grid_lines(
        self,
        lifted: frozenset[str] = frozenset(),  # noqa: ARG002 - a section has none
        letters: Letters | None = None,  # noqa: ARG002 - and is told in words
    ) -> list[str]:
        """Tell the section stretch by stretch, in lines of text."""
        return self.told_in(WIDTH)

    def told_in(self, width: int) -> list[str]:
        """Tell the section in lines of so many columns; what goes on from the line above is set in."""
        table = section_table(self.layout, self.process, self.y, *self._ends, self.place)
        return [line for text in table for line in wrap(text, width, subsequent_indent="  ")]
