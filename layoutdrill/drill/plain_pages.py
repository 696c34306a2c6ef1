"""Tell a deck's pages in plain text: what they say, and when asked for, their pictures as lettered grids."""

from collections.abc import Iterator
from textwrap import wrap

from layoutdrill.deck import Arrangement, Page, Picture
from layoutdrill.deck.specimen import Bench
from layoutdrill.drill.plain_hints import hint_lines
from layoutdrill.drill.plain_layout import WIDTH, grid_lines
from layoutdrill.layout.model import Layout


def page_lines(page: Page, number: int, total: int, bench: Bench | None = None) -> Iterator[str]:
    """Return a page's lines; with a bench, its pictures are drawn and told too."""
    yield ""
    yield from wrap(f"Page {number} of {total}: {page.title}", WIDTH)
    for paragraph in page.text.split("\n\n"):
        yield ""
        yield from wrap(paragraph, WIDTH)
    step = "Step" if page.arrangement is Arrangement.BUILD_UP else "Picture"
    for place, picture in enumerate(page.pictures, 1):
        if picture.caption:
            yield ""
            yield from wrap(f"{step} {place}: {picture.caption}", WIDTH)
        if bench is not None:
            yield from _picture_lines(picture, bench)


def _picture_lines(picture: Picture, bench: Bench) -> Iterator[str]:
    specimen = bench.picture(picture)
    layout = specimen.layout
    if picture.layers:
        shapes = layout.flattened().shapes
        layout = Layout(layout.name, {name: shapes[name] for name in picture.layers if name in shapes})
    yield from grid_lines(layout, specimen.process)
    if picture.outline is not None:
        yield from hint_lines(picture.outline, specimen)
