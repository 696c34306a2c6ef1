"""The face of a proved drawing, or of a layout that was read: everything follows from its shapes and its process."""

from collections.abc import Collection
from functools import cached_property

from PIL import Image

from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.extract.model import Extraction
from layoutdrill.face import lettered, listed
from layoutdrill.face.model import Face, Light
from layoutdrill.face.scene import Scene
from layoutdrill.face.shades import shades_told
from layoutdrill.face.unit import Unit
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.layout.text import layout_text
from layoutdrill.picture.die import PERFECT, Die, die_of
from layoutdrill.picture.dirt import dust_near
from layoutdrill.picture.evidence import Fact, Sight, shown
from layoutdrill.picture.looks import PHOTOGRAPHIC
from layoutdrill.picture.objectives import load_objective
from layoutdrill.picture.overlay import Overlay, draw_overlay, on_die
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.stages import Stage
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.units import GridUnits

LIFTED_ROLES = ("glass-opening", "upper-metal", "metal-2", "via", "metal", "local-metal", "contact", "poly")
"""Roles of the layers that can be lifted off: conductors with the cuts above them."""


class DrawnFace:
    """A layout in its process. `extraction` is what the extractor reads in it."""

    def __init__(self, layout: Layout, process: Process, extraction: Extraction) -> None:
        self.layout = layout
        self.process = process
        self.extraction = extraction

    @staticmethod
    def of(layout: Layout, process: Process) -> "DrawnFace":
        """Return the face of a layout that is still to be read."""
        return DrawnFace(layout, process, extract(layout, process))

    @property
    def name(self) -> str:
        return self.layout.name

    @property
    def as_seen(self) -> Layout:
        """The layout as it is seen; of most faces the layout itself."""
        return self.layout

    @cached_property
    def unit(self) -> Unit:
        return Unit(self.process.grid_per_lambda)

    @cached_property
    def box(self) -> Rect:
        side = self.process.grid_per_lambda
        return self.layout.box or Rect(0, 0, side, side)

    @cached_property
    def scene(self) -> Scene:
        return Scene(self.process, self.layout, self.extraction)

    @cached_property
    def layers(self) -> tuple[str, ...]:
        """Return the drawn layers that can be lifted off, topmost first."""
        return tuple(
            name
            for name in reversed(tuple(self.process.layers))
            if self.layout.shapes.get(name) and self.process.layers[name].role in LIFTED_ROLES
        )

    @property
    def metal(self) -> frozenset[str]:
        return frozenset(name for name, layer in self.process.layers.items() if layer.role in lettered.METALS)

    @property
    def follows_light(self) -> bool:
        return True

    def image(self, view: View, light: Light) -> Image.Image:
        return render(
            self.layout,
            self.process,
            Shot(
                light.look,
                view,
                seed=light.seed,
                wear=light.wear,
                hidden=light.lifted,
                die=self.die(light),
                aid=light.aid,
                objective=load_objective(light.objective) if light.objective else None,
                stage=Stage(light.stage) if light.stage else None,
            ),
        )

    def die(self, light: Light) -> Die:
        """Return the die that is looked at; in a drawn look it is the layout itself."""
        if light.look.style not in PHOTOGRAPHIC:
            return PERFECT
        return die_of(self.layout, self.process, light.seed, light.wear)

    def seen_at(self, light: Light, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:
        at = self.die(light).seen_at(self.layout, self.process, x, y)
        return round(at[0]), round(at[1])

    def meant_at(self, light: Light, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:
        at = self.die(light).meant_at(self.layout, self.process, x, y)
        return round(at[0]), round(at[1])

    def stitched_at(self, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:
        return x, y

    def shown_part(self, place: Rect) -> Rect | None:
        return place

    def marked(self, image: Image.Image, view: View, light: Light, overlay: Overlay) -> Image.Image:
        overlay = self.followed(overlay, light)
        return draw_overlay(image, self.extraction, self.process, view, overlay, self.die(light))

    def followed(self, overlay: Overlay, light: Light) -> Overlay:
        return on_die(overlay, self.layout, self.process, self.die(light))

    def shows(self, light: Light, wanted: Collection[Fact] | None = None) -> frozenset[Fact]:
        objective = load_objective(light.objective) if light.objective else None
        sight = Sight(
            light.look,
            self.process,
            light.seed,
            light.scale,
            light.wear,
            aid=light.aid,
            hidden=light.lifted,
            objective=objective,
            stage=Stage(light.stage) if light.stage else None,
        )
        return shown(sight, wanted)

    def is_clear(self, light: Light, x: GridUnits, y: GridUnits) -> bool:
        return light.look.style not in PHOTOGRAPHIC or not dust_near(self.process, light.seed, light.wear, x, y)

    def shades(self, light: Light) -> tuple[str, ...]:
        return shades_told(self.process, light.look, light.seed)

    def text(self) -> str:
        return layout_text(self.layout)

    def grid_lines(self, lifted: frozenset[str] = frozenset(), letters: lettered.Letters | None = None) -> list[str]:
        return lettered.grid_lines(lettered.without(self.layout, lifted), self.process, letters=letters)

    def shape_lines(self) -> list[str]:
        return listed.shape_lines(self.layout, self.process)

    def meeting_lines(self) -> list[str]:
        return listed.meeting_lines(self.layout, self.process)

    def at_point(self, x: GridUnits, y: GridUnits) -> str:
        return listed.at_point(self.layout, self.process, x, y)


def layout_of(face: Face) -> Layout:
    """Return the layout of what is drawn, as it is seen; raises LayoutdrillError for a face that has none."""
    if isinstance(face, DrawnFace):
        return face.as_seen
    raise LayoutdrillError(f"{face.name} is no drawing: it has no layout", todo="take a drawn cell")
