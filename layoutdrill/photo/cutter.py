"""
Cut one picture into tiles, as a process of its own: `python -m layoutdrill.photo.cutter PICTURE TILES`.

Tells how far it has come on standard output, a line “done total” each. It bounds its own memory: 10 bytes a pixel and
700 MB beside, enough for each of the three formats as measured; where the machine has less to give, a JPEG is read at
half its scale, and another format refused.
"""

import io
import json
import os
import sys
from pathlib import Path

from PIL import Image

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.photo.files import as_rgb, header, opened
from layoutdrill.photo.tiles import MAGIC, QUALITY, SIDE

BYTES_A_PIXEL = 10
BESIDE = 700_000_000


def main(arguments: list[str]) -> int:
    """Cut, and return the exit code."""
    source, target = Path(arguments[0]), Path(arguments[1])
    Image.MAX_IMAGE_PIXELS = None  # the bound is ours, and this process holds itself to its memory
    try:
        _cut(source, target, half=_short_of_memory(source))
    except LayoutdrillError as error:
        print(error, file=sys.stderr)  # noqa: T201 - the parent reads it
        return error.exit_code
    except MemoryError:
        print("not enough memory", file=sys.stderr)  # noqa: T201
        return 2
    return 0


def _short_of_memory(source: Path) -> bool:
    """Bound this process, and tell whether the picture must be read at half its scale; raises where that cannot be."""
    head = header(source)
    need = head.pixels * BYTES_A_PIXEL + BESIDE
    short = _memory() < need
    if short and head.format != "JPEG":
        what = f"cutting it takes up to {need // 1_000_000:,} MB of memory, and less is free"
        raise LayoutdrillError(what, where=Where(str(source)), todo="close other programs, or save it as JPEG")
    _bound(need)
    return short


def _memory() -> int:
    """Return the bytes that the machine can give, where it says so."""
    try:
        for line in Path("/proc/meminfo").read_text(encoding="ascii").splitlines():
            if line.startswith("MemAvailable:"):
                return int(line.split()[1]) * 1024
    except (OSError, ValueError, IndexError):
        pass
    return 1 << 62


def _bound(most: int) -> None:
    """Refuse to grow beyond so many bytes, where the system can hold a process to it."""
    try:
        import resource  # noqa: PLC0415 - not everywhere
    except ImportError:
        return
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    if hard == resource.RLIM_INFINITY or hard > most:
        resource.setrlimit(resource.RLIMIT_AS, (most, hard))


def _cut(source: Path, target: Path, *, half: bool) -> None:
    with opened(source) as image:
        size = image.size
        if half:
            image.draft("RGB", (max(1, size[0] // 2), max(1, size[1] // 2)))
        image.load()
        whole = image if image.mode == "RGB" else as_rgb(image)
    written = target.with_suffix(f".{os.getpid()}.part")
    try:
        with written.open("wb") as file:
            _write(file, whole, size)
        written.replace(target)
    except OSError as error:
        raise LayoutdrillError(f"tiles cannot be written ({error.strerror})", where=Where(str(target))) from None
    finally:
        written.unlink(missing_ok=True)


def _write(file: io.BufferedWriter, image: Image.Image, size: tuple[int, int]) -> None:
    file.write(MAGIC)
    levels, places = [], []
    total, wide, high = 0, image.width, image.height
    while True:
        total += -(-wide // SIDE) * -(-high // SIDE)
        if max(wide, high) <= SIDE:
            break
        wide, high = -(-wide // 2), -(-high // 2)
    done = 0
    while True:
        levels.append(image.size)
        level = len(levels) - 1
        for row in range(-(-image.height // SIDE)):
            for column in range(-(-image.width // SIDE)):
                box = column * SIDE, row * SIDE
                tile = image.crop((*box, min(box[0] + SIDE, image.width), min(box[1] + SIDE, image.height)))
                buffer = io.BytesIO()
                tile.save(buffer, "JPEG", quality=QUALITY)
                places.append((level, column, row, file.tell(), buffer.tell()))
                file.write(buffer.getvalue())
                done += 1
            print(done, total, flush=True)  # noqa: T201 - the parent reads it
        if max(image.size) <= SIDE:
            break
        image = image.reduce(2)
    at = file.tell()
    file.write(json.dumps({"size": size, "levels": levels, "tiles": places}).encode("ascii"))
    file.write(f"{at:>16}".encode("ascii"))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
