"""
A photograph of 200 megapixels in each format: cut into tiles, opened again, panned; with the memory that each takes.

`python -m tests.bench.bench_photographs [PNG JPEG PROGRESSIVE TIFF PACKED]`; about a minute and 2 GB of memory each.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

WIDE, HIGH = 16_000, 12_560
FORMATS = {
    "PNG": ("a.png", {"compress_level": 1}),
    "JPEG": ("a.jpg", {"quality": 85}),
    "PROGRESSIVE": ("b.jpg", {"quality": 85, "progressive": True}),
    "TIFF": ("a.tif", {}),
    "PACKED": ("b.tif", {"compression": "tiff_lzw"}),
}


def made(folder):
    """Return a picture as large as a stitched die, with structure at every scale."""
    tile = Image.effect_noise((800, 628), 60).convert("L")
    whole = Image.new("RGB", (WIDE, HIGH))
    for x in range(0, WIDE, 800):
        for y in range(0, HIGH, 628):
            shade = (x // 800 * 7 + y // 628 * 11) % 120
            whole.paste(Image.merge("RGB", [tile.point(lambda level, s=shade: (level + s) // 2)] * 3), (x, y))
    return whole


CUTTING = """
import resource, sys, time
from pathlib import Path
from layoutdrill.photo.tiles import cut_tiles
start = time.perf_counter()
cut_tiles(Path(sys.argv[1]))
wall = time.perf_counter() - start
used = resource.getrusage(resource.RUSAGE_CHILDREN)
cpu = used.ru_utime + used.ru_stime
print(f"cut {wall:.1f} s ({cpu:.1f} CPU), \u2264 {used.ru_maxrss / 1024:.0f} MiB")
"""
"""A small process begins the cutter: a child counts the memory of what began it as its own."""
OPENING = """
import sys, time, resource
from pathlib import Path
start = time.perf_counter()
from layoutdrill.photo.model import Marks, Picture
from layoutdrill.photo.frame import Frame
from layoutdrill.photo.looking import Pictures
from layoutdrill.geometry.rect import Rect
path = Path(sys.argv[1])
picture = Picture(path.name, size=(int(sys.argv[2]), int(sys.argv[3])))
marks = Marks("a", str(path), "silicon-gate-cmos", 8, 0.0, (picture,))
pictures = Pictures(marks, Frame(*picture.size))
box = pictures.frame.box
pictures.image(picture, box, (160, 126))
opened, cpu = time.perf_counter() - start, time.process_time()
warm = []
for step in range(40):
    region = Rect(4000 + 40 * step, -6000, 4000 + 40 * step + 1280, -5000)
    start = time.perf_counter()
    pictures.image(picture, region, (160, 125))
    warm.append(time.perf_counter() - start)
cold = []
for step in range(20):
    region = Rect(700 * step, -400 * step - 1000, 700 * step + 960, -400 * step)
    start = time.perf_counter()
    pictures.image(picture, region, (160, 125))
    cold.append(time.perf_counter() - start)
rss = next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM")) / 1024
near, far = sorted(warm)[20] * 1000, sorted(cold)[10] * 1000
took = f"opened {opened:.2f} s ({cpu:.2f} CPU with the interpreter), {rss:.0f} MiB"
print(f"{took}; pan {near:.1f} ms, elsewhere {far:.0f} ms")
"""


def main(names):
    with tempfile.TemporaryDirectory() as folder:
        os.environ["LAYOUTDRILL_CACHE"] = folder
        from layoutdrill.photo.tiles import tile_file

        whole = made(folder)
        for name in names or FORMATS:
            file, how = FORMATS[name]
            path = Path(folder) / file
            whole.save(path, **how)
            told = f"{WIDE * HIGH / 1e6:.0f} MP, {path.stat().st_size / 2**20:.0f} MiB"
            said = subprocess.run(
                [sys.executable, "-c", CUTTING, str(path)], capture_output=True, text=True, check=True
            )
            target = tile_file(path)
            size = target.stat().st_size / 2**20
            print(f"{name:12} {told}: {said.stdout.strip()}, {size:.0f} MiB on disk", flush=True)
            command = [sys.executable, "-c", OPENING, str(path), str(WIDE), str(HIGH)]
            said = subprocess.run(command, capture_output=True, text=True, check=True)
            print(f"{'':12} {said.stdout.strip()}", flush=True)
            path.unlink()
            target.unlink()


if __name__ == "__main__":
    main(sys.argv[1:])
