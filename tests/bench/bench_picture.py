"""
Measure pictures: milliseconds of CPU and bytes of a terminal frame, and the L* by which look-alikes differ.

Prints two tables.
"""

import time

from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout, Placement
from layoutdrill.picture.halfblocks import Rows, _cells, to_cells
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.pen import Pen
from layoutdrill.picture.perception import SIGHTS
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import Process, load_process, process_names
from tests.picture.legibility import legibility
from tests.picture.lookalikes import look_alikes

OPAQUE_LOOKS = ("reflected-light", "stick-colours", "ink", "high-contrast")
REPEATS = 15


def wall_of(process: Process) -> Layout:
    """A drawing as crowded as a real one: look-alikes tiled with little between."""
    unit = process.grid_per_lambda
    drawn = look_alikes(process).layout
    places = [Placement(drawn, Transform(i * 60 * unit, j * 13 * unit)) for i in range(4) for j in range(12)]
    return Layout("wall", {}, (), tuple(places))


def written(rows: Rows) -> int:
    """Bytes of the frame as escape sequences with 24-bit colours, a sequence wherever a colour changes."""
    total = 0
    for row in rows:
        fg = bg = None
        total += len("\x1b[1;1H") + 3
        for run in row:
            if run.fg != fg:
                total += len("\x1b[38;2;{};{};{}m".format(*run.fg))
            if run.bg != bg:
                total += len("\x1b[48;2;{};{};{}m".format(*run.bg))
            fg, bg = run.fg, run.bg
            total += len(run.text.encode())
    return total


def frames() -> None:
    print("process              cells    px/λ wear  render  cells  total ms   KiB")
    look = load_look("reflected-light")
    for name in process_names():
        process = load_process(name)
        layout = wall_of(process)
        for columns, rows in ((120, 40), (200, 60)):
            for zoom in (1, 2, 4, 8):
                for wear in (0.0, 0.7):
                    unit = process.grid_per_lambda
                    x, y = (part // unit * unit for part in layout.box.centre)
                    wide, high = -(-columns // zoom) * unit, -(-2 * rows // zoom) * unit
                    view = View(Rect(x - wide // 2, y - high // 2, x - wide // 2 + wide, y - high // 2 + high), zoom)
                    render(layout, process, Shot(look, view, wear=wear))
                    drawn, cut, most = [], [], 0
                    for i in range(REPEATS):
                        moved = View(view.region.moved(i % 5 * unit, i % 3 * unit), zoom)
                        start = time.process_time()
                        image = render(layout, process, Shot(look, moved, wear=wear))
                        middle = time.process_time()
                        _cells.cache_clear()
                        cells = to_cells(image)
                        cut.append(time.process_time() - middle)
                        drawn.append(middle - start)
                        most = max(most, written(cells))
                    a, b = (1000 * sorted(times)[REPEATS // 2] for times in (drawn, cut))
                    size = f"{columns}x{rows}"
                    print(
                        f"{name:20} {size:8} {zoom:4} {wear:4.1f}  {a:6.1f} {b:6.1f}   {a + b:7.1f}  {most / 1024:4.0f}"
                    )


def contrasts() -> None:
    print("\nL* at 1 / 2 / 4 / 8 px/λ, the worst of all eyes, palettes and kinds")
    print("process              look               transistor-crossing  contact-crossing     two contacts")
    for name in process_names():
        for look in OPAQUE_LOOKS:
            worst = []
            for zoom in (1, 2, 4, 8):
                process = load_process(name)
                found = [
                    legibility(load_look(look), process, zoom, sight, kind=kind)
                    for sight in SIGHTS
                    for kind in Pen(process).kinds()
                ]
                worst.append(
                    [min(f.transistor for f in found), min(f.contact for f in found), min(f.pair for f in found)]
                )
            columns = [" / ".join(f"{row[i]:2.0f}" for row in worst) for i in range(3)]
            print(f"{name:20} {look:18} {columns[0]:20} {columns[1]:20} {columns[2]}")


def main() -> None:
    frames()
    contrasts()


if __name__ == "__main__":
    main()
