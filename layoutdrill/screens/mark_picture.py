"""A photograph that is being marked: one picture or two stages of it, the marks on it, and what is odd about them."""

from collections.abc import Sequence
from dataclasses import replace

from textual.app import ComposeResult
from textual.containers import Container, Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract.model import Finding
from layoutdrill.face.marked import Conductors
from layoutdrill.face.photo import PhotoFace
from layoutdrill.netlist.roles import PORT_ROLES
from layoutdrill.photo.joining import LEAST
from layoutdrill.photo.looking import Pictures, frame_of
from layoutdrill.photo.model import At, Mark
from layoutdrill.photo.netlist import differences
from layoutdrill.photo.session import MarkSession
from layoutdrill.picture.overlay import Overlay, Part, Tag, devices_overlay
from layoutdrill.process import load_process
from layoutdrill.screens.answer_line import AnswerLine
from layoutdrill.screens.mark_words import Names, marks_lines, near_lines, oddity_lines, tool_lines
from layoutdrill.screens.marking import KIND_WORDS, LAYER_WORDS, Tool
from layoutdrill.screens.picture_page import PicturePage
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.subject import NOTHING
from layoutdrill.value import mutable

MOST_NETS_DRAWN = 40
"""Nets beyond this are not drawn all at once: the picture would be lost under them."""


class MarkPicture(PicturePage):
    """What is shown while one marks; the tools are the screen's own."""

    @mutable
    class OdditiesFound(Message):
        """A worker looked the marks over."""

        entries: int
        findings: tuple[Finding, ...]
        beside: tuple[str, ...]

    def __init__(self, session: MarkSession) -> None:
        super().__init__()
        self.session = session
        self.tool: Tool | None = None
        self.places: list[At] = []
        self.near: tuple[Mark, ...] = ()
        self.stages = False
        self.bare = False
        self.oddities: tuple[Finding, ...] = ()
        self.beside: tuple[str, ...] = ()
        self.remark = session.remark
        self._names = Names()
        frame = frame_of(session.marks)
        self._pictures = Pictures(session.marks, frame, loose=True)
        self.face = self._face()
        layers = Conductors(load_process(session.marks.process)).layers
        self._layer_words = tuple(word for word, layer in LAYER_WORDS.items() if layer in layers)

    def _face(self) -> PhotoFace:
        marks = self.session.marks
        return PhotoFace.of(marks, load_process(marks.process), "", self._pictures)

    def body(self) -> ComposeResult:
        with Container(id="bench"):
            with Container(id="abreast"):
                with Vertical():
                    yield PictureView(id="picture")
                with Vertical(id="second"):
                    yield PictureView(id="picture_b")
            with VerticalScroll(id="words", can_focus=False):
                yield AnswerLine(id="answer", compact=True, suggester=self._names)  # above: the words may be long
                yield Static(id="said")

    @property
    def pictures(self) -> tuple[PictureView, ...]:
        """Both stages move together; while a point is sought on the other picture alone, that one does."""
        other = self.query_one("#picture_b", PictureView)
        if not self.stages:
            return (self.picture,)
        if self.tool is not None and self.tool.name == "join" and len(self.places) == 1:
            return (other,)
        return self.picture, other

    @property
    def line(self) -> AnswerLine:
        return self.query_one("#answer", AnswerLine)

    def _overlay(self) -> Overlay:
        marks, frame = self.face.marks, self._pictures.frame
        nets = tuple((net, net) for net in self.face.extraction.netlist.nets)[:MOST_NETS_DRAWN]
        waiting = tuple(Tag(str(i), *frame.point(at), ring=True) for i, at in enumerate(self.places, 1))
        if self.bare:
            return Overlay(marks=waiting)
        ports = tuple(Tag(port.net, *frame.point(port.at)) for port in marks.ports)
        parts = tuple(Part(region.name, (frame.rect(*region.box),)) for region in marks.regions)
        devices = devices_overlay(self.face.extraction).transistors
        return Overlay(transistors=devices, nets=nets, marks=waiting, ports=ports, parts=parts)

    def _changed(self) -> None:
        """Show the marks as they are now, and have them looked over."""
        self._pictures = self._pictures.with_marks(self.session.marks)
        self.face = self._face()
        marks = self.session.marks
        self._names.known = (*marks.nets, *self._layer_words, *KIND_WORDS, *(role.value for role in PORT_ROLES))
        self._repaint()
        entries, face = marks.entries, self.face

        def work() -> None:
            findings = face.extraction.findings
            oddities: list[str] = []
            for region in marks.regions:
                if region.netlist:
                    try:
                        oddities += differences(marks, face.process, region)
                    except LayoutdrillError as error:
                        oddities.append(str(error))
            self.post_message(self.OdditiesFound(entries, findings, tuple(oddities)))

        self.run_worker(work, thread=True, group="look", exclusive=True, exit_on_error=False)
        self._tell()

    def _repaint(self) -> None:
        try:
            overlay = self._overlay()
        except LayoutdrillError as error:  # a layer that the process does not have
            self.remark, overlay = str(error), NOTHING
        face = self.face
        self.picture.change(lambda shown: replace(shown, face=face, overlay=overlay))
        if self.stages:  # what lies below the metal is to be seen, not covered again
            bare = replace(overlay, nets=()) if self._second_joined() else NOTHING
            self._both[-1].change(lambda shown: replace(shown, face=face, overlay=bare))

    def _second_joined(self) -> bool:
        """Tell whether it is known how the other picture lies on the first, and so where marks lie on it."""
        marks = self.session.marks
        subject = self.query_one("#picture_b", PictureView).subject
        if subject is None:
            return False
        other = self.face.picture(subject.light)
        return other is marks.pictures[0] or sum(p.picture == other.file for p in marks.joins) >= LEAST

    def act_outline(self) -> None:
        """Show the marks, or the picture without them."""
        self.bare = not self.bare
        self._repaint()

    @property
    def _both(self) -> Sequence[PictureView]:
        return (self.picture, self.query_one("#picture_b", PictureView)) if self.stages else (self.picture,)

    def on_mark_picture_oddities_found(self, message: OdditiesFound) -> None:
        if message.entries == self.session.marks.entries:
            self.oddities, self.beside = message.findings, message.beside
            self._tell()

    def _tell(self) -> None:
        self.head_of(f"Mark: {self.session.path.name}")
        lines = [self.remark, ""] if self.remark else []
        lines += tool_lines(self.tool, len(self.places), self.session.marks, typing=self.line.display)
        if self.tool is not None and self.tool.name == "remove" and self.places:
            lines += [*near_lines(self.near), ""]
        lines += marks_lines(self.session.marks)
        lines += oddity_lines(self.oddities, self.beside, self.face.unit)
        self.query_one("#said", Static).update(Content("\n".join(lines)))
        self.retell()

    def act_stages(self) -> None:
        """Show the next stage beside the first picture, or the first alone again."""
        self.stages = not self.stages
        self.query_one("#second").display = self.stages
        other = self.query_one("#picture_b", PictureView)
        if self.stages and self.picture.subject is not None:
            other.show(replace(self.picture.subject, hidden=frozenset()).lifted())
            other.toggle_crosshair(on=True)
            self._repaint()
        self._tell()

    def act_lift(self) -> None:
        self._both[-1].change(lambda subject: subject.lifted())

    def act_lay_back(self) -> None:
        self._both[-1].change(lambda subject: subject.laid_back())

    def act_bring_oddity(self) -> None:
        """Bring the next odd place into sight."""
        if not self.oddities:
            self.notify("Nothing is odd about the marks.", timeout=3)
            return
        first, *rest = self.oddities
        self.oddities = (*rest, first)
        for picture in self._both:
            picture.go_to(*first.place.centre)
        self.remark = f"{first.text} ({self.face.unit.at(*first.place.centre)})"
        self._tell()
