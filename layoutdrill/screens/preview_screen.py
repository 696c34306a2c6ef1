"""Preview a deck while it is written: its items and pages one by one, what was proved, and the first error in place."""

from dataclasses import replace
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Static
from textual.worker import get_current_worker

from layoutdrill.deck.check import first_error
from layoutdrill.deck.files import read_file
from layoutdrill.deck.model import Deck, Item
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.netlist.model import Kind
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.process import load_process
from layoutdrill.question import ask_in_look, kinds
from layoutdrill.question.model import Specimen
from layoutdrill.screens.actions import EVERYWHERE
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.picture_page import PicturePage
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.subject import Subject, look_for_process
from layoutdrill.value import mutable, value

LOOK_EACH = 0.5
"""Seconds between looks at the file."""


@value
class Shot:
    """One thing to look at: a cell of an item in a process."""

    item: Item
    cell: str
    process: str


def shots_of(deck: Deck) -> tuple[Shot, ...]:
    """Return every cell of every item, in each of its processes."""
    return tuple(
        Shot(item, cell, process)
        for item in deck.items
        for cell in item.cells
        for process in item.processes
        if deck.suits(cell, load_process(process))
    )


def told_of(shot: Shot, specimen: Specimen, look: str) -> list[str]:
    """Say what was proved of a specimen, and what its kinds of question ask, with the right answers."""
    netlist, dice = merge_fingers(specimen.netlist), Dice(specimen.seed or 0)
    counted = f"{netlist.count(Kind.N)} n, {netlist.count(Kind.P)} p, {plural(len(netlist.nets), 'net')}"
    how = "read from its marks" if not specimen.face.follows_light else "drawn, read back, proved equal"
    lines = [f"{specimen.structure or shot.cell}: {how}: {counted}."]
    lines += [f"On it: {finding.text}" for finding in specimen.extraction.findings[:4]]
    asked = dict.fromkeys(shot.item.kinds or kinds())
    for name in asked:
        kind = kinds()[name]
        question = ask_in_look(kind, specimen, dice, load_look(look))
        if question is not None:
            lines += ["", f"{name}: {question.prompt}", f"→ {kind.solution(question).text}"]
        elif shot.item.kinds:
            lines += ["", f"{name}: cannot be asked here"]
    return lines


class PreviewScreen(PicturePage):
    """A deck's items, read anew whenever its file changes."""

    name_of: ClassVar[str] = "preview"
    about: ClassVar[str] = (
        "The deck as it is on disk: save it in your editor, and it is read anew. n and p go from item to item, f draws "
        "another seed. Beside the picture stand the deck's first error, what was proved, and what is asked with its "
        "answers."
    )
    BINDINGS = bindings_for("preview")

    @mutable
    class Made(Message):
        """A worker drew what is shown."""

        key: tuple[int, int, int]
        specimen: Specimen
        lines: list[str]

    @mutable
    class Failed(Message):
        """It could not."""

        key: tuple[int, int, int]
        error: Exception

    @mutable
    class Checked(Message):
        """A worker looked through the whole deck, as far as its first error."""

        reading: int
        error: LayoutdrillError | None

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.path = path
        self.maker: SpecimenMaker | None = None
        self.error: LayoutdrillError | None = None
        self.lines = ""
        self.deck: Deck | None = None
        self.shots: tuple[Shot, ...] = ()
        self.at, self.seed, self.reading = 0, 0, 0
        self._time: int | None = None

    def body(self) -> ComposeResult:
        with Container(id="bench"):
            yield PictureView(id="picture")
            with VerticalScroll(id="words", can_focus=False):
                yield Static(id="said")

    def on_mount(self) -> None:
        self._look()
        self.set_interval(LOOK_EACH, self._look)

    def _look(self) -> None:
        """Read the deck where its file is another than before."""
        try:
            time = self.path.stat().st_mtime_ns
        except OSError:
            time = None
        if time == self._time and self.deck is not None:
            return
        self._time = time
        self.reading += 1
        deck, errors = read_file(self.path)
        self.deck = deck
        if errors:
            self.error = None
            more = f"\n\nand {len(errors) - 1} more" if len(errors) > 1 else ""
            self._say(f"{errors[0]}{more}\n\nSave the file again when it is mended.")
            self.head_of(f"Preview: {self.path.name}   {plural(len(errors), 'error')}")
            return
        self.maker, self.error = SpecimenMaker(deck, self.bench.kit), None
        self.shots = shots_of(deck)
        self.at = min(self.at, max(0, len(self.shots) - 1))
        self._check(deck)
        self._show()

    def _check(self, deck: Deck) -> None:
        """Look for the first error of the whole deck, whichever item is in sight."""
        reading, kit = self.reading, self.bench.kit

        def work() -> None:
            worker = get_current_worker()
            try:
                error = first_error(deck, self.path, kit, lambda: worker.is_cancelled)
            except LayoutdrillError as raised:
                error = raised
            self.post_message(self.Checked(reading, error))

        self.run_worker(work, thread=True, group="check", exclusive=True, exit_on_error=False)

    def on_preview_screen_checked(self, message: Checked) -> None:
        if message.reading == self.reading:
            self.error = message.error
            self._say(self.lines)

    def _say(self, text: str) -> None:
        """Show what is said of the item in sight, below the first error of the deck."""
        self.lines = text
        wrong = "" if self.error is None or str(self.error) == text else f"{self.error}\n\n"
        self.query_one("#said", Static).update(Content(wrong + text))
        self.retell()

    def _show(self) -> None:
        if self.deck is None or self.maker is None or not self.shots:
            self._say("There are no items yet.")
            return
        shot = self.shots[self.at]
        seed = self.seed or shot.item.seed or 1
        self.head_of(f"Preview: {self.deck.title}   {self.at + 1} of {len(self.shots)}   {shot.cell}   seed {seed}")
        key = (self.reading, self.at, seed)
        maker = self.maker
        look = look_for_process(
            self.bench.look_for(shot.item.look or self.deck.look or None), load_process(shot.process)
        )

        def work() -> None:
            try:
                specimen = maker.specimen(shot.cell, shot.process, seed, shot.item.difficulty)
                specimen = replace(specimen, wear=shot.item.wear or 0.0, stage=shot.item.stage)
                self.post_message(self.Made(key, specimen, told_of(shot, specimen, look)))
            except Exception as error:  # noqa: BLE001 - told beside the picture
                self.post_message(self.Failed(key, error))

        self.run_worker(work, thread=True, group="draw", exclusive=True, exit_on_error=False)
        self.retell()

    def on_preview_screen_made(self, message: Made) -> None:
        reading, at, seed = message.key
        if (reading, at) != (self.reading, self.at) or self.deck is None:
            return
        specimen, shot = message.specimen, self.shots[at]
        look = self.bench.look_for(shot.item.look or self.deck.look or None)
        self.picture.show(
            Subject(
                specimen.face,
                look=look_for_process(look, specimen.process),
                seed=seed,
                wear=specimen.wear,
                stage=specimen.stage,
                overlay=devices_overlay(specimen.extraction, specimen.netlist),
            )
        )
        self._say("\n".join(message.lines))

    def on_preview_screen_failed(self, message: Failed) -> None:
        if message.key[:2] == (self.reading, self.at):
            shot = self.shots[self.at]
            error = message.error
            placed = isinstance(error, LayoutdrillError) and error.where is not None
            self._say(str(error) if placed else f"{shot.item.where}: {getattr(error, 'what', error)}")

    def possible(self) -> frozenset[str]:
        names = set(EVERYWHERE) | (self.looking() if self.picture.subject is not None else frozenset())
        if self.shots:
            names.add("next_seed")
        if self.at + 1 < len(self.shots):
            names.add("next_item")
        if self.at:
            names.add("last_item")
        return frozenset(names)

    def act_next_item(self) -> None:
        self.at, self.seed = self.at + 1, 0
        self._show()

    def act_last_item(self) -> None:
        self.at, self.seed = self.at - 1, 0
        self._show()

    def act_next_seed(self) -> None:
        self.seed = (self.seed or self.shots[self.at].item.seed or 1) + 1
        self._show()
