"""Mark a photograph: a tool, its places by crosshair or mouse, a line typed; each mark is on disk at once."""

from collections.abc import Iterator
from itertools import count
from typing import ClassVar

from textual.widgets import Input

from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.marked import must_fit
from layoutdrill.photo.model import At, JoinPoint
from layoutdrill.photo.session import MarkSession
from layoutdrill.photo.taking import called, marks_near
from layoutdrill.screens.actions import EVERYWHERE
from layoutdrill.screens.mark_picture import MarkPicture
from layoutdrill.screens.mark_tools import TOOLS_OF, MarkTools
from layoutdrill.screens.marking import TOOLS, measured, remembered, suggested
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.subject import Subject

MAY_LIE_BESIDE = ("wire", "region", "measure", "remove")
"""Tools whose places may lie beside the picture: what they mark reaches to its edge."""


class MarkScreen(MarkTools, MarkPicture):
    """One photograph, or two stages of it side by side, and the marks on it."""

    name_of: ClassVar[str] = "mark"
    about: ClassVar[str] = (
        "Choose a tool by its key, put its places down with the crosshair and Enter or with the mouse, and type what "
        "it is. Each mark is kept at once. What is odd about the marks is told beside the picture."
    )
    BINDINGS = bindings_for("mark")

    def __init__(self, session: MarkSession) -> None:
        super().__init__(session)
        self.step = 0.0
        self._last: dict[str, str] = {}

    def on_mount(self) -> None:
        self.query_one("#second").display = False
        self.line.display = False
        self.picture.show(Subject(self.face, overlay=self._overlay()))
        self.picture.toggle_crosshair(on=True)
        self.picture.focus()
        self._changed()

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

    def _free(self) -> Iterator[str]:
        taken = self.session.marks.nets
        return (f"n{i}" for i in count(1) if f"n{i}" not in taken)

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
