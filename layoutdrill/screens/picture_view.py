"""Show a drawing in half-blocks, with its overview: drawn in a worker, cut and coloured here."""

from collections.abc import Callable
from contextlib import suppress
from contextvars import copy_context
from dataclasses import replace
from threading import Thread
from typing import ClassVar

from rich.segment import Segment
from textual.message import Message
from textual.strip import Strip

from layoutdrill.drill.visited import Visited, is_large
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.overlay import LETTERS_FROM
from layoutdrill.screens.fine_view import FineView
from layoutdrill.screens.frame import (
    BEYOND,
    Note,
    OnOverview,
    corner_for,
    draw_crosshair,
    inset,
    name_note,
    palette,
    runs,
    window,
)
from layoutdrill.screens.looking_about import LookingAbout
from layoutdrill.screens.overview_drawing import OverviewDrawing
from layoutdrill.screens.painting import (
    BEEN,
    ONE_BY_ONE,
    SHORTLY,
    WHOLE,
    Shown,
    add_note,
    dots_of,
    fitted,
    frames_on,
    in_the_middle,
    kept_clear,
    letters_on,
    lies_under,
    notes_of,
    on_overview,
    pattern,
    rung_on,
    seen_in,
    style_of,
)
from layoutdrill.screens.ruler import bar_note
from layoutdrill.screens.sighting import Focus, kept_on, starting, whole_first
from layoutdrill.screens.steady import Steady
from layoutdrill.screens.subject import NOTHING, Drawer, Indexed, Subject
from layoutdrill.screens.viewport import Viewport, snapped
from layoutdrill.value import mutable

_AT_ONCE = 0.15
"""Seconds to wait for the very first picture before the first frame is painted without it."""


class PictureView(Steady, OverviewDrawing, LookingAbout, FineView, can_focus=True):
    """A drawing as large as the widget. Arrow keys come from the screen, which calls the methods below."""

    DEFAULT_CSS = "PictureView { width: 1fr; height: 1fr; }"

    SPINNER: ClassVar[str] = "◐◓◑◒"

    @mutable
    class Pointed(Message):
        """A place on the drawing was clicked (grid units)."""

        x: int
        y: int

    @mutable
    class Moved(Message):
        """What is in sight, or the place under crosshair or mouse, changed."""

        view: Viewport
        place: tuple[int, int] | None

    @mutable
    class Drawn(Message):
        """The picture of what is in sight stands on the screen."""

    @mutable
    class PieceDrawn(Message):
        """A worker drew a piece."""

        key: tuple[object, ...]
        piece: Indexed

    @mutable
    class DrawingFailed(Message):
        """A worker could not draw."""

        error: Exception

    def __init__(self, *, name: str | None = None, id: str | None = None) -> None:  # noqa: A002 - the library's word
        super().__init__(name=name, id=id)
        self.subject: Subject | None = None
        self.busy = self.masked = False
        self.visited: Visited | None = None
        """Where one has been on a die that is too large to be seen at once; None where nobody keeps that."""
        self._drawer = Drawer()
        self._piece: tuple[Indexed, Rect, float] | None = None
        self._strips: list[Strip] | None = None
        self._asked: tuple[object, ...] | None = None
        self._wait = 0

    # what to show

    def show(self, subject: Subject | None, *, keep_view: bool = False, focus: Focus | None = None) -> None:
        """
        Show a subject from its opening view, which has what `focus` says in sight; or the same view where it is the
        same drawing changed.
        """
        self.subject, self.masked = subject, False
        if subject is None:
            self.view, self._piece, self._strips = None, None, None
            self.refresh()
            return
        if not keep_view:
            self.focus_on = focus or Focus()
            self._piece, self._overview, self.crosshair, self.view = None, None, None, None
            self._looked_about = self._crosshair_wanted = False
            self._jumped = None
        self.look_again()

    def mask(self) -> None:
        """Cover the picture with a pattern that leaves nothing of it in the eye."""
        self.show(None)
        self.masked = True

    def look_again(self) -> None:
        """See that the piece for the present view is drawn, then paint."""
        self._strips = None
        if self._find_piece():
            self.refresh()

    def _find_piece(self, patience: float = 0.0) -> bool:
        """
        Take the piece for the present view, or have it drawn, and wait so long for it; return whether there is
        anything to paint.
        """
        subject, columns, rows = self.subject, self.size.width, self.size.height
        if subject is None or columns < 4 or rows < 2:
            return False
        if self.view is None:
            per = subject.face.process.grid_per_lambda
            self.view = starting(snapped(subject.box, per), per, columns, rows, self.focus_on)
            whole = whole_first(self.view, self.focus_on, subject.box) or is_large(subject.box, per)
            self.overview = Shown.LARGE if whole and not self.view.whole else Shown.SMALL
            if self._crosshair_wanted:
                self.toggle_crosshair(on=True)
        elif (columns, rows) != (self.view.columns, self.view.rows):
            view = self.view
            fresh = starting(snapped(subject.box, view.per_lambda), view.per_lambda, columns, rows, self.focus_on)
            again = view.resized(columns, rows)
            kept = again if view.alone is not None else kept_on(again, self.focus_on)
            self.view = kept if self._looked_about else fresh
        if (
            self.visited is not None
            and self.overview is not Shown.LARGE
            and is_large(subject.box, self.view.per_lambda)
        ):
            self.visited.note(self.view.box, self.view.visible())
        region, scale = self.view.tile(), self.view.scale
        if self._drawer.ready(subject, region, scale) is None:
            self._ask(subject, region, scale, patience)
        piece = self._drawer.ready(subject, region, scale)
        if piece is not None:
            self.busy, self._asked = False, None
            if self._piece is None:
                self.call_after_refresh(self.post_message, self.Drawn())
            self._piece = (piece, region, scale)
        self._look_closer()
        self.post_message(self.Moved(self.view, self.crosshair))
        return True

    def _ask(self, subject: Subject, region: Rect, scale: float, patience: float) -> None:
        key = Drawer.key(subject, region, scale)
        if key == self._asked:
            return
        self._asked = key
        self.busy = True
        self._wait = 0
        self.set_timer(0.15, self._spin)

        def work() -> None:
            try:
                piece = self._drawer.draw(subject, region, scale)
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.DrawingFailed(error))
            else:
                self.post_message(self.PieceDrawn(key, piece))

        if patience:
            worker = Thread(target=copy_context().run, args=(work,), daemon=True)
            worker.start()
            worker.join(patience)
        else:
            self.run_worker(work, thread=True, group="draw", exit_on_error=False)

    def draw_ahead(self, subject: Subject, focus: Focus) -> None:
        """Draw what `show` will want first at this size, in a worker: it then stands at once."""
        columns, rows, per = self.size.width, self.size.height, subject.face.process.grid_per_lambda
        if columns < 4 or rows < 2:
            return

        def work() -> None:
            view = starting(snapped(subject.box, per), per, columns, rows, focus)
            with suppress(Exception):  # told when it is wanted, and cannot be drawn
                self._drawer.draw(subject, view.tile(), view.scale)

        self.run_worker(work, thread=True, group="ahead", exit_on_error=False)

    def _spin(self) -> None:
        if self.busy:
            self._wait += 1
            self._strips = None
            self.refresh()
            self.set_timer(0.15, self._spin)

    def on_picture_view_piece_drawn(self, message: PieceDrawn) -> None:
        """Take a piece that is still wanted; one that came too late waits in the drawer."""
        if message.key != self._asked:
            return
        self.busy, self._asked = False, None
        stood = self._piece is not None
        self.look_again()
        if stood:
            self.call_after_refresh(self.post_message, self.Drawn())

    def on_picture_view_drawing_failed(self) -> None:
        self.busy, self._asked = False, None
        self._strips = None
        self.refresh()

    @property
    def stands(self) -> bool:
        """Tell whether the picture can be seen: of a subject, drawn."""
        return self.subject is None or self._piece is not None

    def bring(self, focus: Focus) -> None:
        """Bring into sight what `focus` says: the view moves, or grows wider, no more than it takes; and it follows."""
        if self.focus_on.pictures and not focus.pictures:
            known = self.focus_on
            focus = replace(focus, pictures=known.pictures, names=known.names, whole=known.whole)
        self.focus_on = focus
        self._looked_about = False
        if self.view is not None:
            self.view = kept_on(self.view, focus)
            if self.overview == Shown.LARGE:
                self.overview = Shown.SMALL
            self.look_again()

    def on_resize(self) -> None:
        view = self.view
        if self._strips is None or view is None or self.size != (view.columns, view.rows):
            self.look_again()

    def tell_moved(self, place: tuple[int, int] | None) -> None:
        if self.view is not None:
            self.post_message(self.Moved(self.view, place))

    def tell_failed(self, error: Exception) -> None:
        self.post_message(self.DrawingFailed(error))

    def forget_strips(self) -> None:
        self._strips = None
        self.refresh()

    def tell_pointed(self, x: int, y: int) -> None:
        self.post_message(self.Pointed(x, y))

    def change(self, alter: Callable[[Subject], Subject]) -> None:
        """Change the subject (a layer lifted, outlines, another look) and keep the view."""
        if self.subject is not None:
            self.show(alter(self.subject), keep_view=True)

    # painting

    def finest_possible(self) -> bool:
        whole_only = self.overview == Shown.LARGE and self.view is not None and not self.view.whole
        return super().finest_possible() and not whole_only and not (self.busy and self._wait)

    def repaint(self) -> None:
        self._strips = None
        self.refresh()
        if self.view is not None:
            self.post_message(self.Moved(self.view, self.crosshair))

    def strips_now(self) -> list[Strip]:
        return self._strips or []

    def render_line(self, y: int) -> Strip:
        if self._strips is None:
            if self.view is None:
                self._find_piece(_AT_ONCE)  # the size is known only now; else the first frame would be without it
            self._strips = self._painted()
        self.lay_still()
        if y < len(self._strips):
            return self._strips[y]
        return Strip.blank(self.size.width, self.visual_style.rich_style)

    def _painted(self) -> list[Strip]:
        view, held = self.view, self._piece
        if view is None or held is None or self.subject is None:
            return self._waiting()
        piece, region, scale = held
        piece = fitted(piece, region, scale, view)
        left, top = view.spot(region.x0, region.y1 - 1)
        out = window(piece, left, top, view.columns, view.rows)
        plain = out.copy()
        overview = self.small_overview(view)
        covered = (0, 0, 0, 0)
        at = None
        if overview is not None and self.overview == Shown.LARGE:
            at = in_the_middle(view, overview)
            out.paste(BEYOND, (0, 0, *out.size))
        elif overview is not None:
            at = corner_for(out, overview, kept_clear(view, self.subject, self.crosshair, self.focus_on))
        if overview is not None and at is not None:
            large = self.overview == Shown.LARGE
            parts = self.subject.overlay if large else NOTHING
            dots = dots_of(overview, self.visited) if is_large(view.box, view.per_lambda) else []
            compared = large and bool(self.focus_on.pictures)  # they are seen one at a time, and not by a frame
            seen = None if compared else seen_in(view, overview)
            marked = OnOverview(rung_on(view, overview, self.focus_on), dots, frames_on(view, overview, parts))
            covered = inset(out, overview, seen, at, marked)
        if self.crosshair is not None:
            spot = view.spot(*self.crosshair)
            if overview is not None and self.overview == Shown.LARGE:
                (left, top), (column, half) = (
                    in_the_middle(view, overview),
                    on_overview(view, overview, *self.crosshair),
                )
                spot = left + column, top + half
            draw_crosshair(out, *spot)
        ground = self.background_colors[1].rgb
        colours = palette(piece, overview, ground)
        texts = piece.texts if scale == view.scale and self.fine_scale < LETTERS_FROM else ()
        spin = self.SPINNER[self._wait % 4] if self.busy and self._wait else ""
        strong = frozenset(tag.text for tag in self.subject.overlay.marks)
        notes = notes_of(texts, view.spot(region.x0, region.y1 - 1), strong, spin)
        notes = {row: [note for note in in_row if not lies_under(note, covered)] for row, in_row in notes.items()}
        if overview is None or self.overview != Shown.LARGE:
            add_note(notes, name_note(out, self.focus_on.name_of(view.alone)))
            clear = kept_clear(view, self.subject, self.crosshair, Focus())
            over = self.ruler or self.subject.overlay.scale_bar
            add_note(notes, bar_note(out, view, self.subject.face, notes, clear, over=over))
        else:
            notes = letters_on(view, overview, self.subject)
            words = f"{WHOLE}{BEEN}" if self.visited is not None and self.visited.fields else WHOLE
            words = ONE_BY_ONE if self.focus_on.pictures else words if len(words) < view.columns else SHORTLY
            notes.setdefault(view.rows - 1, []).append(Note(1, view.rows - 1, words))
        strips = [
            Strip(
                [
                    Segment(text, style_of(ink, under))
                    for text, ink, under in runs(out, row, colours, notes.get(row, ()))
                ],
                view.columns,
            )
            for row in range(view.rows)
        ]
        return self.cut_open(strips, plain, out, [note for row in notes.values() for note in row])

    def _waiting(self) -> list[Strip]:
        if self.masked:
            return pattern(self.size.width, self.size.height, self.visual_style.rich_style)
        if not (self.busy and self._wait):
            return []
        mark = f" {self.SPINNER[self._wait % 4]} drawing"
        style = self.visual_style.rich_style
        return [Strip([Segment(mark.ljust(self.size.width)[: self.size.width], style)], self.size.width)]
