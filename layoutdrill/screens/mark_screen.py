"""Mark a photograph: a tool, its places by crosshair or mouse, a line typed; each mark is on disk at once."""

from collections.abc import Sequence
from dataclasses import replace
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import Container, Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, Static

from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract.model import Finding
from layoutdrill.face.marked import Conductors, must_fit
from layoutdrill.face.photo import PhotoFace
from layoutdrill.netlist.roles import PORT_ROLES
from layoutdrill.photo.joining import LEAST
from layoutdrill.photo.looking import Pictures, frame_of
from layoutdrill.photo.model import At, JoinPoint, Mark
from layoutdrill.photo.netlist import differences
from layoutdrill.photo.session import MarkSession
from layoutdrill.photo.taking import called, marks_near
from layoutdrill.picture.overlay import Overlay, Part, Tag, devices_overlay
from layoutdrill.process import load_process
from layoutdrill.screens.actions import EVERYWHERE
from layoutdrill.screens.answer_line import AnswerLine
from layoutdrill.screens.mark_tools import TOOLS_OF, MarkTools
from layoutdrill.screens.mark_words import Names, marks_lines, near_lines, oddity_lines, tool_lines
from layoutdrill.screens.marking import KIND_WORDS, LAYER_WORDS, TOOLS, Tool, measured, remembered, suggested
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.picture_page import PicturePage
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.subject import NOTHING, Subject
from layoutdrill.value import mutable

MAY_LIE_BESIDE = ("wire", "region", "measure", "remove")
"""Tools whose places may lie beside the picture: what they mark reaches to its edge."""
MOST_NETS_DRAWN = 40
"""Nets beyond this are not drawn all at once: the picture would be lost under them."""


class MarkScreen(MarkTools, PicturePage):
    """One photograph, or two stages of it side by side, and the marks on it."""

    name_of: ClassVar[str] = "mark"
    about: ClassVar[str] = (
        "Choose a tool by its key, put its places down with the crosshair and Enter or with the mouse, and type what "
        "it is. Each mark is kept at once. What is odd about the marks is told beside the picture."
    )
    BINDINGS = bindings_for("mark")

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
        self.step = 0.0
        self.stages = False
        self.bare = False
        self.oddities: tuple[Finding, ...] = ()
        self.beside: tuple[str, ...] = ()
        self.remark = session.remark
        self._last: dict[str, str] = {}
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

    def on_mount(self) -> None:
        self.query_one("#second").display = False
        self.line.display = False
        self.picture.show(Subject(self.face, overlay=self._overlay()))
        self.picture.toggle_crosshair(on=True)
        self.picture.focus()
        self._changed()

    @property
    def line(self) -> AnswerLine:
        return self.query_one("#answer", AnswerLine)

    # what is shown

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

    def on_mark_screen_oddities_found(self, message: OdditiesFound) -> None:
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

    # tools and places

    def possible(self) -> frozenset[str]:
        every = {name for name in TOOLS_OF if name != "join_stages" or self.stages} | {"undo_mark", "bring_oddity"}
        names = set(EVERYWHERE) | (set(self.looking()) - {"look", "lift", "lay_back", "legend"}) | every | {"outline"}
        if self.tool is not None and not self.typing:
            names |= {"put_down", "stop_tool"}
            if self.places:
                names.add("take_up")
            if self.tool.line and len(self.places) >= self.tool.fewest:
                names.add("finish_mark")
        if len(self.session.marks.pictures) > 1:
            names |= {"stages", "lift", "lay_back"}
        if self.typing:
            names.add("stop_typing")
        return frozenset(names)

    def take(self, name: str) -> None:
        self.tool, self.places, self.remark = TOOLS[name], [], ""
        self._repaint()
        if not self.tool.places:
            self._ask()
        self._tell()

    def on_picture_view_pointed(self, message: PictureView.Pointed) -> None:
        if self.tool is not None and not self.typing:
            self._put(message.x, message.y)

    def act_put_down(self) -> None:
        """Put a place down under the crosshair of the picture that moves now."""
        place = self.pictures[-1 if len(self.pictures) == 1 else 0].crosshair
        if place is None:
            self.notify("x shows the crosshair; or point with the mouse.", timeout=3)
            return
        self._put(*place)

    def _put(self, x: int, y: int) -> None:
        assert self.tool is not None
        tool = self.tool
        if not tool.next_place(len(self.places)):
            return
        if tool.name == "join" and len(self.places) == 1:
            self._join(x, y)
            return
        at = self._pictures.frame.at(x, y)
        if tool.open_ended and len(self.places) >= tool.fewest and at == self.places[-1]:
            self._ask()  # the last place put down twice is the end
            return
        if tool.name not in MAY_LIE_BESIDE and not self.face.box.contains(x, y):
            self.remark = f"that lies beside {self.session.marks.pictures[0].file}: put it on the picture"
            self._tell()
            return
        if tool.name == "remove":
            self.near = marks_near(self.session.marks, at)
            if not self.near:
                self.remark = "no mark lies near that place"
                self._tell()
                return
        self.places.append(at)
        self._repaint()
        self.remark = ""
        if not tool.open_ended and len(self.places) == len(tool.places):
            self._ask()
        self._tell()

    def _join(self, x: int, y: int) -> None:
        other = self.face.picture(self._lifted().light)
        column, row = self._pictures.stored_in(other, x, y)
        wide, high = other.size
        if wide and not (0 <= column <= wide and 0 <= row <= high):
            self.remark = f"that lies beside {other.file}: put the point on the picture"
            self._tell()
            return
        self.session.add(JoinPoint(other.file, self._pictures.stored_in(other, x, y), self.places[0]))
        self.places = []
        self._changed()

    def _lifted(self) -> Subject:
        subject = self.query_one("#picture_b", PictureView).subject
        assert subject is not None
        return subject

    def act_take_up(self) -> None:
        self.places.pop()
        self._repaint()
        self._tell()

    def act_finish_mark(self) -> None:
        self._ask()

    def act_stop_tool(self) -> None:
        self.tool, self.places = None, []
        self._repaint()
        self._tell()

    def _ask(self) -> None:
        """Open the line, with what is likely already in it."""
        assert self.tool is not None
        self.line.display = True
        self.line.placeholder = self.tool.line
        here = [self._net_at(at) for at in self.places]
        self.line.value = suggested(self.tool.name, here, self._last, self._free())
        self.line.cursor_position = len(self.line.value)
        self.set_focus(self.line)
        self._tell()

    def _net_at(self, at: At) -> str:
        here = self.face.extraction.nets_at(*self._pictures.frame.point(at))
        return here[0][1] if here else ""

    def _free(self) -> str:
        taken = self.session.marks.nets
        return next(f"n{i}" for i in range(1, len(taken) + 2) if f"n{i}" not in taken)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        try:
            self._finish(event.value)
        except LayoutdrillError as error:
            self.remark = str(error)
            self._tell()
            return
        self.act_stop_typing()
        self._changed()

    def _finish(self, text: str) -> None:
        assert self.tool is not None
        name = self.tool.name
        if name == "measure":
            self._measured(text)
        elif name == "remove":
            self._remove(text)
        elif name == "rename":
            old, new, *_ = (*text.split(), "", "")
            self.session.rename(old, new)
            self.remark = f"{old} is called {new} now"
        else:
            mark = self.tool.make(self.places, text)
            if mark is not None:
                must_fit(mark, self.face.process)
                self.session.add(mark)
            self._last |= remembered(name, text)
            self.remark = ""
        self.places = []

    def _remove(self, text: str) -> None:
        number = text.strip()
        if not number.isdecimal() or not 1 <= int(number) <= len(self.near):
            raise LayoutdrillError(f"“{number}” is none of these", todo=f"type a number from 1 to {len(self.near)}")
        mark = self.near[int(number) - 1]
        self.session.remove(mark)
        self.remark = f"{called(mark)}: taken away; u brings it back"

    def _measured(self, text: str) -> None:
        self.remark, self.step = measured(self.places, text)
        if text.split()[1:2] in (["λ"], ["lambda"]):
            marks = self.session.marks
            scale: dict[str, float] = {"pixels per lambda": max(1, round(self.step))}
            if marks.nm:
                scale["nm per pixel"] = marks.nm
            self.session.set("scale", scale)
            self.remark += "; λ is that long now"

    def act_stop_typing(self) -> None:
        self.line.value = ""
        self.line.display = False
        self.set_focus(self.picture)
        self._tell()

    def act_undo_mark(self) -> None:
        """Take up the last place, or take the last mark back."""
        if self.places:
            self.act_take_up()
            return
        try:
            self.remark = self.session.undo()
        except LayoutdrillError as error:
            self.remark = str(error)
        self._changed()

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
