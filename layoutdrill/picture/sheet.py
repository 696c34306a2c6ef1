"""
Make contact sheets: proved drawings of many cells, from tidy to crowded, a sheet a process.

Run as `python -m layoutdrill.picture.sheet art/sheets [PROCESS…]`.
"""

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from layoutdrill.cells.build import build
from layoutdrill.cells.load import load_cell
from layoutdrill.picture.gallery import GAP, INK, PAPER, Tile
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.render import render
from layoutdrill.picture.view import View
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.prove.proof import proved

PROCESSES = tuple(name for name in process_names() if load_process(name).rules)
CELLS = (
    "inverter", "transmission_gate", "nand2", "nor3", "nand4", "aoi21", "oai22", "mux2_tg", "latch_dynamic",
    "latch_static", "xor2_compact", "xor2_tg", "ram_6t", "decoder3_5",
)  # fmt: skip
HARDNESS = (0.0, 0.3, 0.6, 1.0)
"""The difficulty of each column; its number is the seed."""

ZOOM = 3
WIDTH = 2200
COLOURS = 48
TITLE = 18


def main(arguments: Sequence[str]) -> int:
    """Write the sheets into a folder and name each file."""
    if not arguments:
        print("usage: python -m layoutdrill.picture.sheet FOLDER [PROCESS…]", file=sys.stderr)  # noqa: T201
        return 2
    folder = Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    for name in arguments[1:] or PROCESSES:
        path = folder / f"{name}.png"
        image = contact_sheet(load_process(name), CELLS)
        image.quantize(COLOURS, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(path, optimize=True)
        print(f"wrote {path}, {path.stat().st_size // 1024} KiB")  # noqa: T201
    return 0


def contact_sheet(process: Process, cells: Sequence[str]) -> Image.Image:
    """Return the sheet of a process: for each cell that fits it, a drawing for each degree of difficulty."""
    return _packed([_row(name, process) for name in cells if load_cell(name).fits(process)])


def _row(name: str, process: Process) -> Tile:
    """Return the drawings of one cell side by side."""
    images = list(_drawings(name, process))
    width = sum(image.width for image in images) + GAP // 2 * (len(images) - 1)
    row = Image.new("RGB", (width, max(image.height for image in images)), PAPER)
    x = 0
    for image in images:
        row.paste(image, (x, 0))
        x += image.width + GAP // 2
    return Tile(load_cell(name).title, row)


def _drawings(name: str, process: Process) -> Iterator[Image.Image]:
    netlist = build(load_cell(name), process, load_cell)
    look = load_look("reflected-light")
    for seed, hard in enumerate(HARDNESS):
        layout = proved(netlist, process, seed, difficulty=hard, neighbours=True).layout
        yield render(layout, process, look, View.whole(layout, process, ZOOM, margin=1), seed=seed)


def _packed(tiles: Sequence[Tile]) -> Image.Image:
    """Set tiles in lines of one width, each with its title above it."""
    places: list[tuple[int, int]] = []
    x = y = GAP
    tall = 0
    for tile in tiles:
        if x > GAP and x + tile.image.width + GAP > WIDTH:
            x, y, tall = GAP, y + tall + TITLE + GAP, 0
        places.append((x, y))
        x += tile.image.width + 2 * GAP
        tall = max(tall, tile.image.height)
    sheet = Image.new("RGB", (WIDTH, y + tall + TITLE + GAP), PAPER)
    draw = ImageDraw.Draw(sheet)
    font = ImageFont.load_default(13)
    for tile, (left, top) in zip(tiles, places, strict=True):
        draw.text((left, top), tile.title, fill=INK, font=font)
        sheet.paste(tile.image, (left, top + TITLE))
    return sheet


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
