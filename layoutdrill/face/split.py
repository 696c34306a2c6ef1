"""
The face of two pictures side by side: to the right of a line the same layout is seen otherwise, shifted up or down as
by bad stitching, or at another stage of removal.
"""

from collections.abc import Collection
from dataclasses import replace
from functools import cached_property

from PIL import Image

from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.extract.model import Extraction
from layoutdrill.face import lettered, listed
from layoutdrill.face.drawn import DrawnFace
from layoutdrill.face.model import Light
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.layout.text import layout_text, parse_layout
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.overlay import Overlay, Tag, draw_overlay
from layoutdrill.picture.stages import Stage, taken_off
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.units import GridUnits

WORD = "split"
"""The first word of the canonical text."""
_TONE = 0.94
"""How bright the second frame is, of the first: two photographs are never exposed alike."""


class SplitFace(DrawnFace):
    """
    A layout that is seen otherwise from `at` (x in grid units) on: `rise` grid units too high, and at a `stage` of
    removal ("" as it is on the left). What can be read is the layout's own, as if nothing were shifted or taken off.
    """

    def __init__(
        self, layout: Layout, process: Process, extraction: Extraction, at: int, rise: int = 0, stage: str = ""
    ) -> None:
        super().__init__(layout, process, extraction)
        self.at = at
        self.rise = rise
        self.stage = stage

    @staticmethod
    def read(text: str, process: Process) -> "SplitFace":
        """Return the face that wrote `text`; raises LayoutdrillError where it is damaged."""
        first, _, rest = text.partition("\n")
        words = first.split(" ", 3)
        if len(words) != 4 or words[0] != WORD or not all(word.lstrip("-").isdigit() for word in words[1:3]):
            raise LayoutdrillError(
                f'"{first[:40]}" does not say where a picture is split', todo="the record is damaged"
            )
        layout = parse_layout(rest)
        stage = words[3].strip()
        if stage and stage not in set(Stage):
            raise LayoutdrillError(f'"{stage[:40]}" is no stage of removal', todo="the record is damaged")
        return SplitFace(layout, process, extract(layout, process), int(words[1]), int(words[2]), stage)

    def text(self) -> str:
        return f"{WORD} {self.at} {self.rise} {self.stage}\n{layout_text(self.layout)}"

    @cached_property
    def box(self) -> Rect:
        box = super().box
        return Rect(box.x0, box.y0 + min(0, self.rise), box.x1, box.y1 + max(0, self.rise))

    @cached_property
    def layers(self) -> tuple[str, ...]:
        """Nothing is lifted off: that would show both pictures alike."""
        return ()

    @property
    def as_seen(self) -> Layout:
        """The layout as it is seen: cut at the line, what lies beyond shifted, less what has been taken off there."""
        flat = self.layout.flattened()
        gone = taken_off(self.process, Stage(self.stage)) if self.stage else frozenset()
        shapes: dict[str, tuple[Rect, ...]] = {}
        for name, rects in flat.shapes.items():
            left = [Rect(r.x0, r.y0, min(r.x1, self.at), r.y1) for r in rects if r.x0 < self.at]
            right = [
                Rect(max(r.x0, self.at), r.y0 + self.rise, r.x1, r.y1 + self.rise) for r in rects if r.x1 > self.at
            ]
            shapes[name] = (*left, *(right if name not in gone else ()))
        labels = tuple(Label(t.text, t.layer, t.x, t.y + self._rise_at(t.x)) for t in flat.labels)
        return Layout(flat.name, {name: rects for name, rects in shapes.items() if rects}, labels)

    def image(self, view: View, light: Light) -> Image.Image:
        left = super().image(view, light)
        column = self._column(view)
        if column >= left.width:
            return left
        other = replace(light, stage=self.stage) if self.stage else light
        right = super().image(self._beyond(view), other)
        if self.rise:
            right = right.point([round(_TONE * level) for level in range(256)] * 3)
        return _joined(left, right, column)

    def marked(self, image: Image.Image, view: View, light: Light, overlay: Overlay) -> Image.Image:
        seen, die = super().followed(overlay, light), self.die(light)
        both = ((view, self._among(seen, beyond=False)), (self._beyond(view), self._among(seen, beyond=True)))
        left, right = (
            draw_overlay(image.copy(), self.extraction, self.process, through, own, die) for through, own in both
        )
        return _joined(left, right, self._column(view))

    def followed(self, overlay: Overlay, light: Light) -> Overlay:
        seen = super().followed(overlay, light)
        return replace(
            seen,
            marks=self._risen(seen.marks),
            ports=self._risen(seen.ports),
            rails=self._risen(seen.rails),
            spots=tuple((x, y + self._rise_at(x)) for x, y in seen.spots),
        )

    def seen_at(self, light: Light, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:
        across, up = super().seen_at(light, x, y)
        return across, up + self._rise_at(x)

    def meant_at(self, light: Light, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:
        return super().meant_at(light, x, y - self._rise_at(x))

    def stitched_at(self, x: GridUnits, y: GridUnits) -> tuple[GridUnits, GridUnits]:
        return x, y + self._rise_at(x)

    def shown_part(self, place: Rect) -> Rect | None:
        """Return the larger part on one side of the line; of what is at another stage beyond it, nothing."""
        parts = []
        if place.x0 < self.at:
            parts.append(Rect(place.x0, place.y0, min(place.x1, self.at), place.y1))
        if place.x1 > self.at and not self.stage:
            parts.append(Rect(max(place.x0, self.at), place.y0, place.x1, place.y1))
        return max(parts, key=lambda part: part.width, default=None)

    def shows(self, light: Light, wanted: Collection[Fact] | None = None) -> frozenset[Fact]:
        """Return what both pictures show."""
        here = super().shows(light, wanted)
        return here & super().shows(replace(light, stage=self.stage), wanted) if self.stage else here

    def grid_lines(self, lifted: frozenset[str] = frozenset(), letters: lettered.Letters | None = None) -> list[str]:
        return lettered.grid_lines(lettered.without(self.as_seen, lifted), self.process, letters=letters)

    def shape_lines(self) -> list[str]:
        return listed.shape_lines(self.as_seen, self.process)

    def meeting_lines(self) -> list[str]:
        return listed.meeting_lines(self.as_seen, self.process)

    def at_point(self, x: GridUnits, y: GridUnits) -> str:
        return listed.at_point(self.as_seen, self.process, x, y + self._rise_at(x))

    def _column(self, view: View) -> int:
        return max(0, round((self.at - view.region.x0) * view.scale(self.process)))

    def _beyond(self, view: View) -> View:
        """Return the view through which what lies beyond the line is seen."""
        r = view.region
        return replace(view, region=Rect(r.x0, r.y0 - self.rise, r.x1, r.y1 - self.rise))

    def _rise_at(self, x: int) -> int:
        return self.rise if x >= self.at else 0

    def _risen(self, tags: tuple[Tag, ...]) -> tuple[Tag, ...]:
        return tuple(replace(tag, y=tag.y + self._rise_at(tag.x)) for tag in tags)

    def _among(self, overlay: Overlay, *, beyond: bool) -> Overlay:
        """Return the overlay with the tags and spots of one side only, so that no letter is cut by the line."""

        def own(tags: tuple[Tag, ...]) -> tuple[Tag, ...]:
            return tuple(tag for tag in tags if (tag.x >= self.at) is beyond)

        spots = tuple(spot for spot in overlay.spots if (spot[0] >= self.at) is beyond)
        return replace(
            overlay, marks=own(overlay.marks), ports=own(overlay.ports), rails=own(overlay.rails), spots=spots
        )


def _joined(left: Image.Image, right: Image.Image, column: int) -> Image.Image:
    """Return the left picture with the right one's columns from `column` on."""
    if column < left.width:
        left.paste(right.crop((column, 0, right.width, right.height)), (column, 0))
    return left
