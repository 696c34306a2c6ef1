"""What a picture does for its overview: has it drawn in a worker, once for each look and size, and keeps a few."""

from dataclasses import replace

from textual.message import Message
from textual.widget import Widget

from layoutdrill.screens.painting import Shown
from layoutdrill.screens.subject import NOTHING, Drawer, Indexed, Subject, thumbnail
from layoutdrill.screens.viewport import Viewport
from layoutdrill.value import mutable

_OVERVIEWS = 8


class OverviewDrawing(Widget):
    """Mixed into the widget of a picture: its overview, drawn when it is first wanted. The widget paints."""

    subject: Subject | None
    overview: Shown

    @mutable
    class OverviewDrawn(Message):
        """A worker drew the overview."""

        key: tuple[object, ...]
        piece: Indexed

    def __init__(self, *, name: str | None = None, id: str | None = None) -> None:  # noqa: A002 - the library's word
        super().__init__(name=name, id=id)
        self._overview: tuple[tuple[object, ...], Indexed] | None = None
        self._overviews: dict[tuple[object, ...], Indexed] = {}
        """Overviews drawn before, small and large: going to and fro between them draws none anew."""
        self._overview_asked: tuple[object, ...] | None = None

    def tell_failed(self, error: Exception) -> None:
        """Post that something could not be drawn."""
        raise NotImplementedError

    def forget_strips(self) -> None:
        """Have the picture painted anew; the widget says how."""
        raise NotImplementedError

    def small_overview(self, view: Viewport) -> Indexed | None:
        """
        Return the overview, where one is wanted and drawn: not while all is in sight, nor where there is no room.

        Its first drawing is left to a worker, and the frame goes without it until then.
        """
        cramped = view.columns < 40 or view.rows < 10
        if view.whole or self.overview == Shown.NONE or (cramped and self.overview == Shown.SMALL):
            return None
        assert self.subject is not None
        subject = replace(self.subject, overlay=NOTHING)
        key = (Drawer.key(subject, view.box, 0), view.columns, view.rows, self.overview)
        large = self.overview == Shown.LARGE
        wide, high = (view.columns - 2, view.rows * 2 - 2) if large else (view.columns // 5, (view.rows // 4) * 2)
        if key in self._overviews:
            self._overview = (key, self._overviews[key])
        if self._overview is not None and self._overview[0] == key:
            return self._overview[1]
        if self._overview_asked != key:
            self._overview_asked = key

            def work() -> None:
                try:
                    small = thumbnail(subject, view.box, wide, high)
                except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                    self.tell_failed(error)
                else:
                    self.post_message(self.OverviewDrawn(key, small))

            self.run_worker(work, thread=True, group="overview", exit_on_error=False)
        return None

    def on_overview_drawing_overview_drawn(self, message: OverviewDrawn) -> None:
        if message.key == self._overview_asked:
            if len(self._overviews) >= _OVERVIEWS:
                self._overviews.clear()
            self._overviews[message.key] = message.piece
            self._overview = (message.key, message.piece)
            self.forget_strips()
