"""Set pictures side by side, each under its title."""

from collections.abc import Sequence

from PIL import Image, ImageDraw, ImageFont

GAP = 12
ROW = 22
COLUMNS = 3
PAPER, INK = (250, 249, 246), (40, 40, 44)


def abreast(pictures: Sequence[tuple[str, Image.Image]], columns: int = COLUMNS) -> Image.Image:
    """Return one image with the pictures in rows of at most `columns`, titles above them."""
    font = ImageFont.load_default(14)
    width = max(max(image.width, round(font.getlength(title)) + 4) for title, image in pictures)
    height = max(image.height for _, image in pictures) + ROW
    across = min(columns, len(pictures))
    rows = -(-len(pictures) // across)
    sheet = Image.new("RGB", (across * (width + GAP) + GAP, rows * (height + GAP) + GAP), PAPER)
    draw = ImageDraw.Draw(sheet)
    for i, (title, image) in enumerate(pictures):
        x, y = GAP + i % across * (width + GAP), GAP + i // across * (height + GAP)
        draw.text((x, y), title.replace("λ", "lambda").replace("µ", "u"), fill=INK, font=font)
        sheet.paste(image, (x, y + ROW))
    return sheet
