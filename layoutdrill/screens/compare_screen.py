"""After a mistake: the structure that was named beside the one that is there, nothing between them."""

from dataclasses import replace
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import Container, Vertical
from textual.message import Message
from textual.widgets import Static

from layoutdrill.cells import cell_names, load_cell
from layoutdrill.deck.specimen import drawn, one_wire_away
from layoutdrill.errors import LayoutdrillError
from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.process import load_process
from layoutdrill.question.model import Specimen
from layoutdrill.screens.actions import EVERYWHERE
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.picture_page import PicturePage
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.subject import Subject, look_for_process
from layoutdrill.value import mutable

DRAWN_IN = "silicon-gate-cmos"
"""Where a structure is drawn when the specimen's own process cannot be drawn in."""


def drawing_of(structure: str, beside: Specimen) -> Specimen:
    """
    Draw a structure of the library as a companion to a specimen: its smallest cell, in the same process where that can
    be.

    Raises LayoutdrillError where the library has no such structure.
    """
    cells = [cell for cell in map(load_cell, cell_names()) if cell.structure == structure]
    for name in dict.fromkeys((beside.process.name, DRAWN_IN)):
        process = load_process(name)
        fitting = [cell for cell in cells if cell.fits(process)]
        for cell in sorted(fitting, key=lambda c: len(c.netlist(process).transistors)):
            try:
                return drawn(cell, name, beside.seed or 1, 0.2)
            except LayoutdrillError:
                continue
    raise LayoutdrillError(f"there is no drawing of {structure} to set beside it", todo="read the table instead")


class CompareScreen(PicturePage):
    """Two drawings abreast, moved together."""

    name_of: ClassVar[str] = "compare"
    needs: ClassVar[tuple[int, int]] = (70, 16)
    about: ClassVar[str] = (
        "On the left the structure that was named, drawn for this; on the right the one of the question. Transistors "
        "are outlined in both. Looking closer, moving and lifting layers act on both pictures."
    )
    BINDINGS = bindings_for("compare")

    @mutable
    class CompanionDrawn(Message):
        """A worker drew the structure that was named; `says` tells the one wire that is different, where it is one."""

        specimen: Specimen
        says: str = ""

    @mutable
    class CompanionFailed(Message):
        """It could not be drawn."""

        error: Exception

    def __init__(self, structure: str, specimen: Specimen, look: str) -> None:
        super().__init__()
        self.structure, self.specimen, self.look = structure, specimen, look

    def body(self) -> ComposeResult:
        with Container(id="abreast"):
            with Vertical():
                yield PictureView(id="picture")
                yield Static(id="caption", classes="caption", markup=False)
            with Vertical():
                yield PictureView(id="picture_b")
                yield Static(id="caption_b", classes="caption", markup=False)

    @property
    def pictures(self) -> tuple[PictureView, ...]:
        return self.picture, self.query_one("#picture_b", PictureView)

    def on_mount(self) -> None:
        self.head_of("Side by side")
        self.query_one("#caption", Static).update(f"you said: {self.structure}: drawing and proving …")
        self.query_one("#caption_b", Static).update(f"it is: {self.specimen.structure}")
        self.pictures[1].show(self._subject(self.specimen))
        self.picture.focus()
        structure, specimen = self.structure, self.specimen

        def work() -> None:

            try:
                near = one_wire_away(structure, specimen)
                made = near or drawing_of(structure, specimen)
            except Exception as error:  # noqa: BLE001 - said in the caption
                self.post_message(self.CompanionFailed(error))
            else:
                self.post_message(self.CompanionDrawn(made, "" if near is None else near.about))

        self.run_worker(work, thread=True, group="draw", exit_on_error=False)

    def on_compare_screen_companion_drawn(self, message: CompanionDrawn) -> None:
        self.picture.show(self._subject(message.specimen))
        says = f". {message.says}" if message.says else ""
        self.query_one("#caption", Static).update(f"you said: {self.structure}{says}")
        self.retell()

    def on_compare_screen_companion_failed(self, message: CompanionFailed) -> None:
        self.query_one("#caption", Static).update(str(message.error))

    def _subject(self, specimen: Specimen) -> Subject:
        return Subject(
            specimen.face,
            look=look_for_process(self.look, specimen.process),
            seed=self.specimen.seed or 0,
            overlay=replace(devices_overlay(specimen.extraction, specimen.netlist), scale_bar=False),
        )

    def possible(self) -> frozenset[str]:
        return self.looking() | EVERYWHERE
