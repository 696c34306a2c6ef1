"""Our two themes: a dim bench with a lamp, and daylight on paper."""

from textual.theme import Theme

LAMP = Theme(
    name="lamp",
    primary="#8fc7b5",
    secondary="#b9a98a",
    accent="#e6b455",
    warning="#e6b455",
    error="#e0806c",
    success="#8fc7b5",
    foreground="#e9e4d8",
    background="#14181a",
    surface="#1b2124",
    panel="#232b2e",
    dark=True,
)

DAYLIGHT = Theme(
    name="daylight",
    primary="#1f6b58",
    secondary="#6a5a37",
    accent="#a4570c",
    warning="#a4570c",
    error="#a8321f",
    success="#1f6b58",
    foreground="#23211c",
    background="#f6f2e8",
    surface="#ece6d8",
    panel="#e0d9c8",
    dark=False,
)

THEMES = (LAMP, DAYLIGHT)
