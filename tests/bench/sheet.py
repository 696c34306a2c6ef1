"""
Make contact sheets of proved drawings, three a process: every cell that fits, every array, and some from tidy to
crowded; and one of pads and of what works by clocked loads, each in every process that it fits.

Run as `python -m tests.bench.sheet art/sheets [PROCESS…|pads]`.
"""

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from layoutdrill.cells import cell_names, load_cell
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.prove.proof import Proved, proved
from tests.bench.gallery import GAP, INK, PAPER, Tile

PROCESSES = tuple(name for name in process_names() if load_process(name).rules)
DEGREES = (
    "inverter", "transmission_gate", "nand2", "nor3", "aoi21", "mux2_tg", "latch_static", "latch_pass", "xor2_compact",
    "ram_6t", "decoder3_5",
)  # fmt: skip
"""What is shown from tidy to crowded."""
HARDNESS = (0.0, 0.3, 0.6, 1.0)
"""The difficulty of each column; its number is the seed."""
USUAL = (0.1, 0.3, 0.5)
"""The difficulties of the sheet of all cells, in turn."""
ARRAYS = (
    "decoder3_nor", "decoder3_nor_own", "decoder3_nand", "decoder3_nand_own", "decoder3_tree", "rom_flash",
    "rom_flash_p", "rom_scan_decoded", "pla_flash", "ram_array_4x4", "memory_array_4x4", "register_row_4", "load_row_4",
    "shift_register_4", "shift_register_dynamic_4", "shift_register_two_phase_4", "fifo_slice_4", "fifo_3x4",
)  # fmt: skip

PADS = "pads"
CLOCKED = ("inverter_clocked_load", "shift_clocked_load", "shift_four_phase", "shift_ratioless", "bias_generator")

ZOOM, ARRAY_ZOOM = 3, 2
CROWDED = 0.7
"""From this difficulty on a drawing also shows where neighbours begin."""
WIDTH = 2200
COLOURS = 48
TITLE = 18


def main(arguments: Sequence[str]) -> int:
    """Write the sheets into a folder and name each file."""
    if not arguments:
        print("usage: python -m tests.bench.sheet FOLDER [PROCESS…]", file=sys.stderr)
        return 2
    folder = Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    names = arguments[1:] or (*PROCESSES, PADS)
    if PADS in names:
        _write(folder / f"{PADS}.png", list(_in_every_process()))
    for name in names:
        if name == PADS:
            continue
        process = load_process(name)
        for suffix, make in (("", _every_cell), ("-arrays", _arrays), ("-degrees", _degrees)):
            _write(folder / f"{name}{suffix}.png", list(make(process)))
    return 0


def _write(path: Path, tiles: Sequence[Tile]) -> None:
    image = _packed(tiles).quantize(COLOURS, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)
    image.save(path, optimize=True)
    print(f"wrote {path}, {path.stat().st_size // 1024} KiB")


def _in_every_process() -> Iterator[Tile]:
    """Yield pads and what works by clocked loads, a cell after the other, each in the processes that it fits."""
    cells = [load_cell(name) for name in cell_names()]
    shown = [cell for cell in cells if cell.family == "pads and drivers" or cell.name in CLOCKED]
    for seed, cell in enumerate(shown):
        for turn, name in enumerate(PROCESSES):
            process = load_process(name)
            if cell.fits(process):
                image = _drawing(cell.name, process, seed + turn, USUAL[seed % len(USUAL)], ARRAY_ZOOM)
                yield Tile(f"{cell.name}, {name}", image)


def _every_cell(process: Process) -> Iterator[Tile]:
    """Yield one drawing of each cell, each from a seed of its own, taken as difficult as comes in turn."""
    fitting = [name for name in cell_names() if load_cell(name).fits(process)]
    for seed, name in enumerate(fitting):
        yield Tile(load_cell(name).title, _drawing(name, process, seed, USUAL[seed % len(USUAL)], ZOOM))


def _arrays(process: Process) -> Iterator[Tile]:
    for seed, name in enumerate(ARRAYS):
        if load_cell(name).fits(process):
            yield Tile(load_cell(name).title, _drawing(name, process, seed, 0.3, ARRAY_ZOOM))


def _degrees(process: Process) -> Iterator[Tile]:
    return (_row(name, process) for name in DEGREES if load_cell(name).fits(process))


def _row(name: str, process: Process) -> Tile:
    """Return the drawings of one cell side by side."""
    images = [_drawing(name, process, seed, hard, ZOOM) for seed, hard in enumerate(HARDNESS)]
    width = sum(image.width for image in images) + GAP // 2 * (len(images) - 1)
    row = Image.new("RGB", (width, max(image.height for image in images)), PAPER)
    x = 0
    for image in images:
        row.paste(image, (x, 0))
        x += image.width + GAP // 2
    return Tile(load_cell(name).title, row)


def _drawing(name: str, process: Process, seed: int, hard: float, zoom: int) -> Image.Image:
    cell = load_cell(name)
    found = proved(
        cell.netlist(process), process, seed, difficulty=hard, neighbours=hard >= CROWDED, tiling=cell.tiling(process)
    )
    view = View.whole(found.layout, process, zoom, margin=1)
    return render(found.layout, process, Shot(load_look("reflected-light"), view, seed=seed))


def sheet_of(process: Process, drawings: Sequence[tuple[str, Proved]]) -> Image.Image:
    """Return a sheet of proved drawings under the microscope, each with its title."""
    tiles = []
    for seed, (title, made) in enumerate(drawings):
        view = View.whole(made.layout, process, ARRAY_ZOOM, margin=1)
        tiles.append(Tile(title, render(made.layout, process, Shot(load_look("reflected-light"), view, seed=seed))))
    return _packed(tiles)


def _packed(tiles: Sequence[Tile]) -> Image.Image:
    """Set tiles in lines of one width, each with its title above it."""
    places: list[tuple[int, int]] = []
    x = y = GAP
    tall = 0
    font = ImageFont.load_default(13)
    for tile in tiles:
        wide = max(tile.image.width, round(font.getlength(tile.title)))
        if x > GAP and x + wide + GAP > WIDTH:
            x, y, tall = GAP, y + tall + TITLE + GAP, 0
        places.append((x, y))
        x += wide + 2 * GAP
        tall = max(tall, tile.image.height)
    sheet = Image.new("RGB", (WIDTH, y + tall + TITLE + GAP), PAPER)
    draw = ImageDraw.Draw(sheet)
    for tile, (left, top) in zip(tiles, places, strict=True):
        draw.text((left, top), tile.title, fill=INK, font=font)
        sheet.paste(tile.image, (left, top + TITLE))
    return sheet


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
