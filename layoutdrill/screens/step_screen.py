"""Step through a circuit: inputs by keys, and at every net its level as a character, on the picture and beside it."""

from dataclasses import replace
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget
from textual.widgets import Static

from layoutdrill.picture.overlay import Overlay, Tag
from layoutdrill.question.model import Specimen
from layoutdrill.question.stepping import Stepping, Walk, begun, levelled, net_places
from layoutdrill.screens.focus import BESIDE, words_beside
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.picture_page import PicturePage
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.schematic import schematic
from layoutdrill.screens.subject import Subject, look_for_process

MOST_INPUTS = 9
LEGEND = "0 low   1 high   z floating   x fighting   ? not known"


class StepScreen(PicturePage):
    """A circuit that is stepped through."""

    name_of: ClassVar[str] = "step"
    about: ClassVar[str] = (
        "The circuit of the question, working. The figures change its inputs one at a time. Space goes through a "
        "sequence that was asked about, then gives the clock its edges, or goes to the next row. The level of each net "
        "stands on it as a character."
    )
    BINDINGS = bindings_for("step")

    def __init__(self, specimen: Specimen, stepping: Stepping, look: str) -> None:
        super().__init__()
        self.specimen, self.look = specimen, look
        self.walks: list[Walk] = [begun(specimen, stepping)]
        self._places = net_places(specimen.face.scene, specimen.netlist)

    def body(self) -> ComposeResult:
        with Container(id="bench"):
            yield PictureView(id="picture")
            with VerticalScroll(id="words", can_focus=False):
                yield Static(id="said")

    @property
    def walk(self) -> Walk:
        return self.walks[-1]

    def on_mount(self) -> None:
        face = self.specimen.face
        look = look_for_process(self.look, face.process) if self.look else self.look
        self.picture.show(
            Subject(face, look=look, seed=self.specimen.seed or 0, wear=self.specimen.wear, overlay=self._overlay())
        )
        self.picture.focus()
        self._show()

    def shape_in(self, size: Size) -> dict[str, bool]:
        return {**super().shape_in(size), "-beside": words_beside(size.width, size.height)}

    def on_resize(self, event: events.Resize) -> None:
        super().on_resize(event)
        self.call_after_refresh(self._show)

    def scroll_of(self) -> Widget | None:
        return self.query_one("#words")

    def possible(self) -> frozenset[str]:
        count = len(self.walk.stepping.inputs)
        turns = {f"turn_{number}" for number in range(1, min(count, MOST_INPUTS) + 1)}
        back = {"step_back"} if len(self.walks) > 1 else set()
        every = super().possible() - {f"turn_{number}" for number in range(1, MOST_INPUTS + 1)} - {"step_back"}
        return every - (_LOOKING - self.looking()) | turns | back

    def _overlay(self) -> Overlay:
        levels = self.walk.levels
        return Overlay(marks=tuple(Tag(levels[net], *at) for net, at in self._places.items() if net in levels))

    def _show(self) -> None:
        self.head_of(f"Step {self.walk.steps}")
        self.query_one("#said", Static).update(Content(walk_words(self.walk, self.words_width)))
        overlay = self._overlay()
        self.picture.change(lambda subject: replace(subject, overlay=overlay))
        self.retell()

    @property
    def words_width(self) -> int:
        """The columns that the words have."""
        if self.has_class("-beside") and not self.has_class("-wide"):
            return BESIDE - 4
        if not self.has_class("-wide"):
            return max(20, self.app.size.width - 4)
        return 55 if self.has_class("-broad") else 41

    def _turn(self, number: int) -> None:
        self._go(self.walk.turned(self.walk.stepping.inputs[number - 1]))

    def _go(self, walk: Walk) -> None:
        self.walks.append(walk)
        self._show()

    def act_step_on(self) -> None:
        self._go(self.walk.onward())

    def act_step_back(self) -> None:
        self.walks.pop()
        self._show()

    def act_turn_1(self) -> None:
        self._turn(1)

    def act_turn_2(self) -> None:
        self._turn(2)

    def act_turn_3(self) -> None:
        self._turn(3)

    def act_turn_4(self) -> None:
        self._turn(4)

    def act_turn_5(self) -> None:
        self._turn(5)

    def act_turn_6(self) -> None:
        self._turn(6)

    def act_turn_7(self) -> None:
        self._turn(7)

    def act_turn_8(self) -> None:
        self._turn(8)

    def act_turn_9(self) -> None:
        self._turn(9)


def walk_words(walk: Walk, width: int) -> str:
    """Return the words beside the picture: inputs with their keys, the output, the levels, the schematic with them."""
    levels, specimen = walk.levels, walk.specimen
    keys = [f"{key} {name}={walk.row[name]}" for key, name in enumerate(walk.stepping.inputs, 1)]
    tied = [f"{a}={levels[a]}" for a in walk.stepping.opposite]
    edge = f"Space: next edge of {' and '.join(walk.stepping.clocks)}" if walk.stepping.clocks else "Space: next row"
    left = len(walk.stepping.script) - walk.played
    edge = f"Space: next step of the question ({left} left)" if left else edge
    others = [
        f"{net}={levels[net]}" for net in specimen.netlist.nets if net not in {*walk.row, *walk.stepping.opposite}
    ]
    low, high = specimen.process.supplies
    supplies = (f"{low}={levels.get(low, '0')}", f"{high}={levels.get(high, '1')}")
    drawn = schematic(levelled(specimen.netlist, levels), supplies, width)
    head = f"{'   '.join([*keys, *tied])}\n{edge}\n\n{walk.stepping.output} = {levels[walk.stepping.output]}"
    return f"{head}\n\n{'  '.join(others)}\n{LEGEND}\n\n{drawn}"


_LOOKING = frozenset({"lift", "lay_back", "outline", "whole", "overview"})
