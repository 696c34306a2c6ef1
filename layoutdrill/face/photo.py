"""The face of a photograph: its pictures are files, and what can be read is what somebody marked on them."""

from collections.abc import Collection
from functools import cached_property

from PIL import Image

from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import lettered, listed
from layoutdrill.face.marked import MarkedExtraction, in_pixels, read_marks_as_drawn
from layoutdrill.face.model import Light
from layoutdrill.face.scene import Scene
from layoutdrill.face.unit import Unit
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.photo.looking import Pictures, frame_of
from layoutdrill.photo.model import Marks, Picture, Region, Sort, Stage
from layoutdrill.photo.netlist import netlist_of, oddities, within
from layoutdrill.photo.read import marks_of_text
from layoutdrill.photo.repeats import written_out
from layoutdrill.photo.shapes import Shapes
from layoutdrill.photo.write import marks_text
from layoutdrill.picture.evidence import Fact, facts_of
from layoutdrill.picture.overlay import Overlay, draw_overlay
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.units import GridUnits

SELDOM = frozenset({Fact.KIND, Fact.KINDS_APART, Fact.WELL, Fact.RAILS, Fact.DEPLETION})
"""Facts that no picture of a die shows by itself: shown where the author says so, told or not asked elsewhere."""
_WITHOUT_METAL = (Stage.METAL_OFF, Stage.POLY, Stage.BARE, Stage.STAINED)


class PhotoFace:
    """
    A region of a photograph, or all of it. Places are pixels of the first picture as it is shown, y told downwards from
    its upper edge. The pictures of further stages are reached by lifting, one after another.
    """

    def __init__(self, marks: Marks, process: Process, region: Region | None, pictures: Pictures) -> None:
        self.marks = within(marks, region)
        self.region = region
        self.pictures = pictures
        self.process = in_pixels(process, marks.per_lambda, marks.nm)

    @staticmethod
    def of(marks: Marks, process: Process, region: str = "", pictures: Pictures | None = None) -> "PhotoFace":
        """
        Return the face of a region by its name, "" for all of it.

        Raises LayoutdrillError: no such region, too many repeats, a first picture without a size whose file is missing.
        """
        whole = written_out(marks)
        area = whole.region(region) if region else None
        if region and area is None:
            known = ", ".join(r.name for r in whole.regions) or "there is none"
            raise LayoutdrillError(f'no region "{region}" on {marks.name}', todo=f"known: {known}")
        return PhotoFace(whole, process, area, pictures or Pictures(whole, frame_of(whole)))

    @staticmethod
    def again(text: str, process: Process) -> "PhotoFace":
        """Make a face from its text. Pictures that are not found again stand empty."""
        marks = marks_of_text(text, "record/record")
        return PhotoFace(marks, process, next(iter(marks.regions), None), Pictures(marks, frame_of(marks)))

    @property
    def name(self) -> str:
        return self.region.name if self.region else self.marks.name

    @cached_property
    def unit(self) -> Unit:
        return Unit(1, "px", down=True)

    @cached_property
    def box(self) -> Rect:
        frame = self.pictures.frame
        if self.region is None:
            return frame.box
        return frame.rect(*self.region.box).common(frame.box) or frame.box

    @cached_property
    def netlist(self) -> Netlist:
        return netlist_of(self.marks, self.process, self.name)

    @cached_property
    def shapes(self) -> Shapes:
        return Shapes(self.marks, self.process, self.pictures.frame)

    @cached_property
    def _read(self) -> tuple[Layout, MarkedExtraction]:
        findings = tuple(oddities(self.marks, self.shapes, self.process))
        return read_marks_as_drawn(self.marks, self.process, self.shapes, self.netlist, findings, self.box)

    @property
    def extraction(self) -> MarkedExtraction:
        return self._read[1]

    @property
    def layout(self) -> Layout:
        """Return the marks as shapes on mask layers: what plain text tells, never a picture."""
        return self._read[0]

    @cached_property
    def scene(self) -> Scene:
        complete = self.region.complete if self.region else frozenset[Sort]()
        return Scene(self.process, self.layout, self.extraction, complete=frozenset(sort.value for sort in complete))

    @cached_property
    def layers(self) -> tuple[str, ...]:
        """Return what was taken off before each further picture, or how it was lit, in their order."""
        titles: list[str] = []
        for picture in self.marks.pictures[1:]:
            name = picture.stage.value if picture.stage is not self.marks.pictures[0].stage else picture.light.value
            again = sum(1 for other in titles if other.split(" (")[0] == name)
            titles.append(f"{name} ({again + 1})" if again else name)
        return tuple(titles)

    @cached_property
    def metal(self) -> frozenset[str]:
        for at, picture in enumerate(self.marks.pictures[1:], 1):
            if picture.stage in _WITHOUT_METAL:
                return frozenset(self.layers[:at])
        return frozenset()

    @property
    def follows_light(self) -> bool:
        return False

    def picture(self, light: Light) -> Picture:
        """Return the picture of the furthest stage among those lifted."""
        at = max((i for i, name in enumerate(self.layers, 1) if name in light.lifted), default=0)
        return self.marks.pictures[at]

    def image(self, view: View, light: Light) -> Image.Image:
        return self.pictures.image(self.picture(light), view.region, view.size(self.process))

    def seen_at(self, light: Light, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:  # noqa: ARG002 - marks lie on what is seen
        return x, y

    def meant_at(self, light: Light, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:  # noqa: ARG002
        return x, y

    def stitched_at(self, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:
        return x, y

    def shown_part(self, place: Rect) -> Rect | None:
        return place

    def followed(self, overlay: Overlay, light: Light) -> Overlay:  # noqa: ARG002
        return overlay

    def marked(self, image: Image.Image, view: View, light: Light, overlay: Overlay) -> Image.Image:  # noqa: ARG002
        return draw_overlay(image, self.extraction, self.process, view, overlay)

    def shows(self, light: Light, wanted: Collection[Fact] | None = None) -> frozenset[Fact]:  # noqa: ARG002
        """What is marked was seen; what no die shows is seen where the author says so."""
        known = facts_of(self.process) - (SELDOM - {Fact(name) for name in self.marks.shows})
        return known if wanted is None else known & frozenset(wanted)

    def is_clear(self, light: Light, x: GridUnits, y: GridUnits) -> bool:  # noqa: ARG002 - what was marked could be seen
        return True

    def shades(self, light: Light) -> tuple[str, ...]:  # noqa: ARG002 - no telling from a file
        return ()

    def text(self) -> str:
        return marks_text(self.marks)

    def grid_lines(self, lifted: frozenset[str] = frozenset(), letters: lettered.Letters | None = None) -> list[str]:
        masks: frozenset[str] = frozenset()
        if lifted & self.metal:
            masks = frozenset(name for name, layer in self.process.layers.items() if layer.role in lettered.METALS)
        layout = lettered.without(self.layout, masks)
        grid = lettered.grid_lines(layout, self.process, self.unit, letters)
        return ["A photograph, told by what is marked on it:", *grid]

    def shape_lines(self) -> list[str]:
        return listed.shape_lines(self.layout, self.process, self.unit)

    def meeting_lines(self) -> list[str]:
        return listed.meeting_lines(self.layout, self.process, self.unit)

    def at_point(self, x: GridUnits, y: GridUnits) -> str:
        return listed.at_point(self.layout, self.process, x, y)
