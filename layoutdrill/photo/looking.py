"""Look at a place through any of its pictures: a part of the face, at any scale, turned and joined as the marks say."""

from math import ceil, floor, log2
from threading import Lock

from PIL import Image

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.photo.files import header
from layoutdrill.photo.frame import Frame
from layoutdrill.photo.joining import Affine, joined
from layoutdrill.photo.model import Marks, Picture
from layoutdrill.photo.tiles import Pixels, Progress, pixels_of
from layoutdrill.photo.whereabouts import remember, whereabouts

MISSING = (70, 70, 74)
"""Stands for a picture whose file is not there any more."""
_LARGEST = 6000
"""Pixels along a side of what is drawn at once."""


def frame_of(marks: Marks) -> Frame:
    """Return how the first picture is shown; its size is read from its file where the marks do not say it."""
    first = marks.pictures[0]
    size = first.size
    if size == (0, 0):
        head = header(marks.folder / first.file)
        size = head.width, head.height
    return Frame(*size, marks.turn, marks.mirror)


class Pictures:
    """
    The pictures of one mark file, opened when first looked at; kept open as long as this is. `loose` ones that are not
    joined yet lie on the first by their edges.
    """

    def __init__(self, marks: Marks, frame: Frame, *, loose: bool = False) -> None:
        self.marks, self.frame, self.loose = marks, frame, loose
        self._pixels: dict[str, Pixels | None] = {}
        self._maps: dict[str, Affine] = {}
        self._lock = Lock()

    def open_all(self, progress: Progress | None = None) -> None:
        """Open every picture now, and cut into tiles those that are large. Errors as those of `opened`."""
        for picture in self.marks.pictures:
            self._map(picture)
            path = self.marks.folder / picture.file
            self._pixels[picture.file] = pixels_of(path, progress)
            remember(picture, path)

    def image(self, picture: Picture, region: Rect, size: tuple[int, int]) -> Image.Image:
        """Return a region of the face as this picture shows it, in RGB of so many columns and rows."""
        wide, high = min(size[0], _LARGEST), min(size[1], _LARGEST)
        pixels = self._open(picture)
        if pixels is None:
            return Image.new("RGB", size, MISSING)
        (a, b, c, d, e, f) = self._of_output(picture, region, (wide, high)).terms
        corners = [(a * x + b * y + c, d * x + e * y + f) for x in (0, wide) for y in (0, high)]
        ratio = abs(a * e - b * d) ** 0.5
        level = max(0, min(pixels.levels - 1, floor(log2(max(ratio, 1e-9) / pixels.shrink(0)) + 0.25)))
        shrink = pixels.shrink(level)
        left, top = (floor(min(p[k] for p in corners) / shrink) - 2 for k in (0, 1))
        right, bottom = (ceil(max(p[k] for p in corners) / shrink) + 2 for k in (0, 1))
        limit = pixels.size(level)
        left, top = max(left, -4), max(top, -4)
        right, bottom = min(right, limit[0] + 4), min(bottom, limit[1] + 4)
        if right <= left or bottom <= top:
            return Image.new("RGB", size, MISSING)
        part = pixels.part(level, left, top, right, bottom)
        terms = (a / shrink, b / shrink, c / shrink - left, d / shrink, e / shrink, f / shrink - top)
        resample = Image.Resampling.BILINEAR if ratio >= shrink else Image.Resampling.BICUBIC
        picture_part = part.transform((wide, high), Image.Transform.AFFINE, terms, resample)
        return picture_part if picture_part.size == size else picture_part.resize(size)

    def _of_output(self, picture: Picture, region: Rect, size: tuple[int, int]) -> Affine:
        """Return the map from pixels of the output to pixels of the picture."""
        inverse = self._map(picture).inverse()

        def source(column: float, row: float) -> tuple[float, float]:
            x = region.x0 + column * region.width / size[0]
            y = region.y1 - row * region.height / size[1]
            return inverse.of(self.frame.at(x, y))

        (c, f), (ax, ay), (bx, by) = source(0, 0), source(size[0], 0), source(0, size[1])
        return Affine(((ax - c) / size[0], (bx - c) / size[1], c, (ay - f) / size[0], (by - f) / size[1], f))

    def _map(self, picture: Picture) -> Affine:
        if picture.file not in self._maps:
            self._maps[picture.file] = self._joined(picture)
        return self._maps[picture.file]

    def _joined(self, picture: Picture) -> Affine:
        try:
            return joined(self.marks, picture).map
        except LayoutdrillError:
            pixels = self._open(picture) if self.loose else None
            if pixels is None:
                raise
            return Affine((self.frame.width / pixels.width, 0, 0, 0, self.frame.height / pixels.height, 0))

    def stored_in(self, picture: Picture, x: int, y: int) -> tuple[float, float]:
        """Return the pixel of a picture's own that is seen at a place of the face."""
        return self._map(picture).inverse().of(self.frame.at(x, y))

    def with_marks(self, marks: Marks) -> "Pictures":
        """Return the pictures after marks were added: what is open stays open."""
        pictures = Pictures(marks, self.frame, loose=self.loose)
        pictures._pixels = self._pixels
        return pictures

    def _open(self, picture: Picture) -> Pixels | None:
        with self._lock:
            if picture.file not in self._pixels:
                try:
                    self._pixels[picture.file] = pixels_of(whereabouts(picture, self.marks.folder))
                except LayoutdrillError:
                    self._pixels[picture.file] = None
            return self._pixels[picture.file]
