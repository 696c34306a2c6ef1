"""The base of every screen: keys from the table of actions, a heading, a true footer, a remark when too small."""

from contextlib import suppress
from typing import Any, ClassVar, cast

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.css.query import NoMatches
from textual.geometry import Size
from textual.message import Message
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Input, Static

from layoutdrill.screens.actions import BY_NAME, WHY_NOT, footer, meant, offered, taken_by_text
from layoutdrill.screens.bench import Bench
from layoutdrill.screens.key_line import KeyLine

WIDE, BROAD = 110, 160
"""From so many columns the words stand beside the picture, and are given more room."""


def bindings_for(screen: str) -> list[BindingType]:
    """Make the key bindings of a screen from the table of actions: one for each key."""
    keys = dict.fromkeys(key for action in offered(screen) for key in action.keys)
    return [Binding(key, f"press('{key}')", show=False) for key in keys]


def too_small(width: int, height: int, need: tuple[int, int]) -> str:
    """Say what a window lacks, or nothing when it is large enough."""
    lacks = []
    if width < need[0]:
        lacks.append(_more(need[0] - width, "column", "wider"))
    if height < need[1]:
        lacks.append(_more(need[1] - height, "row", "higher"))
    if not lacks:
        return ""
    wanted = " and ".join(lacks)
    return f"This window is {width} × {height}.\nMake it {wanted}\nto see this screen ({need[0]} × {need[1]})."


def _more(count: int, noun: str, how: str) -> str:
    return f"{count} {noun}{'s' * (count > 1)} {how}"


APART = "   "
"""Between the title in a heading and which page or question it is."""
LEAST_TITLE = 10


def headed(left: str, right: str, width: int) -> str:
    """
    Return a heading of `width` columns. Where it is too long the title is cut short, then what stands on the right:
    which page or question it is stays whole.
    """
    title, apart, number = left.partition(APART)
    number = f"{apart}{number}"
    least = min(len(title), LEAST_TITLE) + len(number)
    right = _shortened(right, width - least - 1)
    room = max(0, width - len(right) - 1)
    return f"{_shortened(title, room - len(number)) + number:<{room}} {right}"


def _shortened(text: str, width: int) -> str:
    return text if len(text) <= width else text[: max(0, width - 1)] + "…"


class Page(Screen[object]):
    """A screen. `name_of` is its name in the table of actions; `act_…` methods carry the actions out."""

    name_of: ClassVar[str] = "text"
    needs: ClassVar[tuple[int, int]] = (60, 18)
    about: ClassVar[str] = ""
    AUTO_FOCUS = ""

    _headed: str = ""
    _focused_before: Widget | None = None

    def compose(self) -> ComposeResult:
        self._take_shape(self.app.size, restyle=False)  # all is styled once it stands
        yield Static(id="heading", markup=False)  # a title may hold brackets
        yield from self.body()
        yield KeyLine(id="keys")
        yield Static(id="small")

    def body(self) -> ComposeResult:
        """Yield what stands between heading and footer."""
        yield from ()

    @property
    def bench(self) -> Bench:
        return cast(Bench, self.app)

    async def _on_message(self, message: Message) -> None:
        """Handle a message; a handler that fails shows a panel, or nothing once this screen has gone."""
        try:
            await super()._on_message(message)
        except Exception as error:  # noqa: BLE001 - a panel says it
            if self in self.app.screen_stack:
                self.bench.tell_fault(error)

    # what can be done

    def possible(self) -> frozenset[str]:
        """Return the names of the actions that make sense now."""
        every = frozenset(action.name for action in offered(self.name_of))
        return every if self.typing else every - {"stop_typing"}

    @property
    def typing(self) -> bool:
        return isinstance(self.focused, Input)

    @property
    def line_empty(self) -> bool:
        """Tell whether the line of text that is being typed into holds nothing yet."""
        return isinstance(self.focused, Input) and not self.focused.value

    def action_press(self, key: str) -> None:
        self.do(meant(self.name_of, key, self.possible(), typing=self.typing, empty=self.line_empty))

    def action_do(self, name: str) -> None:
        self.do(name)

    def do(self, name: str) -> None:
        """Carry an action out if it is possible; whatever goes wrong is shown, and the app lives on."""
        try:
            if name not in self.possible():
                return
            getattr(self, f"act_{name}")()
        except NoMatches as error:  # a page that comes or goes has no widgets, and nothing to do
            if self.is_attached and self.children:
                self.bench.tell_fault(error)
        except Exception as error:  # noqa: BLE001 - a panel says it
            self.bench.tell_fault(error)
        self.retell()

    def why_not(self, name: str) -> str:
        """Say why an action cannot be done now; "" where nobody wonders."""
        return WHY_NOT.get(name, f"{BY_NAME[name].label}: not just now")

    def on_key(self, event: events.Key) -> None:
        """Tell why a key that has a meaning on this screen does nothing now."""
        if self.typing and taken_by_text(event.key):
            return
        known = [action.name for action in offered(self.name_of) if event.key in action.keys]
        if known and not set(known) & self.possible() and (reason := self.why_not(known[0])):
            self.notify(reason, timeout=3)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Let a key pass to the focused widget where it means nothing here."""
        if action == "press":
            key = str(parameters[0])
            with suppress(NoMatches):  # a screen that comes or goes has no widgets
                return bool(meant(self.name_of, key, self.possible(), typing=self.typing, empty=self.line_empty))
            return False
        return True

    # telling

    def notify(self, message: str, **more: Any) -> None:
        """Show one remark at a time: a new one takes the place of the last, so that none covers the page."""
        self.app.clear_notifications()
        super().notify(message, **more)

    def on_screen_suspend(self) -> None:
        """Leave no remark behind on another screen."""
        self.app.clear_notifications()

    def head(self, left: str, right: str = "") -> None:
        """Write the heading: what this is on the left, where one is on the right."""
        text = headed(left, right, max(10, self.app.size.width - 2))
        if text != self._headed:
            self._headed = text
            self.query_one("#heading", Static).update(text, layout=False)

    def retell(self) -> None:
        """Make the footer true again."""
        if self.is_mounted and self.is_attached:
            self.query_one("#keys", KeyLine).tell(footer(self.name_of, self.possible(), typing=self.typing))

    def on_mount(self) -> None:
        self.retell()

    def shape_in(self, size: Size) -> dict[str, bool]:
        """Return which of the classes that follow from a window's size hold; styles go by them."""
        return {"-narrow": size.width < WIDE, "-wide": size.width >= WIDE, "-broad": size.width >= BROAD}

    def _take_shape(self, size: Size, *, restyle: bool) -> None:
        for name, holds in self.shape_in(size).items():
            self.set_class(holds, name, update=restyle)

    def on_resize(self, event: events.Resize) -> None:
        self._take_shape(event.size, restyle=True)
        lack = too_small(event.size.width, event.size.height, self.needs)
        if lack:
            self._focused_before = self.focused or self._focused_before
        elif self._focused_before is not None:
            self._focused_before, kept = None, self._focused_before
            self.call_after_refresh(self.set_focus, kept)
        self.set_class(bool(lack), "-tiny")
        self.query_one("#small", Static).update(lack)
        self.retell()

    def on_descendant_focus(self, _event: events.DescendantFocus) -> None:
        self.retell()

    def on_descendant_blur(self, _event: events.DescendantBlur) -> None:
        self.retell()

    # everywhere

    def act_help(self) -> None:
        self.bench.open_help(self.name_of, self.about, self.possible())

    def act_find(self) -> None:
        self.app.push_screen(self.bench.routes.find(self))

    def act_words(self) -> None:
        if self.name_of != "words":
            self.app.push_screen(self.bench.routes.glossary())

    def act_stay(self) -> None:
        self.notify("^Q leaves layoutdrill; answers given are kept.", timeout=4)

    def act_suspend(self) -> None:
        self.app.action_suspend_process()

    def act_theme(self) -> None:
        self.bench.change_theme()

    def act_leave(self) -> None:
        self.bench.leave(self)

    def act_quit(self) -> None:
        self.app.exit(0)

    def scroll_of(self) -> Widget | None:
        """Return what the page keys scroll."""
        return None

    def scrolling(self) -> frozenset[str]:
        """Return the actions of scrolling where there is more than fits."""
        text = self.scroll_of() if self.is_mounted else None
        return frozenset({"scroll_up", "scroll_down"} if text is not None and text.max_scroll_y > 0 else ())

    def act_scroll_up(self) -> None:
        if (text := self.scroll_of()) is not None:
            text.scroll_page_up(animate=False)

    def act_scroll_down(self) -> None:
        if (text := self.scroll_of()) is not None:
            text.scroll_page_down(animate=False)
