"""Explain."""

from typing import ClassVar

from layoutdrill.screens.picture_page import PicturePage


class ExplainScreen(PicturePage):
    name_of: ClassVar[str] = "explain"
