"""
Read a GDSII stream file as a layout of a process, and write one; with the standard library alone.

A process's layer numbers (`gds`, `label_gds`) say which shapes and texts count; all others are passed over. Ends of a
path: flush, extended by half the width, or by given lengths; a round end is read as extended by half the width.
"""

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.geometry.polygon import polygon_rects, slanted_edge, steps
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.gdscells import GdsCell, Library, Reference, Shape, read_library
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.layout.model import Label, Layout, Placement
from layoutdrill.process.model import Process

__all__ = ["gdsii_cells", "layout_of", "read_gdsii", "write_gdsii"]

MAX_SHAPES = 500_000
"""More rectangles, labels or placed cells than this in a flattened cell are refused: arrays can ask for any number."""
MAX_STEPS = 3_000_000
"""Cutting the polygons of a file into rectangles may take so many steps: the teeth of a comb multiply."""

MAX_DEPTH = 100


def read_gdsii(source: Path | bytes, process: Process, cell: str | None = None, file: str | None = None) -> Layout:
    """
    Return a cell (the only top cell when none is named) with its placed cells, in grid units of `process`.

    Raises LayoutdrillError for a missing, broken or truncated file, an unknown cell, slanted edges, points off
    the grid, cells that contain themselves, and a cell with nothing on any layer of the process.
    """
    return layout_of(read_library(source, file), process, cell)


def gdsii_cells(source: Path | bytes, file: str | None = None) -> tuple[str, ...]:
    """Return the names of the file's cells, those that no other cell places first."""
    library = read_library(source, file)
    tops = library.tops()
    return tops + tuple(name for name in library.cells if name not in tops)


def layout_of(library: Library, process: Process, cell: str | None = None) -> Layout:
    if cell is None:
        tops = library.tops()
        if len(tops) != 1:
            what = f"{len(tops)} top cells: {', '.join(tops[:8])}" if tops else "no top cell"
            raise LayoutdrillError(what, where=library.where, todo="name the cell to read")
        cell = tops[0]
    elif cell not in library.cells:
        raise LayoutdrillError(f'no cell "{cell}"', where=library.where, todo=did_you_mean(cell, library.cells))
    builder = _Builder(library, process)
    layout = builder.layout(cell, ())
    if builder.counts[cell] == 0:
        raise LayoutdrillError(
            f'cell "{cell}" has nothing on any layer of process {process.name}',
            where=library.where,
            todo="check the process's layer numbers",
        )
    return layout


class _Builder:
    """Turns cells into layouts, each once."""

    def __init__(self, library: Library, process: Process) -> None:
        self.library = library
        self.done: dict[str, Layout] = {}
        self.counts: dict[str, int] = {}
        self.placed: dict[str, int] = {}
        """How many cells each one places, those in them too."""
        self.steps = 0
        unit = Fraction(round(library.unit_nm, 9)).limit_denominator(10**6)
        self.scale = unit / Fraction(process.grid_nm).limit_denominator(10**6)
        self.layers: dict[tuple[int, int], list[str]] = {}
        self.labels: dict[tuple[int, int], list[str]] = {}
        for layer in process.layers.values():
            if layer.gds is not None:
                self.layers.setdefault(layer.gds, []).append(layer.name)
            for number in layer.label_gds:
                self.labels.setdefault(number, []).append(layer.name)

    def layout(self, name: str, inside: tuple[str, ...]) -> Layout:
        if name in inside:
            chain = " > ".join((*inside[inside.index(name) :], name))
            raise LayoutdrillError(
                f"cells that contain themselves: {chain}", where=self.library.where, todo="break the circle"
            )
        if name in self.done:
            return self.done[name]
        if len(inside) > MAX_DEPTH:
            raise LayoutdrillError(f"cells placed in cells over {MAX_DEPTH} deep", where=self.library.where)
        cell = self.library.cells.get(name)
        if cell is None:
            raise LayoutdrillError(
                f'cell "{inside[-1]}" places "{name}", which the file does not hold',
                where=self.library.where,
                todo=did_you_mean(name, self.library.cells),
            )
        shapes = self.shapes(cell)
        count = sum(len(rects) for rects in shapes.values())
        placements: list[Placement] = []
        placed = 0
        for reference in cell.references:
            inner = self.layout(reference.cell, (*inside, name))
            copies = reference.columns * reference.rows
            count += copies * self.counts[reference.cell]
            placed += copies * (1 + self.placed[reference.cell])
            self.check_size(name, count, "rectangles")
            self.check_size(name, placed, "placed cells")
            if self.counts[reference.cell]:
                placements.extend(Placement(inner, t) for t in self.transforms(reference, name))
        labels = tuple(
            Label(text.text, layer, round(text.at[0] * self.scale), round(text.at[1] * self.scale))
            for text in cell.texts
            for layer in self.labels.get(text.layer, ())
        )
        self.check_size(name, count, "rectangles")
        self.check_size(name, len(labels), "labels")
        self.counts[name] = count
        self.placed[name] = placed
        self.done[name] = Layout(name, {layer: tuple(r) for layer, r in shapes.items()}, labels, tuple(placements))
        return self.done[name]

    def check_size(self, name: str, count: int, what: str) -> None:
        if count > MAX_SHAPES:
            raise LayoutdrillError(
                f'cell "{name}" holds over {MAX_SHAPES:,} {what}',
                where=self.library.where,
                todo="read a smaller cell",
            )

    def transforms(self, reference: Reference, cell: str) -> Iterator[Transform]:
        x, y = reference.at
        for row in range(reference.rows):
            for column in range(reference.columns):
                at_x = x + column * reference.column_step[0] + row * reference.row_step[0]
                at_y = y + column * reference.column_step[1] + row * reference.row_step[1]
                dx, dy = self.grid(at_x, at_y, f'a reference to "{reference.cell}"', cell)
                yield Transform(dx, dy, reference.turns, reference.mirrored)

    def shapes(self, cell: GdsCell) -> Mapping[str, list[Rect]]:
        shapes: dict[str, list[Rect]] = {}
        for shape in cell.shapes:
            names = self.layers.get(shape.layer)
            if names is None:
                continue
            rects = self.rects(shape, cell.name)
            for name in names:
                shapes.setdefault(name, []).extend(rects)
        return shapes

    def rects(self, shape: Shape, cell: str) -> list[Rect]:
        points = shape.points
        if shape.path:
            self.check_slant(shape, pairwise(points), cell)
            doubled = [rect for rect in _path_rects(shape) if rect[0] < rect[2] and rect[1] < rect[3]]
            return [self.half_grid(rect, shape, cell) for rect in doubled]
        if slanted_edge(points) is not None:
            self.check_slant(shape, pairwise([*points, points[0]]), cell)
        self.steps += steps(points)
        if self.steps > MAX_STEPS:
            what = (
                f'{self.what(shape)} of cell "{cell}" has too many teeth: cutting it up takes over {MAX_STEPS:,} steps'
            )
            raise LayoutdrillError(what, where=self.library.where, todo="draw it as several simpler shapes")
        if self.scale != 1:
            return polygon_rects([self.grid(x, y, self.what(shape), cell) for x, y in points])
        return polygon_rects(points)

    def check_slant(self, shape: Shape, edges: Iterable[tuple[tuple[int, int], tuple[int, int]]], cell: str) -> None:
        for (xa, ya), (xb, yb) in edges:
            if xa != xb and ya != yb:
                what = f'{self.what(shape)} of cell "{cell}" has a slanted edge'
                raise LayoutdrillError(
                    f"{what} from {self.place(xa, ya)} to {self.place(xb, yb)}",
                    where=self.library.where,
                    todo="only horizontal and vertical edges can be read; redraw it in steps",
                )

    def grid(self, x: int, y: int, what: str, cell: str) -> tuple[int, int]:
        """Convert a point to grid units."""
        if self.scale == 1:
            return x, y
        gx, gy = x * self.scale, y * self.scale
        if gx.denominator != 1 or gy.denominator != 1:
            self.off_grid(what, cell, self.place(x, y))
        return int(gx), int(gy)

    def half_grid(self, rect: tuple[int, int, int, int], shape: Shape, cell: str) -> Rect:
        """Convert a rectangle in half database units to grid units."""
        numbers = [value * self.scale / 2 for value in rect]
        if any(number.denominator != 1 for number in numbers):
            self.off_grid(self.what(shape), cell, self.place(rect[0] / 2, rect[1] / 2))
        return Rect(*(int(number) for number in numbers))

    def off_grid(self, what: str, cell: str, place: str) -> None:
        raise LayoutdrillError(
            f'{what} of cell "{cell}" lies off the process\'s grid at {place}',
            where=self.library.where,
            todo="read it in the process that it was drawn in, or snap it to the grid of this one",
        )

    def place(self, x: float, y: float) -> str:
        """Write a point in µm."""
        scale = self.library.unit_nm / 1000
        return f"({x * scale:.6g}, {y * scale:.6g}) µm"

    def what(self, shape: Shape) -> str:
        """Name a shape by its layer."""
        names = "/".join(self.layers.get(shape.layer, []))
        return f"a {'path' if shape.path else 'shape'} on layer {names} ({shape.layer[0]}/{shape.layer[1]})"


def _path_rects(shape: Shape) -> Iterable[tuple[int, int, int, int]]:
    """Return one rectangle a stretch, in half database units; corners are filled square."""
    points = [p for i, p in enumerate(shape.points) if i == 0 or p != shape.points[i - 1]]
    half = shape.width
    last = len(points) - 2
    if len(points) == 1:
        (x, y), (start, end) = points[0], shape.ends
        yield 2 * x - start, 2 * y - half, 2 * x + end, 2 * y + half
    for i, ((xa, ya), (xb, yb)) in enumerate(pairwise(points)):
        before = shape.ends[0] if i == 0 else half
        after = shape.ends[1] if i == last else half
        if ya == yb:
            low, high = (2 * xa - before, 2 * xb + after) if xa < xb else (2 * xb - after, 2 * xa + before)
            yield low, 2 * ya - half, high, 2 * ya + half
        else:
            low, high = (2 * ya - before, 2 * yb + after) if ya < yb else (2 * yb - after, 2 * ya + before)
            yield 2 * xa - half, low, 2 * xa + half, high
