"""
Make the gallery: each process in each look, the same gate from textbook to attic, its stages of removal, a section,
eight lots side by side, and the look-alikes large.

Run as `python -m tests.bench.gallery art/gallery`.
"""

import sys
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw, ImageFont

from layoutdrill.cells import load_cell
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract.model import Extraction
from layoutdrill.layout.model import Layout
from layoutdrill.picture.abreast import abreast
from layoutdrill.picture.degrees import DEGREES
from layoutdrill.picture.die import die_of
from layoutdrill.picture.looks import FROM_BELOW, PHOTOGRAPHIC, Look, load_look, look_names
from layoutdrill.picture.overlay import Overlay, Tag, devices_overlay, draw_overlay, nets_overlay
from layoutdrill.picture.render import render
from layoutdrill.picture.section import Section, section_line
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.stages import TITLES, stages_of
from layoutdrill.picture.view import View
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.process.films import load_films
from layoutdrill.prove.proof import proved
from layoutdrill.value import value
from tests.picture.lookalikes import look_alikes

CELLS = ("nand2", "latch_static", "nor2", "inverter")
"""What to show of a process: the first of these that it can draw."""

PAPER = (250, 249, 246)
INK = (40, 40, 44)
GAP = 14
WORN = 0.75
LARGE = 8
LOT = 3
Picture = tuple[str, Image.Image]
COLOURS = 160
"""Enough for every look, and few enough that the whole gallery stays small."""


@value
class Tile:
    """A picture and what to write over it."""

    title: str
    image: Image.Image


def main(arguments: list[str]) -> int:
    """Write the gallery into a folder and name each file."""
    if len(arguments) != 1:
        print("usage: python -m tests.bench.gallery FOLDER", file=sys.stderr)
        return 2
    folder = Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    for name, image in pictures():
        path = folder / f"{name}.png"
        image.quantize(COLOURS, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(path, optimize=True)
        print(f"wrote {path}, {path.stat().st_size // 1024} KiB")
    return 0


def pictures() -> Iterator[tuple[str, Image.Image]]:
    """Yield every picture of the gallery with its file name."""
    for name in process_names():
        process = load_process(name)
        yield f"look-alikes-{name}", sheet(_look_alikes(process), 2)
        drawn = _drawn(process)
        if drawn is not None:
            yield f"looks-{name}", abreast(list(_looks(process, *drawn)))
            yield f"lots-{name}", abreast(list(_lots(process, drawn[0])), 4)
            yield f"wear-{name}", abreast(list(_worn(process, drawn[0])))
            yield f"stages-{name}", abreast(list(_stages(process, drawn[0])))
            yield f"section-{name}", _section(process, *drawn)


def _worn(process: Process, layout: Layout) -> Iterator[Picture]:
    """Yield one gate from textbook to attic: the same layout, the same lot, ever worse dies and photographs."""
    view = View.whole(layout, process, 6)
    for name, wear in DEGREES.items():
        yield name, _seen(process, layout, view, "reflected-light", wear)
    fine = View.whole(layout, process, 3)
    for name in ("textbook", "attic"):
        small = _seen(process, layout, fine, "reflected-light", DEGREES[name])
        yield f"{name}, 3 px/λ enlarged", small.resize((2 * small.width, 2 * small.height), Image.Resampling.NEAREST)


def _seen(process: Process, layout: Layout, view: View, look: str, wear: float, **how: Any) -> Image.Image:
    die = die_of(layout, process, LOT, wear)
    return render(layout, process, Shot(load_look(look), view, seed=LOT, wear=wear, die=die, **how))


def _stages(process: Process, layout: Layout) -> Iterator[Picture]:
    view = View.whole(layout, process, 6)
    for stage in stages_of(process, load_films(process)):
        yield TITLES[stage], _seen(process, layout, view, "reflected-light", 0.25, stage=stage)


def _section(process: Process, layout: Layout, extraction: Extraction) -> Image.Image:
    box = layout.box
    assert box is not None
    margin = 3 * process.grid_per_lambda
    y = section_line(layout, process, extraction)
    return Section(layout, process, y, box.x0 - margin, box.x1 + margin).named(900)


def looks_for(process: Process) -> tuple[Look, ...]:
    """Return the looks in which a process can be seen."""
    clear = load_films(process).base == "sapphire"
    found = (load_look(name) for name in look_names())
    return tuple(look for look in found if clear or look.style not in FROM_BELOW)


def _drawn(process: Process) -> tuple[Layout, Extraction] | None:
    """Return a proved drawing, or None where the process is only read, not drawn in."""
    for name in CELLS:
        try:
            found = proved(load_cell(name).netlist(process), process, 11, difficulty=0.5)
        except (LayoutdrillError, KeyError, ValueError):
            continue
        return found.layout, found.extraction
    return None


def _looks(process: Process, layout: Layout, extraction: Extraction) -> Iterator[Picture]:
    view = View.whole(layout, process, 6)
    for look in looks_for(process):
        yield look.title, _seen(process, layout, view, look.name, 0.0)
        if look.style in PHOTOGRAPHIC:
            yield f"{look.title}, worn", _seen(process, layout, view, look.name, WORN)
    plain = _seen(process, layout, view, "reflected-light", 0.0)
    die = die_of(layout, process, LOT, 0.0)
    yield "reflected light, devices", draw_overlay(plain, extraction, process, view, devices_overlay(extraction), die)
    nets = nets_overlay(extraction, extraction.netlist.nets[:4])
    yield "reflected light, nets", draw_overlay(plain, extraction, process, view, nets, die)
    fine = View.whole(layout, process, 3)
    for title, aid in (("3 px/λ enlarged", False), ("3 px/λ enlarged, with the tracing aid", True)):
        small = _seen(process, layout, fine, "reflected-light", 0.0, aid=aid)
        yield title, small.resize((2 * small.width, 2 * small.height), Image.Resampling.NEAREST)


def _lots(process: Process, layout: Layout) -> Iterator[Picture]:
    view = View.whole(layout, process, 3)
    for lot in range(8):
        yield f"lot {lot}", render(layout, process, Shot(load_look("reflected-light"), view, seed=lot))


def _look_alikes(process: Process) -> Iterator[Tile]:
    drawn = look_alikes(process)
    names = (("transistor", drawn.transistor), ("contact", drawn.contact), ("crossing", drawn.crossing))
    over = round(13.6 * process.grid_per_lambda)
    tags = tuple(Tag(text, rect.centre[0], over) for text, rect in names)
    tags = (*tags, Tag("two contacts", drawn.between.centre[0], over))
    for look in looks_for(process):
        photographic = look.style in PHOTOGRAPHIC
        for zoom, wear in (
            ((LARGE, 0.0), (LARGE, WORN), (2, 0.0), (1, 0.0)) if photographic else ((LARGE, 0.0), (1, 0.0))
        ):
            view = View.whole(drawn.layout, process, zoom, margin=3)
            image = render(drawn.layout, process, Shot(look, view, seed=3, wear=wear))
            if zoom == LARGE and not wear:
                image = draw_overlay(image, None, process, view, replace(Overlay(), ports=tags, scale_bar=True))
            image = image.resize((image.width * LARGE // zoom, image.height * LARGE // zoom), Image.Resampling.NEAREST)
            worn = ", worn" if wear else ""
            small = "" if zoom == LARGE else f", {zoom} px/λ enlarged"
            yield Tile(f"{look.title}{worn}{small}", image)


def sheet(tiles: Iterable[Tile], columns: int) -> Image.Image:
    """Lay tiles out in rows, each with its title above it."""
    found = list(tiles)
    font = ImageFont.load_default(15)
    width = max(t.image.width for t in found)
    height = max(t.image.height for t in found) + 24
    rows = -(-len(found) // columns)
    image = Image.new("RGB", (columns * (width + GAP) + GAP, rows * (height + GAP) + GAP), PAPER)
    draw = ImageDraw.Draw(image)
    for i, tile in enumerate(found):
        x, y = GAP + i % columns * (width + GAP), GAP + i // columns * (height + GAP)
        draw.text((x, y), tile.title.replace("λ", "lambda"), fill=INK, font=font)
        image.paste(tile.image, (x, y + 24))
    return image


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
