"""Explain a file: a netlist or layout of one's own, read by the same rooms as the drawings of the drill."""

from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import Container, Horizontal, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input, Static

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.face import DrawnFace
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.process import load_process, process_names
from layoutdrill.reading.explain import LAYOUT_FILES, explain_file
from layoutdrill.reading.explanation import Explanation
from layoutdrill.screens.actions import EVERYWHERE
from layoutdrill.screens.choose_page import ChoosePage
from layoutdrill.screens.error_panel import error_text
from layoutdrill.screens.outline_tree import Chosen, OutlineTree
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.picture_page import MOVING, PicturePage
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.row import Row
from layoutdrill.screens.sighting import Focus
from layoutdrill.screens.subject import Subject, look_for_process
from layoutdrill.simulate.supplies import Supplies
from layoutdrill.value import mutable, value


@value
class Explained:
    """What was found out about a file; `subject` is its picture where the file is a layout."""

    path: Path
    words: str
    subject: Subject | None
    explanation: Explanation
    rails: tuple[str, str]


class ExplainScreen(PicturePage):
    """Name a file, read what it is."""

    name_of: ClassVar[str] = "explain"
    about: ClassVar[str] = (
        "Give the path of a netlist (SPICE) or a layout (GDSII). It is told what the circuit is, of what structures, "
        "and where something looks wrong, with an outline to walk through that draws what is chosen; a layout is shown "
        "too, its transistors numbered. Nothing leaves this machine."
    )
    BINDINGS = bindings_for("explain")

    @mutable
    class FileRead(Message):
        """A worker read the file."""

        found: Explained

    @mutable
    class ReadingFailed(Message):
        """A worker could not."""

        error: Exception

    def __init__(self) -> None:
        super().__init__()
        self.process = ""
        self.found: Explained | None = None
        self.reading = False
        self.tried = ""

    def body(self) -> ComposeResult:
        with Horizontal(id="file"):
            yield Input(
                id="path",
                placeholder="path of a netlist, layout (.gds) or marks (.marks.yaml), Enter",
                compact=True,
            )
            yield Input(id="cell", placeholder="cell, if several", compact=True)
        with Container(id="bench"):
            yield PictureView(id="picture")
            with VerticalScroll(id="words", can_focus=False):
                yield OutlineTree("", id="outline")
                yield Static(id="said")

    def on_mount(self) -> None:
        self.picture.display = False
        self.outline.display = False
        self._head()
        self.query_one("#said", Static).update(Content(self.about))
        self.query_one("#path", Input).focus()

    @property
    def outline(self) -> OutlineTree:
        return self.query_one(OutlineTree)

    def why_not(self, name: str) -> str:
        """Say nothing of moving a picture that there is not, or while the keys move in the outline or the text."""
        return "" if name in MOVING and not self.picture.has_focus else super().why_not(name)

    def _head(self) -> None:
        name = self.tried or "a file of your own"
        self.head_of(f"Explain: {name}" + (f"   process {self.process}" if self.process else ""))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        if event.value.strip() or event.input.id == "cell":
            self.do("read")

    def act_read(self) -> None:
        path = Path(self.query_one("#path", Input).value.strip()).expanduser()
        process, cell = self.process or None, self.query_one("#cell", Input).value.strip() or None
        look = self.bench.look_for(None)
        self.reading, self.tried = True, path.name
        self._head()
        self.set_timer(0.15, self._say_reading)

        def work() -> None:
            try:
                reading = explained(path, process, cell, look)
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.ReadingFailed(error))
            else:
                self.post_message(self.FileRead(reading))

        self.run_worker(work, thread=True, group="read", exclusive=True, exit_on_error=False)

    def _say_reading(self) -> None:
        if self.reading:
            self.query_one("#said", Static).update(Content("reading …"))

    def on_explain_screen_file_read(self, message: FileRead) -> None:
        self.reading, self.found = False, message.found
        reading = message.found
        self.query_one("#said", Static).update(Content(reading.words))
        self.query_one("#words", VerticalScroll).scroll_home(animate=False)
        self.outline.show_reading(reading.explanation, reading.words)
        self.outline.display = True
        self.picture.display = message.found.subject is not None
        self.set_class(message.found.subject is None, "-alone")
        self.picture.show(message.found.subject)
        self._head()
        self.set_focus(self.outline)
        self.retell()

    def on_tree_node_highlighted(self, event: OutlineTree.NodeHighlighted[Chosen]) -> None:
        """Say and draw what the cursor is on, and outline it on the picture where there is one."""
        chosen, reading = event.node.data, self.found
        if chosen is None or reading is None:
            return
        said = self.query_one("#said", Static)
        width = said.size.width or self.size.width // 2
        said.update(Content(chosen.text(reading.explanation.netlist, reading.rails, width)))
        self.query_one("#words", VerticalScroll).scroll_home(animate=False)
        if reading.subject is not None:
            self._outline(reading, reading.subject, set(chosen.transistors))

    def _outline(self, reading: Explained, subject: Subject, names: set[str]) -> None:
        """Outline some transistors on the picture with their numbers (all where none are named), in sight."""
        extraction = reading.explanation.extraction
        every = subject.overlay.transistors
        some = tuple(pair for pair in every if pair[0] in names) or every
        rects = [r for name, _ in some for r in extraction.channel(name)] if extraction is not None else []
        self.picture.change(lambda s: replace(s, overlay=replace(subject.overlay, transistors=some)))
        if rects and len(some) < len(every):
            around = Rect(min(r.x0 for r in rects), min(r.y0 for r in rects),
                          max(r.x1 for r in rects), max(r.y1 for r in rects))  # fmt: skip
            self.picture.bring(Focus(wanted=(around,)))

    def on_explain_screen_reading_failed(self, message: ReadingFailed) -> None:
        """Say it in place of the words: path and process stay, and the keys that mend it work at once."""
        self.reading, self.found = False, None
        self.picture.show(None)
        self.picture.display = self.outline.display = False
        self.add_class("-alone")
        keys = "t goes to the path, p chooses the process, Enter reads again."
        self.query_one("#said", Static).update(error_text(message.error, keys))
        self.set_focus(None)
        self._head()
        self.retell()

    def scroll_of(self) -> Widget | None:
        return self.query_one("#words")

    def possible(self) -> frozenset[str]:
        names = {*EVERYWHERE, "path", "process"}
        if self.found is not None and self.focused is self.outline:
            names.add("unfold")
        elif self.is_mounted and self.query_one("#path", Input).value.strip():
            names.add("read")
        if self.found is not None:
            names.add("parts")
        if self.typing:
            names.add("stop_typing")
        return (
            frozenset(names) | self.scrolling() | (self.looking() if self.found and self.found.subject else frozenset())
        )

    def act_stop_typing(self) -> None:
        self.set_focus(self.outline if self.found else None)

    def act_unfold(self) -> None:
        self.outline.action_select_cursor()

    def act_parts(self) -> None:
        """Go to and fro between the outline and the picture."""
        picture = self.found is not None and self.found.subject is not None and self.focused is self.outline
        self.set_focus(self.picture if picture else self.outline)

    def act_path(self) -> None:
        self.query_one("#path", Input).focus()

    def act_process(self) -> None:

        rows = [Row("any", "none", "a netlist needs none")]
        rows += [Row(name, name, load_process(name).title) for name in process_names()]
        self.app.push_screen(ChoosePage("In which process is the layout?", rows, self._take, self.process or "any"))

    def _take(self, name: str) -> None:
        self.process = "" if name == "any" else name
        self._head()
        if self.query_one("#path", Input).value.strip():
            self.act_read()


def explained(path: Path, process: str | None, cell: str | None, look: str) -> Explained:
    """Read a file: words about it, and its picture where it is a layout or a photograph."""
    if process is None and path.suffix.lower() in LAYOUT_FILES:
        raise LayoutdrillError("a layout is read in a process", where=Where(str(path)), todo="press p and choose it")
    read = explain_file(path, process=process, cell=cell)
    rails = _rails(read.netlist, read.recognition.supplies)
    words = read.text().rstrip()
    if read.face is not None and read.extraction is not None:
        spots = tuple(read.extraction.channel(name)[0].centre for slip in read.slips for name in slip.transistors)
        overlay = replace(devices_overlay(read.extraction), spots=tuple(dict.fromkeys(spots)))
        return Explained(path, words, Subject(read.face, look=look, overlay=overlay), read, rails)
    if read.layout is None or read.process is None or read.extraction is None:
        return Explained(path, words, None, read, rails)
    overlay = devices_overlay(read.extraction)
    shown = look_for_process(look, read.process)
    face = DrawnFace(read.layout, read.process, read.extraction)
    return Explained(path, words, Subject(face, look=shown, overlay=overlay), read, rails)


def _rails(netlist: Netlist, supplies: Supplies) -> tuple[str, str]:
    """Return (low, high): of several names for a rail the one that most transistors end on."""
    ends = Counter(net for t in netlist.transistors for net in t.ends)
    low = max(sorted(supplies.low), key=lambda net: ends[net], default="VSS")
    high = max(sorted(supplies.high), key=lambda net: ends[net], default="VDD")
    return low, high
