"""
Pages of a PDF: text in an embedded font, rules, boxes to write in, and layout drawn as vectors.

Needs reportlab (the extra `print`). Bytes depend on the content alone. Lengths are in points (1/72 inch), y upwards.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

from PIL import Image

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.picture.colour import RGB

SIZES = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
"""Width and height of a page: ISO 216 A4 (210 × 297 mm) and ANSI A (8.5 × 11 inches)."""
MARGIN = 48.0
FONT = "DejaVuSans"
_FONT_FILE = Path(__file__).parent / "fonts" / "DejaVuSans.ttf"
_FEET = 28.0
BLACK: RGB = (0, 0, 0)
GREY: RGB = (110, 110, 110)


class Paper:
    """A PDF in the making. `y` is where the next thing goes; what does not fit goes to a new page."""

    def __init__(self, path: Path, size: str, title: str) -> None:
        """Begin the file; raises LayoutdrillError where reportlab is not installed."""
        try:
            from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - an extra, and heavy
            from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415
            from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415
        except ImportError:
            raise LayoutdrillError(
                "handouts need reportlab, which is not installed", todo="pip install 'layoutdrill[print]'"
            ) from None
        if FONT not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(FONT, str(_FONT_FILE)))
        self.path = path
        self.width, self.height = SIZES[size]
        self.title = title
        self._width_of = pdfmetrics.stringWidth
        self.canvas = Canvas(
            str(path),
            pagesize=(self.width, self.height),
            invariant=1,
            pageCompression=1,
            initialFontName=FONT,  # type: ignore[arg-type]  # the stubs take a name for a number
        )
        self.canvas.setTitle(title)
        self.pages = 0
        self.y = 0.0
        self._begin()

    @property
    def room(self) -> float:
        """The width between the margins."""
        return self.width - 2 * MARGIN

    def save(self) -> None:
        """Write the file. Raises LayoutdrillError where it cannot be written."""
        from reportlab import rl_config  # noqa: PLC0415 - an extra

        self._end()
        text_only, rl_config.useA85 = rl_config.useA85, 0  # its pages as bytes, a fifth shorter than as letters
        try:
            self.canvas.save()
        except OSError as error:
            raise LayoutdrillError(f"cannot be written ({error.strerror})", where=Where(str(self.path))) from None
        finally:
            rl_config.useA85 = text_only

    def _begin(self) -> None:
        self.pages += 1
        self.y = self.height - MARGIN

    def _end(self) -> None:
        self.put(self.title, MARGIN, _FEET, 8, GREY)
        number = str(self.pages)
        self.put(number, self.width - MARGIN - self.wide(number, 8), _FEET, 8, GREY)
        self.canvas.showPage()

    def new_page(self) -> None:
        self._end()
        self._begin()

    def need(self, height: float) -> None:
        """Begin a new page unless so much room is left on this one."""
        if self.y - height < MARGIN and self.y < self.height - MARGIN:
            self.new_page()

    # Text

    def wide(self, text: str, size: float) -> float:
        return float(self._width_of(text, FONT, size))

    def put(self, text: str, x: float, y: float, size: float, colour: RGB = BLACK) -> None:
        """Write one line, its baseline's left end at (x, y)."""
        self.canvas.setFont(FONT, size)
        self.fill(colour)
        self.canvas.drawString(x, y, text)

    def wrapped(self, text: str, width: float, size: float) -> list[str]:
        """Break text into lines; each line of the text begins a new one. A word too long for a line is cut."""
        lines: list[str] = []
        for paragraph in text.split("\n"):
            line = ""
            for word in paragraph.split(" "):
                longer = f"{line} {word}" if line else word
                if self.wide(longer, size) <= width:
                    line = longer
                    continue
                if line:
                    lines.append(line)
                while self.wide(word, size) > width:
                    cut = next(i for i in range(len(word), 0, -1) if self.wide(word[:i], size) <= width or i == 1)
                    lines.append(word[:cut])
                    word = word[cut:]  # noqa: PLW2901
                line = word
            lines.append(line)
        return lines

    def write(self, text: str, size: float = 10, *, gap: float = 4, indent: float = 0, colour: RGB = BLACK) -> None:
        """Write text over the page's width, on to the next page where need be, and leave a gap below."""
        for line in self.wrapped(text, self.room - indent, size):
            self.need(size * 1.3)
            self.y -= size * 1.3
            self.put(line, MARGIN + indent, self.y, size, colour)
        self.y -= gap

    # Shapes

    def fill(self, colour: RGB) -> None:
        self.canvas.setFillColorRGB(*(round(value / 255, 3) for value in colour))

    def stroke(self, colour: RGB, width: float) -> None:
        self.canvas.setStrokeColorRGB(*(round(value / 255, 3) for value in colour))
        self.canvas.setLineWidth(width)

    def image(self, image: Image.Image, x: float, y: float, width: float, height: float) -> None:
        """Set an image with its lower left corner at (x, y); as JPEG, or a page would be megabytes."""
        from reportlab.lib.utils import ImageReader  # noqa: PLC0415 - an extra

        file = BytesIO()
        image.save(file, "JPEG", quality=88)
        self.canvas.drawImage(ImageReader(file), x, y, width, height)

    def line(self, x0: float, y0: float, x1: float, y1: float) -> None:
        self.canvas.line(x0, y0, x1, y1)

    def boxes(self, boxes: Sequence[tuple[float, float, float, float]], *, stroke: bool = False) -> None:
        """Fill (or only outline) boxes (x, y, width, height) as one path."""
        if boxes:
            self.canvas.addLiteral(f"n {_boxes(boxes)} {'S' if stroke else 'f'}")

    def strokes(self, lines: Sequence[tuple[float, float, float, float]]) -> None:
        """Draw lines (x0, y0, x1, y1) as one path."""
        if lines:
            path = " ".join(f"{_short(a)} {_short(b)} m {_short(c)} {_short(d)} l" for a, b, c, d in lines)
            self.canvas.addLiteral(f"n {path} S")

    @contextmanager
    def within(self, boxes: Sequence[tuple[float, float, float, float]]) -> Iterator[None]:
        """Keep what is drawn meanwhile within boxes."""
        self.canvas.saveState()
        self.canvas.addLiteral(f"{_boxes(boxes)} W n")
        try:
            yield
        finally:
            self.canvas.restoreState()


def _boxes(boxes: Sequence[tuple[float, float, float, float]]) -> str:
    """Write boxes as a path of a page (ISO 32000-1, 8.5.2.1)."""
    return " ".join(f"{_short(x)} {_short(y)} {_short(w)} {_short(h)} re" for x, y, w, h in boxes)


def _short(length: float) -> str:
    """Write a length to a tenth of a point, as short as may be."""
    text = f"{length:.1f}"
    return text.removesuffix(".0")
