"""Wire the screens together; everything else lives in them."""

import asyncio
import gc
import sys
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, ClassVar

from textual._context import active_message_pump
from textual.app import App
from textual.driver import Driver
from textual.events import Event, Key, MouseDown
from textual.filter import LineFilter
from textual.message import Message
from textual.screen import Screen

from layoutdrill.screens import routes
from layoutdrill.screens.bench import HasImage, Routes
from layoutdrill.screens.graphics import FINE, NOBODY_ASKED, Asked, Graphics, ask
from layoutdrill.screens.settings import Settings, load_settings, save_settings
from layoutdrill.screens.start import StartRequest
from layoutdrill.screens.steady import TYPED_AHEAD, TextGate, no_longer, on_ending, steady_driver
from layoutdrill.screens.themes import THEMES

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting

__all__ = ["BenchApp", "StartRequest", "run_app"]


COLLECT_AFTER = 1.0
"""Seconds after the first frame at which garbage is collected again; by then the first question stands."""

PATIENCE = 0.15
"""Seconds to wait for the first question before the screen opens without it."""

FEW_TONES = ("high-contrast", "ink")


class BenchApp(App[int]):
    """The app: themes, settings, which screen opens, errors as a panel."""

    CSS_PATH = Path(__file__).with_name("bench.tcss")
    TITLE = "layoutdrill"
    ENABLE_COMMAND_PALETTE = False  # the finder is a screen of ours
    ALLOW_SELECT = False  # text that has gone cannot be selected
    FAULTS_BORNE: ClassVar[int] = 20
    """A program that fails more often than this within one run ends, and says so."""

    routes: ClassVar[Routes] = routes

    def __init__(self, request: StartRequest) -> None:
        super().__init__()
        self.request = request
        self.settings, self.settings_error = load_settings()
        for theme in THEMES:
            self.register_theme(theme)
        self._begin_in(request.theme or self.settings.theme)
        self._faults = 0
        self._gate = TextGate()
        self.asked: Asked = NOBODY_ASKED
        self.pressed_at = 0.0

    def get_driver_class(self) -> type[Driver]:
        return steady_driver(super().get_driver_class())

    def get_line_filters(self) -> Sequence[LineFilter]:
        return (*super().get_line_filters(), self._gate)

    def post_message(self, message: Message) -> bool:
        """Take a message; of keys that come faster than they can be read, as of a huge paste, only the first."""
        if isinstance(message, Key) and self._message_queue.qsize() > TYPED_AHEAD:
            return False
        return super().post_message(message)

    async def on_event(self, event: Event) -> None:
        if isinstance(event, Key | MouseDown) and not event.is_forwarded:
            self.pressed_at = event.time
        await super().on_event(event)

    def on_mount(self) -> None:
        on_ending(asyncio.get_running_loop(), self._end_by)
        self.app_resume_signal.subscribe(self, self._back)
        self.app_suspend_signal.subscribe(self, self._away)

    def _away(self, _app: App[int]) -> None:
        """Leave no image in a terminal that is handed to the shell."""
        for page in self.screen_stack:
            for widget in page.walk_children():
                if isinstance(widget, HasImage):
                    widget.take_image_away()

    def _back(self, _app: App[int]) -> None:
        """Paint all anew once the shell has handed the terminal back: nothing of what stood there is left."""
        for widget in self.screen.walk_children():
            widget.refresh()
        self.screen.refresh(layout=True)

    def on_unmount(self) -> None:
        no_longer(asyncio.get_running_loop())

    def _end_by(self, number: int) -> None:
        self.exit(return_code=128 + number)

    def _handle_exception(self, error: Exception) -> None:
        """Let be what fails on a screen or widget that is going; anything else ends the app, and says so."""
        pump = active_message_pump.get(None)
        going = pump is not None and pump is not self and (pump._closing or not pump.is_attached)  # noqa: SLF001
        if not going:
            super()._handle_exception(error)

    def tell_fault(self, error: Exception) -> None:
        """Show what failed in a panel; where it fails on and on, end."""
        self._faults += 1
        if self._faults > self.FAULTS_BORNE:
            super()._handle_exception(error)
        else:
            self.show_error(error)

    def _begin_in(self, name: str) -> None:
        """Have the theme from the start: set as a change, it would have every style read and applied once more."""
        self.set_reactive(App.theme, name)
        self.stylesheet.set_variables(self.get_css_variables())
        self.set_class(True, f"-theme-{name}", "-dark-mode" if self.current_theme.dark else "-light-mode", update=False)

    def on_ready(self) -> None:
        self.set_timer(COLLECT_AFTER, self._collect_again)

    @staticmethod
    def _collect_again() -> None:
        """Let the collector run again; what is loaded by now stays, so that it need not be walked."""
        gc.freeze()
        gc.enable()

    def get_default_screen(self) -> Screen[object]:
        """Open the drill, or home."""
        sitting = self.request.sitting
        if sitting is not None:
            from layoutdrill.drill.open_sitting import page_to_read  # noqa: PLC0415 - home stands without

            page = page_to_read(sitting)
            return routes.drill(sitting) if page is None else routes.lesson(sitting.deck, sitting, page)
        if self.request.shown is not None:
            return routes.show(self.request.shown, self.request.number)
        if self.request.preview is not None:
            return routes.preview(self.request.preview)
        if self.request.marking is not None:
            return routes.mark(self.request.marking)
        return routes.home()

    def look_for(self, wanted: str | None) -> str:
        """
        Return the look to use: the one asked for, else the settings'. With 16 colours, or none, only
        looks made of a few tones stay readable, so any other gives way to the one of high contrast.
        """
        from layoutdrill.picture.looks import look_names  # noqa: PLC0415 - home does without pictures

        names = look_names()
        chosen = wanted or (self.settings.look if self.settings.look in names else names[0])
        few = self.console.color_system == "standard" or self.console.no_color
        return FEW_TONES[0] if few and chosen not in FEW_TONES else chosen

    def show_error(self, error: Exception) -> None:
        """Show what is wrong and what to do, in a panel over the screen."""
        from layoutdrill.screens.error_panel import ErrorPanel  # noqa: PLC0415 - most runs end without an error

        if self._running and not isinstance(self.screen, ErrorPanel):
            self.push_screen(ErrorPanel(error))

    def open_help(self, name: str, about: str, possible: frozenset[str]) -> None:
        from layoutdrill.screens.help_panel import HelpPanel  # noqa: PLC0415 - only when it is asked for

        self.push_screen(HelpPanel(name, about, possible))

    def change_theme(self) -> None:
        """Change between light and dark, and remember it; where it cannot be remembered, it still holds for now."""
        self.use(replace(self.settings, theme="daylight" if self.theme == "lamp" else "lamp"))
        save_settings(self.settings)

    def use(self, settings: Settings) -> None:
        self.settings = settings
        self.theme = settings.theme

    @property
    def graphics(self) -> Graphics | None:
        """How the terminal shows images, where fine pictures were chosen and it said so."""
        return self.asked.graphics

    @property
    def kit(self) -> Path | None:
        """Where the open cell kit is: what was asked for at the start, else what the settings say."""
        if self.request.kit is not None:
            return self.request.kit
        return Path(self.settings.kit).expanduser() if self.settings.kit else None

    def go_on_to(self, page: Screen[object]) -> None:
        """Put a screen in the place of the present one; the first screen stays below it."""
        if len(self.screen_stack) > 1:
            self.switch_screen(page)
        else:
            self.push_screen(page)

    def leave(self, page: Screen[object]) -> None:
        """Go back one screen; from the first one out of the app. A page that has been left already stays so."""
        if page is not self.screen:
            return
        if len(self.screen_stack) > 1:
            self.pop_screen()
        else:
            self.exit(0)


def prepare_first(sitting: "OpenSitting", look: str) -> None:
    """
    Make the first question before the screen is set up, so that it need not be laid out twice; but let nobody wait
    longer than `PATIENCE` for a screen that says so. Where pages come first, it is left to them.
    """
    from layoutdrill.drill.open_sitting import page_to_read  # noqa: PLC0415 - home stands without

    if page_to_read(sitting) is not None:
        return
    number = sitting.position
    sitting.shown_in = look

    def work() -> None:
        if number is not None:
            with suppress(Exception):  # the screen prepares it again, and tells what is wrong
                sitting.prepare(number)

    worker = Thread(target=work, daemon=True)
    worker.start()
    worker.join(PATIENCE)


def run_app(request: StartRequest) -> int:
    """Run until the user leaves; return the exit code."""
    app = BenchApp(request)
    if app.settings.pictures == FINE and not request.confined:
        app.asked = ask()
    if request.sitting is not None:
        prepare_first(request.sitting, app.look_for(request.sitting.look))
    code = app.run()
    gc.enable()
    sitting = request.sitting
    if sitting is not None:
        if 0 < sitting.answered < sitting.total:
            left = f"{sitting.answered} of {sitting.total} answered and kept; to go on, {sitting.goes_on}"
            sys.stdout.write(f"{sitting.title}: {left}\n")
        sitting.close()
    return app.return_code or code or 0
