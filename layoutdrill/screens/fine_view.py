"""What a picture does where the terminal shows images: has the fine picture drawn, lays it down, takes it away."""

from collections.abc import Iterable

from PIL import Image
from rich.style import Style
from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from layoutdrill.screens.fine_picture import FineLayer, FinePiece, Kept, apart, blanked, fine_piece, fineness, part_in
from layoutdrill.screens.frame import Note
from layoutdrill.screens.graphics import Graphics
from layoutdrill.screens.subject import Drawer, Subject, paint
from layoutdrill.screens.viewport import Viewport
from layoutdrill.value import mutable

SETTLED = 0.15
"""Seconds of rest after which a fine picture is drawn, or a still laid over the half-blocks."""


class FineView(Widget):
    """Mixed into the widget of a picture: `subject` and `view` are its own; nothing happens without `graphics`."""

    subject: Subject | None
    view: Viewport | None

    @mutable
    class FineDrawn(Message):
        """A worker drew the fine picture."""

        key: tuple[object, ...]
        piece: FinePiece

    def __init__(self, *, name: str | None = None, id: str | None = None) -> None:  # noqa: A002 - the library's word
        super().__init__(name=name, id=id)
        self._layer = FineLayer()
        self._fine_wanted: tuple[object, ...] | None = None
        self._hidden_below = self._still_due = False
        self._kept: Kept = ()

    @property
    def graphics(self) -> Graphics | None:
        """How the terminal shows images, None where it does not or nobody asked."""
        return getattr(self.app, "graphics", None)

    def finest_possible(self) -> bool:
        """Tell whether the picture may be shown finely now; the widget says when it may not."""
        return not self._hidden_below

    def repaint(self) -> None:
        """Paint the widget's own cells anew."""
        self.refresh()

    def strips_now(self) -> list[Strip]:
        """Return the widget's own cells as they were painted last."""
        return []

    # having it drawn

    def _look_closer(self) -> None:
        """See that the fine picture of what is in sight is drawn, once nothing has moved for a moment."""
        graphics, subject, view = self.graphics, self.subject, self.view
        if graphics is None or subject is None or view is None:
            return
        region = view.tile()
        times = fineness(graphics, view, region)
        key = (Drawer.key(subject, region, view.scale), times) if times > 1 else None
        held = self._layer.piece
        if held is not None and held.key != key:
            self._layer.piece = held = None
        self._fine_wanted = key
        self.call_after_refresh(self._lay)
        if held is None and key is not None:
            self.set_timer(SETTLED, lambda: self._draw_finely(key, subject, view, times))

    def _draw_finely(self, key: tuple[object, ...], subject: Subject, view: Viewport, times: int) -> None:
        if key != self._fine_wanted or not self.is_attached:
            return
        region, ground = view.tile(), self.background_colors[1].rgb

        def work() -> None:
            try:
                image = paint(subject, region, view.scale * times).convert("RGB")
                piece = fine_piece(key, image, region, view, ground)
            except Exception as error:  # noqa: BLE001 - the half-blocks stand; the same fault is told of them
                self.log(error)
            else:
                self.post_message(self.FineDrawn(key, piece))

        self.run_worker(work, thread=True, group="fine", exit_on_error=False)

    def on_fine_view_fine_drawn(self, message: FineDrawn) -> None:
        if message.key == self._fine_wanted:
            self._layer.piece = message.piece
            self._lay()
            self.repaint()

    # laying it down

    def seen_finely(self) -> FinePiece | None:
        """Return the piece that is to be seen now, None while half-blocks are."""
        if self.graphics is None or self.view is None or not self.finest_possible():
            return None
        return self._layer.piece

    @property
    def fine_scale(self) -> float:
        """The pixels per λ of what is to be seen: more than the view's where a fine picture stands."""
        piece, view = self.seen_finely(), self.view
        return 0 if view is None else view.scale * (piece.times if piece is not None else 1)

    def cut_open(self, strips: list[Strip], plain: Image.Image, out: Image.Image, notes: Iterable[Note]) -> list[Strip]:
        """Return the strips with nothing where the image will lie: everywhere but below what stands on the picture."""
        graphics, view, piece = self.graphics, self.view, self.seen_finely()
        if graphics is None or view is None:
            return strips
        kept = apart(plain, out, [(note.row, note.column, len(note.text)) for note in notes], view.rows)
        if kept != self._kept:
            self._kept = kept
            self.call_after_refresh(self._lay)
        seen = part_in(piece, view) if piece is not None else None
        if piece is None or seen is None or not graphics.kitty or self._layer.handed != piece.key:
            return strips  # until the image is there, half-blocks are
        ground = Style(bgcolor=self.background_colors[1].rich_color)
        return blanked(strips, seen[0], self._kept, ground)

    def lay_still(self) -> None:
        """Lay a still over the half-blocks once they rest; the terminal's cells have just been written."""
        graphics = self.graphics
        if graphics is not None and not graphics.kitty and not self._still_due:
            self._still_due = True
            self.set_timer(SETTLED, self._lay)

    def make_room(self, seconds: float) -> None:
        """Leave free, for so long, what a remark is about to cover."""
        if self.graphics is not None and self.graphics.kitty:
            self.set_timer(SETTLED, self._lay)
            self.set_timer(seconds + 2 * SETTLED, self._lay)

    def _lay(self) -> None:
        self._still_due = False
        graphics, view = self.graphics, self.view
        if graphics is None or view is None or not self.is_attached:
            return
        region = self.content_region
        if self.screen is not self.app.screen or self.seen_finely() is None:
            self._write(self._layer.gone())
        elif not graphics.kitty:
            self._write(self._layer.still(graphics, view, (region.x, region.y)) + self._standing())
        elif len(self._kept) == view.rows:
            before = self._layer.handed
            self._write(self._layer.shown(view, (region.x, region.y), self._below_remarks(region)))
            if self._layer.handed != before:
                self.repaint()

    def _below_remarks(self, region: Region) -> Kept:
        """Return what to leave free, remarks over the picture included."""
        kept = list(self._kept)
        for remark in self.screen.query("Toast"):
            over = remark.region.intersection(region)
            for y in range(over.y, over.bottom):
                columns = range(over.x - region.x, over.right - region.x)
                kept[y - region.y] |= frozenset(columns)
        return tuple(kept)

    def _standing(self) -> str:
        """Return what stands on the picture, to be written over a still."""
        region, parts, strips = self.content_region, [], self.strips_now()
        for row, columns in enumerate(self._kept[: len(strips)]):
            for column in sorted(columns):
                strip = strips[row].crop(column, column + 1)
                parts.append(f"\x1b[{region.y + row + 1};{region.x + column + 1}H{strip.render(self.app.console)}")
        return f"\x1b7{''.join(parts)}\x1b8" if parts else ""

    def _write(self, text: str) -> None:
        driver = self.app._driver  # noqa: SLF001 - images go the way of the frames, in their order
        if text and driver is not None:
            driver.write(text)

    # taking it away

    def take_image_away(self) -> None:
        """Leave nothing in the terminal; what is shown next is handed over anew."""
        self._write(self._layer.gone())

    def lie_below(self, *, covered: bool) -> None:
        """Give way to a screen that stands over this one, or come back."""
        if self._hidden_below != covered:
            self._hidden_below = covered
            if self.graphics is not None:
                self.repaint()
                if covered:
                    self.take_image_away()
                else:
                    self.call_after_refresh(self._lay)

    def on_unmount(self) -> None:
        self.take_image_away()
