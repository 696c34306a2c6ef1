"""Keep a user's settings in a small YAML file; a broken file is told, and the defaults stand in for it."""

from dataclasses import fields, replace
from pathlib import Path
from shutil import move

from layoutdrill.errors import LayoutdrillError
from layoutdrill.locations import settings_file, settings_file_before
from layoutdrill.outlet import write_whole
from layoutdrill.picture.degrees import DEGREES
from layoutdrill.screens.graphics import ALWAYS, CHOICES
from layoutdrill.value import value

THEME_NAMES = ("lamp", "daylight")
SWITCH = ("on", "off")


@value
class Settings:
    """
    `theme` one of THEME_NAMES; `look` the look of pictures where a deck asks for none; `count` the questions in a
    free practice; `wear` one of DEGREES, where a deck says nothing of it; `kit` where the open cell kit is, or "";
    `pictures` in half-blocks, or as fine as the terminal can. What begins with `practice` is what free practice
    was chosen to be the last time, "" being any.
    `timing` says whether time counts, for mastery and in series at a glance; `sureness` whether one is asked now and
    then how sure an answer is; `left_out` are the lessons that days' plans ask nothing of, such as "10 16".
    """

    theme: str = "lamp"
    look: str = "reflected-light"
    count: int = 10
    kit: str = ""
    wear: str = "textbook"
    practice_cell: str = ""
    practice_process: str = ""
    practice_kind: str = ""
    practice_difficulty: str = "0.3"
    pictures: str = ALWAYS
    timing: str = "on"
    sureness: str = "on"
    left_out: str = ""

    @property
    def timed(self) -> bool:
        return self.timing == "on"

    @property
    def resting(self) -> frozenset[int]:
        """Return the lessons left out, by number."""
        return frozenset(int(word) for word in self.left_out.split() if word.isdecimal())

    @property
    def worn(self) -> float:
        """Return the wear as a number from 0 to 1."""
        return DEGREES.get(self.wear, 0.0)


def load_settings() -> tuple[Settings, LayoutdrillError | None]:
    """Return the settings, and what is wrong with their file if anything is."""
    path = _moved(settings_file_before(), settings_file())
    if not path.is_file():
        return Settings(), None
    from layoutdrill.yamldoc import load  # noqa: PLC0415 - most starts find no file

    settings = Settings()
    try:
        entries = load(path).root.fields((), tuple(field.name for field in fields(Settings)))
        if "theme" in entries:
            settings = replace(settings, theme=entries["theme"].word(THEME_NAMES, "theme"))
        if "look" in entries:
            settings = replace(settings, look=entries["look"].text())
        if "count" in entries:
            settings = replace(settings, count=entries["count"].integer(1))
        if "wear" in entries:
            settings = replace(settings, wear=entries["wear"].word(tuple(DEGREES), "wear"))
        chosen = {name: node.text() for name, node in entries.items() if name.startswith("practice_") and node.value}
        settings = replace(
            settings,
            practice_cell=chosen.get("practice_cell", ""),
            practice_process=chosen.get("practice_process", ""),
            practice_kind=chosen.get("practice_kind", ""),
            practice_difficulty=chosen.get("practice_difficulty", settings.practice_difficulty),
        )
        if "pictures" in entries:
            settings = replace(settings, pictures=entries["pictures"].word(CHOICES, "way of showing pictures"))
        if "timing" in entries:
            settings = replace(settings, timing=entries["timing"].word(SWITCH, "switch"))
        if "sureness" in entries:
            settings = replace(settings, sureness=entries["sureness"].word(SWITCH, "switch"))
        if "left_out" in entries:
            settings = replace(settings, left_out=entries["left_out"].text() if entries["left_out"].value else "")
        if "kit" in entries:
            settings = replace(settings, kit=entries["kit"].text() if entries["kit"].value else "")
    except LayoutdrillError as error:
        return settings, error
    return settings, None


def _moved(before: Path, path: Path) -> Path:
    """Move settings from where they were kept before; return where they are now."""
    if path == before or path.exists() or not before.is_file():
        return path
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        move(before, path)
    except OSError:
        return before
    return path


def save_settings(settings: Settings) -> None:
    """Write the settings whole, first beside the file and then in its place, so that a crash leaves the old ones."""
    path = settings_file()
    text = "# layoutdrill settings\n" + "".join(
        f"{field.name}: {_quoted(getattr(settings, field.name))}\n" for field in fields(Settings)
    )
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, text.encode())
    except OSError as error:
        raise LayoutdrillError(
            f"the settings cannot be saved ({error.strerror})", todo=f"see that {path.parent} can be written"
        ) from None


def _quoted(value: object) -> str:
    return str(value) if isinstance(value, int) else "'" + str(value).replace("'", "''") + "'"
