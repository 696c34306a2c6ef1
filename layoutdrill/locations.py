"""Say where things are kept; nothing here makes a folder or reads a file."""

import os
from pathlib import Path

PACKAGE = Path(__file__).parent


def shipped(room: str) -> Path:
    """Return the folder `decks` or `art`: inside an installed wheel, or at the top of a checkout."""
    packed = PACKAGE / "_shipped" / room
    return packed if packed.is_dir() else PACKAGE.parent / room


def data_folder() -> Path:
    """Return the folder of records; LAYOUTDRILL_HOME overrides the platform's place."""
    chosen = os.environ.get("LAYOUTDRILL_HOME")
    if chosen:
        return Path(chosen)
    from platformdirs import user_data_path  # noqa: PLC0415 - `--version` does without it

    return user_data_path("layoutdrill", appauthor=False)


def records_file() -> Path:
    return data_folder() / "records.sqlite"


def settings_file() -> Path:
    """Return the file of settings, where the platform keeps settings; LAYOUTDRILL_HOME overrides that."""
    chosen = os.environ.get("LAYOUTDRILL_HOME")
    if chosen:
        return Path(chosen) / "settings.yaml"
    from platformdirs import user_config_path  # noqa: PLC0415

    return user_config_path("layoutdrill", appauthor=False) / "settings.yaml"


def settings_file_before() -> Path:
    """Return where settings were kept at first: with the data."""
    return data_folder() / "settings.yaml"


def cache_folder() -> Path:
    """Return the folder for what can be fetched or made again; LAYOUTDRILL_CACHE overrides it."""
    chosen = os.environ.get("LAYOUTDRILL_CACHE")
    if chosen:
        return Path(chosen)
    from platformdirs import user_cache_path  # noqa: PLC0415 - not asked where LAYOUTDRILL_HOME says it

    return user_cache_path("layoutdrill", appauthor=False)
