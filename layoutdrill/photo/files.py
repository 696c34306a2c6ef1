"""Open picture files that others made: three formats, the header first, refused before they grow beyond a bound."""

import hashlib
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import RLock
from typing import NoReturn

from PIL import Image, UnidentifiedImageError

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.value import value

FORMATS = ("PNG", "JPEG", "TIFF")
MOST_PIXELS = 400_000_000
"""Larger pictures are refused; half of what fills the memory that the tiles of one may take."""
MOST_BYTES = 2_000_000_000
WIDEST = 100_000
_LOCK = RLock()
_BOMBS = (Image.DecompressionBombError,)


@value
class Header:
    """What a picture file says before its pixels: format, width, height."""

    format: str
    width: int
    height: int

    @property
    def pixels(self) -> int:
        return self.width * self.height


@contextmanager
def opened(path: Path) -> Iterator[Image.Image]:
    """
    Open a picture whose pixels are still to be read. Raises LayoutdrillError: missing, no picture of the three formats,
    damaged, or beyond the bounds, also while its pixels are read inside the block.
    """
    where = Where(str(path))
    if not path.is_file():
        raise LayoutdrillError(
            "no such picture file", where=where, todo="check the name, and that it lies beside the marks"
        )
    if path.stat().st_size > MOST_BYTES:
        raise LayoutdrillError(f"larger than {MOST_BYTES:,} bytes", where=where, todo="save it as JPEG")
    try:
        with _no_bomb_check(), warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what the library warns of is refused or told below
            image = Image.open(path, formats=FORMATS)
        with image:
            if image.width * image.height > MOST_PIXELS or max(image.size) > WIDEST:
                _too_large(image, where)
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                yield image
    except LayoutdrillError:
        raise
    except UnidentifiedImageError:
        raise LayoutdrillError(
            "no PNG, JPEG or TIFF picture", where=where, todo="save it in one of these formats"
        ) from None
    except MemoryError:
        raise LayoutdrillError("not enough memory for this picture", where=where, todo="save it smaller") from None
    except (OSError, SyntaxError, ValueError, ArithmeticError, LookupError, TypeError, EOFError, *_BOMBS) as error:
        what = f"the picture is damaged ({str(error)[:120] or type(error).__name__})"
        raise LayoutdrillError(what, where=where, todo="save it anew") from None


def _too_large(image: Image.Image, where: Where) -> NoReturn:
    what = f"{image.width} × {image.height} pixels, and at most {MOST_PIXELS // 1_000_000} million are opened"
    raise LayoutdrillError(what, where=where, todo="save it smaller, or in parts")


@contextmanager
def _no_bomb_check() -> Iterator[None]:
    """Let the library open a header of any size: the bound here is another."""
    with _LOCK:
        kept, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
        try:
            yield
        finally:
            Image.MAX_IMAGE_PIXELS = kept


def header(path: Path) -> Header:
    """Return a picture's format and size, from its header alone. Errors as those of `opened`."""
    with opened(path) as image:
        return Header(image.format or "", image.width, image.height)


def as_rgb(image: Image.Image) -> Image.Image:
    """Return 8-bit colour; of 16-bit grey the upper byte."""
    if image.mode.startswith("I;16") or image.mode == "I":
        return image.convert("I").point(lambda level: level / 256).convert("L").convert("RGB")
    return image.convert("RGB")


def digest_of(path: Path) -> str:
    """Return a file's SHA-256."""
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
    except OSError as error:
        raise LayoutdrillError(
            f"cannot be read ({error.strerror})", where=Where(str(path)), todo="check the path"
        ) from None
    return digest.hexdigest()
