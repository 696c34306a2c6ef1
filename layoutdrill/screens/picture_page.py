"""What every screen with a picture shares: the actions of looking, and the heading that tells where one is."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar

from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.aid import aided
from layoutdrill.picture.looks import look_names
from layoutdrill.picture.stages import TITLES, Stage
from layoutdrill.screens.page import Page
from layoutdrill.screens.painting import Shown
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.sighting import Focus
from layoutdrill.screens.subject import NOTHING, Subject, look_for_process, photographic, seen_through, suits
from layoutdrill.screens.viewport import SCALES

if TYPE_CHECKING:
    from layoutdrill.screens.legend import Sight

LOOKING = frozenset(
    (
        "pan_left",
        "pan_right",
        "pan_up",
        "pan_down",
        "far_left",
        "far_right",
        "far_up",
        "far_down",
        "zoom_in",
        "zoom_out",
        "whole",
        "crosshair",
        "lift",
        "lay_back",
        "outline",
        "overview",
        "ruler",
        "legend",
        "look",
        "next_look",
        "jump",
    )
)


MASKS, MICROSCOPE = "stick-colours", "reflected-light"
"""The looks between which one key changes, where none other of their sort was seen last."""
FAR = 8
"""How many steps a fast step takes."""
MOVING = frozenset(f"{how}_{side}" for how in ("pan", "far") for side in ("left", "right", "up", "down"))


class PicturePage(Page):
    """A page with one picture, `#picture`."""

    needs: ClassVar[tuple[int, int]] = (60, 20)

    def __init__(self) -> None:
        super().__init__()
        self._title = ""
        self._covered = NOTHING
        self._rung: dict[str, int] = {}
        self._flat = self._lit = ""
        self._ringed: tuple[int, int] | None = None

    @property
    def picture(self) -> PictureView:
        return self.query_one("#picture", PictureView)

    @property
    def pictures(self) -> tuple[PictureView, ...]:
        """Return every picture in sight; looking about moves them together."""
        return (self.picture,)

    def on_screen_suspend(self) -> None:
        for picture in self.query(PictureView):
            picture.lie_below(covered=True)

    def on_screen_resume(self) -> None:
        for picture in self.query(PictureView):
            picture.lie_below(covered=False)

    def notify(self, message: str, **more: Any) -> None:
        super().notify(message, **more)
        for picture in self.query(PictureView):
            picture.make_room(float(more.get("timeout") or self.app.NOTIFICATION_TIMEOUT))

    def looking(self) -> frozenset[str]:
        """Return the actions of looking that make sense now."""
        subject = self.picture.subject if self.is_mounted else None
        if subject is None:
            return frozenset()
        names = set(LOOKING)
        liftable = subject.liftable()
        if all(name in subject.hidden for name in liftable):
            names.discard("lift")
        if not any(name in subject.hidden for name in liftable):
            names.discard("lay_back")
        if subject.taken_by_microscope:
            names |= {"stage", "objective"}
        if subject.overlay == NOTHING and self._covered == NOTHING:
            names.discard("outline")
        view = self.picture.view
        if self.picture.focus_on.pictures:
            names.add("flip")
        if not self.picture.away or "flip" in names:
            names.discard("jump")
        if view is not None and view.whole and view.alone is None and view == view.widest():
            names.discard("whole")
        if view is not None and view.whole:
            names.discard("overview")
            if self.picture.crosshair is None:
                names -= MOVING
        return frozenset(names)

    def head_of(self, title: str) -> None:
        """Write the heading: the title, and scale, place and layers lifted."""
        self._title = title
        self.head(title, self._where(None))

    def _to_one_scale(self) -> None:
        """
        Show pictures that stand beside each other at the smallest scale among them, as sizes are compared too, and all
        of them as overviews where one is.
        """
        if any(picture.overview is Shown.LARGE for picture in self.pictures):
            for picture in self.pictures:
                picture.enlarge_overview()
        views = [picture.view for picture in self.pictures if picture.view is not None]
        smallest = min((view.scale for view in views), default=1)
        for picture in self.pictures:
            if picture.view is not None and picture.view.scale > smallest:
                picture.zoom(SCALES.index(smallest) - SCALES.index(picture.view.scale))

    def on_picture_view_moved(self, message: PictureView.Moved) -> None:
        if len(self.pictures) > 1:
            self._to_one_scale()
        self.head(self._title, self._where(message.place))
        self.retell()

    def on_picture_view_drawing_failed(self, message: PictureView.DrawingFailed) -> None:
        self.bench.show_error(message.error)

    def laid_off(self) -> frozenset[str]:
        """Return layers that are off without anybody having lifted them; a lesson builds a drawing up from few."""
        return frozenset()

    def _where(self, place: tuple[int, int] | None) -> str:
        view, subject = self.picture.view, self.picture.subject
        if view is None or subject is None:
            return ""
        parts = []
        lifted = subject.hidden - self.laid_off()
        if lifted:
            metal = subject.hidden == frozenset(subject.face.metal)
            parts.append("metal lifted" if metal else f"{len(lifted)} layer{'s' * (len(lifted) > 1)} lifted")
        if place is not None:
            parts.append(subject.face.unit.at(*place))
        if self.picture.overview is Shown.LARGE and not view.whole:
            return " · ".join((*parts, "overview"))  # the view that it leads to is not what is seen
        scale = self.picture.fine_scale
        parts.append(f"{scale:g} px/λ")
        parts += seen_through(subject, scale)
        return " · ".join(parts)

    def act_pan_left(self) -> None:
        for picture in self.pictures:
            picture.move(-1, 0)

    def act_pan_right(self) -> None:
        for picture in self.pictures:
            picture.move(1, 0)

    def act_pan_up(self) -> None:
        for picture in self.pictures:
            picture.move(0, -1)

    def act_pan_down(self) -> None:
        for picture in self.pictures:
            picture.move(0, 1)

    def _far(self, dx: int, dy: int) -> None:
        for picture in self.pictures:
            picture.move(FAR * dx, FAR * dy)

    def act_far_left(self) -> None:
        self._far(-1, 0)

    def act_far_right(self) -> None:
        self._far(1, 0)

    def act_far_up(self) -> None:
        self._far(0, -1)

    def act_far_down(self) -> None:
        self._far(0, 1)

    def act_zoom_in(self) -> None:
        for picture in self.pictures:
            picture.zoom(1)

    def act_zoom_out(self) -> None:
        for picture in self.pictures:
            picture.zoom(-1)

    def act_whole(self) -> None:
        for picture in self.pictures:
            picture.see_whole()

    def act_crosshair(self) -> None:
        for picture in self.pictures:
            picture.toggle_crosshair()

    def act_lift(self) -> None:
        for picture in self.pictures:
            picture.change(lambda subject: subject.lifted())

    def act_lay_back(self) -> None:
        for picture in self.pictures:
            picture.change(lambda subject: subject.laid_back())

    def act_stage(self) -> None:
        for picture in self.pictures:
            picture.change(lambda subject: subject.stage_after())
        self._tell_light()

    def act_objective(self) -> None:
        for picture in self.pictures:
            picture.change(lambda subject: subject.objective_after())
        self._tell_light()

    def _tell_light(self) -> None:
        subject = self.picture.subject
        if subject is not None:
            title = TITLES[Stage(subject.stage)] if subject.stage else "as it is"
            through = f"objective {subject.objective}" if subject.objective else "the objective that suits"
            self.notify(f"{title}; {through}", timeout=3)

    def act_outline(self) -> None:
        subject = self.picture.subject
        if subject is None:
            return
        kept, self._covered = self._covered, subject.overlay
        self.picture.change(lambda shown: replace(shown, overlay=kept))

    def shunned(self) -> tuple[Rect, ...]:
        """Return places that no example may lie in: a screen that asks says which."""
        return ()

    def act_legend(self) -> None:
        if (subject := self.picture.subject) is not None:
            self.app.push_screen(self.bench.routes.legend(self._as_seen(subject), self.shunned(), self._ring))

    def _as_seen(self, subject: Subject) -> Subject:
        """Return a subject with the tracing aid where the picture has it because it is small: swatches are larger."""
        view = self.picture.view
        on = view is not None and aided(subject.face.process, view.scale, wanted=subject.aid)
        return replace(subject, aid=True) if on and subject.taken_by_microscope else subject

    def _ring(self, sight: "Sight") -> None:
        """Ring a place of a thing, another one each time; the ring of the thing before goes."""
        at = self._rung.get(sight.name, -1) + 1
        self._rung[sight.name] = at
        place = sight.places[at % len(sight.places)]
        x, y = place.centre
        before, self._ringed = self._ringed, (x, y)

        def ringed(subject: Subject) -> Subject:
            spots = tuple(spot for spot in subject.overlay.spots if spot != before)
            return replace(subject, overlay=replace(subject.overlay, spots=(*spots, (x, y))))

        self.picture.change(ringed)
        if (subject := self.picture.subject) is not None:
            x, y = subject.face.seen_at(subject.light, x, y)
            per = subject.face.process.grid_per_lambda
            self.picture.bring(Focus((Rect(x, y, x + 1, y + 1).grown(4 * per),)))
        self.notify(f"ringed: {sight.name}. e and Enter ring another.", timeout=4)

    def act_overview(self) -> None:
        for picture in self.pictures:
            picture.toggle_overview()

    def act_ruler(self) -> None:
        for picture in self.pictures:
            picture.ruler = not picture.ruler
            picture.repaint()
        where = "on the picture" if self.picture.ruler else "only where it has room beside the picture"
        self.notify(f"scale bar: {where}", timeout=2)

    def shows_in(self, look: str) -> bool:
        """Tell whether a look shows what stands here; a screen that asks adds what it asks."""
        subject = self.picture.subject
        return subject is not None and suits(look, subject.face.process)

    def no_look(self) -> str:
        """Say why the look stays as it is."""
        return "No other look shows this."

    def act_jump(self) -> None:
        for picture in self.pictures:
            picture.jump()

    def act_flip(self) -> None:
        self.picture.jump()

    def act_look(self) -> None:
        """Change between mask colours and the microscope, to the one last seen of each."""
        subject = self.picture.subject
        if subject is None:
            return
        lit = photographic(subject.look)
        (self._lit, self._flat) = (subject.look, self._flat) if lit else (self._lit, subject.look)
        self._look_in((self._flat or MASKS,) if lit else (self._lit or self.bench.settings.look, MICROSCOPE))

    def act_next_look(self) -> None:
        names, subject = look_names(), self.picture.subject
        if subject is not None:
            at = names.index(subject.look) if subject.look in names else -1
            self._look_in((*names[at + 1 :], *names[: max(0, at)]))

    def look_among(self, others: Sequence[str]) -> str:
        """Return the first of some looks that shows what stands here; "" where none does."""
        subject = self.picture.subject
        names = [self.bench.look_for(name) for name in others if name in look_names()]
        fits = [name for name in names if self.shows_in(name)]
        return next((name for name in fits if subject is not None and name != subject.look), "")

    def _look_in(self, others: Sequence[str]) -> None:
        """Show all pictures in the first of some looks that shows what stands here; the view stays."""
        chosen = self.look_among(others)
        if not chosen:
            self.notify(self.no_look(), timeout=4)
            return
        for picture in self.pictures:
            picture.change(lambda shown: replace(shown, look=look_for_process(chosen, shown.face.process)))
        self.look_changed(chosen)

    def look_changed(self, look: str) -> None:
        """Tell which look it is now."""
        self.notify(f"look: {look}", timeout=2)
