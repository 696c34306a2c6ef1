"""Settings: each row is one; what is changed is saved at once."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.widgets import Input

from layoutdrill.errors import LayoutdrillError
from layoutdrill.locations import settings_file
from layoutdrill.picture.looks import load_look, look_names
from layoutdrill.screens.choose_page import ChoosePage
from layoutdrill.screens.list_page import ListPage
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.row import Row
from layoutdrill.screens.settings import THEME_NAMES, Settings, save_settings


class SettingsScreen(ListPage):
    """Change the settings."""

    name_of: ClassVar[str] = "settings"
    about: ClassVar[str] = "Your settings. A change is saved at once, into the file named in the heading."
    BINDINGS = bindings_for("settings")

    def body(self) -> ComposeResult:
        yield from super().body()
        yield Input(id="kit", placeholder="path of the kit's wheel or unpacked folder, Enter", compact=True)

    def __init__(self, at: str = "") -> None:
        """Begin `at` the row of a setting."""
        super().__init__()
        self._begin_at = at

    def on_mount(self) -> None:
        self.query_one("#kit", Input).display = False
        self.head("Settings", str(settings_file()))
        self._list()

    def _list(self) -> None:
        self.fill(setting_rows(self.bench.settings))
        keys = [row.key for row in self.rows]
        if self._begin_at in keys:
            self.options.highlighted = keys.index(self._begin_at)
            self._begin_at = ""

    def chosen(self, key: str) -> None:
        now = self.bench.settings
        if key == "kit":
            line = self.query_one("#kit", Input)
            line.value, line.display = now.kit, True
            line.focus()
            return
        rows = _CHOICES[key]()
        self.app.push_screen(ChoosePage("Choose", rows, self._taker(key), str(getattr(now, key))))

    def _taker(self, key: str) -> Callable[[str], None]:
        def take(value: str) -> None:
            changed: dict[str, Callable[[Settings], Settings]] = {
                "theme": lambda s: replace(s, theme=value),
                "look": lambda s: replace(s, look=value),
                "wear": lambda s: replace(s, wear=value),
                "pictures": lambda s: replace(s, pictures=value),
                "timing": lambda s: replace(s, timing=value),
                "sureness": lambda s: replace(s, sureness=value),
            }
            number: Callable[[Settings], Settings] = lambda s: replace(s, count=int(value))  # noqa: E731
            self._keep(changed.get(key, number)(self.bench.settings))

        return take

    def _keep(self, settings: Settings) -> None:
        save_settings(settings)
        self.bench.use(settings)
        self._list()

    def act_stop_typing(self) -> None:
        self.query_one("#kit", Input).display = False
        self.options.focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        path = event.value.strip()
        try:
            if path and not Path(path).expanduser().exists():
                raise LayoutdrillError("there is nothing at this path", todo="give the wheel or the unpacked folder")  # noqa: TRY301
            self._keep(replace(self.bench.settings, kit=path))
        except LayoutdrillError as error:
            self.bench.show_error(error)
            return
        self.query_one("#kit", Input).display = False
        self.options.focus()


def setting_rows(now: Settings) -> tuple[Row, ...]:
    """Return a row for each setting, with its value."""
    return (
        Row("theme", "Theme", _with_words(now.theme, _THEMES)),
        Row("look", "Look of pictures", now.look),
        Row("wear", "Wear of dies", _with_words(now.wear, _WEARS)),
        Row("pictures", "Pictures", now.pictures),
        Row("count", "Questions in practice", str(now.count)),
        Row("timing", "Time limits", _TIMING[now.timing]),
        Row("sureness", "How sure are you?", _SURENESS[now.sureness]),
        Row("kit", "Open cell kit", now.kit or "not set: only decks of real cells need it"),
    )


def _with_words(value: str, about: dict[str, str]) -> str:
    """Say what a setting's value means, beside it."""
    return f"{value}: {about[value]}" if value in about else value


_THEMES = {"lamp": "dark, a bench under a lamp", "daylight": "light, paper by the window"}
_WEARS = {
    "textbook": "a good die, well photographed",
    "tidy": "a little dust, masks a little out of line",
    "used": "dust, scratches, a seam",
    "worn": "corrosion, cracks, focus falling off",
    "attic": "all of it, as old photographs of old dies have it",
}


def _themes() -> list[Row]:
    return [Row(name, name, _THEMES[name]) for name in THEME_NAMES]


def _looks() -> list[Row]:

    return [Row(name, name, " ".join(load_look(name).about.split())) for name in look_names()]


def _wears() -> list[Row]:
    return [Row(name, name, text) for name, text in _WEARS.items()]


def _ways() -> list[Row]:
    about = {
        "half-blocks": "two dots a character: on every terminal, over every line",
        "fine": "every dot of the screen, from the next start on, where the terminal says that it shows images",
    }
    return [Row(name, name, text) for name, text in about.items()]


def _counts() -> list[Row]:
    return [Row(value, value) for value in ("5", "10", "20", "40")]


_TIMING = {
    "on": "on: mastered is what is right in time, and what is mastered comes at a glance",
    "off": "off: take as long as you like, always",
}
_SURENESS = {
    "on": "asked after one answer in five; it changes neither credit nor plan",
    "off": "never asked",
}


def _switches(about: dict[str, str]) -> list[Row]:
    return [Row(name, name, text) for name, text in about.items()]


_CHOICES: dict[str, Callable[[], list[Row]]] = {
    "theme": _themes,
    "look": _looks,
    "wear": _wears,
    "pictures": _ways,
    "count": _counts,
    "timing": lambda: _switches(_TIMING),
    "sureness": lambda: _switches(_SURENESS),
}
