"""What home and the finder lead to: lessons, decks, sittings, cells, processes, words, and the other screens."""

from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING

from textual.message import Message
from textual.screen import Screen

from layoutdrill.errors import LayoutdrillError
from layoutdrill.headway import Headway, heard_by
from layoutdrill.screens.choose_page import ChoosePage
from layoutdrill.screens.list_page import ListPage
from layoutdrill.screens.row import Row
from layoutdrill.screens.settings import save_settings
from layoutdrill.value import mutable

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting
    from layoutdrill.drill.record import Left

OTHER = (
    Row("", "More"),
    Row("practice:", "Free practice", "any cell, process and kind of question, as hard as you like"),
    Row("surveys:", "Survey a chip", "a whole die from scratch, from its pads to a log of its board; with a report"),
    Row("library:", "Library", "every cell, array and process: what to look for, and what it is mistaken for"),
    Row("glossary:", "Words", "what each word of the trade means, and the page that shows it"),
    Row("explain:", "Explain a file", "your own netlist or layout: what it is, and where it looks wrong"),
    Row("progress:", "Progress", "what you have learned, what you take for what, and what to do about it"),
    Row("settings:", "Settings", "theme, look, where the open cell kit is"),
    Row("about:", "About, cautions", "what this is, and what to mind around real chips"),
)


class DoorPage(ListPage):
    """A list whose rows open something: a key is a sort, a colon, and a name."""

    @mutable
    class SittingOpened(Message):
        """A worker opened a sitting."""

        sitting: "OpenSitting"

    @mutable
    class OpeningFailed(Message):
        """A worker could not open what was chosen, or read what there is."""

        error: Exception

    headway: Headway | None = None
    """How far what is being opened is."""
    _opening = False
    """Whether a sitting is being opened."""

    def go_to(self, page: Screen[object]) -> None:
        """Open a page over this one."""
        self.app.push_screen(page)

    def on_door_page_opening_failed(self, message: OpeningFailed) -> None:
        self._opening = False
        self.bench.show_error(message.error)

    def on_door_page_sitting_opened(self, message: SittingOpened) -> None:
        self._opening = False
        self.go_to(self.bench.routes.drill(message.sitting))

    def chosen(self, key: str) -> None:
        if self.bench.request.confined:
            return
        sort, _, name = key.partition(":")
        routes = self.bench.routes
        match sort:
            case "lesson" | "deck":
                from layoutdrill.deck import load_deck  # noqa: PLC0415 - home stands before decks are read

                deck = load_deck(name)
                left = self._left(name) if sort == "lesson" else None
                if left is not None:
                    self.go_to(ChoosePage(deck.title, _ways_on(left), self.chosen, f"resume:{left.id}"))
                elif deck.pages:
                    self.go_to(routes.lesson(deck))
                else:
                    self.open_sitting(sort, name)
            case "anew":
                from layoutdrill.deck import load_deck  # noqa: PLC0415 - home stands before decks are read

                self.go_to(routes.lesson(load_deck(name)))
            case "number":
                from layoutdrill.covers import lesson_covers  # noqa: PLC0415 - the same

                self.chosen(next(f"lesson:{each.name}" for each in lesson_covers() if each.lesson == int(name)))
            case "word":
                self._explain(name)
            case "skill?" | "weak?" | "pair?":
                ways = _ways_into(name, self.bench.settings.resting)
                self.go_to(ChoosePage(_named(name), ways, self.chosen, ways[0].key))
            case "rest":
                self._rest(int(name))
            case "cell" | "process":
                self.go_to(routes.entry(sort, name))
            case "settings":
                self.go_to(routes.settings(name))
            case "surveys":
                self.go_to(routes.survey())
            case "practice" | "explain" | "library" | "progress" | "about" | "glossary":
                self.go_to(getattr(routes, sort)())
            case _:
                self.open_sitting(sort, name)

    def _rest(self, lesson: int) -> None:
        """Leave a lesson out of the days' plans, or take it in again."""
        settings = self.bench.settings
        resting = settings.resting ^ {lesson}
        settings = replace(settings, left_out=" ".join(map(str, sorted(resting))))
        self.bench.use(settings)
        try:
            save_settings(settings)
        except LayoutdrillError as error:
            self.bench.show_error(error)
            return
        out = lesson in resting
        told = "left out of Today until you take it in again" if out else "in Today again"
        self.notify(f"Lesson {lesson} is {told}.", timeout=6)

    def _explain(self, word: str) -> None:
        """Open the page that explains a word."""
        from layoutdrill.deck import load_deck  # noqa: PLC0415 - home stands before decks are read
        from layoutdrill.screens.word_places import page_of, shown_for  # noqa: PLC0415 - the same

        sort, name, page = page_of(word)
        if sort == "lesson":
            self.go_to(self.bench.routes.lesson(load_deck(name), None, page))
        elif sort == "cell":
            self.go_to(self.bench.routes.entry(sort, name))
        if other := shown_for(word):
            self.notify(f"“{word}” has no page of its own; this one shows: {other}.", timeout=6)
        elif not sort:
            self.notify(f"No page shows “{word}”; what the list says is all.", timeout=6)

    def _left(self, lesson: str) -> "Left | None":
        """Return the sitting of a lesson that was left in the middle; records that cannot be read have none."""
        from layoutdrill.screens.shelf import left_in, left_over  # noqa: PLC0415 - the same

        try:
            return left_in(left_over(), lesson)
        except LayoutdrillError:
            return None

    def hear(self, headway: Headway) -> None:
        """Note how far what is being opened is; called in its worker."""
        self.headway = headway

    def open_sitting(self, sort: str, name: str) -> None:
        """Open a deck, a placement test, or a sitting left in the middle, in a worker; one at a time."""
        if self._opening:
            self.notify("It is being made already: a whole die takes a while.", timeout=4)
            return
        self._opening, self.headway = True, None
        kit, routes, settings = self.bench.kit, self.bench.routes, self.bench.settings

        def work() -> None:
            try:
                with heard_by(self.hear):
                    sitting = routes.open_sitting(sort, name, kit=kit, timed=settings.timed, left_out=settings.resting)
            except Exception as error:  # noqa: BLE001
                self.post_message(self.OpeningFailed(error))
            else:
                self.post_message(self.SittingOpened(sitting))

        self.run_worker(work, thread=True, group="open", exclusive=True, exit_on_error=False)


def _named(skills: str) -> str:
    """Name a skill, or two of them."""
    from layoutdrill.learning.wording import named, pair_name  # noqa: PLC0415 - when progress leads here

    first, _, second = skills.partition("|")
    group, _, subject = first.partition(": ")
    return pair_name(group, subject, second.partition(": ")[2]) if second else named(first)


def _ways_into(skills: str, resting: Collection[int]) -> tuple[Row, ...]:
    """
    Return what can be done about a skill, or about a pair that was confused: practise, read again, see mistakes, leave
    its lesson out of the days' plans, or take it in again.
    """
    from layoutdrill.drill.history import lesson_titles, syllabus  # noqa: PLC0415 - when progress leads here
    from layoutdrill.learning.skills import BEYOND  # noqa: PLC0415 - the same
    from layoutdrill.learning.wording import named  # noqa: PLC0415 - the same

    first, _, second = skills.partition("|")
    shown = "the last wrong answers with their pictures and verdicts"
    pairs = [Row(f"mistakes:{each}", f"Mistakes: {named(each)}", shown) for each in (first, second) if each]
    about = "the two against each other" if second else "a few questions on just this"
    lessons = {skill.lesson for skill in syllabus() if skill.key in (first, second)} - {BEYOND}
    pages = [Row(f"number:{n}", f"Lesson {n}: {lesson_titles()[n]}", "its pages again") for n in sorted(lessons)]
    rests = [
        Row(f"rest:{n}", f"Ask of lesson {n} again", "it is left out of Today now")
        if n in resting
        else Row(f"rest:{n}", f"Leave lesson {n} out of Today", "for a lesson that you only looked into")
        for n in sorted(lessons)
    ]
    return (Row(f"{'pair' if second else 'skill'}:{skills}", "Practise", about), *pages, *pairs, *rests)


def _ways_on(left: "Left") -> tuple[Row, ...]:
    """Return the two ways into a lesson that was left in the middle."""
    return (
        Row(f"resume:{left.id}", "Go on", f"at question {left.answered + 1} of {left.total}, where you left"),
        Row(f"anew:{left.deck}", "Begin anew", "from the first page, with fresh questions; what was left stays kept"),
    )
