"""Look about in a picture: by the methods that keys call, and by the mouse."""

from textual import events
from textual.widget import Widget

from layoutdrill.drill.visited import is_large
from layoutdrill.geometry.rect import Rect
from layoutdrill.screens.painting import Shown, overview_step, there
from layoutdrill.screens.sighting import PICTURE, Focus, jumped, out_of_view
from layoutdrill.screens.subject import Indexed, Subject
from layoutdrill.screens.viewport import Viewport, opening, snapped


class LookingAbout(Widget):
    """Mixed into the widget of a picture: what is in sight, the crosshair, and the overview. The widget draws."""

    subject: Subject | None
    _overview: tuple[tuple[object, ...], Indexed] | None

    def __init__(self, *, name: str | None = None, id: str | None = None) -> None:  # noqa: A002 - the library's word
        super().__init__(name=name, id=id)
        self.view: Viewport | None = None
        self.crosshair: tuple[int, int] | None = None
        self.unmoved: tuple[int, int] | None = None
        """Where the crosshair was put when it was shown."""
        self.focus_on = Focus()
        self.overview = Shown.SMALL
        self._drag: tuple[int, int, bool] | None = None
        self._looked_about = self._crosshair_wanted = False
        self._jumped: Rect | None = None
        self.ruler = False
        """Whether the scale bar lies on the drawing where it has no room beside it."""

    def look_again(self) -> None:
        """Show what is now in view; the widget says how."""
        raise NotImplementedError

    def tell_moved(self, place: tuple[int, int] | None) -> None:
        """Post what is in sight, and the place under crosshair or mouse."""
        raise NotImplementedError

    def tell_pointed(self, x: int, y: int) -> None:
        """Post that a place on the drawing was clicked."""
        raise NotImplementedError

    # by key

    def move(self, dx: int, dy: int) -> None:
        """Move the crosshair by half-pixels where it is shown, else the view."""
        if self.view is None:
            return
        self._looked_about = True
        if self.crosshair is None:
            self.view = self.view.panned(dx * max(2, self.size.width // 12), dy * 2 * max(1, self.size.height // 10))
        elif self.overview == Shown.LARGE and not self.view.whole:
            across, up = overview_step(self.view)
            x, y = self.crosshair
            self.crosshair = self._inside(x + dx * across, y - dy * up)
            self.view = self.view.centred(*self.crosshair)  # the frame goes along: closer leads there
        else:
            column, half = self.view.spot(*self.crosshair)
            (was_x, was_y), (x, y) = self.crosshair, self.view.point(column + dx, half + dy)
            # where half-pixels are finer than the grid a step is a grid unit, and what is not moved stays
            x = was_x if not dx else was_x + (1 if dx > 0 else -1) if x == was_x else x
            y = was_y if not dy else was_y - (1 if dy > 0 else -1) if y == was_y else y
            self.crosshair = self._inside(x, y)
            self._follow()
        self.look_again()

    def _inside(self, x: int, y: int) -> tuple[int, int]:
        assert self.view is not None
        box = self.view.box
        return max(box.x0, min(box.x1 - 1, x)), max(box.y0, min(box.y1 - 1, y))

    def _follow(self) -> None:
        """Pan so that the crosshair stays in sight."""
        assert self.view is not None
        assert self.crosshair is not None
        column, half = self.view.spot(*self.crosshair)
        over_x = min(0, column - 2) + max(0, column - self.view.columns + 3)
        over_y = min(0, half - 2) + max(0, half - self.view.rows * 2 + 3)
        if over_x or over_y:
            self.view = self.view.panned(over_x, over_y + over_y % 2)

    def zoom(self, steps: int, about: tuple[int, int] | None = None) -> None:
        if self.view is not None:
            self._looked_about = True
            if self.overview == Shown.LARGE and not self.view.whole:
                self.overview = Shown.SMALL  # first what the frame shows, then closer
            else:
                self.view = self._kept_in(self.view, self.view.zoomed(steps, about or self.crosshair))
            self.look_again()

    def _kept_in(self, view: Viewport, closer: Viewport) -> Viewport:
        """Return a closer view moved so that the place spoken of that was nearest to the middle stays in sight."""
        if self.crosshair is not None or closer.scale <= view.scale:
            return closer
        x, y = view.point(view.columns // 2, view.rows)
        small = [r for r in self.focus_on.places if max(r.width, r.height) < PICTURE * view.per_lambda]
        seen = [rect for rect in small if view.shows(rect)]
        if not seen or any(closer.shows(rect) for rect in seen):
            return closer
        return closer.nudged(min(seen, key=lambda r: (abs(r.centre[0] - x) + abs(r.centre[1] - y), r)))

    def no_closer(self, scale: float) -> None:
        """Look from no closer than a scale: of two pictures that are compared sizes are compared too."""
        if self.view is not None and self.view.scale > scale:
            self.view = self.view.scaled(scale)
            self.look_again()

    def see_whole(self) -> None:
        if self.view is not None:
            if self.overview == Shown.LARGE and not self.view.whole:
                if self.focus_on.pictures:
                    self.jump()
                else:
                    self.zoom(1)  # there and back by one key, also while an answer is typed
                return
            self._looked_about = False
            if self.view.alone is not None:
                assert self.subject is not None
                per = self.view.per_lambda
                self.view = opening(snapped(self.subject.box, per), per, self.view.columns, self.view.rows)
            large = is_large(self.view.box, self.view.per_lambda)
            if (large or self.view == self.view.widest()) and not self.view.whole:
                self.overview = Shown.LARGE
            self.view = self.view.widest()
            self.look_again()

    def go_to(self, x: int, y: int) -> None:
        """Bring a place into sight, if it is not."""
        if self.view is not None:
            column, half = self.view.spot(x, y)
            if not (2 <= column < self.view.columns - 2 and 2 <= half < self.view.rows * 2 - 2):
                self.view = self.view.centred(x, y)
                self.look_again()

    @property
    def away(self) -> tuple[Rect, ...]:
        """Return the places spoken of that are out of view."""
        return () if self.view is None else out_of_view(self.view, self.focus_on)

    def jump(self) -> None:
        """Go to the next of the places spoken of that are out of view."""
        if self.view is not None:
            self.view, self._jumped = jumped(self.view, self.focus_on, self._jumped)
            self._looked_about = True
            if self.overview is Shown.LARGE:
                self.overview = Shown.SMALL
            self.look_again()

    def toggle_crosshair(self, *, on: bool | None = None) -> None:
        if self.view is None:
            self._crosshair_wanted = bool(on)
            return
        wanted = self.crosshair is None if on is None else on
        if wanted and self.crosshair is None:
            self.crosshair = self.unmoved = self._inside(*self.view.point(self.view.columns // 2, self.view.rows))
        elif not wanted:
            self.crosshair = None
        self.look_again()

    def enlarge_overview(self) -> None:
        """Show all of a drawing that is not all in sight, where nobody has looked about in it yet."""
        if self.overview is Shown.SMALL and not self._looked_about and self.view is not None and not self.view.whole:
            self.overview = Shown.LARGE
            self.look_again()

    def toggle_overview(self) -> None:
        """Show the overview small in a corner, then over all of the picture, then not at all."""
        self.overview = self.overview.next
        self.look_again()

    # mouse

    def _place(self, event: events.MouseEvent) -> tuple[int, int] | None:
        if self.view is None:
            return None
        fine = event.pointer_y - int(event.pointer_y)
        half = int(event.y) * 2 + (1 if fine >= 0.5 else 0)
        return self.view.point(int(event.x), half)

    def on_mouse_down(self, event: events.MouseDown) -> None:
        self._drag = (event.screen_x, event.screen_y, False)
        self.capture_mouse()

    def on_mouse_move(self, event: events.MouseMove) -> None:
        if self.view is None:
            return
        if self._drag is not None:
            dx, dy = event.screen_x - self._drag[0], event.screen_y - self._drag[1]
            if dx or dy:
                self.view = self.view.panned(-dx, -2 * dy)
                self._drag = (event.screen_x, event.screen_y, True)
                self._looked_about = True
                self.look_again()
            return
        self.tell_moved(self.crosshair or self._place(event))

    def on_mouse_up(self, event: events.MouseUp) -> None:
        drag, self._drag = self._drag, None
        self.release_mouse()
        place = self._place(event)
        if drag is None or drag[2] or place is None:
            return
        held = self._overview
        if self.overview == Shown.LARGE and held is not None and self.view is not None and not self.view.whole:
            self.view = there(self.view, held[1], int(event.x), int(event.y) * 2)
            self.overview, self._looked_about = Shown.SMALL, True
            self.look_again()
            return
        self.tell_pointed(*place)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        event.stop()
        self.zoom(1, self._place(event))

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        event.stop()
        self.zoom(-1, self._place(event))
