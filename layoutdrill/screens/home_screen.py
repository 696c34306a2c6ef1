"""Home."""

from typing import ClassVar

from layoutdrill.screens.page import Page, bindings_for


class HomeScreen(Page):
    name_of: ClassVar[str] = "home"
    BINDINGS = bindings_for("home")
