"""A lesson: a few short pages with live pictures, then its questions."""

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.containers import Container, Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Static

from layoutdrill.deck.model import Arrangement, Deck, Picture
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.drill.open_sitting import PAGE_COME_TO
from layoutdrill.drill.sitting import Sitting
from layoutdrill.picture.aid import ALWAYS_BELOW
from layoutdrill.picture.overlay import Overlay
from layoutdrill.question.model import Specimen
from layoutdrill.question.naming import sentence
from layoutdrill.screens.actions import EVERYWHERE
from layoutdrill.screens.lesson_room import (
    SIDES,
    caption_of,
    drawing_of,
    first_view,
    focus_on,
    left_off,
    one_at_a_time,
    readable,
    reading_focus,
    rows_of,
    title_of,
)
from layoutdrill.screens.lines import joined, line, unwrapped
from layoutdrill.screens.outlines import MOST_NUMBERS, page_overlay, reading_overlay
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.picture_page import PicturePage
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.sighting import Focus
from layoutdrill.screens.subject import Subject, aids, look_for_process
from layoutdrill.screens.wording import explanation
from layoutdrill.value import mutable, value

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting

ABREAST = 2
MORE = "More lies out of sight: j goes on to it."
MOVE = "Arrows move, + goes closer, F8 shows all."
"""Told in its place once all that is spoken of has been in sight."""


@value
class Step:
    """What is on the screen at once: a page's number, its pictures abreast, and which step of how many."""

    page: int
    pictures: tuple[Picture, ...]
    at: int
    of: int


def steps_of(deck: Deck) -> tuple[Step, ...]:
    """Cut a lesson into steps: a build-up takes its pictures one by one, a contrast two abreast."""
    steps: list[Step] = []
    for number, page in enumerate(deck.pages):
        abreast = ABREAST if page.arrangement is Arrangement.SIDE_BY_SIDE else 1
        groups = [page.pictures[at : at + abreast] for at in range(0, len(page.pictures), abreast)] or [()]
        steps += [Step(number, group, at, len(groups)) for at, group in enumerate(groups, 1)]
    return tuple(steps)


class LessonScreen(PicturePage):
    """Read a lesson, step by step."""

    name_of: ClassVar[str] = "lesson"
    about: ClassVar[str] = (
        "A lesson: short pages with live pictures. Some build a drawing up layer by layer, some set two look-alikes "
        "side by side. The pictures can be moved, looked at closer, and their layers lifted. Then come questions, "
        "with help that fades."
    )
    BINDINGS = bindings_for("lesson")

    @mutable
    class SpecimensDrawn(Message):
        """A worker drew and proved the pictures of a step."""

        step: int
        specimens: tuple[Specimen, ...]

    @mutable
    class SittingOpened(Message):
        """A worker opened the lesson's questions."""

        sitting: "OpenSitting"

    @mutable
    class WorkFailed(Message):
        """A worker could not do its work."""

        error: Exception

    def __init__(self, deck: Deck, sitting: "OpenSitting | None" = None, page: int = 0) -> None:
        """Show a deck's pages from `page` on; its questions are those of the sitting, where one has been opened."""
        super().__init__()
        self.deck = deck
        self.sitting = sitting
        self.steps = steps_of(deck)
        self.at = next((at for at, step in enumerate(self.steps) if step.page == page), 0)
        self._specimens: dict[Picture, Specimen] = {}
        self._shown: tuple[Picture, ...] = ()
        self._page = -1
        """The page whose pictures are shown."""
        self.side: int | None = None
        """Which of two pictures is seen, where they are seen one at a time; None where they stand abreast."""
        self.read_out = False
        """Whether what is to be read on the page is told."""
        self._more = ""
        """Whether it is told that more of what is spoken of lies out of sight."""

    def body(self) -> ComposeResult:
        with Container(id="bench"):
            with Container(id="abreast"):
                with Vertical():
                    yield PictureView(id="picture")
                    yield Static(id="caption", classes="caption", markup=False)
                with Vertical(id="second"):
                    yield PictureView(id="picture_b")
                    yield Static(id="caption_b", classes="caption", markup=False)
            with VerticalScroll(id="words", can_focus=False):
                yield Static(id="said")

    @property
    def pictures(self) -> tuple[PictureView, ...]:
        shown = (self.picture, self.query_one("#picture_b", PictureView))
        return shown[: max(1, len(self._shown))]

    def on_mount(self) -> None:
        self._maker = SpecimenMaker(self.deck, self.bench.kit)
        self.picture.focus()
        if self.steps:
            self._turn_to(self.at)
        else:
            self.act_begin()

    def _turn_to(self, at: int) -> None:
        self.at, self.side, self.read_out, self._more = at, None, False, ""
        step = self.steps[at]
        if self.sitting is not None:
            self.sitting.note_draft(PAGE_COME_TO, str(step.page))
        self._say_page()
        self.query_one("#words", VerticalScroll).scroll_home(animate=False)
        self.query_one("#abreast").display = bool(step.pictures)
        drawn = bool(step.pictures) and all(picture in self._specimens for picture in step.pictures)
        if drawn:
            self._take_sides(step)
        self.set_class(len(step.pictures) > 1 and self.side is None, "-abreast")
        self.set_class(not step.pictures, "-alone")
        if not step.pictures:
            self._shown = ()
            for view in self.pictures:
                view.show(None)
        self.head_of(f"{self.deck.title}   page {step.page + 1} of {len(self.deck.pages)}")
        if drawn:
            self._show(step)
        self._draw(at)
        self._draw(at + 1)
        self.retell()
        self.call_after_refresh(self.retell)  # whether there is more than fits is known once it has been laid out

    def _say_page(self) -> None:
        """Write the page's title and text; of a build-up which step it is, of two pictures which one is seen."""
        step = self.steps[self.at]
        page = self.deck.pages[step.page]
        several = f" ({step.at} of {step.of})" if step.of > 1 else ""
        parts = [line("[b]$title[/]$several", title=page.title, several=several)]
        if self.side is not None:
            here, there = SIDES[self.side], SIDES[1 - self.side]
            told = f"Seen now: the {here} one of two. f shows the {there} one in its place."
            parts.append(line("[$secondary]$told[/]", told=told))
        parts.append(Content(unwrapped(page.text)))
        if self._more:
            parts.append(line("[$secondary]$more[/]", more=self._more))
        if self.read_out:
            parts += self._reading()
        self.query_one("#said", Static).update(joined(parts))

    def _reading(self) -> list[Content]:
        """Return what there is to be read on each picture in sight: its transistors by number, and their schematic."""
        width = self.query_one("#words").size.width - 4
        parts: list[Content] = []
        for picture in self._shown:
            specimen = self._specimens[picture]
            few = 0 < specimen.netlist.count() <= MOST_NUMBERS
            read = (
                [explanation(specimen, width, at_work=True)] if few else [Content(sentence(unwrapped(specimen.about)))]
            )
            parts += [Content(), line("[b]$title[/]", title=title_of(picture, specimen)), *read]
        return parts

    def _take_sides(self, step: Step) -> None:
        """Show two pictures one at a time where the window is too small to show enough of them abreast."""
        page, specimens = self.deck.pages[step.page], [self._specimens[picture] for picture in step.pictures]
        one = one_at_a_time((self.app.size.width, self.app.size.height), page, step.pictures, specimens)
        self.side = (self.side or 0) if one else None
        self.set_class(len(step.pictures) > 1 and not one, "-abreast")
        self._say_page()

    def _draw(self, at: int) -> None:
        if at >= len(self.steps):
            return
        wanted = tuple(picture for picture in self.steps[at].pictures if picture not in self._specimens)
        if not wanted:
            return
        if at == self.at:
            self.set_timer(0.15, self._say_drawing)
        maker = self._maker

        def work() -> None:
            try:
                made = tuple(maker.picture(picture) for picture in wanted)
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.WorkFailed(error))
            else:
                self.post_message(self.SpecimensDrawn(at, made))

        self.run_worker(work, thread=True, group="draw", exit_on_error=False)

    def _say_drawing(self) -> None:
        if any(picture not in self._specimens for picture in self.steps[self.at].pictures):
            caption = self.query_one("#caption", Static)
            caption.update("drawing and proving …")
            caption.display = True

    def on_lesson_screen_specimens_drawn(self, message: SpecimensDrawn) -> None:
        wanted = [p for p in self.steps[message.step].pictures if p not in self._specimens]
        self._specimens.update(zip(wanted, message.specimens, strict=False))
        if message.step == self.at:
            self._take_sides(self.steps[self.at])
            self._show(self.steps[self.at])

    def on_lesson_screen_work_failed(self, message: WorkFailed) -> None:
        self.bench.show_error(message.error)

    def _show(self, step: Step) -> None:
        """Show the step's pictures; within a page the same drawing keeps the view of the step before."""
        seen = step.pictures if self.side is None else (step.pictures[self.side],)
        before, self._shown = self._shown, seen
        self.query_one("#second").display = len(seen) > 1
        for at, picture in enumerate(seen):
            widget, specimen = self.pictures[at], self._specimens[picture]
            same = at < len(before) and step.page == self._page and drawing_of(before[at]) == drawing_of(picture)
            focus = self._focus_of(picture, specimen)
            widget.show(self._subject(picture, specimen), keep_view=same, focus=focus)
        if self.side is not None and (view := self.picture.view) is not None:
            room, page = (view.columns, view.rows), self.deck.pages[step.page]
            self.picture.no_closer(min(first_view(room, page, p, self._specimens[p]).scale for p in step.pictures))
        self._page = step.page
        self._caption()
        self.retell()

    def _caption(self) -> None:
        """
        Write below each picture what it is, whole: as many rows as the longest caption of the page takes, so that the
        pictures stand level, and stay where they are from step to step.
        """
        step = self.steps[self.at]
        rows = 0
        for at, picture in enumerate(self._shown):
            widget, caption = self.pictures[at], self.query_one(("#caption", "#caption_b")[at], Static)
            scale = ALWAYS_BELOW if widget.view is None else widget.view.scale
            aid = widget.subject is not None and scale < ALWAYS_BELOW and aids(widget.subject, int(scale))
            told = caption_of(picture, self._specimens[picture].structure, aid=aid, abreast=len(self._shown) > 1)
            caption.update(told)
            caption.display = bool(told)
            others = [unwrapped(other.caption) for other in self.deck.pages[step.page].pictures]
            rows = max(rows, *(rows_of(text, widget.size.width) for text in (told, *others)))
        for name in ("#caption", "#caption_b"):
            self.query_one(name, Static).styles.height = rows or 1

    def on_picture_view_moved(self, message: PictureView.Moved) -> None:
        super().on_picture_view_moved(message)
        self._caption()
        away = any(picture.away for picture in self.pictures if picture.subject is not None)
        more = MORE if away else MOVE if self._more else ""  # once told a line stays: the words must not jump
        if more != self._more:
            self._more = more
            self._say_page()

    def laid_off(self) -> frozenset[str]:
        """Return the layers that the page's picture leaves off by itself, as its caption tells."""
        first = self._shown[:1]
        return frozenset().union(*(left_off(picture, self._specimens[picture]) for picture in first))

    def _subject(self, picture: Picture, specimen: Specimen) -> Subject:
        return Subject(
            specimen.face,
            look=look_for_process(self.bench.look_for(picture.look or self.deck.look), specimen.process),
            seed=picture.seed,
            wear=picture.wear,
            stage=picture.stage,
            overlay=self._overlay(picture, specimen),
            hidden=left_off(picture, specimen),
        )

    def scroll_of(self) -> Widget | None:
        return self.query_one("#words")

    def possible(self) -> frozenset[str]:
        names = set(EVERYWHERE) | self.looking() | self.scrolling()
        if self.steps:
            names.add("next_page")
            if self.at or self.side == 1:
                names.add("last_page")
            if self.side is not None:
                names.add("other_picture")
            if any(picture in self._specimens and readable(self._specimens[picture]) for picture in self._shown):
                names.add("answer")
        if self.deck.items:
            names.add("begin")
        return frozenset(names)

    def act_other_picture(self) -> None:
        """Show the other of two pictures in the place of this one."""
        if self.side is not None:
            self.side = 1 - self.side
            self._say_page()
            self._show(self.steps[self.at])

    def act_answer(self) -> None:
        """Tell what is to be read on the page, on the picture and in words; or take it off again."""
        self.read_out = not self.read_out
        self._say_page()
        for widget, picture in zip(self.pictures, self._shown, strict=False):
            overlay = self._overlay(picture, self._specimens[picture])
            widget.change(partial(_under, overlay))
            widget.bring(self._focus_of(picture, self._specimens[picture]))
        self.retell()
        self.call_after_refresh(self.retell)

    def _focus_of(self, picture: Picture, specimen: Specimen) -> Focus:
        focus = focus_on(self.deck.pages[self.steps[self.at].page], picture, specimen)
        return reading_focus(focus, specimen) if self.read_out else focus

    def _overlay(self, picture: Picture, specimen: Specimen) -> Overlay:
        shown = page_overlay(picture, specimen)
        return reading_overlay(shown, specimen) if self.read_out else shown

    def act_next_page(self) -> None:
        """Go on: first to what is left of the text, then to the other of two pictures that are seen one at a time."""
        words = self.query_one("#words", VerticalScroll)
        if words.scroll_offset.y < words.max_scroll_y:
            words.scroll_page_down(animate=False)
        elif self.side == 0:
            self.act_other_picture()
        elif self.at + 1 < len(self.steps):
            self._turn_to(self.at + 1)
        elif self.deck.items:
            self.act_begin()

    def act_last_page(self) -> None:
        if self.side == 1:
            self.act_other_picture()
        elif self.at:
            self._turn_to(self.at - 1)

    def on_resize(self, event: events.Resize) -> None:
        super().on_resize(event)
        step = self.steps[self.at] if self.steps else None
        if step is not None and self._shown and all(picture in self._specimens for picture in step.pictures):
            was = self.side
            self._take_sides(step)
            if (was is None) != (self.side is None):
                self.call_after_refresh(self._show, step)

    def act_begin(self) -> None:
        deck, opened = self.deck, self.sitting
        kit = self.bench.kit if deck.kit else None

        def work() -> None:
            try:
                sitting = opened or Sitting.open_deck(deck, kit=kit)
            except Exception as error:  # noqa: BLE001
                self.post_message(self.WorkFailed(error))
            else:
                self.post_message(self.SittingOpened(sitting))

        self.run_worker(work, thread=True, group="open", exclusive=True, exit_on_error=False)

    def on_lesson_screen_sitting_opened(self, message: SittingOpened) -> None:
        message.sitting.note_draft(PAGE_COME_TO, str(len(self.deck.pages)))
        self.bench.go_on_to(self.bench.routes.drill(message.sitting))


def _under(overlay: Overlay, subject: Subject) -> Subject:
    return replace(subject, overlay=overlay)
